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

from tripplan.files.data_tables import read_catalogue
from tripplan.files.folder import EARLIER_CROSSINGS, EARLIER_LEGS, HISTORY_FILES, Inputs, load
from tripplan.files.logbook.problems import logbook_problem, refusal
from tripplan.files.logbook.store import (
    STRUCK,
    Entry,
    Fresh,
    append,
    documents,
    entries,
    in_force,
    opened,
    save_documents,
    writing,
)
from tripplan.files.logbook.text import body_of, record_of, table_text, texts_of, texts_of_body, unguarded
from tripplan.files.refusals import columns_of
from tripplan.files.tables import SomeRecord, decoded, read_records
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import Crossing, EarlierCrossing, EarlierLeg, HistoryRow, Leg, Origin, Record
from tripplan.records.problems import BadInput, Problem, stops

HISTORY, CROSSING, LEG, CALENDAR = "history", "crossing", "leg", "calendar"
LEGS_FILE, CROSSINGS_FILE, TRIP_FILE = "legs.csv", "crossings.csv", "trip.toml"
REGISTER_FILE = "calendar_register.json"
OUTPUTS = frozenset(("tasks.csv", "shopping.csv", "calendar.ics", "calendar_todo.ics"))
AS_ENTRIES = frozenset((*HISTORY_FILES, CROSSINGS_FILE, EARLIER_LEGS, EARLIER_CROSSINGS))
UNNAMED = "trip without a name"
LEG_KEY, CROSSING_KEY = ("leg",), ("leg", "at_km")
DOCUMENT_SUFFIXES = frozenset((".toml", ".csv", ".ics"))
INNER_FOLDERS = ("overrides", "tracks")
SAFE_NAME = re.compile(rf"(?:(?:{'|'.join(INNER_FOLDERS)})/)?[^/\\\0.][^/\\\0]*")
MOST_DOCUMENT_BYTES = 50_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """What taking in a folder added: entries by kind, those already there, documents by version.

    `struck_out` counts history entries that the folder says no longer count.
    """

    added: dict[str, int]
    already_there: dict[str, int]
    documents: dict[str, int]
    struck_out: int = 0


def take_in(path: Path, folder: Path, today: date) -> TakenIn:
    """Take a trip folder into the logbook at `path`, which is made when it is not there.

    A row already in the logbook is not written again, counted or struck out; one that is
    only in the logbook stays. A row struck out in the folder is struck out here too. A
    crossing or leg with the same number and other facts corrects the old one.
    """
    if not folder.is_dir():
        raise refusal("J08", path, f"{folder}, which is no folder that can be opened")
    name = _trip_name(folder)
    rows = _rows(_history_path(folder), HistoryRow, "H")
    crossings = _rows(folder / CROSSINGS_FILE, Crossing, "C")
    driven = [leg for leg in _rows(folder / LEGS_FILE, Leg, "L") if leg.date < today]
    old_legs = _by_trip(_rows(folder / EARLIER_LEGS, EarlierLeg, "L"), Leg)
    old_crossings = _by_trip(_rows(folder / EARLIER_CROSSINGS, EarlierCrossing, "C"), Crossing)
    found = dict(_documents_of(folder))
    with opened(path, create=True) as log, writing(log):
        new, struck = _history_in(entries(log, HISTORY), rows)
        numbers = append(log, path, [Fresh(kind=HISTORY, body=body_of(_counted(row))) for row in new])
        strikes = {**struck, **{n: row.undone for n, row in zip(numbers, new, strict=True) if row.undone}}
        append(log, path, [Fresh(kind=HISTORY, body=STRUCK, replaces=n, reason=why) for n, why in strikes.items()])
        fresh = [
            *_changed(CROSSING, name, in_force(log, CROSSING, name), crossings, CROSSING_KEY),
            *_withdrawn(in_force(log, CROSSING, name), crossings),
            *_changed(LEG, name, in_force(log, LEG, name), driven, LEG_KEY),
            *_new_calendar(log, folder / REGISTER_FILE),
        ]
        for trip, rows_then in old_legs.items():
            fresh += _changed(LEG, trip, in_force(log, LEG, trip), rows_then, LEG_KEY)
        for trip, rows_then in old_crossings.items():
            fresh += _changed(CROSSING, trip, in_force(log, CROSSING, trip), rows_then, CROSSING_KEY)
        append(log, path, fresh)
        withdrawn = {old: None for old in documents(log) if old not in found}
        versions = save_documents(log, {**withdrawn, **found})
    added = Counter({**Counter(entry.kind for entry in fresh), **({HISTORY: len(new)} if new else {})})
    given = {HISTORY: len(rows), CROSSING: len(crossings), LEG: len(driven)}
    there = {kind: max(0, number - added[kind]) for kind, number in given.items()}
    return TakenIn(added=dict(added), already_there=there, documents=versions, struck_out=len(strikes))


def write_out(path: Path, folder: Path) -> tuple[Path, ...]:
    """Write the logbook as a trip folder; each file whole or not at all. Gives the paths."""
    from tripplan.files.whole_files import write_whole

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
        return append(log, path, list(_changed(CROSSING, name, old, [crossing], CROSSING_KEY)))


def correct(path: Path, number: int, row: HistoryRow | None, reason: str) -> int:
    """Replace a history entry by another, or strike it out with None; both stay readable."""
    body = "" if row is None else body_of(row)
    with opened(path) as log:
        fresh = Fresh(kind=HISTORY, body=body, replaces=number, reason=reason)
        return append(log, path, [fresh])[0]


