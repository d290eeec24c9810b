"""How much of each meter is used: true km, engaged km, towing km, low range km, hours.

A unit's life is a line of true kilometres (odometer km x the unit's odometer factor, with
instruments replaced). The line is cut into segments: legs already driven, with their own
wear, and ordinary use between them. What history does not tell is None, never zero.
"""

from collections.abc import Callable, Iterator, Sequence
from datetime import date
from itertools import pairwise

from msgspec import Struct

from tripplan.records.facts_in import HistoryRow, Leg, Meter, Unit
from tripplan.records.units import DAYS_PER_WEEK
from tripplan.records.words import WITHOUT_ITEM
from tripplan.wear.earlier_trips import by_trip, trip_of

READING, REPLACED = WITHOUT_ITEM


class Reading(Struct, frozen=True):
    """A known point on the unit's line: day, true km since the first reading, and the row."""

    day: date
    true_km: float
    row: HistoryRow


class Segment(Struct, frozen=True):
    """A piece of the unit's line: a driven leg, or ordinary use from the day `since` to `until` when `leg` is None."""

    start_km: float
    end_km: float
    leg: Leg | None
    since: date
    until: date

    def km_by(self, day: date) -> float:
        """True km at its end when it was driven by that day, else by the share of its days that were over."""
        if self.until <= day:
            return self.end_km
        share = max(0, (day - self.since).days) / max(1, (self.until - self.since).days)
        return self.start_km + share * (self.end_km - self.start_km)


class OdometerLine(Struct, frozen=True):
    """One unit's line of true km up to today."""

    unit: Unit
    marks: tuple[Reading, ...]
    segments: tuple[Segment, ...]
    now_km: float | None
    speed_kmh: float

    def true_km_of(self, row: HistoryRow) -> float | None:
        """True km at a history row: its own reading, else estimated between its neighbours or behind the last one."""
        for mark in self.marks:
            if mark.row is row:
                return mark.true_km
        if not self.marks or row.date < self.marks[0].day:
            return None
        return self._behind(row.date) if self.is_behind_readings(row.date) else self._between(row.date)

    def is_behind_readings(self, day: date) -> bool:
        """True when no reading is of that day or later."""
        return bool(self.marks) and day > self.marks[-1].day

    def _behind(self, day: date) -> float:
        """By what was driven since the last reading: the legs up to that day, its own among them, and ordinary use by days."""
        last_km = self.marks[-1].true_km
        behind = [
            segment.km_by(day) for segment in self.segments if segment.start_km >= last_km and segment.since <= day
        ]
        return max(behind, default=last_km)

    def _between(self, day: date) -> float:
        low = [mark for mark in self.marks if mark.day <= day][-1]
        high = next(mark for mark in self.marks if mark.day >= day)
        span_days = (high.day - low.day).days
        share = (day - low.day).days / span_days if span_days else 0.0
        return low.true_km + share * (high.true_km - low.true_km)

    def uses_since(self, true_km: float, meter: Meter) -> Iterator[tuple[Leg | None, float]]:
        """Use of a meter since that point, piece by piece, each with its leg; None is ordinary use."""
        for segment in self.segments:
            length_km = segment.end_km - max(segment.start_km, true_km)
            if length_km > 0:
                yield segment.leg, length_km * per_km(self.unit, meter, segment.leg, self.speed_kmh)

    def used_since(self, true_km: float, meter: Meter, wear_of: Callable[[Leg], float] | None = None) -> float:
        """Use of a meter since that point; driven legs count times `wear_of(leg)`."""
        return sum(use * (wear_of(leg) if wear_of and leg else 1.0) for leg, use in self.uses_since(true_km, meter))


def per_km(unit: Unit, meter: Meter, leg: Leg | None, speed_kmh: float) -> float:
    """How much of a meter one true km of this unit takes, on a leg or in ordinary use.

    Wheel bearings turn on every km; the stub-axle bush, joints and front gears only when
    the front axle is driven. A share the owner did not give counts in full.
    """
    if meter == "km":
        return 1.0 if leg is None or unit.kind == "vehicle" or leg.towing else 0.0
    if meter == "engine_hours":
        return 1.0 / (leg.speed_kmh if leg else speed_kmh) if unit.kind == "vehicle" else 0.0
    if meter == "towing_km":
        return _towing_share(unit, leg)
    if unit.kind != "vehicle":
        return 0.0
    if meter == "low_range_km":
        usual = unit.usual_low_range_share
        return leg.low_range_km / leg.distance_km if leg else 1.0 if usual is None else usual
    return engaged_share(unit, leg)


def engaged_share(unit: Unit, leg: Leg | None) -> float:
    """Share of the km on which the front axle's shafts turn under drive.

    Part-time drive with free-wheeling hubs: only while locked. Full-time or front drive,
    or fixed hubs: always. Rear drive: never.
    """
    if unit.drive == "rear":
        return 0.0
    if unit.drive == "part-time" and unit.hubs == "free-wheeling":
        usual = unit.usual_engaged_share
        share = leg.hubs if leg else usual
        return 1.0 if share is None else share
    return 1.0


def _towing_share(unit: Unit, leg: Leg | None) -> float:
    if unit.kind == "trailer":
        return 1.0 if leg is None or leg.towing else 0.0
    if leg:
        return 1.0 if leg.towing else 0.0
    return 1.0 if unit.usual_towing_share is None else unit.usual_towing_share


