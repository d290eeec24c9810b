"""One trip under many roads: departure, road grades, distances and depths drawn from stated ranges.

What is drawn stands in `assumptions.csv` (`luck_...`), each number with its basis. A leg's luck is
with the trip's own season or, for the rest, with itself, so that a dry year is dusty everywhere and
yet not on every leg alike. Equal seeds give equal draws on any machine: uniform numbers are made of
the raw bits of a generator (PCG64, O'Neill 2014) whose stream is fixed, and of nothing else.
"""

from collections.abc import Sequence
from datetime import date
from typing import Any, Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import Leg, Trip, as_day
from tripplan.trip.timeline import Timeline
from tripplan.trip.what_if import departing

Whole = NDArray[np.intp]
Real = NDArray[np.float64]
DRAWN_GRADES: Final[dict[str, tuple[str, ...]]] = {
    "dust": ("none", "light", "heavy", "bulldust"),
    "corrugation": ("none", "light", "moderate", "severe"),
}
SHIFTS: Final = (-1, 0, 1)
VARIANTS: Final = len(SHIFTS) ** len(DRAWN_GRADES)
AS_PLANNED: Final = VARIANTS // 2
DEPTH_STEPS: Final = 9
DEEPEST_M: Final = 3.0
BITS: Final = 53


class Ranges(Struct, frozen=True):
    """What is drawn, and from where to where: days, shares of legs, factors of what is planned."""

    earlier_days: int
    later_days: int
    shared_share: float
    worse_share: float
    better_share: float
    distance_low_factor: float
    distance_high_factor: float
    depth_low_factor: float
    depth_high_factor: float


class Draws(Struct, frozen=True, eq=False):
    """Futures of one trip, a row each: days moved, a variant and a distance factor a leg, a depth step a crossing.

    Row 0 is the trip as it is planned; the others are drawn.

    A variant is the leg with each drawn grade one better, as planned or one worse (`variant_of`). What is
    driven or crossed already is as it was in every draw.
    """

    seed: int
    ranges: Ranges
    shift_days: Whole
    variant: Whole
    distance_factor: Real
    depth_step: Whole

    @property
    def rows(self) -> int:
        """How many futures, the planned one among them."""
        return len(self.shift_days)


def ranges_of(catalogue: Catalogue) -> Ranges:
    """The ranges of the tables, or the owner's own."""
    value = catalogue.assumed
    return Ranges(
        earlier_days=int(value("luck_depart_earlier_days").value), later_days=int(value("luck_depart_later_days").value),
        shared_share=value("luck_shared_share").value, worse_share=value("luck_road_worse_share").value,
        better_share=value("luck_road_better_share").value,
        distance_low_factor=value("luck_distance_low_factor").value,
        distance_high_factor=value("luck_distance_high_factor").value,
        depth_low_factor=value("luck_depth_low_factor").value, depth_high_factor=value("luck_depth_high_factor").value,
    )  # fmt: skip


def draw(trip: Trip, timeline: Timeline, ranges: Ranges, today: date, count: int, seed: int) -> Draws:
    """The plan, and that many futures of the legs and crossings of this timeline."""
    stream = np.random.PCG64(seed)
    legs, crossings = len(timeline.legs), len(timeline.crossings)
    ahead = np.array([leg.date >= today for leg in timeline.legs], dtype=bool)
    shift = _shifts(trip, ranges, today, uniform(stream, count))
    variant = np.zeros((count, legs), dtype=np.intp)
    for _ in DRAWN_GRADES:
        luck = _joined(stream, count, legs, ranges.shared_share)
        moved = (luck < ranges.worse_share).astype(np.intp) - (luck >= 1.0 - ranges.better_share).astype(np.intp)
        variant = variant * len(SHIFTS) + 1 + np.where(ahead, moved, 0)  # better, as planned, worse: 0, 1, 2
    low, high = _distance_bounds(timeline.legs, ranges)
    luck = _joined(stream, count, legs, ranges.shared_share)
    factor = np.where(ahead, low + luck * (high - low), 1.0)
    to_come = np.array([one.crossed is None for one in timeline.crossings], dtype=bool)
    step = (_joined(stream, count, crossings, ranges.shared_share) * DEPTH_STEPS).astype(np.intp)
    step = np.where(to_come, step, -1)
    return Draws(
        seed, ranges, np.concatenate([[0], shift]), np.vstack([np.full(legs, AS_PLANNED), variant]),
        np.vstack([np.ones(legs), factor]), np.vstack([np.full(crossings, -1), step]),
    )  # fmt: skip


