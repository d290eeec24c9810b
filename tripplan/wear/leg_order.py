"""The order of the legs, by their numbers and by their days, and which of them are in doubt while it is wrong.

One wrong number or day sets a leg against its neighbours, its crossings, its stops and the
trip. It is told once, at the leg; what hangs on it is told when it is put right.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from typing import TypeVar

from msgspec import Struct

from tripplan.records.facts_in import Crossing, HistoryRow, Leg, Stop, Trip, WorkshopDay
from tripplan.records.grouped import grouped
from tripplan.records.problem_codes import figure, problem
from tripplan.records.problems import Problem

Row = TypeVar("Row", HistoryRow, Leg, Crossing, Stop, WorkshopDay)


class DoubtedLegs(Struct, frozen=True):
    """The numbers of the legs of which a problem of their own says that the number, or the day, may be wrong."""

    numbers: frozenset[int] = frozenset()
    days: frozenset[int] = frozenset()

    @property
    def either(self) -> frozenset[int]:
        """Those whose number or day is in doubt."""
        return self.numbers | self.days


def doubted_legs(trip: Trip) -> DoubtedLegs:
    """The legs in doubt; where every leg lies outside the trip, it is the trip's own days that are wrong."""
    twice = _twice(trip)
    numbers = twice | {leg.leg for pair in _misnumbered(trip, twice) for leg in pair}
    days = {leg.leg for pair in _turned(trip, numbers) for leg in pair}
    outside = {leg.leg for leg in trip.legs if _is_outside(trip, leg)}
    is_known = len(outside) < len({leg.leg for leg in trip.legs})
    return DoubtedLegs(numbers, frozenset(days | outside if is_known else days))


def check_leg_order(trip: Trip) -> Iterator[Problem]:
    """Legs are numbered once each, upwards, and each starts where the last one ended."""
    for leg, first in repeated(trip.legs, lambda leg: leg.leg):
        yield problem("L11", leg.origin, "leg", f"{leg.leg}", f"a number not used in row {first}")
    for before, leg in _misnumbered(trip, _twice(trip)):
        accepted = f"{before.leg + 1} or more, as leg {before.leg} is above it"
        yield problem("L12", leg.origin, "leg", f"{leg.leg}", accepted)
    for before, leg in pairwise(trip.legs):
        if leg.from_.casefold() != before.to.casefold():
            accepted = f"{before.to}, where leg {before.leg} ends (row {before.origin.row})"
            yield problem("L15", leg.origin, "from", leg.from_, accepted)


def check_leg_times(trip: Trip, doubted: DoubtedLegs) -> Iterator[Problem]:
    """Legs lie within the trip, and none departs before the one before it can have been driven, day and night at its speed."""
    turned = [pair for pair in _turned(trip, doubted.numbers) if not _is_after(trip, pair[0])]
    for before, leg in turned:
        accepted = f"{before.depart} or later, when leg {before.leg} departs (row {before.origin.row})"
        yield problem("L12", leg.origin, "depart", f"{leg.depart}", accepted)
    for before, leg in _in_a_row(trip, doubted.numbers):
        hours = before.distance_km / before.speed_kmh
        if timedelta(0) <= latest(leg.depart) - earliest(before.depart) < timedelta(hours=hours):
            accepted = f"{figure(hours)} hours or more after leg {before.leg} departs, {before.depart} (row {before.origin.row})"
            hint = f"{figure(before.distance_km)} km at {figure(before.speed_kmh)} km/h without a pause"
            yield problem("L13", leg.origin, "depart", f"{leg.depart}", accepted, hint)
    told = {leg.leg for _, leg in turned}
    for leg in trip.legs:
        if _is_outside(trip, leg) and leg.leg not in told:
            accepted = f"{trip.depart} to {trip.return_}, the dates of trip.toml"
            yield problem("L14", leg.origin, "depart", f"{leg.depart}", accepted)


def repeated(rows: Iterable[Row], key: Callable[[Row], object]) -> Iterator[tuple[Row, int | None]]:
    """The rows that say the same as an earlier one by this key, each with the row number of the first."""
    for same in grouped((key(row), row) for row in rows).values():
        for row in same[1:]:
            yield row, same[0].origin.row


def earliest(value: datetime | date) -> datetime:
    """The first moment that is meant; of a day without a time its start."""
    return value if isinstance(value, datetime) else datetime.combine(value, time.min)


def latest(value: datetime | date) -> datetime:
    """The last moment that is meant; of a day without a time its end."""
    return value if isinstance(value, datetime) else datetime.combine(value, time.max)


def _twice(trip: Trip) -> frozenset[int]:
    return frozenset(leg.leg for leg, _ in repeated(trip.legs, lambda leg: leg.leg))


def _misnumbered(trip: Trip, twice: frozenset[int]) -> Iterator[tuple[Leg, Leg]]:
    """Legs below one with a higher number, with that one; not where a number that is there twice explains it."""
    for before, leg in pairwise(trip.legs):
        if leg.leg < before.leg and twice.isdisjoint((before.leg, leg.leg)):
            yield before, leg


def _in_a_row(trip: Trip, without: frozenset[int]) -> Iterator[tuple[Leg, Leg]]:
    """Each leg and the next by number, but those whose number is in doubt."""
    for pair in pairwise(sorted(trip.legs, key=lambda leg: leg.leg)):
        if without.isdisjoint(leg.leg for leg in pair):
            yield pair


def _turned(trip: Trip, without: frozenset[int]) -> Iterator[tuple[Leg, Leg]]:
    """Legs that depart before the one before them does, with that one."""
    for before, leg in _in_a_row(trip, without):
        if latest(leg.depart) < earliest(before.depart):
            yield before, leg


def _is_outside(trip: Trip, leg: Leg) -> bool:
    return trip.depart <= trip.return_ and not trip.depart <= leg.date <= trip.return_


def _is_after(trip: Trip, leg: Leg) -> bool:
    """True for a leg after the return: then it is the one with the wrong day, and not the leg behind it."""
    return _is_outside(trip, leg) and leg.date > trip.return_
