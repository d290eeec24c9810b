"""The last step of the search: plans of bunches exchanged within the minutes that are left, and days planned anew.

A step counts only where the whole, priced exactly, is cheaper for it.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import cycle

import numpy as np
from msgspec.structs import replace

from tripplan.placing.bunches import Means, stand, whole_costs
from tripplan.placing.choice import TOO_MUCH, Pool, can_run_short, exchange, promising
from tripplan.placing.model import Flags, Model, Part, Plans
from tripplan.placing.two_days import LEAST_GAIN, MOST, Rows, best_choice, better_choices

TURNS, TRIED = 12, 48
MORE_ROOM = (0.0, 50.0, 100.0, 150.0)
"""Tenths of a minute that every day is taken to have more while all are planned at once: what one job does for another on the
way saves minutes, and the sums do not see that (measured)."""
MOST_AT_ONCE = 12
"""Of more rows of minutes than these, all at once leave too many choices to go through (measured)."""


def refine(means: Means, own: Flags) -> Flags:
    """The visits with single tasks moved while that makes the whole cheaper.

    First all exchanges that pay are made together; where that does not come out, the most
    promising are tried one by one.
    """
    parts, cost = means.bunches.parts, means.cost(own)
    for _ in range(TURNS):
        left, pool, plans = stand(means, own, parts)
        better = _with_plans(own, parts, plans, pool, exchange(left, pool, pool.first[:-1], TOO_MUCH[-1:]))
        now = means.cost(better)
        if now >= cost:
            better, now = _best_of_some(means, own, left, pool, plans)
        if now >= cost:
            break
        own, cost = better, now
    return own


def without_idle(means: Means, own: Flags) -> Flags:
    """The visits without those that others make on the way at the same site, where that costs no more: none is told twice."""
    model, less = means.model, own.copy()
    for row, covers in enumerate(model.covers):
        if covers and less[row].any():
            less[row] &= ~(less[list(covers)].any(axis=0) & model.counts[row])
    return less if (less != own).any() and means.cost(less) <= means.cost(own) else own


def anew(means: Means, own: Flags, joined: Sequence[Part]) -> Flags:
    """The visits with days planned anew, and single tasks moved after that, while that makes the whole cheaper by much.

    By turns among plans of bunches and of the parts of the model, in which what is opened moves with all that needs it.
    """
    cost = means.cost(own)
    for turn, parts in enumerate(cycle((means.bunches.parts, joined))):
        before = cost
        own, cost = _anew_among(means, own, parts)
        if turn and cost > (1 - LEAST_GAIN) * before:
            break
    return own


def _anew_among(means: Means, own: Flags, parts: Sequence[Part]) -> tuple[Flags, float]:
    """The visits with days planned anew among plans of these parts until nothing is cheaper, and what they cost."""
    cost = means.cost(own)
    last: Rows = ()
    while (best := _best_start(means, own, cost, parts, last)) is not None:
        better = refine(means, best[1])
        now = means.cost(better)
        if now >= cost:
            break
        last, own, cost = best[0], better, now
    return own, cost


def all_anew(
    means: Means, own: Flags, several: Sequence[Sequence[Part]], more_room: Sequence[float] = MORE_ROOM
) -> Flags:
    """The visits with all days that can run short planned anew at once, while that makes the whole cheaper.

    Among plans of each of `several` cuts into parts in turn. Where limits are passed, keeping one may take moving four
    other jobs, each to where a fifth made room.
    """
    cost = means.cost(own)
    while True:
        refined = (refine(means, start) for start in _starts(means, own, several, more_room))
        better = next((one for one in refined if means.cost(one) < cost), None)
        if better is None:
            return own
        own, cost = better, means.cost(better)


def _starts(
    means: Means, own: Flags, several: Sequence[Sequence[Part]], more_room: Sequence[float]
) -> Iterator[Flags]:  # fmt: skip
    """The visits after each choice for all days at once."""
    for parts in several:
        left, pool, plans = stand(means, own, parts)
        now, rows = pool.first[:-1], tuple(can_run_short(left, pool).tolist())
        for more in more_room if 0 < len(rows) <= MOST_AT_ONCE else ():
            roomier = replace(left, room=left.room + more)
            some = best_choice(roomier, pool, now, rows, means.price, MOST, largest_first=True)
            if some is not None:
                yield _with_plans(own, parts, plans, pool, some)


def _best_start(
    means: Means, own: Flags, cost: float, parts: Sequence[Part], last: Rows
) -> tuple[Rows, Flags] | None:  # fmt: skip
    """The first choice of days planned anew that is cheaper, with its days; else the one with the cheapest sums.

    By the sums of the plans each part pays for what it opens, whoever else opens or shuts it by the same choice: such a choice
    may not fit or cost more, and still come out cheaper once it is refined.
    """
    left, pool, plans = stand(means, own, parts)
    best, least = None, np.inf
    for rows, some in better_choices(left, pool, pool.first[:-1], means.price, last):
        start = _with_plans(own, parts, plans, pool, some)
        if means.cost(start) < cost:
            return rows, start
        if (by_sums := float(pool.cost[some].sum())) < least:
            best, least = (rows, start), by_sums
    return best


def _with_plans(own: Flags, bunches: Sequence[Part], plans: list[Plans], pool: Pool, chosen: Iterable[int]) -> Flags:
    """The visits with some bunches on other plans, given as places in the pool."""
    better = own.copy()
    for index in chosen:
        number = int(pool.part[index])
        better[bunches[number].tasks] = plans[number].own[index - pool.first[number]]
    return better


def _best_of_some(means: Means, own: Flags, left: Model, pool: Pool, plans: list[Plans]) -> tuple[Flags, float]:
    """The best of the most promising exchanges of one bunch and of two, each priced exactly."""
    swaps = promising(left, pool, pool.first[:-1], TRIED)
    if not swaps:
        return own, np.inf
    several = np.stack([_with_plans(own, means.bunches.parts, plans, pool, swap) for swap in swaps])
    costs = whole_costs(means.model, means.bunches.whole, several)
    best = int(costs.argmin())
    return several[best], float(costs[best])
