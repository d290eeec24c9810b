"""Days planned anew, two, three or four at a time: of all plans in a pool, the best choice within their minutes.

Where minutes are short, it may take several plans at once to make room for one, and no exchange of two finds that. Here
all choices are gone through, part by part, that take no more of the other short rows of minutes than is taken now. Of
two choices so far that take the same the cheaper stays; what cannot become cheaper than the choice of now, by a bound at
prices of the minutes, goes.
"""

from collections.abc import Iterator
from itertools import combinations
from typing import TypeAlias

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from tripplan.placing.choice import Pool, left_of
from tripplan.placing.model import Flags, Floats, Model, Numbers, places, times

SHORT, FEW = 300.0, 4
"""A row of minutes with less than this left, in tenths of a minute, is short; of so few rows every three are planned anew at
once, and all; of more every two, and so many of the shortest."""
MOST, LEAST = 4000, 200
"""So many choices so far are kept for all of these together, and for each at the least."""
TIMES, STEPS = 2, 25
"""So many times as many are looked at for equal ones; so many steps the prices take."""
LEAST_GAIN = 0.002
"""What cannot gain this share of the cost is not gone through."""
Rows: TypeAlias = tuple[int, ...]


class Choices(Struct, frozen=True):
    """Plans of each part among which to choose: where they stand in the pool, whose they are, cost, and what they take.

    What the plan of a part takes at the least is taken off already, from its plans and from the minutes `room` of the rows.
    """

    spot: Numbers
    part: Numbers
    first: Numbers
    cost: Floats
    spend: Floats
    room: Floats


