"""Single tasks exchanged once the openings stand: the last step of the search.

What other tasks open at a site is open for a task at no price, so that tasks hang together
only by what they do on each other's way. Each such bunch gets plans of its own, and plans of
bunches are exchanged within the minutes that are left. A step counts only where the whole,
priced exactly, is cheaper for it.
"""

from collections.abc import Iterable, Sequence
from itertools import cycle
from typing import TypeAlias

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tripplan.placing.choice import TOO_MUCH, Pool, exchange, pool_of, promising
from tripplan.placing.descent import changed_visits, overflow_of, priced, short_visits, with_fees
from tripplan.placing.model import NEVER, Flags, Floats, Model, Part, Plans, each_once, linked, part_of
from tripplan.placing.moved import moved_visits
from tripplan.placing.opened import with_looks
from tripplan.placing.paths import paths, visit_prices
from tripplan.placing.two_days import Rows, better_choices

TURNS, TRIED = 12, 48
SCALES = (0.0, 0.5, 1.0, 2.0)
SMALL = 4
"""A bunch of so few tasks gets its cheapest plans without each place in turn, too, and without those that are full."""
OfBunches: TypeAlias = dict[tuple[bytes, ...], Plans]
"""Plans of a bunch, by its tasks, the sites where it can be, its visits, what is open, the prices, and what is full."""


class Bunches(Struct, frozen=True):
    """The whole as one part, and its tasks in bunches of those that do each other on the way."""

    whole: Part
    parts: tuple[Part, ...]


class Means(Struct, frozen=True):
    """What a plan is refined with: the model, prices of its rows of minutes, its bunches, and what is known of their plans.

    `known` grows: whoever refines several plans of one rig and trip, that differ in nothing but the minutes there are,
    hands the same one on; and the same `bunches` where those are the same, too.
    """

    model: Model
    price: Floats
    bunches: Bunches
    known: OfBunches

    def cost(self, own: Flags) -> float:
        """What these visits cost, fees in; `NEVER` and more where they do not fit."""
        return whole_cost(self.model, self.bunches.whole, own)


def bunches_of(model: Model) -> Bunches:
    """The bunches of a model, for all that is refined of it."""
    ties = [[t, *covers] for t, covers in enumerate(model.covers) if covers]
    groups = linked(len(model.labour), ties)
    return Bunches(
        part_of(model, np.arange(len(model.labour), dtype=np.intp)),
        tuple(part_of(model, np.array(group, dtype=np.intp)) for group in groups),
    )


def means_of(
    model: Model, price: Floats | None = None, known: OfBunches | None = None, bunches: Bunches | None = None
) -> Means:  # fmt: skip
    """What a plan of this model is refined with, at these prices or none."""
    free = np.zeros(model.rows.shape[1]) if price is None else price
    return Means(model, free, bunches or bunches_of(model), {} if known is None else known)


def refine(means: Means, own: Flags) -> Flags:
    """The visits with single tasks moved while that makes the whole cheaper.

    First all exchanges that pay are made together; where that does not come out, the most
    promising are tried one by one.
    """
    parts, cost = means.bunches.parts, means.cost(own)
    for _ in range(TURNS):
        left, pool, plans = _stand(means, own, parts)
        better = _with_plans(own, parts, plans, pool, exchange(left, pool, pool.first[:-1], TOO_MUCH[-1:]))
        now = means.cost(better)
        if now >= cost:
            better, now = _best_of_some(means, own, left, pool, plans)
        if now >= cost:
            break
        own, cost = better, now
    return own


def anew(means: Means, own: Flags, joined: Sequence[Part]) -> Flags:
    """The visits with days planned anew, and single tasks moved after that, while that makes the whole cheaper.

    By turns among plans of bunches and of the parts of the model, in which what is opened moves with all that needs it.
    """
    cost = means.cost(own)
    for turn, parts in enumerate(cycle((means.bunches.parts, joined))):
        before = cost
        own, cost = _anew_among(means, own, parts)
        if turn and cost >= before:
            break
    return own


def _anew_among(means: Means, own: Flags, parts: Sequence[Part]) -> tuple[Flags, float]:
    """The visits with days planned anew among plans of these parts until nothing is cheaper, and what they cost."""
    cost = means.cost(own)
    last: Rows = ()
    while (best := _best_start(means, own, cost, parts, last)) is not None:
        better = refine(means, best[1])
        now = means.cost(better)
        if now >= cost:
            break
        last, own, cost = best[0], better, now
    return own, cost


def _best_start(
    means: Means, own: Flags, cost: float, parts: Sequence[Part], last: Rows
) -> tuple[Rows, Flags] | None:  # fmt: skip
    """The first choice of days planned anew that is cheaper, with its days; else the one with the cheapest sums.

    By the sums of the plans each part pays for what it opens, whoever else opens or shuts it by the same choice: such a choice
    may not fit or cost more, and still come out cheaper once it is refined.
    """
    left, pool, plans = _stand(means, own, parts)
    best, least = None, np.inf
    for rows, some in better_choices(left, pool, pool.first[:-1], means.price, last):
        start = _with_plans(own, parts, plans, pool, some)
        if means.cost(start) < cost:
            return rows, start
        if (by_sums := float(pool.cost[some].sum())) < least:
            best, least = (rows, start), by_sums
    return best


