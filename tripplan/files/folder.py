"""Reading a trip folder: every file of the contract, each problem of each file, in one go."""

import zoneinfo
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from tripplan.explain.shelf import NO_KIT, Kit
from tripplan.files.act_words import with_acts_meant
from tripplan.files.busy.calendar import read_calendar
from tripplan.files.data_tables import TABLES, read_catalogue
from tripplan.files.kit_files import read_kit
from tripplan.files.left_out import LEFT_OUT_FILE
from tripplan.files.leg_tracks import with_map
from tripplan.files.refusals import near_word
from tripplan.files.shed_days import with_shed_days
from tripplan.files.sound_parts import Unsure, sound_rig, sound_trip
from tripplan.files.tables import Table, read_cells, read_records
from tripplan.files.toml_files import Read, keys_as_record, read_toml
from tripplan.files.zones import listed_zone
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import (
    Crossing,
    EarlierLeg,
    HistoryRow,
    Leg,
    Origin,
    Record,
    Rig,
    Stop,
    Trip,
    Unit,
    WorkshopDay,
)
from tripplan.records.problem_codes import nearest, problem
from tripplan.records.problems import STOPS, Problem, in_order, stops
from tripplan.trip.free_days import BUSY_FILE
from tripplan.trip.route.leg_on_map import LegLine
from tripplan.wear.contradictions import check

TRIP_TABLES: dict[str, tuple[str, type[Record], str]] = {
    "legs": ("legs.csv", Leg, "L"),
    "crossings": ("crossings.csv", Crossing, "C"),
    "stops": ("stops.csv", Stop, "S"),
    "workshop_days": ("workshop.csv", WorkshopDay, "W"),
}
HISTORY_FILES = ("history.csv", "history.xlsx")
TRIP_FILES = tuple(entry[0] for entry in TRIP_TABLES.values())
EARLIER_LEGS, EARLIER_CROSSINGS = "earlier_legs.csv", "earlier_crossings.csv"
KNOWN_FILES = ("rig.toml", "trip.toml", *HISTORY_FILES, *TRIP_FILES, BUSY_FILE, EARLIER_LEGS, EARLIER_CROSSINGS)
READ_SUFFIXES = frozenset((".csv", ".xlsx", ".toml", ".ics"))
FOUND_LATER: dict[str, Any] = {
    "public_holidays": (), "finds_free_days": False, "zones_read": (), "earlier_legs": (),
}  # fmt: skip
GIVEN = dict.fromkeys(TRIP_TABLES, ()) | FOUND_LATER
NEEDED_TABLES = ("legs.csv",)
# In any other table of the trip it says that there is none: no water, no stop, no day in the shed.
HEADER_ONLY = "F05"
OVERRIDES, PHOTOS = "overrides", "photos"
NEW_ONE = "tripplan new FOLDER makes one"
# Contradictions that a row refused in that file could explain, so that they are not told beside it.
DEPENDENT: dict[str, tuple[str, ...]] = {
    "legs.csv": ("L10", "L13", "L15", "S13", "H24"),
    "history": ("H18", "H24"),
    OVERRIDES: ("H12", "H13", "H14", "O12", "O14", "R14", "R16", "R17"),
}  # fmt: skip
ON_NO_LEG = ("C10", "S10")
UNIT_SECTIONS = "sections that each start with the line [[unit]]"


class Inputs(Struct, frozen=True, kw_only=True):
    """All that a trip folder holds: the rig, its history, the trip, and the owner's own tables.

    `lines` are the legs on the map, as fine as a picture needs them.
    `history` are the rows that count; those struck out are kept beside it in `undone`.
    """

    rig: Rig
    history: tuple[HistoryRow, ...]
    trip: Trip
    override_tables: Mapping[str, Table]
    kit: Kit = NO_KIT
    lines: Mapping[int, LegLine] = field(default_factory=dict)
    undone: tuple[HistoryRow, ...] = ()


def load(folder: Path, today: date) -> tuple[Inputs | None, Catalogue, tuple[Problem, ...]]:
    """A folder read and checked against itself and the catalogue, with every problem in order.

    The inputs are None when they cannot be built; they may still hold contradictions, so
    ask `problems.stops` before planning with them.
    """
    found, problems, unsure = _read_parts(folder, today)
    tables, _ = read_overrides(folder)
    catalogue, more = read_catalogue(tables)
    kit, kit_problems = read_kit(folder, catalogue)
    found = found and _with_acts(found, catalogue)
    problems += (*more, *kit_problems)
    if found is None:
        return None, catalogue, in_order(problems)
    is_whole = not stops(problems)
    trip, lines, told = with_map(folder, found.trip, catalogue, today)
    told += check(found.rig, found.history, trip, catalogue, today)
    told = told if is_whole else tuple(_on_no_leg(folder, _certain(told, problems, unsure)))
    inputs = replace(found, kit=kit, trip=trip, lines=lines) if is_whole else None
    return inputs, catalogue, in_order((*problems, *told))