def better_choices(
    model: Model, pool: Pool, chosen: Numbers, price: Floats, last: Rows = ()
) -> Iterator[tuple[Rows, Numbers]]:
    """The choices that are cheaper by the sums of the pool, each with the rows of minutes that are planned anew for it.

    Those are every two rows that are short, every three where they are few, and the shortest of all at once; from those
    behind `last` on.
    """
    several = _together(model, pool, chosen)
    most = max(MOST // max(len(several), 1), LEAST)
    for some in sorted(several, key=lambda one: (one <= last, one)):
        found = best_choice(model, pool, chosen, some, price, most)
        if found is not None:
            yield some, found


def _together(model: Model, pool: Pool, chosen: Numbers) -> set[Rows]:
    """Which rows of minutes are planned anew at once."""
    rows, left = _short(model, pool, chosen), left_of(model, pool, chosen)
    shortest = sorted(sorted(rows, key=lambda row: (left[row], row))[:FEW])
    three = combinations(rows, 3) if len(rows) <= FEW else ()
    return {*combinations(rows, 2), *three, tuple(shortest)}.difference([()])


def _short(model: Model, pool: Pool, chosen: Numbers) -> list[int]:
    """The rows of which little is left, or less than a plan takes that would make the whole cheaper by much."""
    mine, left = chosen[pool.part], left_of(model, pool, chosen)
    gains = pool.cost[mine] - pool.cost > LEAST_GAIN * pool.cost[chosen].sum()
    wanted = (pool.spend[gains] - pool.spend[mine[gains]] > left).any(axis=0)
    return np.flatnonzero(((left <= SHORT) | wanted) & (pool.spend[chosen].sum(axis=0) > 0)).tolist()


def best_choice(
    model: Model, pool: Pool, chosen: Numbers, rows: Rows, price: Floats, most: int, largest_first: bool = False
) -> Numbers | None:
    """The best choice within what these rows have; None where none is found that is cheaper than `chosen`, or none can be by much.

    Parts with few plans are gone through first; or those that can take most, since of many rows planned at once little is
    left for what comes last.
    """
    some = _choices(model, pool, chosen, rows)
    now = float(pool.cost[chosen].sum())
    enough = (1 - LEAST_GAIN) * now
    prices, least = _prices(some, price[list(rows)], enough)
    if least > enough:
        return None
    cheapest = np.minimum.reduceat(some.cost + times(some.spend, prices), some.first[:-1])
    some = _that_can_help(some, prices, cheapest, now - least)
    size = np.diff(some.first)
    goes_by = -np.maximum.reduceat(some.spend.max(axis=1), some.first[:-1]) if largest_first else size
    order = np.lexsort((goes_by, size > 1))
    rest = np.append(np.cumsum(cheapest[order][::-1])[::-1], 0.0) - prices @ some.room
    alone = some.first[:-1][size == 1]
    cost, spend = some.cost[alone].sum(keepdims=True), some.spend[alone].sum(axis=0, keepdims=True)
    found, way = chosen.copy(), []
    found[some.part[alone]] = some.spot[alone]
    for number, part in list(enumerate(order.tolist()))[len(alone) :]:
        plans = slice(some.first[part], some.first[part + 1])
        more, takes = some.cost[plans], some.spend[plans]
        bound = (cost + times(spend, prices) + rest[number + 1])[:, None] + (more + times(takes, prices))
        able = bound < now
        for row, room in enumerate(some.room.tolist()):
            able &= spend[:, row, None] + takes[:, row] <= room
        before, plan = places(able)
        cost, spend = cost[before] + more[plan], spend[before] + takes[plan]
        kept = _kept(cost, spend, bound[before, plan], most)
        if not len(kept):
            return None
        way.append((part, before[kept], plan[kept] + plans.start))
        cost, spend = cost[kept], spend[kept]
    at = int(cost.argmin())
    if cost[at] >= now or (spend[at] > some.room).any():
        return None
    for part, before, plan in reversed(way):
        found[part], at = some.spot[plan[at]], int(before[at])
    return found


def _choices(model: Model, pool: Pool, chosen: Numbers, rows: Rows) -> Choices:
    """Plans that take no more of other short rows than those of now; each that works where nobody does pays all of the fee."""
    mine, busy = chosen[pool.part], pool.uses[chosen].sum(axis=0) > 0
    left, taken = left_of(model, pool, chosen), pool.spend[chosen].sum(axis=0)
    more = np.where((left <= SHORT) & (taken > 0), 0.0, left)
    more[list(rows)] = np.inf
    able: Flags = np.asarray((pool.spend - pool.spend[mine] <= more).all(axis=1))
    able[chosen] = True
    spot = np.flatnonzero(able)
    new = np.where(busy, 0.0, pool.uses[spot])
    part, spend = pool.part[spot], (pool.spend[spot] + times(new, model.fee_rows))[:, list(rows)]
    cost = pool.cost[spot] + times(new, model.fee_cost)
    first = np.searchsorted(part, np.arange(pool.count + 1))
    least = np.minimum.reduceat(spend, first[:-1])
    room = (model.room - busy @ model.fee_rows)[list(rows)] - least.sum(axis=0)
    return Choices(spot, part, first, cost, spend - least[part], room)


def _prices(some: Choices, start: Floats, enough: float) -> tuple[Floats, float]:
    """Prices of the minutes of these rows, and what no choice undercuts at them: a deflected subgradient, whole numbers.

    Once that is more than `enough` no better prices are sought.
    """
    now = best = np.rint(start)
    highest, scale = -np.inf, 1.0
    direction = np.zeros_like(now)
    for step in range(STEPS):
        worth = some.cost + times(some.spend, now)
        least = np.minimum.reduceat(worth, some.first[:-1])
        value = float(least.sum() - now @ some.room)
        if value > highest:
            best, highest = now, value
            if value > enough:
                break
        elif step % 4 == 3:
            scale, now = scale * 0.6, best
            continue
        hit = np.flatnonzero(worth == least[some.part])
        pick = hit[np.searchsorted(some.part[hit], np.arange(len(least)))]
        direction = np.rint(some.spend[pick].sum(axis=0) - some.room + 0.5 * direction)
        length = float(direction @ direction)
        if length == 0.0:
            break
        now = np.maximum(np.rint(now + scale * max(0.002 * abs(value), 1.0) / length * direction), 0.0)
    return best, highest


def _that_can_help(some: Choices, prices: Floats, cheapest: Floats, gap: float) -> Choices:
    """The plans by which a choice could become cheaper than that of now, which lies `gap` above what none undercuts."""
    more = some.cost + times(some.spend, prices) - cheapest[some.part]
    keep = (more < gap) | (more == 0.0)
    part = some.part[keep]
    first = np.searchsorted(part, np.arange(len(cheapest) + 1))
    return Choices(some.spot[keep], part, first, some.cost[keep], some.spend[keep], some.room)


def _kept(cost: Floats, spend: Floats, bound: Floats, most: int) -> NDArray[np.intp]:
    """Of these the cheapest for each sum of minutes, up to so many, those with the lowest bound."""
    kept = np.arange(len(cost))
    if len(kept) > TIMES * most:
        kept = np.flatnonzero(bound <= np.partition(bound, TIMES * most)[TIMES * most])
    kept = kept[np.lexsort((cost[kept], *spend[kept].T))]
    kept = kept[np.append(True, (spend[kept[1:]] != spend[kept[:-1]]).any(axis=1))[: len(kept)]]
    return kept if len(kept) <= most else np.sort(kept[np.argsort(bound[kept], kind="stable")[:most]])
