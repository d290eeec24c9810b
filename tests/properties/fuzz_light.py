"""The light fuzzer: one reader in this process on one file or text that was spoiled, some thousand cases in seconds.

A case is made from its number alone. It takes one drive, spoils one good text (rarely two) and reads it by the same
functions that the commands and the page call, as guarded as they are: only BadInput may come out. What was found is
told through the one way out, as text or JSON. Some of what is accepted is planned, for a few items drawn by chance.
A case fails when anything else comes out, when it works longer than 10 s, or when the process has grown beyond 1 GB.
By hand, from any number on, for as long as wished:

    python -m tests.properties.fuzz_light 3600 [FIRST]
"""

import csv
import io
import json
import random
import shutil
import signal
import sqlite3
import sys
import tempfile
import time
import traceback
import warnings
import zipfile
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any
from unittest.mock import patch
from zoneinfo import ZoneInfo

from tests.logbooks import add_history, line_of, load_any
from tests.properties import spoiled
from tests.properties.fuzz_everything import GEOJSON, ICS, KML, MORE, memory_kb, odd_entries
from tests.properties.spoiled import word
from tests.support import good_folder
from tripplan.commands import field_records, log_and_cross
from tripplan.commands.check import verified
from tripplan.commands.fleet.together import written_summary
from tripplan.commands.grease import read_weighing
from tripplan.commands.route import add as add_track
from tripplan.commands.status import STOPPED, day_of, tell
from tripplan.commands.what_if import changed_trip
from tripplan.files import fleet_journal
from tripplan.files.busy.calendar import busy_times, read_calendar
from tripplan.files.data_tables import DATA, TABLES, read_catalogue
from tripplan.files.field_records.text import FIRST
from tripplan.files.field_records.trip_key import trip_key
from tripplan.files.folder import TRIP_TABLES, Inputs, read_overrides, read_rig
from tripplan.files.importing.grid import read_sheets
from tripplan.files.importing.mapping import ColumnMap, read_mapping
from tripplan.files.importing.table import import_rows, lay_out_all
from tripplan.files.kit_files import read_gun
from tripplan.files.logbook import book
from tripplan.files.logbook.basis import read_basis
from tripplan.files.plan_file import passed_slots
from tripplan.files.plan_folder import Question, plan_of, read
from tripplan.files.tables import read_records
from tripplan.files.tracks.any_track import read_track
from tripplan.files.zones import zones_like
from tripplan.placing.greedy import place_greedily
from tripplan.planner import make_plan
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import EarlierCrossing, EarlierLeg, HistoryRow, Record, Trip, Unit
from tripplan.records.problem_codes import ALL_CODES
from tripplan.records.problems import BadInput, Problem, stops
from tripplan.sheets.outputs import output_contents
from tripplan.sheets.plan_json import plan_json
from tripplan.web.access.keys import read_keys
from tripplan.web.forms.first_visit import new_files
from tripplan.web.forms.photo_form import pixels_only
from tripplan.web.forms.rig_form import new_rig, read_rig_typed, typed_rig
from tripplan.web.forms.table_form import pasted, read_grid
from tripplan.web.forms.trip_form import changes_of, read_typed, typed_from
from tripplan.web.forms.typed import plain_day, plain_number, readings_of
from tripplan.web.pages.water import depth_slip
from tripplan.web.saves import journal
from tripplan.web.saves.memory import read_memory

TODAY = date(2026, 6, 20)
SLOWEST_S, MOST_KB = 10.0, 1_000_000
PLANNED_SHARE, WRITTEN_SHARE, FEW = 0.2, 0.1, 4
CORPUS = Path(__file__).parents[1] / "files" / "importing" / "corpus"
OVERRIDE_ROWS = 4
WAYPOINTS = ('<wpt lat="-23" lon="133.3"><name>Half way</name></wpt>', "<trk><name>a</name>")
FORM_FIELDS = (
    "number",
    "at",
    "kind",
    "unit",
    "item",
    "act",
    "leg",
    "at_km",
    "depth_m",
    "minutes",
    "water",
    "of",
    "note",
    "id",
)


class TooLong(BaseException):
    """A case that works longer than it may."""


class Reached(Exception):
    """A command came as far as its plan; from there on whole cases try it."""


@dataclass(frozen=True, slots=True)
class Good:
    """All that cases start from, made once: the folder and its texts, a plan, a logbook, a fleet's journal."""

    place: Path
    folder: Path
    texts: dict[str, bytes]
    inputs: Inputs
    catalogue: Catalogue
    old_tables: tuple[tuple[str, bytes], ...]
    mappings: tuple[tuple[str, bytes], ...]
    plan: bytes
    logbook: bytes
    entry: bytes
    workbook: dict[str, bytes]
    sent: str


