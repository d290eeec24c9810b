"""The trip as forms: read from the folder or from what was typed, and turned into changed files."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tripplan.files.folder import TRIP_TABLES
from tripplan.files.way_in import NotRead, content, toml_of
from tripplan.records.problems import Problem
from tripplan.web.forms.table_form import Form, Grid, differences, from_form, new_content, read_grid, with_problems
from tripplan.web.open_trip import Desk
from tripplan.web.saves import saving
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


@dataclass(frozen=True, slots=True, kw_only=True)
class TripTyped:
    """All of a trip form: its facts, its tables, and the version of the files it was made from."""

    facts: Mapping[str, str]
    grids: tuple[Grid, ...]
    version: str


def read_typed(folder: Path) -> tuple[TripTyped, tuple[Problem, ...]]:
    """The trip as the folder has it."""
    try:
        data = toml_of((content(folder / "trip.toml") or b"").decode("utf-8-sig"))
    except (ValueError, NotRead):
        data = {}
    grids: list[Grid] = []
    problems: list[Problem] = []
    for part in TRIP_TABLES:
        grid, found = read_grid(folder, part)
        grids.append(grid)
        problems += found
    facts = {key: _text(data.get(key, "")) for key in KEYS}
    version = saving.version(folder, saving.TABLE_FILES)
    return TripTyped(facts=facts, grids=tuple(grids), version=version), tuple(problems)


def typed_from(form: Form, now: TripTyped) -> TripTyped:
    """The trip as a form sends it."""
    facts = {key: (form.get(f"trip.{key}") or [now.facts[key]])[-1].strip() for key in KEYS}
    grids = tuple(from_form(grid, form) for grid in now.grids)
    return TripTyped(facts=facts, grids=grids, version=(form.get("version") or [""])[-1])


def changes_of(folder: Path, now: TripTyped, typed: TripTyped) -> tuple[dict[str, bytes], dict[str, dict[int, str]]]:
    """The files that differ from what was typed, and by file which form row each row is."""
    changes: dict[str, bytes] = {}
    places: dict[str, dict[int, str]] = {}
    for have, wanted in zip(now.grids, typed.grids, strict=True):
        new, rows = new_content(folder, have, wanted)
        places[have.file] = rows
        if new is not None:
            changes[have.file] = new
    facts = {key: value for key, value in typed.facts.items() if value != now.facts[key]}
    if facts:
        text = (content(folder / "trip.toml") or b"").decode("utf-8-sig", "replace")
        changes["trip.toml"] = with_values(text, facts).encode("utf-8", "replace")
    return changes, places


def trip_form(
    desk: Desk, typed: TripTyped | None = None, problems: Sequence[Problem] = (), clash: Sequence[Any] = (),
    places: Mapping[str, Mapping[int, str]] | None = None, note: str = "",
) -> dict[str, Any]:  # fmt: skip
    """What the trip page shows: the tables with a blank row at their end, and what was refused."""
    now, found = read_typed(desk.folder)
    shown = typed or now
    seen = desk.see()
    told = tuple(problems) or (found if typed is None and seen.plan is not None else ())
    if not told and seen.plan is None and typed is None:
        told = seen.problems
    wrong: dict[tuple[str, str, str], Problem] = {}
    grids = [grid if grid.rows and grid.rows[-1].is_new else grid.with_blank() for grid in shown.grids]
    for grid in grids:
        own = (places or {}).get(grid.file) or {int(row.key): row.key for row in grid.rows if row.key.isdigit()}
        wrong |= {(grid.part, row, column): p for (row, column), p in with_problems(told, grid.file, own).items()}
    return {
        "title": "The trip", "seen": seen, "grids": grids, "facts": shown.facts, "labels": FACTS,
        "optional": OPTIONAL, "choices": CHOICES,
        "version": now.version, "problems": told, "wrong": wrong, "clash": clash, "note": note,
    }  # fmt: skip


def clash_of(now: TripTyped, typed: TripTyped) -> list[tuple[str, str, str, str]]:
    """Where the form differs from the files as another tab left them: place, column, theirs, ours."""
    found = [("trip.toml", key, now.facts[key], typed.facts[key]) for key in KEYS
             if now.facts[key] != typed.facts[key]]  # fmt: skip
    for have, wanted in zip(now.grids, typed.grids, strict=True):
        found += differences(have, wanted)
    return found


def _text(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)
