"""Which of the records sent are new to a folder, what speaks against one, and the rows they become."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from tripplan.files.field_records.text import FieldRecord
from tripplan.files.folder import Inputs
from tripplan.files.tables import read_cells
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import Crossing, HistoryRow
from tripplan.records.lookups import EVERY_POSITION, READING, resolve_item
from tripplan.records.problem_codes import figure, problem
from tripplan.records.problems import Problem
from tripplan.records.words import LOOKS

NOTES_FILE = "field_notes.csv"
NOTES_COLUMNS = ("record", "at", "kind", "note")
SAME_PLACE_KM = 1.0
SAME_TIME = timedelta(minutes=30)
NEAR_KM = 10.0
WALKED = "walk-round done"
Cells = dict[str, str]


class Taking(Struct, frozen=True, kw_only=True):
    """What a text brings to a folder: rows of the history and of the notes, crossings, and rows struck out.

    Each row stands with its record. `already` counts those that the folder has; `problems` tell those not taken.
    """

    history: tuple[tuple[FieldRecord, Cells], ...] = ()
    crossings: tuple[FieldRecord, ...] = ()
    notes: tuple[tuple[FieldRecord, Cells], ...] = ()
    struck: Mapping[int, Cells]
    already: int = 0
    problems: tuple[Problem, ...] = ()

    @property
    def is_empty(self) -> bool:
        """True when nothing of it is new."""
        return not (self.history or self.crossings or self.notes or self.struck)

    def without(self, refused: Mapping[str, Problem]) -> "Taking":
        """The same without the records of those names, which are told instead."""
        return replace(
            self, history=tuple(pair for pair in self.history if pair[0].id not in refused),
            crossings=tuple(one for one in self.crossings if one.id not in refused),
            problems=(*self.problems, *refused.values()),
        )  # fmt: skip


def what_is_new(
    records: Sequence[FieldRecord], inputs: Inputs, catalogue: Catalogue, noted: frozenset[str], today: date
) -> Taking:
    """The records that the folder does not have, as the rows they become; those undone on the phone are left out."""
    rows = {row.record: row for row in (*inputs.history, *inputs.undone) if row.record}
    made = {row.record for row in inputs.trip.crossings if row.record}
    there = frozenset((*rows, *made, *noted))
    undone = {record.of: record for record in records if record.kind == "undo"}
    new = [one for one in records if one.kind != "undo" and one.id not in there and one.id not in undone]
    struck, told, done = _struck(undone, rows, made, today)
    clashes = dict(_clashes(new, inputs, catalogue))
    kept = [one for one in new if one.id not in clashes]
    return Taking(
        history=tuple((one, _history_cells(one)) for one in kept if one.kind in ("work", "reading")),
        crossings=tuple(one for one in kept if one.kind == "crossing"),
        notes=tuple((one, _note_cells(one)) for one in kept if one.kind in ("note", "round")),
        struck=struck, already=sum(one.id in there for one in records if one.kind != "undo") + done,
        problems=(*clashes.values(), *told),
    )  # fmt: skip


def noted_in(folder: Path) -> frozenset[str]:
    """The names of the records whose notes the folder has."""
    table, _ = read_cells(folder / NOTES_FILE) if (folder / NOTES_FILE).is_file() else (None, ())
    return frozenset(cells.get("record", "") for _, cells in table.rows) if table else frozenset()


def planned_here(record: FieldRecord, crossings: Iterable[Crossing]) -> Crossing | None:
    """The planned crossing that a record of one made fills in: the nearest of its leg, within 10 km."""
    at_km = record.at_km or 0.0
    near = [
        row for row in crossings if row.leg == record.leg and row.crossed is None and abs(row.at_km - at_km) <= NEAR_KM
    ]
    return min(near, key=lambda row: (abs(row.at_km - at_km), row.at_km), default=None)


def crossing_cells(record: FieldRecord) -> Cells:
    """The cells of crossings.csv that a record fills."""
    told = {
        "leg": str(record.leg), "at_km": figure(record.at_km or 0.0), "depth_m": figure(record.depth_m or 0.0),
        "minutes": "" if record.minutes is None else figure(record.minutes), "water": str(record.water),
        "crossed": "" if record.when is None else f"{record.when:%Y-%m-%d %H:%M}",
        "stalled": "yes" if record.stalled else "", "hubs_hot": "yes" if record.hubs_hot else "", "record": record.id,
    }  # fmt: skip
    return {name: text for name, text in told.items() if text or name == "minutes"}


def _history_cells(record: FieldRecord) -> Cells:
    told = {
        "date": f"{record.at:%Y-%m-%d}", "unit": record.unit, "item": record.item, "position": record.position,
        "act": record.act if record.kind == "work" else str(READING),
        "odometer_km": None if record.odometer_km is None else figure(record.odometer_km),
        "finding": record.finding and str(record.finding), "note": record.note, "record": record.id,
    }  # fmt: skip
    return {name: text for name, text in told.items() if text}


def _note_cells(record: FieldRecord) -> Cells:
    return {
        "record": record.id, "at": f"{record.at:%Y-%m-%d %H:%M}", "kind": record.kind, "note": record.note or WALKED,
    }  # fmt: skip


def _struck(
    undone: Mapping[str | None, FieldRecord], rows: Mapping[str, HistoryRow], made: set[str], today: date
) -> tuple[dict[int, Cells], list[Problem], int]:  # fmt: skip
    """History rows to strike out, what cannot be, and how many are struck out already."""
    struck: dict[int, Cells] = {}
    told: list[Problem] = []
    done = 0
    for name, record in undone.items():
        row = rows.get(name or "")
        if row is not None and row.undone is None:
            struck[row.origin.row or 0] = {"undone": f"{today}: undone on the phone"}
        elif row is not None:
            done += 1
        elif name in made:
            hint = "if it was not made, empty its cell crossed in crossings.csv"
            found = f"{_words(record)} of a crossing that is in crossings.csv"
            told.append(problem("Y07", record.origin, None, found, "a row of the history", hint))
    return struck, told, done


def _clashes(
    new: Iterable[FieldRecord], inputs: Inputs, catalogue: Catalogue
) -> Iterator[tuple[str, Problem]]:  # fmt: skip
    """Records of something that the folder was told by another hand."""
    for record in new:
        same: HistoryRow | Crossing | None = None
        if record.kind in ("work", "reading"):
            same = next((row for row in inputs.history if _is_same_work(record, row, catalogue)), None)
        elif record.kind == "crossing":
            same = next((row for row in inputs.trip.crossings if _is_same_ford(record, row)), None)
        if same is not None:
            differs = "" if getattr(same, "finding", None) == record.finding else f"; there it says {_finding(same)}"
            hint = "the folder's row stays; where the phone is right, change it there"
            accepted = f"something that {same.origin} does not say{differs}"
            yield record.id, problem("Y05", record.origin, None, _words(record), accepted, hint)


def _finding(row: object) -> str:
    return f"the finding {getattr(row, 'finding', None) or 'none'}"


def _is_same_work(record: FieldRecord, row: HistoryRow, catalogue: Catalogue) -> bool:
    if (row.date, row.unit) != (record.at.date(), record.unit):
        return False
    if record.kind == "reading":
        return row.act == READING and row.odometer_km == record.odometer_km
    item = resolve_item(catalogue, row.item) if row.item else None
    if row.record and record.act in LOOKS:
        return False  # a look may be made twice on a day; told by hand and by phone it is one
    sides = (record.position, None, EVERY_POSITION)
    return item is not None and item.id == record.item and row.act == record.act and row.position in sides


def _is_same_ford(record: FieldRecord, row: Crossing) -> bool:
    is_here = row.leg == record.leg and abs(row.at_km - (record.at_km or 0.0)) <= SAME_PLACE_KM
    if not is_here or row.crossed is None or record.when is None:
        return False
    if not isinstance(row.crossed, datetime):
        return row.crossed == record.when.date()
    return abs(row.crossed - record.when) <= SAME_TIME


def _words(record: FieldRecord) -> str:
    """A record in few words, with its day."""
    if record.kind == "crossing":
        return f"crossing of leg {record.leg} at km {figure(record.at_km or 0.0)}, {record.when:%Y-%m-%d %H:%M}"
    km = None if record.odometer_km is None else f"{figure(record.odometer_km)} km"
    parts = [record.kind, record.unit, record.item, record.position, record.act, record.finding, km]
    return f"{' '.join(str(part) for part in parts if part)}, {record.at:%Y-%m-%d}"


def not_taken(record: FieldRecord, by: Problem) -> Problem:
    """A record that the folder does not take, with what speaks against it."""
    found = f"{_words(record)}: {by.found} ({by.code})"
    return problem("Y06", record.origin, by.column, found, by.accepted, by.hint)