@dataclass(slots=True)
class Found:
    """What one case came to: the drive, and the problem codes it reached."""

    drive: str
    codes: set[str]

    def take(self, problems: Sequence[Problem]) -> bool:
        """Note problems and tell them as a command does; True where they stop."""
        if not problems:
            return False
        self.codes.update(problem.code for problem in problems)
        with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
            tell(problems, len(problems) % 2 == 0)
        return stops(problems)


def made(place: Path) -> Good:
    """Everything good, below a place of one's own."""
    from tripplan.commands.fleet.one_rig import Asked, Job, one
    from tripplan.files.fleet_folders import folder_bytes

    folder = good_folder(place / "trip")
    for name, text in (MORE | _more()).items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8", newline="")
    inputs, catalogue, problems = read(folder, TODAY)
    assert inputs is not None and not stops(problems), problems
    plan = make_plan(
        inputs.rig,
        inputs.history,
        inputs.trip,
        _few(random.Random(1), catalogue),
        TODAY,
        problems,
        place_greedily,
        inputs.kit,
    )
    book.take_in(place / "rig.logbook", folder, TODAY)
    asked = Asked(today=TODAY, is_plain=True, is_summary_only=True)
    done = one(Job(1, "trip", "trip", folder_bytes(folder), "m"), asked)
    assert done.row["is_made"], done.row
    fleet_journal.keep(place / "fleet" / "trip", "m", done.row, {})
    old = sorted(path for path in CORPUS.glob("*.csv") if not path.name.endswith(".expected.csv"))
    return Good(
        place=place, folder=folder, inputs=inputs, catalogue=catalogue,
        texts={path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*"))
               if path.is_file() and not path.name.startswith(".")},
        old_tables=tuple((path.name, path.read_bytes()) for path in old),
        mappings=tuple((path.name, path.read_bytes()) for path in sorted(CORPUS.glob("*.mapping.toml"))),
        plan=plan_json(plan).encode(), logbook=(place / "rig.logbook").read_bytes(),
        entry=(place / "fleet" / "trip" / fleet_journal.ENTRY_FILE).read_bytes(), workbook=_workbook(folder), sent=_sent(inputs),
    )  # fmt: skip


def _more() -> dict[str, str]:
    """More files than the whole cases have: two more units of other kinds, all that a plan may lean on."""
    return {
        "overrides/grades.csv": _table("grades.csv").replace("words are ours", "as on our roads"),
        "earlier_crossings.csv": "trip,leg,at_km,depth_m,water,crossed\nOld,1,20,0.3,fresh,2025-07-01 10:00\n",
        "overrides/left_out.csv": "item,unit,as,reason\ncabin_filter_ac,,not on my rig,none there\n",
        "field_notes.csv": "record,at,text\n",
    }  # fmt: skip


def _table(name: str) -> str:
    """The first rows of a shipped table."""
    return "\n".join((*(DATA / name).read_text(encoding="utf-8").splitlines()[: OVERRIDE_ROWS + 1], ""))


def _few(chance: random.Random, catalogue: Catalogue) -> Catalogue:
    """The tables with all items but a few left out, so that a plan is quickly made."""
    kept = {item.id for item in chance.sample(catalogue.items, FEW)} | {"front_wheel_bearings"}
    rest = {"left_out": (("", "never: not in this case"),)}
    return catalogue.model_copy(
        update={"items": tuple(item if item.id in kept else item.model_copy(update=rest) for item in catalogue.items)}
    )


def _workbook(folder: Path) -> dict[str, bytes]:
    import openpyxl

    sheets = openpyxl.Workbook()
    for row in csv.reader((folder / "history.csv").read_text(encoding="utf-8").splitlines()):
        sheets.worksheets[0].append([float(cell) if cell.isdigit() else cell for cell in row])
    raw = io.BytesIO()
    sheets.save(raw)
    with zipfile.ZipFile(raw) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def _sent(inputs: Inputs) -> str:
    head = {"rig": inputs.rig.name, "trip": inputs.trip.name, "depart": inputs.trip.depart.isoformat()}
    at = "2026-07-06T14:00"
    records = (
        {"id": "hand-000001a", "kind": "work", "at": f"{at}:00+09:30", "unit": "wagon", "item": "winch", "act": "look", "note": "n"},
        {"id": "hand-000001b", "kind": "crossing", "at": f"{at}:01+09:30", "when": at, "leg": 2, "at_km": 150, "depth_m": 0.4,
         "minutes": 2, "water": "fresh"},
        {"id": "hand-000001c", "kind": "reading", "at": f"{at}:02+09:30", "unit": "wagon", "odometer_km": 188900},
        {"id": "hand-000001d", "kind": "note", "at": f"{at}:03+09:30", "text": "a rattle"},
        {"id": "hand-000001e", "kind": "undo", "at": f"{at}:04+09:30", "of": "hand-000001a"},
    )  # fmt: skip
    return "\n".join([f"{FIRST}1", line_of({"key": trip_key(*head.values()), **head}), *map(line_of, records)])


