"""A choice of one plan a part, built up part by part, where exchanging one and two plans gets stuck.

Many half-made choices are carried on together: the largest parts first, small ones fill up. They are
ranked by what they cost with the minutes they take at their prices, and kept apart by how much they take
of what is scarcest, so that the one that leaves room is not crowded out by those that are cheap so far.
"""

import numpy as np
from numpy.typing import NDArray

from tripplan.placing.choice import Pool, Prices, can_run_short
from tripplan.placing.model import Flags, Floats, Model, times

WIDTH, BUCKETS, EACH = 120, 16, 3
SCARCE = 2


def beams(model: Model, pool: Pool, prices: Prices) -> list[NDArray[np.intp]]:
    """The cheapest choices found that fit, as places in the pool, one for each order in which parts can come that has any."""
    return [found for order in _orders(model, pool, prices) if (found := beam(model, pool, prices, order)) is not None]


def _orders(model: Model, pool: Pool, prices: Prices) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The parts in the order of what their minutes are worth at most, and of what they lose where they get the fewest."""
    rows = can_run_short(model, pool)
    most = np.maximum.reduceat(times(pool.spend[:, rows], prices.rows[rows]), pool.first[:-1])
    minutes = pool.spend[:, rows].sum(axis=1)
    fewest = minutes == np.minimum.reduceat(minutes, pool.first[:-1])[pool.part]
    least = np.minimum.reduceat(pool.cost, pool.first[:-1])
    lost = np.minimum.reduceat(np.where(fewest, pool.cost, np.inf), pool.first[:-1]) - least
    return np.argsort(-most, kind="stable"), np.argsort(-lost, kind="stable")


def beam(model: Model, pool: Pool, prices: Prices, order: NDArray[np.intp]) -> NDArray[np.intp] | None:
    """The cheapest choice found that fits with the parts in this order; None where none fits.

    What the parts still to come take at the least is kept free for them.
    """
    rows = can_run_short(model, pool)
    room, spend, fees = model.room[rows], pool.spend[:, rows], model.fee_rows[:, rows]
    worth, uses = prices.rows[rows], pool.uses > 0
    scarce = np.argsort(-(worth * room), kind="stable")[:SCARCE]
    cost, taken = np.zeros(1), np.zeros((1, len(worth)))
    busy, picked = np.zeros((1, uses.shape[1]), dtype=bool), np.zeros((1, 0), dtype=np.intp)
    least = np.minimum.reduceat(spend, pool.first[:-1])
    free = room - least.sum(axis=0)
    for part in order:
        free = free + least[part]
        own = np.arange(pool.first[part], pool.first[part + 1])
        quiet = np.flatnonzero(~busy.all(axis=0) & uses[own].any(axis=0))
        new = (uses[np.ix_(own, quiet)][None] & ~busy[:, None, quiet]).astype(np.float64)
        out = new @ fees[quiet]
        state, plan = np.nonzero(_fits(free - taken, spend[own], out))
        if not len(state):
            return None
        costs = cost[state] + pool.cost[own[plan]] + (new @ model.fee_cost[quiet])[state, plan]
        takes = taken[state] + spend[own[plan]] + out[state, plan]
        kept = _kept(costs + takes @ worth, takes[:, scarce], room[scarce])
        state, plan = state[kept], plan[kept]
        cost, taken = costs[kept], takes[kept]
        busy = busy[state] | uses[own[plan]]
        picked = np.concatenate([picked[state], own[plan][:, None]], axis=1)
    chosen = np.empty(pool.count, dtype=np.intp)
    chosen[order] = picked[int(cost.argmin())]
    return chosen


def _fits(left: Floats, spend: Floats, out: Floats) -> Flags:
    """Which plans fit into what is left in which state, setting out (states, plans, rows) in."""
    found: Flags = np.ones(out.shape[:2], dtype=bool)
    for row in range(left.shape[1]):
        found &= spend[:, row] + out[:, :, row] <= left[:, row, None]
    return found


def _kept(rank: Floats, taken: Floats, room: Floats) -> NDArray[np.intp]:
    """The best by rank, and among them the best few of each share that they take of what is scarce."""
    by_rank = np.argsort(rank, kind="stable")
    if len(by_rank) <= WIDTH:
        return by_rank
    share = np.minimum(np.floor(taken[by_rank] / np.maximum(room, 1.0) * BUCKETS), BUCKETS)
    bucket = share @ (float(BUCKETS + 1) ** np.arange(share.shape[1]))
    _, inverse, size = np.unique(bucket, return_inverse=True, return_counts=True)
    place = np.empty(len(by_rank), dtype=np.intp)
    place[np.argsort(inverse, kind="stable")] = np.arange(len(by_rank)) - np.repeat(np.cumsum(size) - size, size)
    few = np.flatnonzero(place < EACH)[: WIDTH // 2]
    rest = np.setdiff1d(np.arange(len(by_rank)), few, assume_unique=True)[: WIDTH - len(few)]
    return np.asarray(by_rank[np.sort(np.concatenate([few, rest]))])
