"""Single tasks exchanged once the openings stand: the last step of the search.

What other tasks open at a site is open for a task at no price, so that tasks hang together
only by what they do on each other's way. Each such bunch gets plans of its own, and plans of
bunches are exchanged within the minutes that are left. A step counts only where the whole,
priced exactly, is cheaper for it.
"""

from collections.abc import Iterable, Sequence
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
OfBunches: TypeAlias = dict[tuple[int, bytes, bytes, bytes, bytes], Plans]
"""Plans of a bunch, by its number, the sites where it can be, its visits, what is open, and the prices."""


class Bunches(Struct, frozen=True):
    """The whole as one part, and its tasks in bunches of those that do each other on the way."""

    whole: Part
    parts: tuple[Part, ...]


def bunches_of(model: Model) -> Bunches:
    """The bunches of a model, for all that is refined of it."""
    ties = [[t, *covers] for t, covers in enumerate(model.covers) if covers]
    groups = linked(len(model.labour), ties)
    return Bunches(
        part_of(model, np.arange(len(model.labour), dtype=np.intp)),
        tuple(part_of(model, np.array(group, dtype=np.intp)) for group in groups),
    )


def refine(
    model: Model, own: Flags, price: Floats, known: OfBunches | None = None, bunches: Bunches | None = None
) -> Flags:
    """The visits with single tasks moved while that makes the whole cheaper.

    First all exchanges that pay are made together; where that does not come out, the most
    promising are tried one by one. `known` grows: whoever refines several plans of one rig and trip, that differ
    in nothing but the minutes there are, hands the same one on; and the same `bunches` where those are the same, too.
    """
    both = bunches or bunches_of(model)
    whole, parts = both.whole, both.parts
    cost = whole_cost(model, whole, own)
    known = {} if known is None else known
    for _ in range(TURNS):
        left, pool, plans = _stand(model, whole, own, parts, model.rows @ price, known)
        better = _with_plans(own, parts, plans, pool, exchange(left, pool, pool.first[:-1], TOO_MUCH[-1:]))
        now = whole_cost(model, whole, better)
        if now >= cost:
            better, now = _best_of_some(model, whole, own, parts, left, pool, plans)
        if now >= cost:
            break
        own, cost = better, now
    return own


def anew(model: Model, own: Flags, price: Floats, known: OfBunches, bunches: Bunches) -> Flags:
    """The visits with two days planned anew, and single tasks moved after that, while that makes the whole cheaper."""
    whole, parts = bunches.whole, bunches.parts
    cost = whole_cost(model, whole, own)
    last: Rows = ()
    while True:
        left, pool, plans = _stand(model, whole, own, parts, model.rows @ price, known)
        for rows, some in better_choices(left, pool, pool.first[:-1], price, last):
            better = _with_plans(own, parts, plans, pool, some)
            if whole_cost(model, whole, better) < cost:
                last = rows
                break
        else:
            return own
        own = refine(model, better, price, known, bunches)
        cost = whole_cost(model, whole, own)


def whole_cost(model: Model, whole: Part, own: Flags) -> float:
    """What these visits cost, fees in; `NEVER` and more where they do not fit."""
    return float(_whole_costs(model, whole, own[None])[0])


def _whole_costs(model: Model, whole: Part, several: Flags) -> Floats:
    plans = priced(whole, several)
    return with_fees(model, plans) + np.where(overflow_of(model, plans).any(axis=1), NEVER, 0.0)


def _stand(
    model: Model, whole: Part, own: Flags, bunches: Sequence[Part], price: Floats, known: OfBunches
) -> tuple[Model, Pool, list[Plans]]:
    """What is left of the minutes beside what bunches share, and every bunch's plans, the one of now first.

    `known` keeps the plans of bunches for which nothing changes.
    """
    users = model.need.T.astype(np.float64) @ own.astype(np.float64)
    shared = priced(whole, own[None]).spend[0]
    plans = []
    for number, bunch in enumerate(bunches):
        tasks = bunch.tasks
        others = np.asarray(users - model.need[tasks].T.astype(np.float64) @ own[tasks].astype(np.float64) > 0)
        with_looks(model, others[None])
        opened = others[bunch.openings]
        asked = (number, bunch.model.labour.tobytes(), own[tasks].tobytes(), opened.tobytes(), price.tobytes())
        if asked not in known:
            part = _with_open(bunch, opened)
            known[asked] = _plans(part, priced(part, own[tasks][None]), price)
        plans.append(known[asked])
        shared = shared - plans[-1].spend[0]
    left = replace(model, room=model.room - shared @ model.rows)
    return left, pool_of(left, plans), plans


def _with_plans(own: Flags, bunches: Sequence[Part], plans: list[Plans], pool: Pool, chosen: Iterable[int]) -> Flags:
    """The visits with some bunches on other plans, given as places in the pool."""
    better = own.copy()
    for index in chosen:
        number = int(pool.part[index])
        better[bunches[number].tasks] = plans[number].own[index - pool.first[number]]
    return better


def _best_of_some(
    model: Model, whole: Part, own: Flags, bunches: Sequence[Part], left: Model, pool: Pool, plans: list[Plans]
) -> tuple[Flags, float]:
    """The best of the most promising exchanges of one bunch and of two, each priced exactly."""
    swaps = promising(left, pool, pool.first[:-1], TRIED)
    if not swaps:
        return own, np.inf
    several = np.stack([_with_plans(own, bunches, plans, pool, swap) for swap in swaps])
    costs = _whole_costs(model, whole, several)
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


def _plans(part: Part, now: Plans, price: Floats) -> Plans:
    """The plan of now first, then every single move from it and the cheapest at several prices."""
    visits = np.stack([visit_prices(part, price * k) for k in (SCALES if price.any() else SCALES[:1])])
    several = [now.own, changed_visits(part, now), paths(part, np.minimum(visits, NEVER))]
    if len(part.tasks) == 1:
        several.append(short_visits(part.model.sites))
    else:
        several.append(moved_visits(part, now, price, np.zeros(part.model.sites), every_task=True))
    every = priced(part, each_once(np.concatenate(several)))
    return every.take(every.cost < NEVER)
