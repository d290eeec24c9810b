"""The search: plans for every part, prices for what they share, and a choice among plans.

Deterministic: whole numbers throughout, no clock, no chance, no solver. Equal problems give
equal plans on any machine.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripplan.placing.beam import beam
from tripplan.placing.choice import (
    TOO_MUCH,
    Pool,
    Prices,
    best_prices,
    between,
    cheapest,
    dual_value,
    exchange,
    no_prices,
    pool_of,
    tight,
    total,
    worth_of,
)
from tripplan.placing.descent import only_at_home, priced
from tripplan.placing.fine import refine, whole_cost
from tripplan.placing.known import deepen, first_known
from tripplan.placing.model import Flags, Model, Part, Plans, part_of, parts_of

NAME, VERSION = "tripplan descent", "1"
ROUNDS, LEAST_ROUNDS = 8, 5
LAST, FAR, NEAR = 9, 0.02, 0.005
"""A plan this far from what the prices say that none can undercut gets more rounds, around the best prices so far; one
that is not yet near, a choice built up part by part beside those exchanged."""


@dataclass(frozen=True, slots=True)
class Found:
    """The visits found, what they cost, and the prices at the end, part by part."""

    own: Flags
    cost: float
    prices: Prices
    parts: tuple[Part, ...]


def search(model: Model, start: Flags | None = None) -> Found:
    """The best plan found for the whole model, never dearer than that of `start` where that fits."""
    if not len(model.labour):
        return Found(np.zeros(model.labour.shape, dtype=bool), 0.0, no_prices(model, 0), ())
    parts = parts_of(model)
    whole = part_of(model, np.arange(len(model.labour), dtype=np.intp))
    best = [only_at_home(part) for part in parts]
    known, prices, best_cost = first_known(model, parts), no_prices(model, len(parts)), _sum(model, best)
    if start is not None and whole_cost(model, whole, start) < best_cost:
        best, best_cost = [priced(part, start[part.tasks][None]) for part in parts], whole_cost(model, whole, start)
    centre, highest = prices, -np.inf
    for turn in range(LAST + 1):
        plans = deepen(known, prices, best)
        pool, before = pool_of(model, plans), best_cost
        target = best_cost if turn else float(np.minimum.reduceat(pool.cost, pool.first[:-1]).sum() * 1.1)
        at_these = dual_value(model, pool, prices)
        rises, centre = at_these > highest, prices if at_these > highest else centre
        highest = max(at_these, highest)
        found = best_prices(model, pool, centre if turn >= ROUNDS else prices, target)
        prices = between(model, centre, found) if turn >= ROUNDS and not rises else found
        starts = [(cheapest(pool, worth_of(pool, prices)), TOO_MUCH), (_spots(plans, best), TOO_MUCH[-1:])]
        if turn + 1 >= LEAST_ROUNDS and best_cost - highest > NEAR * best_cost:
            starts += [(built, TOO_MUCH[-1:]) for built in beam(model, pool, prices)]
        short = tight(model, pool)
        for first, too_much in starts:
            chosen = exchange(*short, first, too_much)
            cost, over = total(*short, chosen)
            if over == 0.0 and cost < best_cost:
                best_cost, best = cost, _picked(plans, pool, chosen)
        is_far = best_cost - highest > FAR * best_cost
        if turn + 1 >= LEAST_ROUNDS and best_cost >= before and not (is_far and turn < LAST):
            break
    own = np.zeros(model.labour.shape, dtype=bool)
    for part, plan in zip(parts, best, strict=True):
        own[part.tasks] = plan.own[0]
    own = refine(model, own, prices.rows)
    return Found(own, whole_cost(model, whole, own), centre, parts)


def _sum(model: Model, plans: list[Plans]) -> float:
    busy = np.any([plan.uses[0] for plan in plans], axis=0)
    return float(sum(plan.cost[0] for plan in plans) + busy @ model.fee_cost)


def _spots(plans: list[Plans], best: list[Plans]) -> NDArray[np.intp]:
    """Where the plans of `best` stand in the pool."""
    spots, at = [], 0
    for some, plan in zip(plans, best, strict=True):
        spots.append(at + int(np.flatnonzero((some.own == plan.own[0]).all(axis=(1, 2)))[0]))
        at += len(some.cost)
    return np.array(spots, dtype=np.intp)


def _picked(plans: list[Plans], pool: Pool, chosen: NDArray[np.intp]) -> list[Plans]:
    return [
        some.take(np.array([index - pool.first[number]]))
        for number, (some, index) in enumerate(zip(plans, chosen, strict=True))
    ]
