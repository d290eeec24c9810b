"""The plans known of every part, and how they grow from round to round.

Where prices have moved, a part is gone through again by descent; where its best plan is new, so are those next to it.
Parts of a single task find their cheapest paths all at once. Of all that is known a round keeps a few of each kind.
"""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from tripplan.placing.alone import alone_in, listed_at_once
from tripplan.placing.choice import Prices
from tripplan.placing.descent import around, descend, fitting, listed, only_at_home, priced
from tripplan.placing.model import Floats, Model, Numbers, Part, Plans, joined_plans, part_of, times
from tripplan.placing.paths import cheapest_visits

KEPT, SCARCE = 48, 2
MOVED, FEE_MOVED = 0.02, 500.0
EACH_KEPT = 600
"""As long as a plan that is kept takes in a round of the choice, so many visits are weighed in a descent (measured)."""


class Seen(Struct, frozen=True):
    """What a part was last looked at with: the prices of its sites, and its best plan."""

    price: Floats
    fee: Floats
    best: bytes

    def is_about(self, other: "Seen | None") -> bool:
        """True when the prices have hardly moved since."""
        if other is None:
            return False
        moved = np.abs(self.price - other.price) <= MOVED * np.maximum(self.price, other.price)
        fees = np.abs(self.fee - other.fee) <= MOVED * np.maximum(self.fee, other.fee) + FEE_MOVED
        return bool(moved.all() and fees.all())


class Known(Struct):
    """Plans of every part, what each was last looked at with, and those kept for the choice.

    `alone` are the parts of a single task; together they are `lone`. `weighed` counts what all that has taken: the visits of
    plans weighed in descents, and for each plan kept in a round what the choice among them takes for it.
    """

    model: Model
    parts: tuple[Part, ...]
    alone: Numbers
    lone: Part
    plans: list[Plans]
    seen: list[Seen | None]
    kept: list[Plans]
    weighed: int = 0


def first_known(model: Model, parts: tuple[Part, ...]) -> Known:
    """What is known before the first round: all short plans of lone tasks, and nothing but home of the others."""
    alone = np.array([number for number, part in enumerate(parts) if len(part.tasks) == 1], dtype=np.intp)
    lone = part_of(model, np.array([parts[number].tasks[0] for number in alone], dtype=np.intp))
    at_once = listed_at_once(alone_in(model, parts))
    plans = [at_once.get(int(part.tasks[0])) or _first_of(part) for part in parts]
    return Known(model, parts, alone, lone, plans, [None] * len(parts), list(plans))


def _first_of(part: Part) -> Plans:
    return listed(part) if len(part.tasks) == 1 else only_at_home(part)


def deepen(known: Known, prices: Prices, best: Sequence[Plans]) -> list[Plans]:
    """The plans of each part for a choice at these prices, the best of now among them; what is known grows."""
    price = known.model.rows @ prices.rows
    paths = dict(zip(known.alone.tolist(), cheapest_visits(known.lone, price, prices.fees[known.alone]), strict=True))
    for number, part in enumerate(known.parts):
        asked = Seen(price, prices.fees[number], best[number].own.tobytes())
        seen, before = known.seen[number], known.plans[number]
        moved = not asked.is_about(seen)
        if number in paths:
            if moved and not (before.own[:, 0] == paths[number]).all(axis=1).any():
                known.plans[number] = joined_plans([before, fitting(part, priced(part, paths[number][None, None]))])
        else:
            known.plans[number], weighed = _deepened(part, before, best[number], asked, seen)
            known.weighed += weighed * part.model.labour.size
        if moved or seen is None or asked.best != seen.best:
            known.kept[number] = _trimmed(known.plans[number], asked, prices.rows, known.model, best[number])
        known.seen[number] = asked
    known.weighed += EACH_KEPT * sum(len(some.cost) for some in known.kept)
    return list(known.kept)


def _deepened(part: Part, known: Plans, best: Plans, asked: Seen, seen: Seen | None) -> tuple[Plans, int]:
    """The part's plans with those of a descent at the prices of now, and those next to its best plan; and how many were weighed."""
    price, fee, moved = asked.price, asked.fee, not asked.is_about(seen)
    several, weighed = [known, best], 0
    if moved:
        worth = known.cost + times(known.spend, price) + times(known.uses, fee)
        _, met, weighed = descend(part, known.take(np.array([int(worth.argmin())])), price, fee)
        several.append(met)
    if moved or seen is None or asked.best != seen.best:
        several.append(around(part, best, price, fee))
    return (joined_plans(several) if len(several) > 2 else known), weighed


def _trimmed(plans: Plans, asked: Seen, row_price: Floats, model: Model, best: Plans) -> Plans:
    """The plans worth keeping: cheap at these prices, cheap without, cheap for little of what is scarce; and the best."""
    if len(plans.cost) <= KEPT:
        return joined_plans([plans, best])
    keep: dict[int, None] = {0: None}
    minutes = times(plans.spend, asked.price)
    rows = times(plans.spend, model.rows)
    orders = [plans.cost + minutes + times(plans.uses, asked.fee), plans.cost, plans.cost + 2 * minutes]
    for r in np.argsort(-row_price, kind="stable")[:SCARCE]:
        if row_price[r] > 0:
            orders += [plans.cost + 0.4 * minutes + rows[:, r] * row_price[r] * k for k in (0.5, 1.5, 4.0)]
    quota = max(6, KEPT // len(orders))
    for order in orders:
        keep.update(dict.fromkeys(np.argsort(order, kind="stable")[:quota].tolist()))
    return joined_plans([plans.take(np.array(sorted(keep), dtype=np.intp)), best])
