"""The trip as forms: read from the folder or from what was typed, and turned into changed files."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct

from tripplan.files.folder import TRIP_TABLES
from tripplan.files.toml_files import toml_or_nothing
from tripplan.files.way_in import content
from tripplan.records.problems import STOPS, Problem
from tripplan.web.forms import table_form
from tripplan.web.forms.fields import Form, last
from tripplan.web.forms.slips import Field, by_place, slips_of
from tripplan.web.forms.typed import as_files_have_it
from tripplan.web.open_trip import Desk
from tripplan.web.saves import saving
from tripplan.web.saves.saving import UNFINISHED
from tripplan.web.toml_lines import OPTIONAL_TRIP_KEYS, TRIP_KEYS, with_values

FACTS = {
    "name": "Name of the trip", "depart": "Departure", "return": "Return", "shakedown_km": "Shakedown drive, km",
    "remote_beyond_km": "Remote when help is further than, km", "rate_per_hour": "An hour of work is worth",
    "cost_per_stranded_hour": "An hour of standing is worth",
}  # fmt: skip
OPTIONAL = {
    "trailer_hubs_after_water": "Trailer hubs that were under water",
    "holiday_rate_per_hour": "An hour of work on the way is worth",
    "road_daily_minutes": "Work on the way, minutes a day in the mean",
    "road_day_limit_minutes": "Work on the way, most minutes a day",
    "road_long_spell_minutes": "One longer spell on the way, minutes",
}
CHOICES = {"trailer_hubs_after_water": {"look": "look first, then decide", "repack": "repack each time"}}
KEYS = (*TRIP_KEYS, *OPTIONAL_TRIP_KEYS)


class TripTyped(Struct, frozen=True, kw_only=True):
    """All of a trip form: its facts, its tables, and the version of the files it was made from."""

    facts: Mapping[str, str]
    grids: tuple[table_form.Grid, ...]
    version: str


def read_typed(folder: Path) -> tuple[TripTyped, tuple[Problem, ...]]:
    """The trip as the folder has it."""
    data = toml_or_nothing(content(folder / "trip.toml"))
    grids: list[table_form.Grid] = []
    problems: list[Problem] = []
    for part in TRIP_TABLES:
        grid, found = table_form.read_grid(folder, part)
        grids.append(grid)
        problems += found
    facts = {key: text_of(data.get(key, "")) for key in KEYS}
    version = saving.version(folder, saving.TABLE_FILES)
    return TripTyped(facts=facts, grids=tuple(grids), version=version), tuple(problems)


def typed_from(form: Form, now: TripTyped) -> TripTyped:
    """The trip as a form sends it."""
    facts = {key: (form.get(f"trip.{key}") or [now.facts[key]])[-1].strip() for key in KEYS}
    facts = {key: text if text == now.facts[key] else as_files_have_it(key, text) for key, text in facts.items()}
    grids = tuple(table_form.from_form(grid, form) for grid in now.grids)
    return TripTyped(facts=facts, grids=grids, version=last(form, "version"))


def changes_of(folder: Path, now: TripTyped, typed: TripTyped) -> tuple[dict[str, bytes], dict[str, dict[int, str]]]:
    """The files that differ from what was typed, and by file which form row each row is."""
    changes: dict[str, bytes] = {}
    places: dict[str, dict[int, str]] = {}
    for have, wanted in zip(now.grids, typed.grids, strict=True):
        new, rows = table_form.new_content(folder, have, wanted)
        places[have.file] = rows
        if new is not None:
            changes[have.file] = new
    facts = {key: value for key, value in typed.facts.items() if value != now.facts[key]}
    if facts:
        text = (content(folder / "trip.toml") or b"").decode("utf-8-sig", "replace")
        changes["trip.toml"] = with_values(text, facts).encode("utf-8", "replace")
    return changes, places


def trip_form(
    desk: Desk, typed: TripTyped | None = None, problems: Sequence[Problem] = (), clash: Sequence[Any] | None = None,
    places: Mapping[str, Mapping[int, str]] | None = None, note: str = "", longer: str = "",
) -> dict[str, Any]:  # fmt: skip
    """What the trip page shows: the tables with a blank row at their end, and what was refused.

    `longer` is the table that was asked for one more row, or was pasted into: it is shown unfolded. A form keeps the
    version it was made from until its clash with another tab is told.
    """
    now, found = read_typed(desk.folder)
    shown = typed or now
    seen = desk.see()
    told = tuple(problems) or (found if typed is None and seen.plan is not None else ())
    if not told and seen.plan is None and typed is None:
        told = seen.problems
    told = without_unfinished(told)
    grids = [grid if grid.rows and grid.rows[-1].is_new else grid.with_blank() for grid in shown.grids]
    slips = slips_of(told, lambda problem: _field(problem, grids, places or {}))
    bad = {row for grid in grids for row in table_form.bad_rows(grid, slips)}
    opened = {"legs", longer} | {part for part, _ in bad} | {slip.place for slip in slips}
    return {
        "title": "The trip", "seen": seen, "grids": grids, "facts": shown.facts, "labels": FACTS,
        "optional": OPTIONAL, "choices": CHOICES, "longer": longer, "open_parts": opened, "bad_rows": bad,
        "version": typed.version if typed and clash is None else now.version, "slips": slips, "wrong": by_place(slips), "clash": clash or (), "note": note,
    }  # fmt: skip


def without_unfinished(problems: Sequence[Problem]) -> tuple[Problem, ...]:
    """The problems that a form tells; of a folder just begun, none that the next step mends."""
    begun = any(problem.code in UNFINISHED for problem in problems)
    return tuple(p for p in problems if p.code not in UNFINISHED and not (begun and p.weight != STOPS))


def _field(problem: Problem, grids: Sequence[table_form.Grid], places: Mapping[str, Mapping[int, str]]) -> Field | None:
    if problem.file == "trip.toml" and problem.column in KEYS:
        label = {**FACTS, **OPTIONAL}[problem.column]
        return Field(place=f"trip.{problem.column}-wrong", label=label)
    fields = (
        table_form.field_in(grid, problem, places.get(grid.file) or table_form.own_places(grid), {}) for grid in grids
    )
    return next(filter(None, fields), None)


def clash_of(now: TripTyped, typed: TripTyped) -> list[tuple[str, str, str, str]]:
    """Where the form differs from the files as another tab left them: place, column, theirs, ours."""
    found = [("trip.toml", key, now.facts[key], typed.facts[key]) for key in KEYS
             if now.facts[key] != typed.facts[key]]  # fmt: skip
    for have, wanted in zip(now.grids, typed.grids, strict=True):
        found += table_form.differences(have, wanted)
    return found


def text_of(value: Any) -> str:
    """A value of a TOML file as a form shows it."""
    if isinstance(value, list):
        return ", ".join(map(str, value))
    return f"{value:g}" if isinstance(value, float) else str(value)
