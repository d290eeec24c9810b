"""The history as a form: the newest rows first, to be corrected, and empty ones to be filled in."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tripplan.records.grouped import grouped
from tripplan.records.problems import LOOK, Problem
from tripplan.web.forms.photo_form import kept_photos
from tripplan.web.forms.slips import by_place, slips_of
from tripplan.web.forms.table_form import Grid, Row, bad_rows, field_in, file_of, own_places, read_grid
from tripplan.web.forms.trip_form import without_unfinished
from tripplan.web.open_trip import Desk
from tripplan.web.saves import saving
from tripplan.web.saves.saving import Seen

PART = "history"
SHOWN = 25


class Part(Struct, frozen=True, kw_only=True):
    """The rows of the history that are asked for: those holding a word, older than a row."""

    word: str = ""
    before: int | None = None

    def of(self, grid: Grid) -> tuple[Grid, int | None]:
        """Those rows of the table, the newest first, and the row behind which the older ones are."""
        rows = sorted(reversed(grid.rows), key=_age)
        last = next((spot for spot, row in enumerate(rows) if row.key == str(self.before)), -1)
        asked = [row for row in rows[last + 1 :] if self._holds(row.cells.values())]
        older = int(asked[SHOWN - 1].key) if len(asked) > SHOWN else None
        return replace(grid, rows=tuple(asked[:SHOWN])), older

    def _holds(self, cells: Iterable[str]) -> bool:
        return not self.word or any(self.word.lower() in cell.lower() for cell in cells)


def _age(row: Row) -> int:
    """By the day of a row, the newest first; before them rows whose day cannot be read, as they want to be corrected."""
    try:
        return -date.fromisoformat(row.cells.get("date", "").strip()[:10]).toordinal()
    except ValueError:
        return -date.max.toordinal()


def history_version(desk: Desk) -> str:
    """The mark of the history a form was made from."""
    return saving.version(desk.folder, (file_of(desk.folder, PART),))


def history_form(
    desk: Desk, part: Part, typed: Grid | None = None, problems: Sequence[Problem] = (), clash: Sequence[Any] = (),
    places: Mapping[int, str] | None = None, note: str = "", version: str = "",
) -> dict[str, Any]:  # fmt: skip
    """What the page of the history shows: an empty row, then the rows asked for, and what was refused.

    `version` is that of a form that is only made longer.
    """
    now, found = read_grid(desk.folder, PART)
    seen = desk.see()
    shown, older = part.of(now)
    grid = typed or shown
    has_blank = any(row.is_new and not any(row.cells.values()) for row in grid.rows)
    grid = grid if has_blank else grid.with_blank()
    grid = replace(grid, rows=tuple(sorted(grid.rows, key=lambda row: not row.is_new)))
    told = tuple(problems) or (found if seen.plan else seen.problems)
    told = without_unfinished(told)
    own, lists = places or own_places(grid), word_lists(seen)
    standing = () if problems else tuple(p for p in seen.problems if p.weight == LOOK)
    names = {item.id: item.name for item in seen.catalogue.items}
    names |= {sheet.id: sheet.name for sheet in seen.catalogue.services}
    slips = slips_of(told, lambda problem: field_in(grid, problem, own, names))
    all_slips = slips_of((*told, *standing), lambda problem: field_in(grid, problem, own, names))
    return {
        "title": "History", "seen": seen, "grid": grid, "part": part, "older": older, "count": len(now.rows),
        "version": version or history_version(desk), "slips": slips, "clash": clash, "note": note,
        "wrong": by_place(all_slips), "bad_rows": bad_rows(grid, all_slips), "lists": lists, "names": names,
        "pictures": kept_photos(desk.folder),
    }  # fmt: skip


def word_lists(seen: Seen) -> dict[str, list[tuple[str, str]]]:
    """What may be chosen in a column: the word to type, and what it means."""
    units = seen.inputs.rig.units if seen.inputs else ()
    items = [item for item in seen.catalogue.items if not units or any(item.fits(unit) for unit in units)]
    said = grouped((item.act, item.verb) for item in items)
    return {
        "unit": [(unit.id, unit.kind) for unit in units],
        "item": [(item.id, item.name) for item in items],
        "act": [
            ("reading", "odometer only"),
            *((act, ", ".join(filter(None, dict.fromkeys(verbs)))) for act, verbs in said.items()),
        ],
        "position": [(place, "") for place in dict.fromkeys(place for item in items for place in item.positions)],
    }
