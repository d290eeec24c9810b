"""The search: plans for every part, prices for what they share, and a choice among plans.

Deterministic: whole numbers throughout, no clock, no chance, no solver. Equal problems give
equal plans on any machine.
"""

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from tripplan.placing.beam import beam
from tripplan.placing.choice import (
    TOO_MUCH,
    Pool,
    Prices,
    best_prices,
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
from tripplan.placing.known import Known, deepen, first_known
from tripplan.placing.model import Flags, Model, Part, Plans, part_of, parts_of
from tripplan.placing.room_made import with_room

NAME, VERSION = "tripplan descent", "1"
MOST_ROUNDS, FAR_ROUNDS, LEAST_ROUNDS = 14, 8, 5
RISE = 0.001
FAR, NEAR = 0.01, 0.005
"""A plan this far from what the prices say that none can undercut gets more rounds, while they tell more; one that is
not yet near, a choice built up part by part beside those exchanged."""
SCARCE, SHARES = 2, (2.5, 0.6)


class Found(Struct, frozen=True):
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
    now = _Standing(model, first_known(model, parts), best, _sum(model, best))
    if start is not None and whole_cost(model, whole, start) < now.cost:
        now.best, now.cost = [priced(part, start[part.tasks][None]) for part in parts], whole_cost(model, whole, start)
    prices, centre = _rounds(now)
    own = np.zeros(model.labour.shape, dtype=bool)
    for part, plan in zip(parts, now.best, strict=True):
        own[part.tasks] = plan.own[0]
    own = with_room(model, refine(model, own, prices.rows), prices.rows)
    return Found(own, whole_cost(model, whole, own), centre, parts)


class _Standing(Struct):
    """How far the search is: what is known of every part, the best plan of each so far, and what they cost together."""

    model: Model
    known: Known
    best: list[Plans]
    cost: float

    def choose(self, plans: list[Plans], pool: Pool, prices: Prices, is_wide: bool) -> None:
        """Takes the best choice found in the pool where it is better; a wide search also builds one up part by part."""
        starts = [(cheapest(pool, worth_of(pool, prices)), TOO_MUCH), (_spots(plans, self.best), TOO_MUCH[-1:])]
        starts += [(built, TOO_MUCH[-1:]) for built in (beam(self.model, pool, prices) if is_wide else ())]
        short = tight(self.model, pool)
        for first, too_much in starts:
            chosen = exchange(*short, first, too_much)
            cost, over = total(*short, chosen)
            if over == 0.0 and cost < self.cost:
                self.cost, self.best = cost, _picked(plans, pool, chosen)


def _rounds(now: _Standing) -> tuple[Prices, Prices]:
    """Prices and plans in turn, until nothing gets better: the prices at the end, and those that told most."""
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
        now.choose(plans, pool, prices, turn + 1 >= LEAST_ROUNDS and now.cost - highest > NEAR * now.cost)
        is_far = now.cost - highest > FAR * now.cost
        goes_on = now.cost < before or (is_far and rises)
        if turn + 1 >= (FAR_ROUNDS if is_far else LEAST_ROUNDS) and not goes_on:
            break
    if is_far:
        _other_prices(now, centre)
    return prices, centre


def _other_prices(now: _Standing, prices: Prices) -> None:
    """Plans for dearer minutes where they are worth most, then for cheaper ones: smaller and larger ones of large parts."""
    room = np.where(np.isfinite(now.model.room), now.model.room, 0.0)
    for share in SHARES:
        for row in np.argsort(-prices.rows * room, kind="stable")[:SCARCE]:
            rows = prices.rows.copy()
            rows[row] = np.round(rows[row] * share)
            plans = deepen(now.known, Prices(rows, prices.fees), now.best)
            now.choose(plans, pool_of(now.model, plans), prices, is_wide=True)


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
