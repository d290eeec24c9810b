"""The trip as one line: where each leg starts, and which day a kilometre falls on.

Legs stand in the order of their numbers. The line is cut into stretches at each water
crossing, and the crossing itself is a stretch without length, so that within a stretch
nothing changes; cutting a leg in two therefore changes no result.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from functools import lru_cache
from itertools import accumulate, groupby
from math import ceil

from dateutil.relativedelta import relativedelta
from msgspec import Struct

from tripplan.records.facts_in import Crossing, Leg, Trip

DAYS_PER_MONTH = 365.25 / 12
EDGE_KM = 1e-6


class Stretch(Struct, frozen=True):
    """A homogeneous piece of one leg, or one crossing on it: its index, and no length."""

    leg_index: int
    start_km: float
    length_km: float
    crossing: int | None = None


class Timeline(Struct, frozen=True):
    """Legs in order, the trip km at which each starts, and the stretches they are cut into.

    `same_day_hours` are the hours already driven on the day a leg starts, on legs that start the same day.
    """

    legs: tuple[Leg, ...]
    starts_km: tuple[float, ...]
    same_day_hours: tuple[float, ...]
    total_km: float
    crossings: tuple[Crossing, ...]
    crossing_km: tuple[float, ...]
    stretches: tuple[Stretch, ...]
    return_date: date
    driving_hours_per_day: float

    def leg_at(self, trip_km: float) -> int:
        """Index of the leg that contains this trip km; a boundary belongs to the later leg."""
        return max(0, min(len(self.legs), bisect_right(self.starts_km, trip_km)) - 1)

    def date_at(self, leg_index: int, leg_km: float) -> date:
        """The day on which this km of the leg is driven, at so many driving hours a day."""
        leg = self.legs[leg_index]
        hours = self.same_day_hours[leg_index] + leg_km / leg.speed_kmh
        latest = self.legs[leg_index + 1].date if leg_index + 1 < len(self.legs) else self.return_date
        days = min(ceil(hours / self.driving_hours_per_day - EDGE_KM) - 1, (latest - leg.date).days)
        return leg.date + timedelta(days=max(0, days))

    def km_at_start_of(self, day: date) -> float:
        """Trip km driven before this day begins."""
        done_km = 0.0
        for index, leg in enumerate(self.legs):
            if leg.date >= day:
                break
            last = index + 1 == len(self.legs) or self.legs[index + 1].date >= day
            hours = self.driving_hours_per_day * (day - leg.date).days - self.same_day_hours[index]
            limit_km = leg.speed_kmh * max(0.0, hours) if last else leg.distance_km
            done_km = self.starts_km[index] + min(leg.distance_km, limit_km)
        return done_km


def build_timeline(trip: Trip, driving_hours_per_day: float) -> Timeline:
    """The trip's legs laid end to end, cut at each crossing."""
    legs = tuple(sorted(trip.legs, key=lambda leg: leg.leg))
    *starts_km, total_km = accumulate((leg.distance_km for leg in legs), initial=0.0)
    start_of = {leg.leg: start for leg, start in zip(legs, starts_km, strict=True)}
    crossings = tuple(sorted(trip.crossings, key=lambda c: (start_of[c.leg] + c.at_km, c.depth_m)))
    crossing_km = tuple(start_of[crossing.leg] + crossing.at_km for crossing in crossings)
    return Timeline(
        legs=legs, starts_km=tuple(starts_km), same_day_hours=tuple(_same_day_hours(legs)), total_km=total_km,
        crossings=crossings, crossing_km=crossing_km, stretches=tuple(_stretches(legs, starts_km, crossings, crossing_km)),
        return_date=trip.return_, driving_hours_per_day=driving_hours_per_day,
    )  # fmt: skip


def _same_day_hours(legs: Sequence[Leg]) -> Iterator[float]:
    for _, of_day in groupby(legs, key=lambda leg: leg.date):
        yield from accumulate((leg.distance_km / leg.speed_kmh for leg in [*of_day][:-1]), initial=0.0)


def leg_ends(timeline: Timeline) -> tuple[int, ...]:
    """For each leg the number of stretches up to its end."""
    counts = [0] * len(timeline.legs)
    for stretch in timeline.stretches:
        counts[stretch.leg_index] += 1
    return tuple(accumulate(counts))


@lru_cache(maxsize=4096)
def add_months(day: date, months: float) -> date:
    """The day so many calendar months later; a part of a month counts 30.4375 days a month.

    Whole months follow the calendar: 31 January + 1 month is the last of February
    (dateutil's relativedelta, documented there).
    """
    whole = int(months)
    part_days = round((months - whole) * DAYS_PER_MONTH)
    return day + relativedelta(months=whole) + timedelta(days=part_days)


@lru_cache(maxsize=4096)
def months_between(earlier: date, later: date) -> float:
    """Calendar months from one day to another, the part month by its own length."""
    span = relativedelta(later, earlier)
    whole = span.years * 12 + span.months
    anchor = earlier + relativedelta(months=whole)
    length_days = (earlier + relativedelta(months=whole + 1) - anchor).days or 1
    return whole + (later - anchor).days / length_days


def _stretches(
    legs: Sequence[Leg], starts_km: Sequence[float], crossings: Sequence[Crossing], crossing_km: Sequence[float]
) -> Iterator[Stretch]:
    for index, (leg, start_km) in enumerate(zip(legs, starts_km, strict=True)):
        at_km, end_km = start_km, start_km + leg.distance_km
        own = [(km, number) for number, km in enumerate(crossing_km) if crossings[number].leg == leg.leg]
        for km, number in own:
            next_km = at_km if km < at_km + EDGE_KM else end_km if km > end_km - EDGE_KM else km
            if next_km > at_km:
                yield Stretch(index, at_km, next_km - at_km)
            yield Stretch(index, next_km, 0.0, number)
            at_km = next_km
        if end_km > at_km:
            yield Stretch(index, at_km, end_km - at_km)
