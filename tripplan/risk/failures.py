"""From use to failures: the power law of each item along its path, at every joint value of the doubts.

The same law that prices lateness: expected failures from new to a share u of the interval are
h u^b with minimal repair, h read out of the interval itself (`placing/lateness.py`). Of several
meters the one that adds most on a leg counts there. What is looked at every morning starts
anew every day.
"""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from tripplan.due.standing import Situation
from tripplan.placing.lateness import failure_price, failures_at_interval, shape_of
from tripplan.placing.problem import teardown_index
from tripplan.placing.tasks import act_prices
from tripplan.placing.waiting import Rates, rates_of
from tripplan.records.catalogue import Item
from tripplan.records.grouped import grouped
from tripplan.risk.courses import Courses
from tripplan.risk.doubts import MOST, Doubts, at_values, joint_values
from tripplan.wear.mechanisms.uncertain import MEDIAN, Array

Path = tuple[int, ...]
"""The knots at which an item is renewed, in order."""
NOT_SINCE = -1


class Law(Struct, frozen=True, eq=False):
    """Each item's law: the power, failures in one interval kept at home, and the share of them that stops the rig.

    `at_most` and `at_least` are the failures in one interval where a repair costs the least and the most, `wet` what
    water left in it may add over the way home. `act_price` and `failure_price` are what they were read from.
    """

    shape: Array
    at_interval: Array
    at_most: Array
    at_least: Array
    wet: Array
    strands: Array
    act_price: Array
    failure_price: Array


class Worn(Struct, frozen=True, eq=False):
    """The share of each interval used, by row, knot and joint value of the doubts, with all that failures hang on."""

    courses: Courses
    law: Law
    doubts: Doubts
    share: Array
    standing_hours: Array


def laws(c: Courses, s: Situation) -> Law:
    """The law of each item."""
    rates = rates_of(s)
    row = s.catalogue.assumed("repair_after_failure_hours")
    prices = act_prices(c.standings, teardown_index(s.catalogue), rates.home_hour)
    low, high = row.low or row.value, row.high or row.value
    ratios = (1.0, low / row.value, high / row.value)
    left, entered = (s.catalogue.assumed(name).value for name in ("wet_left_share", "water_entered_share"))
    found = [_law(x.item, prices[(x.item.id, x.unit.id)], rates, ratios, left) for x in c.standings]
    law = Law(*np.array(found).reshape(-1, 8).T)
    return replace(law, wet=law.wet * entered)


def _law(item: Item, price: float, rates: Rates, ratios: Sequence[float], left: float) -> tuple[float, ...]:
    power = shape_of(item.act, item.life_shape)
    costs = [
        failure_price(rates.hours_at_home, item.strands, rates.standing_hour, rates.repair * one) for one in ratios
    ]
    found = [failures_at_interval(price, cost, power) for cost in costs]
    return (power, *found, found[0] * (left**power - 1.0), item.strands, price, costs[0])


def worn(c: Courses, s: Situation, most: int = MOST) -> Worn:
    """The shares at every joint value; the mechanisms that move the trip most are varied together."""
    law = laws(c, s)
    doubts = joint_values(_strongest(c, law)[:most], c.excess.shape[-2])
    driven = at_values(c.use, c.excess, doubts)
    share = np.concatenate([driven[:, :1] - c.home_use[..., None], driven], axis=1)
    return Worn(c, law, doubts, share, np.array(s.standing_hours))


def _strongest(c: Courses, law: Law) -> tuple[int, ...]:
    """Mechanisms by how much one step of their doubt moves expected stops if nothing is done, the strongest first."""
    middle = c.use + c.excess[..., MEDIAN].sum(axis=-1)
    weight, power = (law.at_interval * law.strands)[c.row_item], law.shape[c.row_item]
    ends = [0, -1]

    def stops(share: Array) -> float:
        pair = np.maximum(share[:, ends], 0.0) ** power[:, None]
        return float((weight * (pair[:, 1] - pair[:, 0])).sum())

    moved = {}
    for mechanism in range(c.excess.shape[-2]):
        step = c.excess[:, :, mechanism, MEDIAN + 1] - c.excess[:, :, mechanism, MEDIAN]
        if step.any():
            moved[mechanism] = stops(middle + step) - stops(middle)
    return tuple(sorted(moved, key=lambda m: (-moved[m], m)))