def history_entries(path: Path) -> tuple[tuple[Entry, HistoryRow], ...]:
    """The history in force with its entry numbers, in the order and with the rows of history.csv."""
    with opened(path) as log:
        found = list(_history_out(log))
    lines = enumerate(found, 2)
    return tuple((e, _record(e, HistoryRow, HISTORY_FILES[0], row)) for row, (e, undone) in lines if undone is None)


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


def _history_in(old: Sequence[Entry], rows: Iterable[HistoryRow]) -> tuple[list[HistoryRow], dict[int, str]]:
    """Rows that the logbook does not have yet, and its entries that the folder strikes out, with why.

    Equal rows are matched one by one, those struck out first: so work struck out and then
    written down again counts once, and an older copy of the folder brings nothing back.
    """
    replaced = {entry.replaces for entry in old}
    live: dict[str, list[int]] = {}
    gone: Counter[str] = Counter(entry.body for entry in old if entry.number in replaced)
    for entry in old:
        if entry.number not in replaced and entry.body != STRUCK:
            live.setdefault(entry.body, []).append(entry.number)
    new: list[HistoryRow] = []
    struck: dict[int, str] = {}
    for row in sorted(rows, key=lambda row: row.undone is None):
        body = body_of(_counted(row))
        counting = live.get(body, [])
        if row.undone is None and counting:
            counting.pop(0)
        elif gone[body]:
            gone[body] -= 1
        elif row.undone is not None and counting:
            struck[counting.pop(0)] = row.undone
        else:
            new.append(row)
    return sorted(new, key=lambda row: row.origin.row or 0), struck


def _history_out(log: sqlite3.Connection) -> Iterator[tuple[Entry, str | None]]:
    """Each history entry as it was written, by chain, with why it no longer counts; None while it does."""
    every = entries(log, HISTORY)
    after = {entry.replaces: entry for entry in every if entry.replaces is not None}
    for entry in sorted((e for e in every if e.body != STRUCK), key=lambda e: (e.root, e.number)):
        by = after.get(entry.number)
        why = None if by is None else by.reason or "struck out"
        yield entry, f"replaced: {why}" if by is not None and by.body != STRUCK else why


def _counted(row: HistoryRow) -> HistoryRow:
    """The row as it counts or counted: what it says without the word that struck it out."""
    return row if row.undone is None else row.model_copy(update={"undone": None})


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
    kept = Counter(_key(texts_of(row), CROSSING_KEY) for row in rows)
    for entry in old:
        texts = texts_of_body(entry.body)
        key = _key(texts, CROSSING_KEY)
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
    history = [{**texts_of_body(e.body), **({"undone": why} if why else {})} for e, why in _history_out(log)]
    if history:
        yield HISTORY_FILES[0], _table(HistoryRow, history)
    crossings = [texts_of_body(entry.body) for entry in in_force(log, CROSSING, trip)]
    if crossings:
        yield CROSSINGS_FILE, _table(Crossing, crossings)
    yield from _earlier_files(log, trip, kept.get(LEGS_FILE, b""))
    for name, content in kept.items():
        yield name, _with_driven(log, trip, content) if name == LEGS_FILE else content
    if calendars := in_force(log, CALENDAR):
        yield REGISTER_FILE, calendars[-1].body.encode("utf-8")


def _earlier_files(log: sqlite3.Connection, trip: str, legs_file: bytes) -> Iterator[tuple[str, bytes]]:
    """Legs and crossings of other trips; not those that this trip lists too, as after a change of its name."""
    own = {body_of(leg) for leg in _legs_in(legs_file)[0]}
    legs = [e for e in in_force(log, LEG) if e.trip != trip and e.body not in own]
    crossings = [e for e in in_force(log, CROSSING) if e.trip != trip]
    for name, record, found in ((EARLIER_LEGS, Leg, legs), (EARLIER_CROSSINGS, Crossing, crossings)):
        rows = [{"trip": entry.trip or UNNAMED, **texts_of_body(entry.body)} for entry in found]
        if rows:
            yield name, table_text(("trip", *columns_of(record)), rows).encode("utf-8")


def _by_trip(rows: Iterable[EarlierLeg | EarlierCrossing], record: type[Record]) -> dict[str, list[Record]]:
    """Rows of earlier trips as what they were on their own trip, by its name."""
    found: dict[str, list[Record]] = {}
    for row in rows:
        texts = {name: text for name, text in texts_of(row).items() if name != "trip"}
        trip = "" if row.trip == UNNAMED else row.trip
        found.setdefault(trip, []).append(record_of(texts, record, row.origin))
    return found


def _legs_in(content: bytes) -> tuple[tuple[Leg, ...], tuple[Problem, ...]]:
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / LEGS_FILE
        path.write_bytes(content)
        return read_records(path, Leg, "L")


def _with_driven(log: sqlite3.Connection, trip: str, content: bytes) -> bytes:
    """legs.csv as it was taken in, or with the driven legs as they were corrected since."""
    driven = {texts["leg"]: texts for texts in (texts_of_body(e.body) for e in in_force(log, LEG, trip))}
    planned, problems = _legs_in(content)
    before = [texts_of(leg) for leg in planned]
    after = [driven.get(texts["leg"], texts) for texts in before]
    bare = [{name: unguarded(text) for name, text in texts.items()} for texts in before]
    return content if stops(problems) or after in (before, bare) else _table(Leg, after)


def _table(record: type[Record], rows: Iterable[dict[str, str]]) -> bytes:
    return table_text(columns_of(record), rows).encode("utf-8")


def _record(entry: Entry, record: type[SomeRecord], file: str, row: int | None) -> SomeRecord:
    return record_of(texts_of_body(entry.body), record, Origin(file=file, row=row))