@contextmanager
def laid(good: Good, name: str, raw: bytes, place: Path | None = None) -> Iterator[Path]:
    """The spoiled file in its place; afterwards all is as it was."""
    path = (place or good.folder) / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(raw)
    try:
        yield path
    finally:
        if place is None and name in good.texts:
            path.write_bytes(good.texts[name])
        else:
            path.unlink(missing_ok=True)


RECORDS: dict[str, tuple[type[Record], str]] = {
    "history.csv": (HistoryRow, "H"), "earlier_legs.csv": (EarlierLeg, "L"), "earlier_crossings.csv": (EarlierCrossing, "C"),
    **{name: (record, letter) for name, record, letter in TRIP_TABLES.values()},
    **{f"overrides/{name}": (record, "O") for name, (_, record, _) in TABLES.items()},
}  # fmt: skip
KNOWN = {name: spoiled.known_words(record) for name, (record, _) in RECORDS.items()} | {
    "rig.toml": spoiled.known_words(Unit),
    "trip.toml": spoiled.known_words(Trip),
}
TRIP_FILES = (
    "legs.csv", "legs.csv", "crossings.csv", "crossings.csv", "stops.csv", "workshop.csv", "history.csv", "history.csv", "rig.toml",
    "rig.toml", "rig.toml", "trip.toml", "trip.toml", "trip.toml", "busy.ics", "earlier_legs.csv", "earlier_crossings.csv", "lubricants.csv", "shelf.csv",
    "evidence.csv", "grease_gun.toml", "overrides/assumptions.csv", "overrides/grades.csv", "overrides/left_out.csv",
    "tracks/day.gpx", "tracks/day.kml", "tracks/day.geojson",
)  # fmt: skip


STRAY = (
    ("history.xlsx", "history.csv"), ("overrides/unknown.csv", "legs.csv"), ("Legs.csv", "legs.csv"), ("crossing.csv", "crossings.csv"),
    ("legs.csv.txt", "legs.csv"), ("tracks/other.gpx", "tracks/day.gpx"), ("rig.TOML", "rig.toml"), ("busy.csv", "stops.csv"),
)  # fmt: skip


def a_folder(chance: random.Random, good: Good, found: Found) -> None:
    """One or two files of the folder, and the folder read whole; some that may be planned are."""
    with ExitStack() as stack:
        names = chance.sample(TRIP_FILES, chance.choice((1, 1, 1, 2)))
        for name in dict.fromkeys(names):
            stack.enter_context(laid(good, name, spoiled.spoiled(chance, name, good.texts[name], KNOWN.get(name))))
        if any(name.startswith("tracks/") for name in names):
            legs = (
                good.texts["legs.csv"]
                .replace(b",note\n", b",note,track\n")
                .replace(b",0,no,\n", b",0,no,,%s\n" % names[0][7:].encode())
            )
            stack.enter_context(laid(good, "legs.csv", legs))
        if chance.random() < 0.04:
            name, other = chance.choice(STRAY)
            stack.enter_context(laid(good, name, good.texts.get(other, b"a")))
        inputs, catalogue, problems = read(good.folder, TODAY)
    if not found.take(problems) and inputs is not None and chance.random() < PLANNED_SHARE:
        a_plan(chance, good, inputs, catalogue, problems)
        found.drive = "a folder planned"


EDGES = (
    "legs.csv",
    "crossings.csv",
    "stops.csv",
    "workshop.csv",
    "history.csv",
    "earlier_legs.csv",
    "rig.toml",
    "trip.toml",
)


def _own_rows(chance: random.Random, name: str) -> bytes:
    """Rows of a shipped table as an owner copies them, with a reason of one's own."""
    rows = list(csv.DictReader(io.StringIO((DATA / Path(name).name).read_text(encoding="utf-8"), newline="")))
    out = io.StringIO(newline="")
    table = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
    table.writeheader()
    table.writerows(
        {**row, **({"locator": "our own"} if "locator" in row else {})}
        for row in chance.sample(rows, min(len(rows), 3))
    )
    return out.getvalue().encode()