def failures(w: Worn, asked: Sequence[tuple[int, Path]]) -> Array:
    """Expected failures by leg and joint value, for each item asked about with the path it takes."""
    c, home = w.courses, w.courses.knots.home
    items = np.array([item for item, _ in asked], dtype=np.intp)
    since = last_renewals([path for _, path in asked], home, c.knots.legs)
    by_item = grouped((item, row) for row, item in enumerate(c.row_item.tolist()))
    pairs = [(spot, row) for spot, item in enumerate(items.tolist()) for row in by_item.get(item, ())]
    by_days = _grown(w, c.calendar[:, :, None], items, items, since, c.knots.days)
    found = np.empty((*by_days.shape[:2], len(w.doubts.weights)))
    found[:] = by_days
    if pairs:
        spots, rows = np.array(pairs, dtype=np.intp).T
        first = np.flatnonzero(np.diff(spots, prepend=-1))
        metered = _grown(w, w.share, rows, items[spots], since[spots], c.knots.driving_days)
        metered = np.maximum.reduceat(metered, first, axis=0) if len(first) < len(spots) else metered
        found[spots[first]] = np.maximum(found[spots[first]], metered)
    found *= w.law.at_interval[items][:, None, None]
    return found


def _grown(
    w: Worn, shares: Array, rows: NDArray[np.intp], items: NDArray[np.intp], since: NDArray[np.intp], days: Array
) -> Array:
    """What each leg adds to share^b of its row, from the last renewal before it."""
    c, home = w.courses, w.courses.knots.home
    share, power, daily = shares[rows], w.law.shape[items], c.each_morning[items]
    spots = np.arange(len(rows))[:, None]
    base = np.where((since < 0)[..., None], -c.extra[items][:, None, None], share[spots, np.maximum(since, 0)])
    used = np.empty((len(rows), c.knots.legs + 1, share.shape[2]))
    used[:, 1:] = share[:, home + 1 :] - base
    used[:, 0] = share[:, home] - base[:, 0]
    np.maximum(used, 0.0, out=used)
    used = powered(used, power)
    before = used[:, :-1].copy()
    before[since == home + np.arange(c.knots.legs)] = 0.0
    found = used[:, 1:] - before
    if daily.any():
        steps = np.maximum(np.diff(share[daily][:, home:], axis=1), 0.0) / days[:, None]
        found[daily] = days[:, None] * powered(steps, power[daily])
    return found


def last_renewals(paths: Sequence[Path], home: int, legs: int) -> NDArray[np.intp]:
    """For each path and leg the last knot before the leg at which it is renewed, -1 where there is none."""
    found = np.full((len(paths), legs), NOT_SINCE, dtype=np.intp)
    for spot, path in enumerate(paths):
        for knot in path:
            found[spot, max(0, knot - home) :] = knot
    return found


def powered(share: Array, power: Array) -> Array:
    """Shares to the power of their row, by roots and products where the power is a whole or half number."""
    found = np.empty_like(share)
    for value in sorted(set(power.tolist())):
        own = power == value
        found[own] = _to_the(share[own], value)
    return found


def _to_the(x: Array, power: float) -> Array:
    halves = round(2 * power)
    if abs(2 * power - halves) > 1e-12 or not 2 <= halves <= 8:
        return np.asarray(x**power)
    whole, half = divmod(halves, 2)
    found = np.sqrt(x) * x if half else x.copy()
    for _ in range(whole - 1):
        found *= x
    return found
