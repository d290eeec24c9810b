"""One plan for each part, so that together they keep within every site's minutes.

Parts share nothing but the minutes of the sites and the fee for setting out at one. From a
pool of plans for each part, prices of the minutes are found by a subgradient on whole
numbers, and then plans are exchanged, one and two at a time, while that makes the whole
cheaper; minutes that are not there have a price no work is worth.
"""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from tripplan.placing.model import Flags, Floats, Model, Plans, times

TOO_MUCH = (300.0, 2000.0, 12000.0, 1e6, 1e9)
"""Prices of a tenth of a minute that is not there, one after the other: what is worth least goes first."""
STEPS = 200
PROMISING, FREEING = 80, 150


class Pool(Struct, frozen=True):
    """All plans of all parts in one list: whose each is, its cost, what it takes of rows, where it works."""

    part: NDArray[np.intp]
    cost: Floats
    spend: Floats
    uses: Floats
    first: NDArray[np.intp]

    @property
    def count(self) -> int:
        """How many parts there are."""
        return len(self.first) - 1


def pool_of(model: Model, plans: Sequence[Plans]) -> Pool:
    """The pool of these plans, part by part."""
    sizes = [len(some.cost) for some in plans]
    return Pool(
        part=np.repeat(np.arange(len(plans)), sizes),
        cost=np.concatenate([some.cost for some in plans]),
        spend=times(np.concatenate([some.spend for some in plans]), model.rows),
        uses=np.concatenate([some.uses for some in plans]).astype(np.float64),
        first=np.concatenate([[0], np.cumsum(sizes)]).astype(np.intp),
    )


def cheapest(pool: Pool, worth: Floats) -> NDArray[np.intp]:
    """The plan of each part that is worth least, as indices of the pool."""
    least = np.minimum.reduceat(worth, pool.first[:-1])
    spots = np.flatnonzero(worth == least[pool.part])
    whose = pool.part[spots]
    return np.asarray(spots[np.append(True, whose[1:] != whose[:-1])])


def left_of(model: Model, pool: Pool, chosen: NDArray[np.intp]) -> Floats:
    """What a choice leaves of each row of minutes, setting out counted; below 0 where it takes more than there is."""
    busy = pool.uses[chosen].sum(axis=0) > 0
    return np.asarray(model.room - pool.spend[chosen].sum(axis=0) - busy @ model.fee_rows)


def total(model: Model, pool: Pool, chosen: NDArray[np.intp]) -> tuple[float, float]:
    """What the chosen plans cost together, fees in, and how much they are over what there is."""
    busy = pool.uses[chosen].sum(axis=0) > 0
    over = np.maximum(-left_of(model, pool, chosen), 0.0).sum()
    return float(pool.cost[chosen].sum() + busy @ model.fee_cost), float(over)


class Prices(Struct, frozen=True):
    """What a tenth of a minute of each row costs, and each part's share of each site's fee; whole numbers."""

    rows: Floats
    fees: Floats


def no_prices(model: Model, parts: int) -> Prices:
    """Minutes free, fees in equal shares."""
    return Prices(np.zeros(model.rows.shape[1]), np.tile(np.floor(model.fee_cost / max(parts, 1)), (parts, 1)))


def worth_of(pool: Pool, prices: Prices) -> Floats:
    """What every plan costs at these prices."""
    return np.asarray(
        pool.cost + times(pool.spend, prices.rows) + np.einsum("ns,ns->n", pool.uses, prices.fees[pool.part])
    )


def dual_value(model: Model, pool: Pool, prices: Prices) -> float:
    """The cheapest plans at these prices, less the price of the minutes there are."""
    room = np.where(np.isfinite(model.room), model.room, 0.0)
    return float(np.minimum.reduceat(worth_of(pool, prices), pool.first[:-1]).sum() - prices.rows @ room)


def tight(model: Model, pool: Pool) -> tuple[Model, Pool]:
    """The same with only those rows of minutes that can run short, whatever is chosen."""
    rows = can_run_short(model, pool)
    narrow = replace(pool, spend=np.ascontiguousarray(pool.spend[:, rows]))
    return replace(model, rows=model.rows[:, rows], room=model.room[rows]), narrow


def can_run_short(model: Model, pool: Pool) -> NDArray[np.intp]:
    """Rows of minutes that some choice takes more of than there is."""
    most = np.maximum.reduceat(pool.spend, pool.first[:-1]).sum(axis=0) + model.fee_rows.sum(axis=0)
    return np.flatnonzero(np.isfinite(model.room) & (most > model.room))