def _with_acts(found: Inputs, catalogue: Catalogue) -> Inputs:
    """The history with the acts that its words mean, as `log` takes them."""
    rows = {name: with_acts_meant(getattr(found, name), found.rig.units, catalogue) for name in ("history", "undone")}
    return replace(found, **rows)


def _certain(told: Iterable[Problem], problems: Iterable[Problem], unsure: Unsure) -> tuple[Problem, ...]:
    """Contradictions of what could be read, less those that a refused row or key may explain.

    So that a folder with a slip in one cell is told all its other faults in the same go.
    """
    files = {problem.file for problem in problems if problem.weight == STOPS}
    open_codes = {
        code for file, codes in DEPENDENT.items() if any(name.startswith(file) for name in files) for code in codes
    }
    return tuple(problem for problem in unsure.certain(told) if problem.code not in open_codes)


def _on_no_leg(folder: Path, told: Iterable[Problem]) -> Iterator[Problem]:
    """The problems, those of a leg that is not there held against the numbers of refused legs too."""
    table, _ = read_cells(folder / "legs.csv")
    cells = [row.get("leg", "").strip() for _, row in table.rows] if table else []
    numbers = sorted({int(cell) for cell in cells if cell.isdecimal()})
    for found in told:
        if found.code not in ON_NO_LEG:
            yield found
        elif all(map(str.isdecimal, cells)) and found.found not in map(str, numbers):
            yield replace(found, accepted=f"a leg number of legs.csv: {', '.join(map(str, numbers))}")


def read_folder(folder: Path, today: date) -> Read[Inputs]:
    """The records of a trip folder, or None when one of its files cannot give its records."""
    found, problems, _ = _read_parts(folder, today)
    return (None if stops(problems) else found), problems


def _read_parts(folder: Path, today: date) -> tuple[Inputs | None, tuple[Problem, ...], Unsure]:
    """What can be read of a trip folder, refused rows left out and refused keys stood in for; None without a folder."""
    names, problems = _names(folder)
    if names is None:
        return None, problems, Unsure()
    rig, rig_problems = read_rig(folder / "rig.toml")
    history, history_problems = _read_history(folder, names)
    trip, trip_problems, parts = _read_trip(folder, names)
    calendar, busy_problems = read_calendar(folder / BUSY_FILE) if BUSY_FILE in names else (None, ())
    tables, table_problems = read_overrides(folder)
    problems += (*busy_problems, *rig_problems, *history_problems, *trip_problems, *table_problems)
    problems += tuple(_misnamed(names))
    unsure = Unsure(frozenset(("T01", "T11") if stops(busy_problems) else ()))
    if rig is None or stops(rig_problems):
        rig, more_unsure = sound_rig(folder / "rig.toml")
        unsure = unsure.and_of(more_unsure)
    if trip is None or stops(trip_problems):
        days = sorted(row.date for row in parts["legs"] if isinstance(row, Leg)) or [today]
        trip, more_unsure = sound_trip(folder / "trip.toml", GIVEN, days[0], days[-1])
        unsure = unsure.and_of(more_unsure)
    trip = trip.model_copy(update=parts)
    has_workshop_file = TRIP_TABLES["workshop_days"][0] in names
    trip, more = with_shed_days(trip, rig, calendar, has_workshop_file, today)
    counted, undone = counted_and_undone(history)
    found = Inputs(rig=rig, history=counted, trip=trip, override_tables=tables, undone=undone)
    return found, in_order((*problems, *unsure.certain(more))), unsure


def counted_and_undone(rows: Iterable[HistoryRow]) -> tuple[tuple[HistoryRow, ...], tuple[HistoryRow, ...]]:
    """History rows that count, and those that were struck out."""
    every = tuple(rows)
    return tuple(row for row in every if row.undone is None), tuple(row for row in every if row.undone is not None)


def read_overrides(folder: Path) -> tuple[dict[str, Table], tuple[Problem, ...]]:
    """The tables of `overrides/`, by the name of the shipped table they change."""
    tables: dict[str, Table] = {}
    problems: list[Problem] = []
    try:
        paths = sorted(path for path in (folder / OVERRIDES).iterdir() if not path.name.startswith("."))
    except (FileNotFoundError, NotADirectoryError):
        return {}, ()
    except OSError:
        origin = Origin(file=OVERRIDES)
        return {}, (problem("F02", origin, None, "reading is not permitted", "a folder to be opened"),)
    for path in paths:
        name = f"{OVERRIDES}/{path.name}"
        if path.name not in (*TABLES, LEFT_OUT_FILE):
            problems.append(problem("F15", Origin(file=name), None, path.name, nearest(path.name, TABLES)))
            continue
        table, more = read_cells(path, name)
        problems.extend(more)
        if table:
            tables[path.name] = table
    return tables, tuple(problems)


