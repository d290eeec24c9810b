"""A dear part put on a better plan, for which others give way: where exchanging one and two plans gets stuck.

One long job that can keep a limit may find no day, because many short ones fill it. Here one part after the other that
pays much more than it might is put on a better plan; then, one after the other, whatever loses least for the minutes it
gives takes another plan, until all fits; and what is left is exchanged as before. The best of all that counts.
"""

import numpy as np
from numpy.typing import NDArray

from tripplan.placing.choice import TOO_MUCH, Pool, exchange, total
from tripplan.placing.model import Flags, Floats, Model

ROUNDS, PARTS, PLANS, STEPS = 2, 8, 8, 30
"""How often it is done; how many parts are tried each time, on how many plans each; how many others may give way."""


def give_way(model: Model, pool: Pool, chosen: NDArray[np.intp]) -> NDArray[np.intp]:
    """A choice that fits, with dear parts on better plans wherever that makes the whole cheaper in the end."""
    cost, _ = total(model, pool, chosen)
    for _ in range(ROUNDS):
        made = [some for wish in _wishes(pool, chosen) if (some := _granted(model, pool, chosen, wish)) is not None]
        if not made:
            break
        best = min(range(len(made)), key=lambda at: (total(model, pool, made[at])[0], at))
        found = exchange(model, pool, made[best], TOO_MUCH[-1:])
        now, _ = total(model, pool, found)
        if now >= cost:
            break
        chosen, cost = found, now
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


def _granted(model: Model, pool: Pool, chosen: NDArray[np.intp], wish: int) -> NDArray[np.intp] | None:
    """The choice with one part on that plan, once others have given way; None where they cannot."""
    chosen = chosen.copy()
    chosen[pool.part[wish]] = wish
    others = pool.part != pool.part[wish]
    for _ in range(STEPS):
        more, gives, over = _each(model, pool, chosen)
        if over == 0.0:
            better = np.where(others & (gives >= 0.0), more, 0.0)
            if not better.min() < 0.0:
                return chosen
            chosen[pool.part[better.argmin()]] = better.argmin()
            continue
        able: Flags = others & (gives > 0.0)
        if not able.any():
            return None
        rate = np.where(more > 0.0, more / np.where(able, gives, 1.0), more)
        at = int(np.where(able, rate, np.inf).argmin())
        chosen[pool.part[at]] = at
    return None


def _each(model: Model, pool: Pool, chosen: NDArray[np.intp]) -> tuple[Floats, Floats, float]:
    """What each plan would cost more, and give of the minutes that are short, in place of its part's; and how many are short."""
    mine = chosen[pool.part]
    uses, spend = pool.uses[chosen].sum(axis=0), pool.spend[chosen].sum(axis=0)
    busy = (uses + pool.uses - pool.uses[mine] > 0).astype(np.float64)
    over = np.maximum(spend + pool.spend - pool.spend[mine] + busy @ model.fee_rows - model.room, 0.0).sum(axis=1)
    cost = pool.cost - pool.cost[mine] + busy @ model.fee_cost
    now = int(chosen[0])
    return cost - cost[now], over[now] - over, float(over[now])