def best_prices(model: Model, pool: Pool, start: Prices, target: float) -> Prices:
    """Prices under which the cheapest plans just fit and the fees are just paid: a deflected subgradient."""
    rows = can_run_short(model, pool)
    table, room, fee_rows = _table(pool, rows), model.room[rows], model.fee_rows[:, rows]
    now = best = Prices(start.rows[rows], start.fees)
    best_value, scale = -np.inf, 1.0
    direction = np.zeros_like(now.rows)
    for step in range(STEPS):
        value, taken, uses = _least(table, now, room)
        if value > best_value:
            best, best_value = now, value
        elif step % 10 == 9:
            scale *= 0.75
            now = best
            value, taken, uses = _least(table, now, room)
        direction = np.round(taken - room + 0.5 * direction)
        length = float(direction @ direction)
        ahead = scale * max(target - value, 0.002 * abs(target))
        prices = now.rows
        if length > 0:
            prices = np.maximum(np.round(prices + ahead / length * direction), 0.0)
        full = model.fee_cost + fee_rows @ prices
        pull = uses - uses.sum(axis=0) / pool.count
        now = _just_paid(full, prices, np.maximum(now.fees + scale * full * pull, 0.0))
    found = np.zeros_like(start.rows)
    found[rows] = best.rows
    return Prices(found, best.fees)


def _table(pool: Pool, rows: NDArray[np.intp]) -> tuple[Floats, Floats]:
    """Every part's plans in a row of its own: their cost, endless where there is no plan, and what they take and use."""
    place = np.arange(len(pool.cost)) - pool.first[pool.part]
    cost = np.full((pool.count, int(place.max()) + 1), np.inf)
    takes = np.zeros((*cost.shape, len(rows) + pool.uses.shape[1]))
    cost[pool.part, place] = pool.cost
    takes[pool.part, place] = np.concatenate([pool.spend[:, rows], pool.uses], axis=1)
    return cost, takes


def _least(table: tuple[Floats, Floats], prices: Prices, room: Floats) -> tuple[float, Floats, Floats]:
    """What no choice undercuts at these prices; what the cheapest plans take, and where each works."""
    (cost, takes), (parts, sites) = table, prices.fees.shape
    each = np.empty((parts, len(room) + sites, 1))
    each[:, : len(room), 0], each[:, len(room) :, 0] = prices.rows, prices.fees
    worth = cost + (takes @ each)[..., 0]
    chosen, part = worth.argmin(axis=1), np.arange(parts)
    taken = takes[part, chosen]
    value = float(worth[part, chosen].sum() - prices.rows @ room)
    return value, taken[:, : len(room)].sum(axis=0), taken[:, len(room) :]


def _just_paid(full: Floats, rows: Floats, fees: Floats) -> Prices:
    """Prices whose fees pay together what setting out takes and costs at these prices of the minutes, and no more."""
    total = fees.sum(axis=0)
    return Prices(rows, np.floor(fees * np.where(total > 0, full / np.where(total > 0, total, 1.0), 0.0)))


def exchange(
    model: Model, pool: Pool, chosen: NDArray[np.intp], prices: tuple[float, ...] = TOO_MUCH
) -> NDArray[np.intp]:
    """The chosen plans with one or two exchanged at a time, while that makes the whole cheaper."""
    chosen = chosen.copy()
    for price in prices:
        while True:
            gain, swap = _best_single(model, pool, chosen, price)
            if gain >= 0:
                gain, swap = _best_pair(model, pool, chosen, price)
            if gain >= 0:
                break
            for index in swap:
                chosen[pool.part[index]] = index
    return chosen


def _state(model: Model, pool: Pool, chosen: NDArray[np.intp], price: float) -> tuple[Floats, Floats, float]:
    busy = pool.uses[chosen].sum(axis=0)
    taken = pool.spend[chosen].sum(axis=0)
    return busy, taken, float(_value(model, pool.cost[chosen].sum(), taken, busy > 0, price))


def _value(model: Model, cost: Floats | float, taken: Floats, busy: Flags, price: float) -> Floats:
    used = busy.astype(np.float64)
    rows = np.isfinite(model.room)
    fees = model.fee_rows[:, rows]
    over = np.maximum(taken[..., rows] - model.room[rows] + used @ fees, 0.0)
    return np.asarray(cost + used @ model.fee_cost + price * over.sum(axis=-1))


