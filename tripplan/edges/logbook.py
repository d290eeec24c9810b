"""The logbook as the rest sees it: take a trip folder in, write it out, load it, add to it.

The trip folder is the logbook's text form. History rows, crossings, legs driven and issued
calendars are entries, only ever added; the rig, the trip and the owner's tables are
documents with versions. `load_logbook` reads that text form as any folder is read, so a
message names the file and row that `write_out` gives.
"""

import re
import sqlite3
import tempfile
import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from tripplan.catalogue import Catalogue
from tripplan.edges.data_tables import read_catalogue
from tripplan.edges.folder import HISTORY_FILES, Inputs, load
from tripplan.edges.logbook_problems import logbook_problem, refusal
from tripplan.edges.logbook_store import Entry, Fresh, append, documents, in_force, opened, save_documents, writing
from tripplan.edges.logbook_text import body_of, record_of, table_text, texts_of, texts_of_body, unguarded
from tripplan.edges.tables import SomeRecord, decoded, read_records
from tripplan.edges.wording import columns_of
from tripplan.problems import BadInput, Problem, stops
from tripplan.records import Crossing, HistoryRow, Leg, Origin, Record

HISTORY, CROSSING, LEG, CALENDAR = "history", "crossing", "leg", "calendar"
LEGS_FILE, CROSSINGS_FILE, TRIP_FILE = "legs.csv", "crossings.csv", "trip.toml"
REGISTER_FILE = "calendar_register.json"
OUTPUTS = frozenset(("tasks.csv", "shopping.csv", "calendar.ics", "calendar_todo.ics"))
AS_ENTRIES = frozenset((*HISTORY_FILES, CROSSINGS_FILE))
DOCUMENT_SUFFIXES = frozenset((".toml", ".csv", ".ics"))
INNER_FOLDERS = ("overrides", "tracks")
SAFE_NAME = re.compile(rf"(?:(?:{'|'.join(INNER_FOLDERS)})/)?[^/\\\0.][^/\\\0]*")
MOST_DOCUMENT_BYTES = 50_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """What taking in a folder added: entries by kind, those already there, documents by version."""

    added: dict[str, int]
    already_there: dict[str, int]
    documents: dict[str, int]


def take_in(path: Path, folder: Path, today: date) -> TakenIn:
    """Take a trip folder into the logbook at `path`, which is made when it is not there.

    A row already in the logbook is not written again; one that is only in the logbook
    stays. A crossing or leg with the same number and other facts corrects the old one.
    """
    if not folder.is_dir():
        raise refusal("J08", path, f"{folder}, which is no folder that can be opened")
    name = _trip_name(folder)
    rows = _rows(_history_path(folder), HistoryRow, "H")
    crossings = _rows(folder / CROSSINGS_FILE, Crossing, "C")
    driven = [leg for leg in _rows(folder / LEGS_FILE, Leg, "L") if leg.date < today]
    found = dict(_documents_of(folder))
    with opened(path, create=True) as log, writing(log):
        fresh = [
            *_new_rows(in_force(log, HISTORY), rows),
            *_changed(CROSSING, name, in_force(log, CROSSING, name), crossings, ("leg", "at_km")),
            *_withdrawn(in_force(log, CROSSING, name), crossings),
            *_changed(LEG, name, in_force(log, LEG, name), driven, ("leg",)),
            *_new_calendar(log, folder / REGISTER_FILE),
        ]
        append(log, path, fresh)
        withdrawn = {old: None for old in documents(log) if old not in found}
        versions = save_documents(log, {**withdrawn, **found})
    added = Counter(entry.kind for entry in fresh)
    given = {HISTORY: len(rows), CROSSING: len(crossings), LEG: len(driven)}
    there = {kind: max(0, number - added[kind]) for kind, number in given.items()}
    return TakenIn(added=dict(added), already_there=there, documents=versions)


def write_out(path: Path, folder: Path) -> tuple[Path, ...]:
    """Write the logbook as a trip folder; each file whole or not at all. Gives the paths."""
    from tripplan.edges.outputs import write_whole

    with opened(path) as log:
        files = dict(_files(log, path))
    if (folder / HISTORY_FILES[1]).exists() and HISTORY_FILES[0] in files:
        raise refusal("J08", path, f"{folder.name} already has {HISTORY_FILES[1]}", "write into an empty folder")
    try:
        for name in files:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
        return tuple(write_whole(folder / name, content) for name, content in files.items())
    except OSError as why:
        raise refusal("J03", path, f"{folder}: {why.strerror or why}") from why


