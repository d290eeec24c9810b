"""How far the search is: what is known of every part, the best plan of each so far, and what they cost together."""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from tripplan.placing.choice import (
    TOO_MUCH,
    Pool,
    Prices,
    can_run_short,
    cheapest,
    dual_value,
    exchange,
    pool_of,
    tight,
    total,
    worth_of,
)
from tripplan.placing.known import Known, deepen
from tripplan.placing.model import Flags, Floats, Model, Plans, joined_plans, times
from tripplan.placing.two_days import Rows, better_choices

TURNS = 3
MOST_WEIGHED = 12_000_000
"""Once so much is weighed no further round or turn is begun: the search keeps within its time (judgement)."""
BLOCK = 64
"""So many plans are held against those that are kept at once."""


class SoFar(Struct):
    """What is known of every part, the best plan of each, and what those cost together."""

    model: Model
    known: Known
    best: list[Plans]
    cost: float

    @property
    def own(self) -> Flags:
        """The visits of the best plans together."""
        return together(self.known, self.best)

    def choose(self, plans: Sequence[Plans], pool: Pool, prices: Prices) -> None:
        """Takes the best choice found in the pool by exchanges where it is better."""
        starts = [(cheapest(pool, worth_of(pool, prices)), TOO_MUCH), (_spots(plans, self.best), TOO_MUCH[-1:])]
        short = tight(self.model, pool)
        for first, too_much in starts:
            self._take(plans, pool, exchange(*short, first, too_much))

    def _take(self, plans: Sequence[Plans], pool: Pool, chosen: NDArray[np.intp]) -> None:
        """Takes that choice where it fits and is cheaper."""
        cost, over = total(self.model, pool, chosen)
        if over == 0.0 and cost < self.cost:
            self.cost, self.best = cost, picked(plans, pool, chosen)

    def choose_anew(self, prices: Prices) -> None:
        """Two days planned anew among all plans that are known, then with those next to what is chosen, while that pays."""
        for _ in range(TURNS):
            before, plans = self.cost, self._all_that_can_help(prices)
            pool = pool_of(self.model, plans)
            rows = can_run_short(self.model, pool)
            last: Rows | None = ()
            while last is not None:
                last = self._takes_better(plans, pool, prices.rows[rows], last)
            if self.cost >= before or self.known.weighed > MOST_WEIGHED:
                break
            deepen(self.known, prices, self.best)

    def _takes_better(self, plans: Sequence[Plans], pool: Pool, price: Floats, last: Rows) -> Rows | None:
        """Takes the first choice that is cheaper with two days planned anew; which two, None where there was none."""
        before = self.cost
        for rows, found in better_choices(*tight(self.model, pool), _spots(plans, self.best), price, last):
            self._take(plans, pool, found)
            if self.cost < before:
                return rows
        return None

    def _all_that_can_help(self, prices: Prices) -> list[Plans]:
        """The best plan of each part, and of all that are known those with which these prices leave room for a cheaper choice."""
        every = [joined_plans(both) for both in zip(self.best, self.known.plans, strict=True)]
        pool = pool_of(self.model, every)
        worth = worth_of(pool, prices)
        more = worth - np.minimum.reduceat(worth, pool.first[:-1])[pool.part]
        helps = np.split(more < self.cost - dual_value(self.model, pool, prices), pool.first[1:-1])
        return [
            undominated(self.model, some.take(np.union1d([0], np.flatnonzero(some_help))))
            for some, some_help in zip(every, helps, strict=True)
        ]


def undominated(model: Model, plans: Plans) -> Plans:
    """The first of these plans, and of the others those that no plan undercuts in its cost and in all that it takes."""
    table = np.concatenate([plans.cost[:, None], times(plans.spend, model.rows), plans.uses], axis=1)
    table = table[:, (table != table[0]).any(axis=0)]
    if not table.shape[1]:
        return plans.take(np.array([0]))
    order = np.lexsort((table.sum(axis=1), table[:, 0]))
    kept = np.zeros(0, dtype=np.intp)
    for some in np.split(order, range(BLOCK, len(order), BLOCK)):
        some = some[~_undercut(table[kept], table[some]).any(axis=0)]
        # Whoever comes first of two that are the same stays.
        kept = np.append(kept, some[~np.triu(_undercut(table[some], table[some]), 1).any(axis=0)])
    return plans.take(np.union1d(kept, [0]))


def _undercut(those: Floats, these: Floats) -> Flags:
    """Which of `those` (first) takes no more than which of `these` (second), whatever column is looked at."""
    found: Flags = np.ones((len(those), len(these)), dtype=bool)
    for column in range(these.shape[1]):
        found &= those[:, column, None] <= these[:, column]
    return found


def together(known: Known, plans: Sequence[Plans]) -> Flags:
    """The visits of one plan a part, row by row of the model."""
    own = np.zeros(known.model.labour.shape, dtype=bool)
    for part, plan in zip(known.parts, plans, strict=True):
        own[part.tasks] = plan.own[0]
    return own


def _spots(plans: Sequence[Plans], best: Sequence[Plans]) -> NDArray[np.intp]:
    """Where the plans of `best` stand in the pool."""
    spots, at = [], 0
    for some, plan in zip(plans, best, strict=True):
        spots.append(at + int(np.flatnonzero((some.own == plan.own[0]).all(axis=(1, 2)))[0]))
        at += len(some.cost)
    return np.array(spots, dtype=np.intp)


def picked(plans: Sequence[Plans], pool: Pool, chosen: NDArray[np.intp]) -> list[Plans]:
    """The chosen plan of each part."""
    return [
        some.take(np.array([index - pool.first[number]]))
        for number, (some, index) in enumerate(zip(plans, chosen, strict=True))
    ]