def at_the_edges(chance: random.Random, good: Good, found: Found) -> None:
    """Values at the ends of what is accepted, in one file or two, and the plan of it where it is."""
    with ExitStack() as stack:
        for name in chance.sample(EDGES, chance.choice((1, 2, 2))):
            raw = spoiled.edges(chance, good.texts[name], KNOWN[name], name.endswith(".csv"))
            stack.enter_context(laid(good, name, raw))
        if chance.random() < 0.5:
            name = f"overrides/{chance.choice(sorted(TABLES))}"
            stack.enter_context(laid(good, name, spoiled.edges(chance, _own_rows(chance, name), KNOWN[name], True)))
        inputs, catalogue, problems = read(good.folder, TODAY)
    if not found.take(problems) and inputs is not None:
        a_plan(chance, good, inputs, catalogue, problems)
        found.drive = "at the edges, planned"


def a_plan(
    chance: random.Random, good: Good, inputs: Inputs, catalogue: Catalogue, problems: Sequence[Problem]
) -> None:
    """What was accepted, planned for a few items, and sometimes all outputs of it."""
    few, today = _few(chance, catalogue), chance.choice((TODAY, date(2026, 7, 7), date(2026, 7, 25)))
    plan = plan_of(inputs, few, today, problems, place_greedily)
    plan_json(plan)
    if chance.random() < WRITTEN_SHARE:
        output_contents(plan, good.place / "out")


def a_table(chance: random.Random, good: Good, found: Found) -> None:
    """One table by its own reader."""
    name = chance.choice(sorted(RECORDS))
    with laid(
        good, Path(name).name, spoiled.spoiled(chance, name, _table_of(good, name), KNOWN[name]), good.place / "alone"
    ) as path:
        found.take(read_records(path, *RECORDS[name])[1])


def _table_of(good: Good, name: str) -> bytes:
    return good.texts[name] if name in good.texts else _table(Path(name).name).encode()


def an_override(chance: random.Random, good: Good, found: Found) -> None:
    """Rows of a shipped table changed by the owner, and the tables merged; some are planned with."""
    name = f"overrides/{chance.choice(sorted(TABLES))}"
    rows = _table_of(good, name).splitlines()
    shown = b"\n".join((rows[0], *chance.sample(rows[1:], min(2, len(rows) - 1)), b""))
    with laid(good, name, spoiled.spoiled(chance, name, shown, KNOWN[name])):
        tables, problems = read_overrides(good.folder)
        catalogue, more = read_catalogue(tables)
    if not found.take((*problems, *more)) and chance.random() < PLANNED_SHARE:
        a_plan(chance, good, good.inputs, catalogue, ())
        found.drive = "an override planned"


def a_rig(chance: random.Random, good: Good, found: Found) -> None:
    """`rig.toml` or the gun by its own reader."""
    name, reader = chance.choice((("rig.toml", read_rig), ("grease_gun.toml", read_gun)))
    with laid(good, name, spoiled.spoiled(chance, name, good.texts[name]), good.place / "alone") as path:
        found.take(reader(path)[1])


def a_calendar(chance: random.Random, good: Good, found: Found) -> None:
    """A busy calendar, and what it takes of two months."""
    with laid(good, "busy.ics", spoiled.spoiled(chance, "busy.ics", ICS.encode()), good.place / "alone") as path:
        calendar, problems = read_calendar(path)
    found.take(problems)
    if calendar is not None and not stops(problems):
        found.take(busy_times(calendar, ZoneInfo("Australia/Darwin"), date(2026, 6, 20), date(2026, 8, 20))[1])


def a_track(chance: random.Random, good: Good, found: Found) -> None:
    """A track, read, or cut into legs as the command does."""
    name, text = chance.choice(
        (("day.gpx", MORE["tracks/day.gpx"]), ("day.kml", KML), ("day.geojson", json.dumps(GEOJSON)))
    )
    text = text.replace(WAYPOINTS[1], "".join(WAYPOINTS)) if chance.random() < 0.3 else text
    with laid(good, name, spoiled.spoiled(chance, name, text.encode()), good.place / "alone") as path:
        if chance.random() < 0.6:
            found.take(read_track(path)[1])
        else:
            by = chance.choice(("overnight", "waypoints", "km"))
            far = chance.choice((200.0, 10.0, None))
            _said(found, lambda: add_track(good.folder, path, by, far, False, True))