def load_logbook(path: Path, today: date) -> tuple[Inputs | None, Catalogue, tuple[Problem, ...]]:
    """What `folder.load` gives for a folder, from a logbook; a bad logbook is a Problem."""
    with tempfile.TemporaryDirectory() as place:
        try:
            write_out(path, Path(place))
        except BadInput as error:
            catalogue, _ = read_catalogue()
            return None, catalogue, error.problems
        return load(Path(place), today)


def load_any(path: Path, today: date) -> tuple[Inputs | None, Catalogue, tuple[Problem, ...]]:
    """A trip folder or a logbook, whichever the path names."""
    return load_logbook(path, today) if path.is_file() else load(path, today)


def add_history(path: Path, rows: Sequence[HistoryRow]) -> tuple[int, ...]:
    """Write history rows behind the others; when it returns they are on the disk."""
    with opened(path) as log:
        return append(log, path, [Fresh(kind=HISTORY, body=body_of(row)) for row in rows])


def add_crossing(path: Path, crossing: Crossing) -> tuple[int, ...]:
    """Write a crossing of the trip in hand; it corrects the planned one at the same place."""
    with opened(path) as log, writing(log):
        name = _name_in(documents(log).get(TRIP_FILE, b""))
        old = in_force(log, CROSSING, name)
        return append(log, path, list(_changed(CROSSING, name, old, [crossing], ("leg", "at_km"))))


def correct(path: Path, number: int, row: HistoryRow | None, reason: str) -> int:
    """Replace a history entry by another, or strike it out with None; both stay readable."""
    body = "" if row is None else body_of(row)
    with opened(path) as log:
        fresh = Fresh(kind=HISTORY, body=body, replaces=number, reason=reason)
        return append(log, path, [fresh])[0]


def history_entries(path: Path) -> tuple[tuple[Entry, HistoryRow], ...]:
    """The history in force with its entry numbers, in the order of history.csv."""
    with opened(path) as log:
        found = in_force(log, HISTORY)
    return tuple((entry, _record(entry, HistoryRow, HISTORY_FILES[0], row)) for row, entry in enumerate(found, 2))


def state_of(path: Path) -> str:
    """A mark of all that the logbook holds: another entry or document, another mark."""
    with opened(path) as log:
        last = log.execute("SELECT COALESCE(MAX(number), 0) FROM entry").fetchone()[0]
        versions = log.execute("SELECT COUNT(*) FROM document").fetchone()[0]
    return f"{last}-{versions}"


def driven_legs(path: Path) -> tuple[Leg, ...]:
    """Every leg driven on any trip, by day."""
    with opened(path) as log:
        found = in_force(log, LEG)
    legs = [_record(entry, Leg, LEGS_FILE, None) for entry in found]
    return tuple(sorted(legs, key=lambda leg: leg.date))


def _history_path(folder: Path) -> Path:
    present = [name for name in HISTORY_FILES if (folder / name).is_file()]
    return folder / (present[0] if present else HISTORY_FILES[0])


def _rows(path: Path, record: type[SomeRecord], letter: str) -> list[SomeRecord]:
    """The records of one file with the guards taken off; none when there is no such file."""
    if not path.is_file():
        return []
    rows, problems = read_records(path, record, letter)
    if stops(problems):
        raise BadInput(problems)
    return [
        record_of({name: unguarded(text) for name, text in texts_of(row).items()}, record, getattr(row, "origin"))  # noqa: B009
        for row in rows
    ]


def _trip_name(folder: Path) -> str:
    try:
        return _name_in((folder / TRIP_FILE).read_bytes())
    except OSError:
        return ""


def _name_in(raw: bytes) -> str:
    text, _ = decoded(raw, TRIP_FILE)
    try:
        return str(tomllib.loads(text or "").get("name", "")).strip()
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return ""


def _documents_of(folder: Path) -> Iterator[tuple[str, bytes]]:
    """The files kept as documents: those of the trip folder's contract that are not entries."""
    for place in (folder, *(folder / name for name in INNER_FOLDERS)):
        for path in sorted(place.iterdir()) if place.is_dir() else ():
            name = path.relative_to(folder).as_posix()
            is_inner = place is not folder
            skipped = name in AS_ENTRIES | OUTPUTS or not (is_inner or path.suffix.lower() in DOCUMENT_SUFFIXES)
            if skipped or path.name.startswith(".") or not path.is_file():
                continue
            if path.stat().st_size > MOST_DOCUMENT_BYTES:
                raise refusal("J08", path, f"{name} of more than {MOST_DOCUMENT_BYTES // 1_000_000} MB")
            yield name, path.read_bytes()


