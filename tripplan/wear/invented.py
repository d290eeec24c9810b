"""Rows that a demo lent to a new folder, still as they were: told until their owner has put their own there."""

from collections.abc import Iterable, Iterator

from tripplan.records.facts_in import Crossing, HistoryRow, Leg, Origin, Rig, Stop, Trip, WorkshopDay
from tripplan.records.grouped import grouped
from tripplan.records.problem_codes import problem
from tripplan.records.problems import Problem

Noted = HistoryRow | Leg | Crossing | Stop | WorkshopDay
MARK = "REPLACE (invented)"
ACCEPTED = "what is true of your own rig and trip"
HINT = f"put your own in its place and take the words {MARK} out"


def check_invented(rig: Rig, history: Iterable[HistoryRow], trip: Trip) -> Iterator[Problem]:
    """One Problem for each file that still has marked rows, or a marked name."""
    for owner, name in ((rig.origin, rig.name), (trip.origin, trip.name)):
        if name.startswith(MARK):
            yield problem("F18", owner, "name", name, ACCEPTED, HINT)
    noted: tuple[Noted, ...] = (
        *history,
        *trip.earlier_legs,
        *trip.legs,
        *trip.crossings,
        *trip.stops,
        *trip.workshop_days,
    )
    marked = grouped((row.origin.file, row.origin.row or 0) for row in noted if row.note and row.note.startswith(MARK))
    for file, rows in marked.items():
        count = f"{len(rows)} rows" if len(rows) > 1 else "a row"
        yield problem("F18", Origin(file=file, row=min(rows)), "note", f"{count} of an invented demo", ACCEPTED, HINT)