def uniform(stream: np.random.PCG64, *shape: int) -> Real:
    """Numbers from 0 up to 1, of the first 53 bits of each word of the generator."""
    raw = np.asarray(stream.random_raw(int(np.prod(shape))), dtype=np.uint64)
    return np.asarray((raw >> np.uint64(64 - BITS)).astype(np.float64) / 2.0**BITS).reshape(shape)


def _joined(stream: np.random.PCG64, count: int, columns: int, shared_share: float) -> Real:
    """A number for each column, that of the whole draw for such a share of them, else one of its own; uniform all the same."""
    season, own, whose = uniform(stream, count, 1), uniform(stream, count, columns), uniform(stream, count, columns)
    return np.where(whose < shared_share, season, own)


def _shifts(trip: Trip, ranges: Ranges, today: date, luck: Real) -> Whole:
    """Whole days; never to today or before it, and none once the trip has begun."""
    idle = (trip.depart - today).days
    if idle < 1:
        return np.zeros(len(luck), dtype=np.intp)
    earliest = -min(ranges.earlier_days, idle - 1)
    return earliest + (luck * (ranges.later_days - earliest + 1)).astype(np.intp)


def _distance_bounds(legs: Sequence[Leg], ranges: Ranges) -> tuple[Real, Real]:
    """The range of each distance: the leg's own where it is estimated, else that of the tables."""
    low, high = [], []
    for leg in legs:
        is_own = leg.distance_low_km is not None and leg.distance_high_km is not None
        low.append((leg.distance_low_km or 0.0) / leg.distance_km if is_own else ranges.distance_low_factor)
        high.append((leg.distance_high_km or 0.0) / leg.distance_km if is_own else ranges.distance_high_factor)
    return np.array(low), np.array(high)


def depth_m(planned_m: float, step: int, ranges: Ranges) -> float:
    """The depth at the middle of a step; in equal shares from low to high, on a scale of factors. -1 = as it was."""
    if step < 0:
        return planned_m
    share = (step + 0.5) / DEPTH_STEPS
    factor = float(ranges.depth_low_factor ** (1.0 - share) * ranges.depth_high_factor**share)
    return min(planned_m * factor, DEEPEST_M)


def variant_of(leg: Leg, variant: int) -> Leg:
    """The leg with its drawn grades; the best and the worst grade go no further."""
    changes: dict[str, Any] = {}
    for name in reversed(DRAWN_GRADES):
        variant, shift = divmod(variant, len(SHIFTS))
        grades = DRAWN_GRADES[name]
        at = grades.index(getattr(leg, name)) + SHIFTS[shift]
        changes[name] = grades[min(max(at, 0), len(grades) - 1)]
    return leg.model_copy(update=changes)


def drawn_trip(trip: Trip, timeline: Timeline, draws: Draws, row: int) -> Trip:
    """One future as a trip of its own, which any plan can be made of."""
    legs = {}
    for spot, leg in enumerate(timeline.legs):
        factor = float(draws.distance_factor[row, spot])
        legs[leg.leg] = _stretched(variant_of(leg, int(draws.variant[row, spot])), factor)
    crossings = []
    for spot, one in enumerate(timeline.crossings):
        at = next(n for n, leg in enumerate(timeline.legs) if leg.leg == one.leg)
        deep = depth_m(one.depth_m, int(draws.depth_step[row, spot]), draws.ranges)
        at_km = one.at_km * float(draws.distance_factor[row, at])
        crossings.append(one.model_copy(update={"depth_m": deep, "at_km": at_km}))
    changed = trip.model_copy(update={"legs": tuple(legs[leg.leg] for leg in trip.legs), "crossings": tuple(crossings)})
    shift = int(draws.shift_days[row])
    return departing(changed, date.fromordinal(trip.depart.toordinal() + shift)) if shift else changed


def _stretched(leg: Leg, factor: float) -> Leg:
    if factor == 1.0:
        return leg
    km = {
        name: value * factor
        for name in ("distance_km", "low_range_km", "distance_low_km", "distance_high_km", "descent_m")
        if (value := getattr(leg, name)) is not None
    }
    return leg.model_copy(update=km)


def shifted(day: date, days: int) -> date:
    """A day so many days later."""
    return date.fromordinal(as_day(day).toordinal() + days)