def promising(model: Model, pool: Pool, chosen: NDArray[np.intp], most: int) -> list[tuple[int, ...]]:
    """The exchanges of one plan, and of two, that look best; as places in the pool."""
    price = TOO_MUCH[-1]
    single, now = _single_values(model, pool, chosen, price)
    found: list[tuple[int, ...]] = [
        (int(i),)
        for i in np.argsort(single, kind="stable")[:most]
        if i not in chosen and single[i] < now + 0.01 * abs(now)
    ]
    pair, one, other, _ = _pair_values(model, pool, chosen, price)
    if pair is not None:
        for spot in np.argsort(pair, axis=None, kind="stable")[:most].tolist():
            first, second = divmod(spot, len(other))
            if pair[first, second] < now:
                found.append((int(one[first]), int(other[second])))
    return found


def _best_single(model: Model, pool: Pool, chosen: NDArray[np.intp], price: float) -> tuple[float, tuple[int, ...]]:
    value, now = _single_values(model, pool, chosen, price)
    best = int(value.argmin())
    return float(value[best] - now), (best,)


def _single_values(model: Model, pool: Pool, chosen: NDArray[np.intp], price: float) -> tuple[Floats, float]:
    busy, taken, now = _state(model, pool, chosen, price)
    mine = chosen[pool.part]
    cost = pool.cost[chosen].sum() + pool.cost - pool.cost[mine]
    value = _value(model, cost, taken + pool.spend - pool.spend[mine], busy + pool.uses - pool.uses[mine] > 0, price)
    return value, now


def _best_pair(model: Model, pool: Pool, chosen: NDArray[np.intp], price: float) -> tuple[float, tuple[int, ...]]:
    value, one, other, now = _pair_values(model, pool, chosen, price)
    if value is None:
        return 0.0, ()
    first, second = divmod(int(value.argmin()), len(other))
    return float(value[first, second] - now), (int(one[first]), int(other[second]))


def _pair_values(
    model: Model, pool: Pool, chosen: NDArray[np.intp], price: float
) -> tuple[Floats | None, NDArray[np.intp], NDArray[np.intp], float]:
    """What exchanging a promising plan and one that frees minutes would come to."""
    busy, taken, now = _state(model, pool, chosen, price)
    mine = chosen[pool.part]
    d_cost, d_spend, d_uses = pool.cost - pool.cost[mine], pool.spend - pool.spend[mine], pool.uses - pool.uses[mine]
    moved = np.flatnonzero(mine != np.arange(len(mine)))
    rows = np.flatnonzero(np.isfinite(model.room) & (pool.spend.max(axis=0) > 0))
    if not len(moved) or not len(rows):
        return None, moved, moved, now
    frees = np.minimum(d_spend[np.ix_(moved, rows)], 0.0).sum(axis=1)
    one = moved[np.argsort(d_cost[moved], kind="stable")[:PROMISING]]
    rate = d_cost[moved] / np.maximum(-frees, 1.0)
    candidates, rates = moved[frees < 0], rate[frees < 0]
    other = candidates[np.argsort(rates, kind="stable")[:FREEING]]
    if not len(other):
        return None, one, other, now
    cost = (d_cost[one][:, None] + d_cost[other]).astype(np.float64)
    known = taken - model.room
    paid: list[tuple[int, Floats]] = []
    for site, many in enumerate(busy.tolist()):
        if many > 2.0:  # two plans exchanged leave work there
            cost += model.fee_cost[site]
            known = known + model.fee_rows[site]
        else:
            here = (many + d_uses[one, site][:, None] + d_uses[other, site] > 0).astype(np.float64)
            cost += here * model.fee_cost[site]
            paid.append((site, here))
    over = np.zeros(cost.shape)
    for row in rows.tolist():
        spent = (known[row] + d_spend[one, row]).astype(np.float64)[:, None] + d_spend[other, row]
        for site, here in paid:
            if model.fee_rows[site, row]:
                spent += here * model.fee_rows[site, row]
        over += np.maximum(spent, 0.0, out=spent)
    value = pool.cost[chosen].sum() + cost + price * over
    value[pool.part[one][:, None] == pool.part[other]] = np.inf
    return value, one, other, now
