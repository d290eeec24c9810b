"""Plans of tasks by themselves, of many tasks at once: what `priced` tells of each, for all with two visits at the most.

Most tasks share nothing but an opening with others. Priced one by one they would take as long as all the rest.
"""

from collections.abc import Sequence
from functools import cache
from itertools import combinations

import numpy as np
from msgspec import Struct

from tripplan.placing.model import NEVER, Flags, Floats, Model, Numbers, Part, Plans, places
from tripplan.placing.paths import shortest


class Alone(Struct, frozen=True):
    """Tasks by themselves that bring no looks, and whose visits take the same whichever comes first.

    `pair` are rows of `tasks` and openings, each that a task needs, and `of` adds up by task what stands by pair (tasks,
    pairs); `waits` is what waiting costs (tasks, plans of `short_visits`).
    """

    model: Model
    tasks: Numbers
    pair: tuple[Numbers, ...]
    of: Floats
    waits: Floats


@cache
def short_visits(sites: int) -> Flags:
    """The visits of a task by itself, at most two, at all sites that there are: plans by one task by sites."""
    sets = [(), *((s,) for s in range(sites)), *combinations(range(sites), 2)]
    own = np.zeros((len(sets), 1, sites), dtype=bool)
    for number, at in enumerate(sets):
        own[number, 0, list(at)] = True
    own.setflags(write=False)
    return own


def alone_in(model: Model, parts: Sequence[Part]) -> Alone:
    """Those parts of one task that can be priced at once."""
    bring = np.zeros(model.need.shape[1], dtype=bool)
    bring[model.looks.by] = True
    plain: Flags = np.asarray(~(model.need[:, bring].any(axis=1) | model.more_spend.any(axis=(1, 2))))
    plain[[task for task, _ in model.spoilt]] = False
    tasks = np.array([int(part.tasks[0]) for part in parts if len(part.tasks) == 1], dtype=np.intp)
    tasks = tasks[plain[tasks]]
    pair = places(model.need[tasks])
    of = np.zeros((len(tasks), len(pair[0])))
    of[pair[0], np.arange(len(pair[0]))] = 1.0
    return Alone(model, tasks, pair, of, _waits(model, tasks))


def _waits(model: Model, tasks: Numbers) -> Floats:
    """What waiting costs each task in each plan of `short_visits`."""
    sites, arc = model.sites, model.arc[tasks]
    arc[..., :sites] += model.again[tasks][..., :sites]
    seen = short_visits(sites)[:, 0]
    first = np.where(seen.any(axis=1), seen.argmax(axis=1), sites)
    second = np.where(seen.sum(axis=1) > 1, sites - 1 - seen[:, ::-1].argmax(axis=1), sites)
    waits = arc[:, 0, first]
    waits += np.where(first < sites, arc[:, np.minimum(first + 1, sites), second], 0.0)
    return np.asarray(waits + np.where(second < sites, arc[:, np.minimum(second + 1, sites), sites], 0.0))


def plans_beside(alone: Alone, opened: Flags, visits: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    """What every plan of `short_visits` costs (tasks, plans) and takes of every clock (tasks, plans, clocks).

    `opened` (pairs, sites) is free of charge, since others have it open there; `visits` is what `visits_of` tells of that.
    """
    model, opening, (paid, spent) = alone.model, alone.pair[1], visits
    seen, closed = short_visits(model.sites)[:, 0].astype(np.float64), np.where(opened, 0.0, 1.0)
    cost = alone.waits + np.einsum("ts,ps->tp", paid, seen)
    spend = np.zeros((len(alone.tasks), len(seen), len(model.rows)))
    spend[..., : model.sites] = spent[:, None] * seen
    for s in np.flatnonzero(model.keep_cost[opening].any(axis=0)).tolist():
        saved = np.stack([kept[opening, s] for kept in (model.keep_cost, model.keep_here, model.keep_next)], axis=1)
        saved = alone.of @ (saved * closed[:, s, None])
        both = seen[:, s] * seen[:, s + 1]
        cost -= saved[:, 0, None] * both
        spend[..., s] -= saved[:, 1, None] * both
        spend[..., s + 1] -= saved[:, 2, None] * both
    return cost, spend


def visits_of(alone: Alone, opened: Flags) -> tuple[Floats, Floats]:
    """What each task's visits cost and take (tasks, sites) where `opened` (pairs, sites) is free of charge."""
    model, opening, closed = alone.model, alone.pair[1], np.where(opened, 0.0, 1.0)
    paid = np.minimum(model.labour[alone.tasks], NEVER) + alone.of @ (model.open_cost[opening] * closed)
    return paid, model.spend[alone.tasks] + alone.of @ (model.open_spend[opening] * closed)


def opened_by_others(alone: Alone, own: Flags, users: Floats, looked: Flags) -> Flags:
    """What others have open of what each task needs (pairs, sites), for so many users of each opening (openings, sites)."""
    task, opening = alone.pair
    found = np.asarray(users[opening] - own[alone.tasks][task] > 0)
    looks = alone.model.looks
    brought = np.zeros(users.shape, dtype=bool)
    brought[looks.what[looked], looks.there[looked]] = True
    return found | brought[opening]


def known_beside(alone: Alone, own: Flags, opened: Flags, prices: Sequence[Floats]) -> dict[int, Plans]:
    """The plans of each task with two visits at the most, its own first, by task; none of one that may want more of them.

    It may where it has as many now, or where its cheapest path has more at one of these prices of the sites' minutes.
    """
    model, seen = alone.model, short_visits(alone.model.sites)
    visits = paid, spent = visits_of(alone, opened)
    several = np.concatenate([np.minimum(paid + spent * price[: model.sites], NEVER) for price in prices])
    who, none = np.tile(np.arange(len(alone.tasks)), len(prices)), np.zeros(several.shape, dtype=bool)
    ways = shortest(model.arc[alone.tasks], model.again[alone.tasks], who, several, none, none)
    most = ways.sum(axis=1).reshape(len(prices), -1).max(axis=0, initial=0)
    cost, spend = plans_beside(alone, opened, visits)
    found = {}
    for row in np.flatnonzero((most <= 2) & (own[alone.tasks].sum(axis=1) <= 1)).tolist():
        mine = own[alone.tasks[row]]
        now = 1 + int(mine.argmax()) if mine.any() else 0
        order = _with_first(now, cost[row] < NEVER)
        found[int(alone.tasks[row])] = Plans(seen[order], cost[row, order], spend[row, order])
    return found


def listed_at_once(alone: Alone) -> dict[int, Plans]:
    """Every plan of each task with at most two visits that fits by itself, that of doing it at home first, by task."""
    model, seen = alone.model, short_visits(alone.model.sites)
    nothing = np.zeros((len(alone.pair[0]), model.sites), dtype=bool)
    cost, spend = plans_beside(alone, nothing, visits_of(alone, nothing))
    used = seen[:, 0].astype(np.float64)
    taken = spend @ model.rows + used @ model.fee_rows
    fits = (taken <= model.room).all(axis=2) & (cost < NEVER)
    found = {}
    for row, number in enumerate(alone.tasks.tolist()):
        home = model.sites if cost[row, model.sites] < cost[row, 0] else 0
        order = _with_first(home, fits[row])
        found[number] = Plans(seen[order], cost[row, order], spend[row, order])
    return found


def _with_first(first: int, kept: Flags) -> Numbers:
    """The plans that are kept, one of them or another before all."""
    order = np.flatnonzero(kept)
    return np.append(first, order[order != first])