def _said(found: Found, run: Callable[[], int]) -> None:
    """A command of which the answer in JSON tells the problems."""
    with redirect_stdout(io.StringIO()) as said, redirect_stderr(io.StringIO()):
        status = run()
    if status == STOPPED and said.getvalue():
        found.codes.update(problem["code"] for problem in json.loads(said.getvalue())["problems"])


def a_workbook(chance: random.Random, good: Good, found: Found) -> None:
    """The history as a workbook: the parts of it, or the whole file's bytes."""
    parts = dict(good.workbook)
    name = chance.choice((*sorted(parts), *["xl/worksheets/sheet1.xml"] * 8))
    parts[name] = (
        spoiled.marked(chance, parts[name]) if chance.random() < 0.85 else spoiled.raw_bytes(chance, parts[name])
    )
    raw = io.BytesIO()
    with zipfile.ZipFile(raw, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for part, content in parts.items():
            archive.writestr(part, content)
    content = raw.getvalue() if chance.random() < 0.85 else spoiled.raw_bytes(chance, raw.getvalue())
    with laid(good, "history.xlsx", content, good.place / "alone") as path:
        if chance.random() < 0.7:
            found.take(read_records(path, HistoryRow, "H")[1])
        else:
            found.take(read_sheets(path)[1])


def an_import(chance: random.Random, good: Good, found: Found) -> None:
    """An old table of the corpus, with its mapping or another, as far as its records."""
    name, text = chance.choice(good.old_tables)
    answers = ColumnMap()
    if chance.random() < 0.4:
        own, mapping = chance.choice(good.mappings)
        with laid(good, own, spoiled.spoiled(chance, own, mapping), good.place / "alone") as path:
            answers = read_mapping(path)
    if chance.random() < 0.8 or answers == ColumnMap():
        text = spoiled.spoiled(chance, name, text)
    with laid(good, name, text, good.place / "alone") as path:
        sheets, problems = read_sheets(path, answers.encoding)
    if found.take(problems):
        return
    report = import_rows(name, lay_out_all(sheets, answers, TODAY), good.inputs.rig, (), good.catalogue, answers, TODAY)
    assert report.adds_up, "rows came in and did not come out"


def a_logbook(chance: random.Random, good: Good, found: Found) -> None:
    """A logbook with odd entries, well marked or not, or its bytes; laid out, listed, added to or mended."""
    raw = good.logbook if chance.random() < 0.6 else spoiled.raw_bytes(chance, good.logbook)
    with laid(good, "rig.logbook", raw, good.place / "book") as path:
        if raw is good.logbook:
            _odd_entries(chance, path)
        kind = chance.random()
        try:
            if kind < 0.7:
                found.take(load_any(path, TODAY)[2])
            elif kind < 0.85:
                book.history_entries(path)
            elif kind < 0.95:
                add_history(path, good.inputs.history[:1])
            else:
                from tripplan.files.logbook.mend import mend

                mend(path)
        finally:
            shutil.rmtree(path.parent, ignore_errors=True)
            path.parent.mkdir()


def _odd_entries(chance: random.Random, path: Path) -> None:
    log = sqlite3.connect(path)
    log.execute("PRAGMA synchronous = OFF")
    columns = ("date", "unit", "act", "item", "leg", "at_km", "depth_m", "from", "to", "depart", "distance_km", "note",
               "crossed", "water")  # fmt: skip

    def body(kind: str, texts: str) -> str:
        old = log.execute("SELECT body FROM entry WHERE kind = ? ORDER BY number LIMIT 1", (kind,)).fetchone()
        return chance.choice((
            texts, "x", "[]", "[" * 300, '{"a": 1}', "", json.dumps({"unit": "9" * 400}),
            *[spoiled.as_json(chance, old[0].encode()).decode("utf-8", "replace") if old and old[0].startswith("{") else "{}"] * 6,
        ))  # fmt: skip

    odd_entries(chance, log, columns, word, body)
    log.close()


def a_plan_file(chance: random.Random, good: Good, found: Found) -> None:
    """A `plan.json` of an earlier run: checked, carried on, and moved from."""
    with laid(good, "plan.json", spoiled.spoiled(chance, "plan.json", good.plan), good.place / "alone") as path:
        found.take(verified(path, good.inputs, good.catalogue)[1])
        passed_slots(path.parent, good.inputs.trip.name, date(2026, 7, 7), ())


def a_fleet_entry(chance: random.Random, good: Good, _: Found) -> None:
    """The journal of a fleet's rig, damaged, and the summary of what it says."""
    place = good.place / "fleet" / "trip"
    with laid(good, fleet_journal.ENTRY_FILE, spoiled.spoiled(chance, ".json", good.entry), place):
        row = fleet_journal.done_row(place, "m")
        if row is not None:
            written_summary(good.place / "fleet", [row], TODAY, None)


def phone_records(chance: random.Random, good: Good, found: Found) -> None:
    """The text of a phone: its bytes, its lines with a sum that fits, its values."""
    lines = good.sent.splitlines()
    for _ in range(chance.randint(1, 3)):
        spot, kind = chance.randrange(len(lines)), chance.random()
        if kind < 0.7 and spot:
            value = spoiled.as_json(chance, lines[spot].partition(" ")[2].encode() or b"{}")
            try:
                lines[spot] = line_of(json.loads(value))
            except (ValueError, RecursionError):
                lines[spot] = f"00000000 {value.decode('utf-8', 'replace')}"
        elif kind < 0.8:
            lines[spot] = spoiled.mutant(chance, lines[spot])
        elif kind < 0.9:
            lines.insert(chance.randrange(len(lines)), lines[spot])
        else:
            del lines[spot]
            lines = lines or [""]
    import zlib

    text = "\n".join(lines)
    text += f"\nend {chance.choice((5, len(lines) - 2, 0))} {zlib.crc32(text.encode('utf-8', 'replace')):08x}\n"
    raw = spoiled.utf8(text) if chance.random() < 0.9 else spoiled.raw_bytes(chance, text.encode("utf-8", "replace"))
    _guarded(found, lambda: field_records.take_text(good.folder, raw, "sent.txt", None, "2026-07-07", True), good)


def _guarded(found: Found, run: Callable[[], int], good: Good) -> None:
    """A command that looks, tries and would write: with the folder as known, and as far as its plan."""
    before = Question(good.inputs, good.catalogue, date(2026, 7, 7), ())

    def as_known(*_: Any) -> Question:
        return before

    def no_further(*_: Any, **__: Any) -> Any:
        raise Reached

    with ExitStack() as stack:
        for module in (log_and_cross, field_records):
            for name, other in (("look_before", as_known), ("plan_again", no_further)):
                if hasattr(module, name):
                    stack.enter_context(patch.object(module, name, other))
        try:
            _said(found, run)
        except Reached:
            found.drive += " to its plan"


def words_of_log(chance: random.Random, good: Good, found: Found) -> None:
    """What is typed behind `log` or `cross`."""

    def one(usual: str) -> str:
        return word(chance, usual) if chance.random() < 0.35 else usual

    def maybe(usual: str) -> str | None:
        return one(usual) if chance.random() < 0.4 else None

    if chance.random() < 0.5:
        told = (one("2"), one("0.4"), one("2"), one("fresh"), one("2026-07-06 14:00"), one("200"), maybe("20"))
        _guarded(found, lambda: log_and_cross.cross(good.folder, *told, today="2026-07-07", as_json=True), good)
        return
    jobs = tuple(one("wagon winch - look serviceable") for _ in range(chance.choice((0, 0, 1, 2))))
    items = () if jobs else (one(chance.choice(("winch", "front wheel bearings:left", "engine oil"))),)
    undo, slots = (maybe("3"), (one("home-2026-06-21"),)) if chance.random() < 0.2 else (None, ())
    _guarded(found, lambda: log_and_cross.log(
        good.folder, maybe("wagon"), items, one("look"), one("2026-07-05"), maybe("189000"), maybe("serviceable"), maybe("grease"),
        maybe("n"), jobs, None, "2026-07-07", True, undo, one("a slip"), maybe("3000"), slots, slots[1:],
    ), good)  # fmt: skip


def other_words(chance: random.Random, good: Good, found: Found) -> None:
    """Other words of the command line and fields of the page, by what understands them."""
    text = word(chance, chance.choice(("10=13.2g", "2 dust=heavy", "2026-07-04", "70 cm", "24/05/2026", "1.5 h")))
    kind = chance.randrange(7)
    if kind == 0:
        read_weighing(text)
    elif kind == 1:
        day_of(text)
    elif kind == 2:
        changed_trip(
            good.inputs.trip,
            text if chance.random() < 0.3 else None,
            (text,),
            (word(chance, "Red Pan"),) * chance.randint(0, 1),
        )
    elif kind == 3:
        plain_number(text, chance.choice(("m", "mm", "km", "min", "")))
    elif kind == 4:
        plain_day(text), readings_of(text)
    elif kind == 5:
        depth_slip(text)
    else:
        zones_like(text)


def page_forms(chance: random.Random, good: Good, found: Found) -> None:
    """The forms of the page by the functions that read them: the trip, the rig, the first visit, a paste."""
    kind = chance.randrange(4)
    if kind == 0:
        now, _ = read_typed(good.folder)
        form = {
            f"{grid.part}.{row.key}.{column}": [text]
            for grid in now.grids
            for row in grid.rows
            for column, text in row.cells.items()
        }
        form |= {f"trip.{name}": [text] for name, text in now.facts.items()}
        changes_of(good.folder, now, typed_from(_typed(chance, form), now))
    elif kind == 1:
        rig, _ = read_rig_typed(good.folder)
        fields = {name: [text] for name, text in rig.fields.items()} | {
            "new.id": [""],
            "new.kind": ["trailer"],
            "version": [rig.version],
        }
        new = new_rig(good.folder, rig, typed_rig(_typed(chance, fields), rig))
        if new is not None:
            with laid(good, "rig.toml", new, good.place / "alone") as path:
                found.take(read_rig(path)[1])
    elif kind == 2:
        new_files(_typed(chance, {name: [text] for name, text in FIRST_VISIT.items()}), TODAY)
    else:
        part = chance.choice(("legs", "crossings", "stops", "workshop_days", "history"))
        grid, _ = read_grid(good.folder, part)
        pasted(spoiled.table(chance, good.texts[grid.file]).decode("utf-8", "replace"), grid)


FIRST_VISIT = {
    "rig_name": "Wagon", "home_zone": "Australia/Darwin", "kind": "vehicle", "drive": "part-time", "fuel": "diesel", "trip_name": "North",
    "depart": "2026-07-03", "return": "2026-07-20", "odometer_km": "188000", "from": "A", "to": "B", "distance_km": "500",
}  # fmt: skip


def _typed(chance: random.Random, form: dict[str, list[str]]) -> dict[str, list[str]]:
    """The form with a few fields typed otherwise, left out, sent twice, or of names it does not have."""
    typed = dict(form)
    for _ in range(chance.randint(1, 5)):
        name = chance.choice(sorted(typed) or ["a"])
        kind = chance.random()
        text = word(chance, typed.get(name, [""])[-1]).encode("utf-8", "replace").decode()
        if kind < 0.75:
            typed[name] = [text]
        elif kind < 0.82:
            typed[name] = [*typed.get(name, []), text]
        elif kind < 0.88:
            typed.pop(name, None)
        else:
            new = (
                name.replace("1", chance.choice(("new1", "9", "-1", "x", "")))
                if chance.random() < 0.7
                else spoiled.mutant(chance, name)
            )
            typed[new.encode("utf-8", "replace").decode()] = [text]
    return typed


MEMORY = {
    "seen_from": "2026-07-01",
    "ticks": {"home-2026-06-21": {"wagon winch - look": {"done": True, "finding": "worn", "note": "n"}}},
}


def page_keeps(chance: random.Random, good: Good, _: Found) -> None:
    """What the page keeps for itself: its memory, its saves, its keys, photos, and what it has in common with a logbook."""
    place = good.place / "kept"
    kind = chance.randrange(5)
    own = place / journal.PLACE
    if kind == 0:
        for name in ("page.json", ".page/page.json"):
            with laid(good, name, spoiled.spoiled(chance, ".json", json.dumps(MEMORY).encode()), place):
                read_memory(place)
    elif kind == 1:
        entry = journal.SaveEntry(
            number=1,
            label="The trip",
            at="2026-06-20T10:00+09:30",
            before={"legs.csv": b"a"},
            wanted={"legs.csv": b"b"},
        )
        text = journal._text(entry).encode()
        with laid(good, "save-00000001.json", spoiled.spoiled(chance, ".json", text), own):
            journal.kept(place)
        for damaged in own.glob("damaged-*"):
            damaged.unlink()
    elif kind == 2:
        with laid(
            good,
            "keys.json",
            spoiled.spoiled(chance, ".json", b'{"token": "a", "pair": "b", "calendar": "c", "key": ""}'),
            own,
        ):
            read_keys(place)
    elif kind == 3:
        pixels_only(spoiled.raw_bytes(chance, _photo()))
    else:
        kept = {"head": "a", "folder": {"legs.csv": "b"}, "book": {"legs.csv": "b"}}
        with laid(good, ".logbook.json", spoiled.spoiled(chance, ".json", json.dumps(kept).encode()), place):
            read_basis(place, ["a"])


def _photo() -> bytes:
    from PIL import Image

    raw = io.BytesIO()
    Image.new("RGB", (9, 7)).save(raw, "JPEG")
    return raw.getvalue()


DRIVES: tuple[tuple[str, int, Callable[[random.Random, Good, Found], None]], ...] = (
    ("a folder", 26, a_folder), ("at the edges", 6, at_the_edges), ("a table", 16, a_table), ("an override", 5, an_override), ("a rig", 6, a_rig),
    ("a calendar", 7, a_calendar), ("a track", 7, a_track), ("a workbook", 2, a_workbook), ("an import", 6, an_import),
    ("a logbook", 2, a_logbook), ("a plan file", 3, a_plan_file), ("a fleet entry", 2, a_fleet_entry), ("phone records", 5, phone_records),
    ("words of log", 6, words_of_log), ("other words", 4, other_words), ("page forms", 4, page_forms), ("page keeps", 4, page_keeps),
)  # fmt: skip


def case(number: int, good: Good) -> Found:
    """One case; raises whatever it ends in, but for a refusal."""
    chance = random.Random(number)
    ((name, _, drive),) = chance.choices(DRIVES, [weight for _, weight, _ in DRIVES])
    found = Found(name, set())
    try:
        drive(chance, good, found)
    except BadInput as refused:
        found.take(refused.problems)
    return found


@dataclass(slots=True)
class Count:
    """What many cases came to."""

    done: Counter[str]
    codes: Counter[str]
    wrong: list[str]
    worked_s: dict[str, float]
    slowest_s: float = 0.0

    def as_text(self) -> str:
        """The count in lines, for a person."""
        known = sorted(set(ALL_CODES) & set(self.codes))
        rows = [
            f"{name}: {count}, {1000 * self.worked_s[name] / count:.1f} ms each"
            for name, count in self.done.most_common()
        ]
        total, worked = self.done.total() + len(self.wrong), sum(self.worked_s.values())
        head = f"{total} cases, {len(self.wrong)} wrong, {worked:.0f} s of processor time, {1000 * worked / max(total, 1):.1f} ms a case"
        reach = f"{len(known)} of {len(ALL_CODES)} problem codes reached; not reached: {' '.join(sorted(set(ALL_CODES) - set(known)))}"
        return "\n".join([*rows, head, f"slowest {self.slowest_s:.2f} s, {memory_kb()} kB", reach, *self.wrong[:60]])


@contextmanager
def bounded() -> Iterator[None]:
    """Ends a case that works longer than it may."""

    def stop(*_: object) -> None:
        raise TooLong

    before = signal.signal(signal.SIGPROF, stop)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def cases(first: int, most: int, seconds: float, told_every: int = 0) -> Count:
    """So many cases, or for so long; what was done, which codes were reached, and what was wrong."""
    count = Count(Counter(), Counter(), [], defaultdict(float))
    end = time.monotonic() + seconds
    root = "/dev/shm" if Path("/dev/shm").is_dir() else None
    place = Path(tempfile.mkdtemp(prefix="fuzz-", dir=root))
    usual, tempfile.tempdir = tempfile.tempdir, str(place)
    try:
        with bounded():
            good = made(place / "good")
            for number in range(first, first + most):
                if time.monotonic() > end:
                    break
                _one(number, good, count)
                if told_every and not (number + 1) % told_every:
                    print(f"up to {number}: {count.as_text()}", flush=True)
    finally:
        tempfile.tempdir = usual
        shutil.rmtree(place)
    return count


def _one(number: int, good: Good, count: Count) -> None:
    begun, held = time.process_time(), memory_kb()
    try:
        signal.setitimer(signal.ITIMER_PROF, SLOWEST_S)
        found = case(number, good)
        signal.setitimer(signal.ITIMER_PROF, 0)
        took = time.process_time() - begun
        count.done[found.drive] += 1
        count.codes.update(found.codes)
        count.worked_s[found.drive] += took
        count.slowest_s = max(count.slowest_s, took)
    except KeyboardInterrupt:
        raise
    except BaseException as error:
        signal.setitimer(signal.ITIMER_PROF, 0)
        steps = [step for step in traceback.extract_tb(error.__traceback__) if "/tripplan/" in step.filename]
        where = " < ".join(f"{Path(step.filename).name}:{step.lineno}" for step in reversed(steps[-3:]))
        count.wrong.append(f"case {number}: {type(error).__name__}: {str(error)[:200]} at {where}")
    if memory_kb() > MOST_KB > held:
        count.wrong.append(f"case {number}: {memory_kb()} kB")


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    begun = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    print(cases(begun, 10**9, float(sys.argv[1]), 5_000).as_text())