def build_ledger(
    unit: Unit,
    rows: Sequence[HistoryRow],
    driven: Sequence[Leg],
    today: date,
    speed_kmh: float,
    home_again: date | None = None,
) -> OdometerLine:
    """The unit's line from its first reading to `today`.

    `driven` are the legs already driven, in order. Between two readings the odometer
    rules; what the legs do not explain is ordinary use. Behind the last reading the legs
    count by their distance, and time at home (before the legs, and since `home_again`
    where that day is past) by `usual_km_per_week`.
    """
    own = [leg for leg in driven if unit.kind == "vehicle" or leg.towing]
    marks = read_marks(unit, rows)
    segments: list[Segment] = []
    left = list(own)
    for low, high in pairwise(marks):
        inside = _legs_between(left, low, high)
        segments += _fill(low, high, inside)
        left = [leg for leg in left if leg not in inside and leg.date >= low.day]
    now_km = None
    if marks:
        left = [leg for leg in left if leg.date >= marks[-1].day]
        segments += _after_last(unit, marks[-1], left, today)
        if left and trip_of(left[-1]) is None and home_again and today > home_again:
            segments += _idle(unit, segments[-1].end_km, home_again, today)
        now_km = segments[-1].end_km if segments else marks[-1].true_km
    return OdometerLine(unit, marks, tuple(segments), now_km, speed_kmh)


def read_marks(unit: Unit, rows: Sequence[HistoryRow]) -> tuple[Reading, ...]:
    """Readings in time order as true km since the first one, across replaced odometers."""
    factor = 1.0 if unit.odometer_factor is None else unit.odometer_factor
    marks: list[Reading] = []
    base_km: float | None = None
    shown = 0.0
    for row in ordered_readings(rows):
        reading_km = row.odometer_km
        if reading_km is None:
            continue
        if base_km is None:
            base_km, shown = 0.0, reading_km
        elif row.act == REPLACED:
            last_km = shown if row.old_odometer_km is None else row.old_odometer_km
            base_km += (last_km - shown) * factor
        else:
            base_km += (reading_km - shown) * factor
        shown = reading_km
        marks.append(Reading(row.date, base_km, row))
    return tuple(marks)


def ordered_readings(rows: Sequence[HistoryRow]) -> list[HistoryRow]:
    """Rows with a reading in time order; on the day of a swap the old instrument first."""
    with_reading = [row for row in rows if row.odometer_km is not None]
    swaps = {row.date: row for row in with_reading if row.act == REPLACED}

    def rank(row: HistoryRow) -> tuple[date, int, float, int]:
        swap = swaps.get(row.date)
        reading_km = row.odometer_km or 0.0
        if swap is None:
            return (row.date, 0, reading_km, row.origin.row or 0)
        if row is swap:
            return (row.date, 1, reading_km, row.origin.row or 0)
        new_km = swap.odometer_km or 0.0
        old_km = swap.old_odometer_km
        is_old = old_km is None or abs(reading_km - old_km) <= abs(reading_km - new_km)
        return (row.date, 0 if is_old else 2, reading_km, row.origin.row or 0)

    return sorted(with_reading, key=rank)


def _legs_between(legs: Sequence[Leg], low: Reading, high: Reading) -> list[Leg]:
    """Legs that belong between two readings; on a reading's own day the nearer fit decides."""
    span_km = high.true_km - low.true_km
    inside: list[Leg] = []
    total_km = 0.0
    for leg in legs:
        fits = total_km + leg.distance_km / 2 <= span_km
        if low.day < leg.date < high.day or (low.day <= leg.date <= high.day and fits):
            inside.append(leg)
            total_km += leg.distance_km
    return inside


def _fill(low: Reading, high: Reading, legs: Sequence[Leg]) -> list[Segment]:
    """Ordinary use first, then the legs, together exactly as long as the odometer says."""
    span_km = high.true_km - low.true_km
    legs_km = sum(leg.distance_km for leg in legs)
    scale = span_km / legs_km if legs_km > span_km else 1.0
    at_km = high.true_km - legs_km * scale
    home_until = legs[0].date if legs else high.day
    found = [Segment(low.true_km, at_km, None, low.day, home_until)] if at_km > low.true_km else []
    for leg in legs:
        found.append(Segment(at_km, at_km + leg.distance_km * scale, leg, leg.date, leg.date))
        at_km += leg.distance_km * scale
    return found


def _after_last(unit: Unit, last: Reading, legs: Sequence[Leg], today: date) -> list[Segment]:
    """Behind the last reading: each trip by its legs, and the usual rate before and between trips."""
    found: list[Segment] = []
    at_km, since = last.true_km, last.day
    for trip in by_trip(legs):
        found += _idle(unit, at_km, since, min(trip[0].date, today))
        at_km = found[-1].end_km if found else at_km
        for leg in trip:
            found.append(Segment(at_km, at_km + leg.distance_km, leg, leg.date, leg.date))
            at_km += leg.distance_km
        since = trip[-1].date
    is_home = not legs or trip_of(legs[-1]) is not None
    return [*found, *_idle(unit, at_km, since, today)] if is_home else found


def _idle(unit: Unit, start_km: float, since: date, until: date) -> list[Segment]:
    length_km = ordinary_km(unit, since, until)
    return [Segment(start_km, start_km + length_km, None, since, until)] if length_km > 0 else []


def ordinary_km(unit: Unit, start: date, end: date) -> float:
    """True km of ordinary use between two days at the owner's usual rate; 0 if not given."""
    return (unit.usual_km_per_week or 0.0) * max(0, (end - start).days) / DAYS_PER_WEEK
