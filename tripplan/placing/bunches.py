"""What single tasks are moved with once the openings stand: bunches of tasks, and plans of each beside all the others.

What other tasks open at a site is open for a task at no price, so that tasks hang together only by what they do on each
other's way. Each such bunch gets plans of its own: that of now, every single move from it, and its cheapest ones.
"""

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tripplan.placing.alone import Alone, alone_in, known_beside, opened_by_others, short_visits
from tripplan.placing.choice import Pool, pool_of
from tripplan.placing.descent import changed_visits, minutes_taken, overflow_of, priced, with_fees
from tripplan.placing.model import (
    NEVER,
    Flags,
    Floats,
    Model,
    Part,
    Plans,
    each_once,
    linked,
    part_of,
    ties_of,
    whole_of,
    with_minutes_of,
)
from tripplan.placing.moved import moved_visits
from tripplan.placing.opened import with_looks
from tripplan.placing.paths import paths, visit_prices

SCALES = (0.0, 0.5, 1.0, 2.0)
SMALL = 4
"""A bunch of so few tasks gets its cheapest plans without each place in turn, too; one of several also without those that are full."""
OfBunches: TypeAlias = dict[tuple[bytes, ...], Plans]
"""Plans of a bunch, by its tasks, the sites where it can be, its visits, what is open, the prices, and what is full."""


class Bunches(Struct, frozen=True):
    """The whole as one part, and its tasks in bunches of those that do each other on the way."""

    whole: Part
    parts: tuple[Part, ...]


class Means(Struct, frozen=True):
    """What a plan is refined with: the model, prices of its rows of minutes, its bunches, and what is known of their plans.

    `alone` are its bunches of one task that are planned all at once. `known` grows, and is shared by all means for models
    that differ in nothing but the minutes there are.
    """

    model: Model
    price: Floats
    bunches: Bunches
    known: OfBunches
    alone: Alone

    def cost(self, own: Flags) -> float:
        """What these visits cost, fees in; `NEVER` and more where they do not fit."""
        return whole_cost(self.model, self.bunches.whole, own)


def bunches_of(model: Model) -> Bunches:
    """The bunches of a model, for all that is refined of it."""
    groups = linked(len(model.labour), ties_of(model))
    return Bunches(
        whole_of(model),
        tuple(part_of(model, np.array(group, dtype=np.intp)) for group in groups),
    )


def means_of(model: Model, price: Floats | None = None) -> Means:
    """What a plan of this model is refined with, at these prices or none."""
    free = np.zeros(model.rows.shape[1]) if price is None else price
    bunches = bunches_of(model)
    return Means(model, free, bunches, {}, alone_in(model, bunches.parts))


def means_for(model: Model, means: Means) -> Means:
    """The same for a model that differs from that of `means` in nothing but the minutes there are."""
    parts = tuple(with_minutes_of(model, part) for part in means.bunches.parts)
    bunches = Bunches(with_minutes_of(model, means.bunches.whole), parts)
    return replace(means, model=model, bunches=bunches, alone=alone_in(model, parts))


def whole_cost(model: Model, whole: Part, own: Flags) -> float:
    """What these visits cost, fees in; `NEVER` and more where they do not fit."""
    return float(whole_costs(model, whole, own[None])[0])


def whole_costs(model: Model, whole: Part, several: Flags) -> Floats:
    """The same of several plans at once."""
    plans = priced(whole, several)
    return with_fees(model, plans) + np.where(overflow_of(model, plans).any(axis=1), NEVER, 0.0)


def stand(means: Means, own: Flags, bunches: Sequence[Part]) -> tuple[Model, Pool, list[Plans]]:
    """What is left of the minutes beside what bunches share, and every bunch's plans, the one of now first.

    `known` keeps the plans of bunches for which nothing changes.
    """
    model, known, price = means.model, means.known, means.model.rows @ means.price
    users = model.need.T.astype(np.float64) @ own.astype(np.float64)
    now = priced(means.bunches.whole, own[None])
    shared, spare = now.spend[0], model.room - minutes_taken(model, now)[0]
    looked = model.looks.made(users[None] > 0)[0]
    at_once = known_beside(means.alone, own, opened_by_others(means.alone, own, users, looked), _scaled(price))
    plans = []
    for bunch in bunches:
        tasks = bunch.tasks
        if len(tasks) == 1 and int(tasks[0]) in at_once:
            plans.append(at_once[int(tasks[0])])
            shared = shared - plans[-1].spend[0]
            continue
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


def _scaled(price: Floats) -> list[Floats]:
    return [scale * price for scale in SCALES] if price.any() else [price]


def _full(bunch: Part, own: Flags, spare: Floats) -> Flags:
    """New visits (tasks, sites) of a small bunch that by themselves do not find their minutes in what is spare of each row.

    None of a task by itself, of which all short plans are offered in any case.
    """
    model = bunch.model
    if not 1 < len(own) <= SMALL:
        return np.zeros_like(own)
    return np.asarray((model.spend[:, :, None] * model.rows[: model.sites] > spare).any(axis=2) & ~own)


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
    free, small = visit_prices(part, price * 0.0), len(part.tasks) <= SMALL
    dear = visit_prices(part, price) - free if price.any() else None
    visits = free[None] if dear is None else free + np.array(SCALES)[:, None, None] * dear
    off = _kept_off(full) if small else np.zeros((0, *free.shape), dtype=bool)
    visits = np.concatenate([visits, np.where(off, NEVER, free)])
    several = [now.own, changed_visits(part, now), paths(part, np.minimum(visits, NEVER))]
    if len(part.tasks) == 1:
        several.append(short_visits(part.model.sites))
    else:
        if small:
            several += [changed_visits(part, replace(now, own=own)) for own in _without_one(now.own)]
        several.append(moved_visits(part, now, price, np.zeros(part.model.sites), every_task=True))
    every = priced(part, each_once(np.concatenate(several)))
    return every.take(every.cost < NEVER)


def _kept_off(full: Flags) -> Flags:
    """What is kept off for cheap plans without a site, a task, or both, with and without what is full."""
    tasks, sites = full.shape
    task, site = np.eye(tasks + 1, tasks, dtype=bool), np.eye(sites + 1, sites, dtype=bool)
    if tasks == 1:
        task = task[1:]
    off = (task[:, None, :, None] | site[:, None]).reshape(-1, tasks, sites)
    return np.concatenate([off, off | full]) if full.any() else off


def _without_one(own: Flags) -> list[Flags]:
    """The visits (1, tasks, sites) without those of each task that has some."""
    one = np.eye(own.shape[1], dtype=bool)
    return [own & ~one[task][:, None] for task in np.flatnonzero(own[0].any(axis=1)).tolist()]