def whole_cost(model: Model, whole: Part, own: Flags) -> float:
    """What these visits cost, fees in; `NEVER` and more where they do not fit."""
    return float(_whole_costs(model, whole, own[None])[0])


def _whole_costs(model: Model, whole: Part, several: Flags) -> Floats:
    plans = priced(whole, several)
    return with_fees(model, plans) + np.where(overflow_of(model, plans).any(axis=1), NEVER, 0.0)


def _stand(means: Means, own: Flags, bunches: Sequence[Part]) -> tuple[Model, Pool, list[Plans]]:
    """What is left of the minutes beside what bunches share, and every bunch's plans, the one of now first.

    `known` keeps the plans of bunches for which nothing changes.
    """
    model, known, price = means.model, means.known, means.model.rows @ means.price
    users = model.need.T.astype(np.float64) @ own.astype(np.float64)
    now = priced(means.bunches.whole, own[None])
    shared, spare = now.spend[0], model.room - now.spend[0] @ model.rows - now.uses[0] @ model.fee_rows
    plans = []
    for bunch in bunches:
        tasks = bunch.tasks
        others = np.asarray(users - model.need[tasks].T.astype(np.float64) @ own[tasks].astype(np.float64) > 0)
        with_looks(model, others[None])
        opened, full = others[bunch.openings], _full(bunch, own[tasks], spare)
        keys = (tasks, bunch.model.labour, own[tasks], opened, price, full)
        asked = tuple(key.tobytes() for key in keys)
        if asked not in known:
            part = _with_open(bunch, opened)
            known[asked] = _plans(part, priced(part, own[tasks][None]), price, full)
        plans.append(known[asked])
        shared = shared - plans[-1].spend[0]
    left = replace(model, room=model.room - shared @ model.rows)
    return left, pool_of(left, plans), plans


def _full(bunch: Part, own: Flags, spare: Floats) -> Flags:
    """New visits (tasks, sites) of a small bunch that by themselves do not find their minutes in what is spare of each row."""
    model = bunch.model
    if len(own) > SMALL:
        return np.zeros((0, model.sites), dtype=bool)
    return np.asarray((model.spend[:, :, None] * model.rows[: model.sites] > spare).any(axis=2) & ~own)


def _with_plans(own: Flags, bunches: Sequence[Part], plans: list[Plans], pool: Pool, chosen: Iterable[int]) -> Flags:
    """The visits with some bunches on other plans, given as places in the pool."""
    better = own.copy()
    for index in chosen:
        number = int(pool.part[index])
        better[bunches[number].tasks] = plans[number].own[index - pool.first[number]]
    return better


def _best_of_some(means: Means, own: Flags, left: Model, pool: Pool, plans: list[Plans]) -> tuple[Flags, float]:
    """The best of the most promising exchanges of one bunch and of two, each priced exactly."""
    swaps = promising(left, pool, pool.first[:-1], TRIED)
    if not swaps:
        return own, np.inf
    several = np.stack([_with_plans(own, means.bunches.parts, plans, pool, swap) for swap in swaps])
    costs = _whole_costs(means.model, means.bunches.whole, several)
    best = int(costs.argmin())
    return several[best], float(costs[best])


def _with_open(part: Part, opened: Flags) -> Part:
    """The part with what others have open free of charge."""
    free = np.where(opened, 0.0, 1.0)
    model, looks = part.model, part.model.looks
    return replace(
        part, model=replace(
            model, open_cost=model.open_cost * free, open_spend=model.open_spend * free,
            looks=replace(looks, halt=looks.halt * free[looks.what, looks.there][:, None]),
            keep_cost=model.keep_cost * free, keep_here=model.keep_here * free, keep_next=model.keep_next * free,
        ),
    )  # fmt: skip


def _plans(part: Part, now: Plans, price: Floats, full: Flags) -> Plans:
    """The plan of now first, then every single move from it and the cheapest at several prices."""
    visits = np.stack([visit_prices(part, price * k) for k in (SCALES if price.any() else SCALES[:1])])
    several = [now.own, changed_visits(part, now), paths(part, np.minimum(visits, NEVER))]
    if len(part.tasks) <= SMALL:
        several += _kept_off(part, now, visits[0], full)
    if len(part.tasks) == 1:
        several.append(short_visits(part.model.sites))
    else:
        several.append(moved_visits(part, now, price, np.zeros(part.model.sites), every_task=True))
    every = priced(part, each_once(np.concatenate(several)))
    return every.take(every.cost < NEVER)


def _kept_off(part: Part, now: Plans, visit: Floats, full: Flags) -> list[Flags]:
    """The cheapest plans without a site, a task, or both, with and without what is full; and single moves without a task."""
    tasks, sites = full.shape
    task, site = np.eye(tasks + 1, tasks, dtype=bool), np.eye(sites + 1, sites, dtype=bool)
    if tasks == 1:
        task = task[1:]
    off = (task[:, None, :, None] | site[:, None]).reshape(-1, tasks, sites)
    off = np.concatenate([off, off | full]) if full.any() else off
    found = [paths(part, np.where(off, NEVER, np.minimum(visit, NEVER)))]
    for one in np.flatnonzero(now.own[0].any(axis=1)).tolist() if tasks > 1 else ():
        found.append(changed_visits(part, replace(now, own=now.own & ~task[one][:, None])))
    return found