def read_rig(path: Path) -> Read[Rig]:
    """The rig of `rig.toml`."""
    data, problems = read_toml(path)
    if data is None:
        return None, problems
    origin = Origin(file=path.name)
    sections = data.pop("unit", None)
    if sections is None:
        return None, (problem("R01", origin, "unit", "no such key", UNIT_SECTIONS),)
    if not isinstance(sections, list) or not all(isinstance(section, dict) for section in sections):
        return None, (problem("R08", origin, "unit", "something else", UNIT_SECTIONS),)
    read = [keys_as_record(section, Unit, "R", origin, f"unit[{spot}].") for spot, section in enumerate(sections, 1)]
    units = tuple(unit for unit, _ in read if unit)
    rig, more = keys_as_record(data, Rig, "R", origin, given={"units": units})
    problems = (*more, *(entry for _, found in read for entry in found))
    problems += tuple(_zone_problems([(rig.origin, rig.home_zone)], "R13", "home_zone")) if rig else ()
    return rig, problems


def _read_history(folder: Path, names: frozenset[str]) -> tuple[tuple[HistoryRow, ...], tuple[Problem, ...]]:
    present = [name for name in HISTORY_FILES if name in names]
    if len(present) > 1:
        twice = problem("F06", Origin(file=present[0]), None, " and ".join(present), "one of the two files")
        rows, problems = read_records(folder / present[0], HistoryRow, "H")
        return rows, (twice, *problems)
    if not present:
        accepted = f"a file named {' or '.join(HISTORY_FILES)}"
        return (), (problem("F01", Origin(file=HISTORY_FILES[0]), None, "no such file", accepted),)
    return read_records(folder / present[0], HistoryRow, "H")


def _read_trip(folder: Path, names: frozenset[str]) -> tuple[Trip | None, tuple[Problem, ...], dict[str, Any]]:
    """The trip of `trip.toml`, and beside it what its tables hold, by the name of its field."""
    data, problems = read_toml(folder / "trip.toml")
    trip: Trip | None = None
    if data is not None:
        trip, problems = keys_as_record(data, Trip, "T", Origin(file="trip.toml"), given=GIVEN)
    parts: dict[str, tuple[Record, ...]] = {}
    if EARLIER_LEGS in names:
        parts["earlier_legs"], more = read_records(folder / EARLIER_LEGS, EarlierLeg, "L")
        problems += more
    for part, (name, record, letter) in TRIP_TABLES.items():
        if name in names or name in NEEDED_TABLES:
            parts[part], more = read_records(folder / name, record, letter)
            problems += tuple(found for found in more if name in NEEDED_TABLES or found.code != HEADER_ONLY)
    stops_read = [row for row in parts.get("stops", ()) if isinstance(row, Stop)]
    zones = [(row.origin, row.zone) for row in stops_read if row.zone]
    problems += tuple(_zone_problems(zones, "S14", "zone"))
    return trip, problems, parts


def _names(folder: Path) -> tuple[frozenset[str] | None, tuple[Problem, ...]]:
    origin = Origin(file=folder.name or str(folder))
    try:
        return frozenset(path.name for path in folder.iterdir()), ()
    except FileNotFoundError:
        return None, (problem("F01", origin, None, "no such folder", "a trip folder", NEW_ONE),)
    except OSError:
        return None, (problem("F02", origin, None, "not a folder that can be opened", "a trip folder"),)


def _misnamed(names: Iterable[str]) -> Iterator[Problem]:
    stems = {Path(name).stem for name in KNOWN_FILES}
    for name in names:
        if name in KNOWN_FILES or Path(name).suffix.lower() not in READ_SUFFIXES:
            continue
        if near := near_word(Path(name).stem, stems):
            known = [known for known in KNOWN_FILES if Path(known).stem == near]
            yield problem("F17", Origin(file=name), None, f"{name}, which is not read", " or ".join(known))


def _zone_problems(zones: Iterable[tuple[Origin, str]], code: str, column: str) -> Iterator[Problem]:
    for origin, zone in zones:
        if listed_zone(zone) is None:
            accepted = nearest(zone, zoneinfo.available_timezones(), 4)
            yield problem(code, origin, column, zone, f"a time zone such as {accepted}")