def _new_rows(old: Iterable[Entry], rows: Iterable[HistoryRow]) -> Iterator[Fresh]:
    there = Counter(entry.body for entry in old)
    for row in rows:
        body = body_of(row)
        if there[body]:
            there[body] -= 1
        else:
            yield Fresh(kind=HISTORY, body=body)


def _changed(
    kind: str, trip: str, old: Iterable[Entry], rows: Iterable[Record], key: tuple[str, ...]
) -> Iterator[Fresh]:
    """New rows, and rows that differ from the entry with the same key, which they replace.

    Rows that share a key are matched in order, each with one entry at most.
    """
    waiting: dict[tuple[str, ...], list[Entry]] = {}
    for entry in old:
        waiting.setdefault(_key(texts_of_body(entry.body), key), []).append(entry)
    for row in rows:
        same = waiting.get(_key(texts_of(row), key), [])
        before = same.pop(0) if same else None
        body = body_of(row)
        if before is None:
            yield Fresh(kind=kind, body=body, trip=trip)
        elif before.body != body:
            yield Fresh(kind=kind, body=body, trip=trip, replaces=before.number, reason="changed in the folder")


def _withdrawn(old: Iterable[Entry], rows: Sequence[Crossing]) -> Iterator[Fresh]:
    """Planned crossings that the folder no longer has; a crossing made is never struck out."""
    kept = Counter(_key(texts_of(row), ("leg", "at_km")) for row in rows)
    for entry in old:
        texts = texts_of_body(entry.body)
        key = _key(texts, ("leg", "at_km"))
        kept[key] -= 1
        if kept[key] < 0 and "crossed" not in texts:
            yield Fresh(kind=CROSSING, body="", trip=entry.trip, replaces=entry.number, reason="no longer planned")


def _key(texts: dict[str, str], columns: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(texts.get(column, "") for column in columns)


def _new_calendar(log: sqlite3.Connection, path: Path) -> Iterator[Fresh]:
    if path.is_file():
        text = path.read_text(encoding="utf-8", errors="replace")
        last = in_force(log, CALENDAR)
        if text and (not last or last[-1].body != text):
            yield Fresh(kind=CALENDAR, body=text)


def _files(log: sqlite3.Connection, path: Path) -> Iterator[tuple[str, bytes]]:
    """Every file of the trip folder, in a stable order."""
    kept = documents(log)
    for name in kept:
        if not SAFE_NAME.fullmatch(name):
            raise BadInput([logbook_problem("J01", path, f"a document named {name!r}")])
    trip = _name_in(kept.get(TRIP_FILE, b""))
    history = [texts_of_body(entry.body) for entry in in_force(log, HISTORY)]
    if history:
        yield HISTORY_FILES[0], _table(HistoryRow, history)
    crossings = [texts_of_body(entry.body) for entry in in_force(log, CROSSING, trip)]
    if crossings:
        yield CROSSINGS_FILE, _table(Crossing, crossings)
    for name, content in kept.items():
        yield name, _with_driven(log, trip, content) if name == LEGS_FILE else content
    if calendars := in_force(log, CALENDAR):
        yield REGISTER_FILE, calendars[-1].body.encode("utf-8")


def _with_driven(log: sqlite3.Connection, trip: str, content: bytes) -> bytes:
    """legs.csv as it was taken in, or with the driven legs as they were corrected since."""
    driven = {texts["leg"]: texts for texts in (texts_of_body(e.body) for e in in_force(log, LEG, trip))}
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / LEGS_FILE
        path.write_bytes(content)
        planned, problems = read_records(path, Leg, "L")
    before = [texts_of(leg) for leg in planned]
    after = [driven.get(texts["leg"], texts) for texts in before]
    bare = [{name: unguarded(text) for name, text in texts.items()} for texts in before]
    return content if stops(problems) or after in (before, bare) else _table(Leg, after)


def _table(record: type[Record], rows: Iterable[dict[str, str]]) -> bytes:
    return table_text(columns_of(record), rows).encode("utf-8")


def _record(entry: Entry, record: type[SomeRecord], file: str, row: int | None) -> SomeRecord:
    return record_of(texts_of_body(entry.body), record, Origin(file=file, row=row))
