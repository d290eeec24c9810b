"""The search: plans for every part, prices for what they share, and a choice among plans.

Deterministic: whole numbers throughout, no clock, no chance, no solver. Equal problems give
equal plans on any machine.
"""

from collections.abc import Callable
from typing import TypeAlias

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tripplan.placing.bunches import means_of
from tripplan.placing.choice import Prices, best_prices, dual_value, no_prices, pool_of
from tripplan.placing.fine import anew, refine, without_idle
from tripplan.placing.known import deepen, first_known
from tripplan.placing.model import Flags, Model, Part, Plans, parts_of
from tripplan.placing.paths import wait_of
from tripplan.placing.so_far import MOST_WEIGHED, SoFar

NAME, VERSION = "tripplan descent", "1"
MOST_ROUNDS, LEAST_ROUNDS, FEW_ROUNDS = 14, 5, 3
RISE = 0.001
"""What a further round has to bring, at the least, for yet another: so much of the cost, by what is found or by what prices tell."""
EACH_BUNCH = 30_000
"""As long as one bunch is offered plans and chosen among at the end, so many visits are weighed in a descent (measured)."""
Instead: TypeAlias = Callable[[Flags, float], Flags | None]
FAR, DEAR = 0.01, 0.1
"""A plan this far from what the prices say that none can undercut gets more rounds, while they tell more, and at the end
two days at a time are planned anew; so they are where the waiting of one row makes such a share of the whole, since prices
tell little of a long job that finds no day."""


class Found(Struct, frozen=True):
    """The visits found, what they cost, and the prices at the end, part by part; and how much was weighed for it.

    `is_bounded` is false where they are cheaper by something that no bound counts on.
    """

    own: Flags
    cost: float
    prices: Prices
    parts: tuple[Part, ...]
    weighed: int = 0
    is_bounded: bool = True


def search(model: Model, start: Flags | None = None, instead: Instead | None = None) -> Found:
    """The best plan found for the whole model, never dearer than that of `start` where that fits.

    `instead` is asked half-way for other visits to go on from, given those found so far and what they cost.
    """
    if not len(model.labour):
        return Found(np.zeros(model.labour.shape, dtype=bool), 0.0, no_prices(model, 0), ())
    means = means_of(model)
    parts, whole = parts_of(model), means.bunches.whole
    known = first_known(model, parts)
    best = [plans.take(np.array([0])) for plans in known.plans]
    now = SoFar(model, known, best, _sum(model, best))
    if start is not None:
        now.take(start, whole)
    prices, centre, least = _rounds(now)
    means = replace(means, price=prices.rows)
    other = None if instead is None else instead(now.own, now.cost)
    if other is not None:
        now.take(refine(means, other), whole)
    own = refine(means, now.own)
    cost = means.cost(own)
    longest = max(wait_of(model, own, row) for row in range(len(own)))
    if _is_far(cost, least) or longest > DEAR * cost:
        own = anew(means, own, parts)
    own = without_idle(means, own)
    return Found(own, means.cost(own), centre, parts, now.known.weighed + EACH_BUNCH * len(means.known))


def _is_far(cost: float, least: float) -> bool:
    return cost - least > FAR * cost


def _rounds(now: SoFar) -> tuple[Prices, Prices, float]:
    """Prices and plans in turn, until nothing gets better: the prices at the end, those that told most, and what they told."""
    model = now.model
    prices = centre = no_prices(model, len(now.best))
    highest = -np.inf
    for turn in range(MOST_ROUNDS):
        plans = deepen(now.known, prices, now.best)
        pool, before = pool_of(model, plans), now.cost
        target = now.cost if turn else float(np.minimum.reduceat(pool.cost, pool.first[:-1]).sum() * 1.1)
        at_these = dual_value(model, pool, prices)
        rises, centre = at_these > highest + RISE * now.cost, prices if at_these > highest else centre
        highest = max(at_these, highest)
        prices = best_prices(model, pool, prices, target)
        now.choose(plans, pool, prices)
        is_far = _is_far(now.cost, highest)
        falls = now.cost < before - RISE * now.cost
        goes_on = (falls or (rises and is_far)) and now.known.weighed <= MOST_WEIGHED
        if turn + 1 >= (LEAST_ROUNDS if is_far else FEW_ROUNDS) and not goes_on:
            break
    return prices, centre, highest


def _sum(model: Model, plans: list[Plans]) -> float:
    busy = np.any([plan.uses[0] for plan in plans], axis=0)
    return float(sum(plan.cost[0] for plan in plans) + busy @ model.fee_cost)
