"""How far along the trip the rig is for certain, and the places that lie behind it.

A crossing that was made, a reading on the road and a driven leg each say that the rig has been
there: a place with a lower trip km can take no work any more, whatever its dates. A reading has
to be further on than the place by a share, since detours and instruments make it read long.
"""

from collections.abc import Iterable, Sequence
from datetime import date

from msgspec import Struct

from tripplan.records.facts_in import HistoryRow, Origin, Trip, Unit, as_day
from tripplan.trip.timeline import Timeline
from tripplan.wear.odometer_line import ordinary_km, read_marks

HAIR_KM = 1e-6


class Reached(Struct, frozen=True):
    """The furthest trip km that is certain, the day it was reached, and the row that says so."""

    trip_km: float
    day: date
    what: str
    origin: Origin


def furthest(
    trip: Trip, timeline: Timeline, vehicle: Unit, rows: Sequence[HistoryRow], today: date, slack_share: float
) -> Reached | None:
    """The furthest point that records place the rig at or beyond, up to `today`; None before the first."""
    found = [*_crossed(timeline, today), *_driven(timeline, today)]
    found += _read(trip, timeline, vehicle, rows, today, slack_share)
    return max(found, key=lambda point: (point.trip_km, point.day), default=None)


def without_passed(trip: Trip, timeline: Timeline, reached: Reached | None) -> tuple[Trip, tuple[str, ...]]:
    """The trip without the places behind the rig, and their names; the trip itself when none is."""
    if reached is None:
        return trip, ()
    ends = {leg.leg: start + leg.distance_km for leg, start in zip(timeline.legs, timeline.starts_km, strict=True)}
    stops = tuple(stop for stop in trip.stops if ends[stop.after_leg] >= reached.trip_km - HAIR_KM)
    days = trip.workshop_days if reached.trip_km <= HAIR_KM else ()
    if stops == trip.stops and days == trip.workshop_days:
        return trip, ()
    gone = tuple(stop.stop for stop in trip.stops if stop not in stops)
    return trip.model_copy(update={"stops": stops, "workshop_days": days}), gone


def _crossed(timeline: Timeline, today: date) -> Iterable[Reached]:
    for crossing, at_km in zip(timeline.crossings, timeline.crossing_km, strict=True):
        if crossing.crossed is not None and as_day(crossing.crossed) <= today:
            yield Reached(at_km, as_day(crossing.crossed), "a crossing made there", crossing.origin)


def _driven(timeline: Timeline, today: date) -> Iterable[Reached]:
    for leg, start_km in zip(timeline.legs, timeline.starts_km, strict=True):
        if leg.date < today:
            yield Reached(start_km + leg.distance_km, leg.date, f"leg {leg.leg}, driven", leg.origin)


def _read(
    trip: Trip, timeline: Timeline, vehicle: Unit, rows: Sequence[HistoryRow], today: date, slack_share: float
) -> Iterable[Reached]:
    """Readings since departure, from the last one before it, less what was driven at home until then."""
    marks = [mark for mark in read_marks(vehicle, [row for row in rows if row.unit == vehicle.id]) if mark.day <= today]
    before = [mark for mark in marks if mark.day <= trip.depart]
    if not before:
        return
    base = next((mark for mark in before if mark.day == trip.depart), before[-1])
    at_home = base.day < trip.depart
    home_km = ordinary_km(vehicle, base.day, trip.depart) + trip.shakedown_km if at_home else 0.0
    for mark in marks:
        begun = [index for index, leg in enumerate(timeline.legs) if leg.date <= mark.day]
        if mark.day < trip.depart or not begun:
            continue
        furthest_km = timeline.starts_km[begun[-1]] + timeline.legs[begun[-1]].distance_km
        read_km = (mark.true_km - base.true_km - home_km) * (1.0 - slack_share)
        if read_km > 0:
            yield Reached(min(read_km, furthest_km), mark.day, "the odometer's reading", mark.row.origin)
