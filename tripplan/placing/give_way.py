"""A dear part put on a better plan, for which others give way: where exchanging one and two plans gets stuck.

One long job that can keep a limit may find no day, because many short ones fill it. Here one part after the other that
pays much more than it might is put on a better plan; then, one after the other, whatever loses least for the minutes it
gives takes another plan, until all fits; and what is left is exchanged as before. The best of all that counts.
"""

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from tripplan.placing.choice import TOO_MUCH, Pool, exchange, total
from tripplan.placing.model import Flags, Floats, Model

ROUNDS, PARTS, PLANS, STEPS = 2, 8, 8, 30
"""How often it is done; how many parts are tried each time, on how many plans each; how many others may give way."""


class Choice(Struct):
    """A choice, and what every plan in place of its part's would cost, take (rows, plans) and use (sites, plans) more."""

    model: Model
    pool: Pool
    chosen: NDArray[np.intp]
    cost: Floats
    spend: Floats
    uses: Floats

    def copy(self) -> "Choice":
        """The same, to go another way from."""
        tables = (self.cost.copy(), self.spend.copy(), self.uses.copy())
        return Choice(self.model, self.pool, self.chosen.copy(), *tables)

    def put(self, at: int) -> None:
        """Puts a part on this plan of the pool."""
        part = self.pool.part[at]
        here = slice(self.pool.first[part], self.pool.first[part + 1])
        self.chosen[part] = at
        self.cost[here] -= self.cost[at]
        self.spend[:, here] -= self.spend[:, at, None]
        self.uses[:, here] -= self.uses[:, at, None]

    def each(self) -> tuple[Floats, Floats, float]:
        """What each plan would cost more, and give of the minutes that are short, in place of its part's; and how many are short."""
        model, many = self.model, self.pool.uses[self.chosen].sum(axis=0)
        few = np.flatnonzero(many <= 1.0)  # one plan exchanged leaves work anywhere else
        now, busy = many > 0.0, (self.uses[few] + many[few, None] > 0.0).astype(np.float64)
        known = self.pool.spend[self.chosen].sum(axis=0) + (many > 1.0) @ model.fee_rows - model.room
        over = np.maximum(self.spend + known[:, None] + model.fee_rows[few].T @ busy, 0.0).sum(axis=0)
        short = float(np.maximum(known + now[few] @ model.fee_rows[few], 0.0).sum())
        return self.cost + model.fee_cost[few] @ busy - now[few] @ model.fee_cost[few], short - over, short


def choice_of(model: Model, pool: Pool, chosen: NDArray[np.intp]) -> Choice:
    """The choice with all that could take its place."""
    mine = chosen[pool.part]
    spend, uses = (np.ascontiguousarray((table - table[mine]).T) for table in (pool.spend, pool.uses))
    return Choice(model, pool, chosen.copy(), pool.cost - pool.cost[mine], spend, uses)


def give_way(model: Model, pool: Pool, chosen: NDArray[np.intp]) -> NDArray[np.intp]:
    """A choice that fits, with dear parts on better plans wherever that makes the whole cheaper in the end."""
    cost, _ = total(model, pool, chosen)
    for _ in range(ROUNDS):
        now = choice_of(model, pool, chosen)
        made = [some for wish in _wishes(pool, chosen) if (some := _granted(now.copy(), wish)) is not None]
        if not made:
            break
        best = min(range(len(made)), key=lambda at: (total(model, pool, made[at])[0], at))
        found = exchange(model, pool, made[best], TOO_MUCH[-1:])
        better, _ = total(model, pool, found)
        if better >= cost:
            break
        chosen, cost = found, better
    return chosen


def _wishes(pool: Pool, chosen: NDArray[np.intp]) -> list[int]:
    """For the parts that pay most beyond their cheapest plan, the plans that spare half of that or more, the shortest first."""
    beyond = pool.cost[chosen] - np.minimum.reduceat(pool.cost, pool.first[:-1])
    found = []
    for part in np.argsort(-beyond, kind="stable")[:PARTS].tolist():
        here = np.arange(pool.first[part], pool.first[part + 1])
        better = here[pool.cost[here] < pool.cost[chosen[part]] - beyond[part] / 2]
        found += better[np.argsort(pool.spend[better].sum(axis=1), kind="stable")[:PLANS]].tolist()
    return found


def _granted(now: Choice, wish: int) -> NDArray[np.intp] | None:
    """The choice with one part on that plan, once others have given way; None where they cannot."""
    now.put(wish)
    others = now.pool.part != now.pool.part[wish]
    for _ in range(STEPS):
        more, gives, short = now.each()
        if short == 0.0:
            better = np.where(others & (gives >= 0.0), more, 0.0)
            if not better.min() < 0.0:
                return now.chosen
            now.put(int(better.argmin()))
            continue
        able: Flags = others & (gives > 0.0)
        if not able.any():
            return None
        rate = np.where(more > 0.0, more / np.where(able, gives, 1.0), more)
        now.put(int(np.where(able, rate, np.inf).argmin()))
    return None
