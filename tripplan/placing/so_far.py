"""How far the search is: what is known of every part, the best plan of each so far, and what they cost together."""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from tripplan.placing.bunches import whole_cost
from tripplan.placing.choice import (
    TOO_MUCH,
    Pool,
    Prices,
    cheapest,
    exchange,
    tight,
    total,
    worth_of,
)
from tripplan.placing.descent import priced
from tripplan.placing.known import Known
from tripplan.placing.model import Flags, Model, Part, Plans

MOST_WEIGHED = 12_000_000
"""Once so much is weighed no further round or turn is begun: the search keeps within its time (judgement)."""


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

    def take(self, own: Flags, whole: Part) -> None:
        """Takes these visits where they fit and are cheaper."""
        cost = whole_cost(self.model, whole, own)
        if cost < self.cost:
            self.best, self.cost = [priced(part, own[part.tasks][None]) for part in self.known.parts], cost

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
