"""The files of the trip folder that a logbook stands for, made from its entries and documents."""

import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from tripplan.files.folder import EARLIER_CROSSINGS, EARLIER_LEGS, HISTORY_FILES
from tripplan.files.logbook.problems import logbook_problem
from tripplan.files.logbook.store import STRUCK, Entry, Log, documents, entries, in_force
from tripplan.files.logbook.text import body_of, table_text, texts_of, texts_of_body, unguarded
from tripplan.files.refusals import columns_of
from tripplan.files.tables import records_in
from tripplan.files.toml_files import toml_or_nothing
from tripplan.records.facts_in import Crossing, HistoryRow, Leg, Record
from tripplan.records.problems import BadInput, Problem, stops

HISTORY, CROSSING, LEG, CALENDAR = "history", "crossing", "leg", "calendar"
LEGS_FILE, CROSSINGS_FILE, TRIP_FILE = "legs.csv", "crossings.csv", "trip.toml"
REGISTER_FILE = "calendar_register.json"
UNNAMED = "trip without a name"
INNER_FOLDERS = ("overrides", "tracks")
SAFE_NAME = re.compile(rf"(?:(?:{'|'.join(INNER_FOLDERS)})/)?[^/\\\0.][^/\\\0]*")


def name_in(raw: bytes) -> str:
    """The name of the trip in its trip.toml; empty where there is none."""
    return str(toml_or_nothing(raw).get("name", "")).strip()


def history_out(log: Log) -> Iterator[tuple[Entry, str | None]]:
    """Each history entry as it was written, by chain, with why it no longer counts; None while it does."""
    every = entries(log, HISTORY)
    after = {entry.replaces: entry for entry in every if entry.replaces is not None}
    for entry in sorted((e for e in every if e.body != STRUCK), key=lambda e: (e.root, e.number)):
        by = after.get(entry.number)
        why = None if by is None else by.reason or "struck out"
        yield entry, f"replaced: {why}" if by is not None and by.body != STRUCK else why


def files_of(log: Log, path: Path) -> Iterator[tuple[str, bytes]]:
    """Every file of the trip folder, in a stable order."""
    kept = documents(log)
    for name in kept:
        if not SAFE_NAME.fullmatch(name):
            raise BadInput([logbook_problem("J01", path, f"a document named {name!r}")])
    trip = name_in(kept.get(TRIP_FILE, b""))
    history = [{**texts_of_body(e.body), **({"undone": why} if why else {})} for e, why in history_out(log)]
    if history:
        yield HISTORY_FILES[0], _table(HistoryRow, history)
    crossings = [texts_of_body(entry.body) for entry in in_force(log, CROSSING, trip)]
    if crossings:
        yield CROSSINGS_FILE, _table(Crossing, crossings)
    yield from _earlier_files(log, trip, kept.get(LEGS_FILE, b""))
    for name, raw in kept.items():
        yield name, _with_driven(log, trip, raw) if name == LEGS_FILE else raw
    if calendars := in_force(log, CALENDAR):
        yield REGISTER_FILE, calendars[-1].body.encode("utf-8")


def _earlier_files(log: Log, trip: str, legs_file: bytes) -> Iterator[tuple[str, bytes]]:
    """Legs and crossings of other trips; not those that this trip lists too, as after a change of its name."""
    own = {body_of(leg) for leg in _legs_in(legs_file)[0]}
    legs = [e for e in in_force(log, LEG) if e.trip != trip and e.body not in own]
    crossings = [e for e in in_force(log, CROSSING) if e.trip != trip]
    for name, record, found in ((EARLIER_LEGS, Leg, legs), (EARLIER_CROSSINGS, Crossing, crossings)):
        rows = [{"trip": entry.trip or UNNAMED, **texts_of_body(entry.body)} for entry in found]
        if rows:
            yield name, table_text(("trip", *columns_of(record)), rows).encode("utf-8")


def _legs_in(content: bytes) -> tuple[tuple[Leg, ...], tuple[Problem, ...]]:
    return records_in(content, LEGS_FILE, Leg, "L")


def _with_driven(log: Log, trip: str, content: bytes) -> bytes:
    """legs.csv as it was taken in, or with the driven legs as they were corrected since."""
    driven = {texts.get("leg", ""): texts for texts in (texts_of_body(e.body) for e in in_force(log, LEG, trip))}
    planned, problems = _legs_in(content)
    before = [texts_of(leg) for leg in planned]
    after = [driven.get(texts.get("leg", ""), texts) for texts in before]
    bare = [{name: unguarded(text) for name, text in texts.items()} for texts in before]
    return content if stops(problems) or after in (before, bare) else _table(Leg, after)


def _table(record: type[Record], rows: Iterable[dict[str, str]]) -> bytes:
    return table_text(columns_of(record), rows).encode("utf-8")
