"""The cheapest plan of one part at given prices of a site's minutes, by descent over whole moves.

From a plan all moves are tried at once: open a ladder at a site, close it with what is
behind it, shift it with all of that to another site, force or forbid a visit that covers
others. In each move what is open is free, what is closed costs, and every task takes its
cheapest path; then the plan is priced exactly. The best move is taken until none is better.
"""

import numpy as np

from tripplan.placing.alone import short_visits
from tripplan.placing.model import NEVER, Flags, Floats, Model, Part, Plans, each_once, joined_plans, times
from tripplan.placing.moved import moved_visits
from tripplan.placing.opened import opened_and_looked
from tripplan.placing.paths import paths

OVERFLOW = (150.0, 600.0, 2500.0, 5e3, 5e4, 1e6, 1e9)
"""Prices of a tenth of a minute that a site has not got, one after the other until the plan fits: from what a scarce minute
is worth up, so that what is worth least gives way first."""
SCARCE = 5e3
"""Where the plan does not fit at this price, single visits are tried, too."""
MOST_MOVES = 60


def only_at_home(part: Part) -> Plans:
    """The plan that does what is asked for after return, and nothing before."""
    visit = np.full((1, *part.model.labour.shape), NEVER)
    visit[0, :, -1] = part.model.labour[:, -1]
    return priced(part, paths(part, visit))


def listed(part: Part) -> Plans:
    """Every plan of a task by itself with at most two visits, that of doing it at home first."""
    return joined_plans([only_at_home(part), fitting(part, priced(part, short_visits(part.model.sites)))])


def priced(part: Part, own: Flags) -> Plans:
    """Plans with what they cost and what they take of each site, exactly."""
    model, seen = part.model, own.astype(np.float64)
    used, looked = opened_and_looked(part, seen)
    opened = used.astype(np.float64)
    visits = np.einsum("pts,ts->p", seen, np.minimum(model.labour, NEVER))
    cost = visits + np.einsum("pos,os->p", opened, model.open_cost[: part.asked])
    here = np.einsum("pts,ts->ps", seen, model.spend) + np.einsum("pos,os->ps", opened, model.open_spend[: part.asked])
    more_cost, more_here, halts = _looks_alone(part, looked)
    cost, here = cost + more_cost, here + more_here
    for s in np.flatnonzero(model.keep_cost.any(axis=0)).tolist():
        both = (used[:, :, s] & used[:, :, s + 1]).astype(np.float64)
        cost -= both @ model.keep_cost[: part.asked, s]
        here[:, s] -= both @ model.keep_here[: part.asked, s]
        here[:, s + 1] -= both @ model.keep_next[: part.asked, s]
    cost += _spoilt(model, own, used)
    renewed = _renewed(part, own, seen)
    here += _more_spend(model, renewed, own)
    return Plans(own, cost + _path_cost(model.arc, model.again, renewed, own), np.concatenate([here, halts], axis=1))


def _spoilt(model: Model, own: Flags, used: Flags) -> Floats:
    """What work at home costs again that is spoilt by what is opened there on a later day."""
    found = np.zeros(len(own))
    for task, openings in model.spoilt:
        opened: Flags = np.asarray(used[:, list(openings), 1 : model.home].any(axis=1))
        later = np.logical_or.accumulate(opened[:, ::-1], axis=1)[:, ::-1]
        at = slice(max(model.home - 1, 0))
        found += (own[:, task, at] & later) @ np.minimum(model.labour[task, at], NEVER)
    return found


def _renewed(part: Part, own: Flags, seen: Floats) -> Flags:
    """Where each task is renewed in each plan (plans, tasks, sites): by its own visits, and by those that do it on the way."""
    covered = np.flatnonzero(part.cover.any(axis=1))
    if not len(covered):
        return own
    found = own.copy()
    found[:, covered] |= (part.cover[covered].astype(np.float64) @ seen > 0) & part.model.counts[covered]
    return found


def _looks_alone(part: Part, looked: Flags) -> tuple[Floats, Floats, Floats]:
    """What looks cost that nothing else asks for, what they take of each site, and of the clocks of halts."""
    model, looks = part.model, part.model.looks
    alone = np.flatnonzero(looks.what >= part.asked)
    what, there, made = looks.what[alone], looks.there[alone], looked[:, alone]
    table = np.zeros((len(alone), 1 + model.sites + looks.halt.shape[1]))
    table[:, 0], table[:, 1 + model.sites :] = model.open_cost[what, there], looks.halt[alone]
    table[np.arange(len(alone)), 1 + there] = model.open_spend[what, there]
    found = times(made, table)
    return found[:, 0], found[:, 1 : 1 + model.sites], found[:, 1 + model.sites :]


def _more_spend(model: Model, renewed: Flags, own: Flags) -> Floats:
    """Time that visits take because they are the first of their task, or are not."""
    some = np.flatnonzero(model.more_spend.any(axis=(1, 2)))
    if not len(some):
        return np.zeros((len(own), model.sites))
    done = np.where(model.along[some][:, None], renewed[:, some], own[:, some])
    first = np.cumsum(renewed[:, some], axis=2) <= 1
    more = model.more_spend[some]
    return np.asarray((done * np.where(first, more[:, 0], more[:, 1])).sum(axis=1))


def _path_cost(arc: Floats, again: Floats, renewed: Flags, own: Flags) -> Floats:
    """What waiting costs each plan: at every renewal since the one before it, and at the end since the last."""
    plans, tasks, sites = renewed.shape
    spots = np.flatnonzero(renewed)
    path, site = np.divmod(spots, sites)
    start, last = np.zeros(len(spots), dtype=np.intp), np.zeros(plans * tasks, dtype=np.intp)
    start[1:] = np.where(path[1:] == path[:-1], site[:-1] + 1, 0)
    last[path] = site + 1
    plan, task = np.divmod(path, tasks)
    waited = arc[task, start, site] + np.where(own.reshape(-1)[spots], again[task, start, site], 0.0)
    ends = arc[np.arange(tasks), last.reshape(plans, tasks), sites]
    return np.asarray(np.bincount(plan, waited, plans) + ends.sum(axis=1))


def merit(part: Part, plans: Plans, price: Floats, fee: Floats, overflow: float = OVERFLOW[0]) -> Floats:
    """Cost at the prices of the sites' time, with the fee where it works and a price on what overflows."""
    return np.asarray(
        plans.cost + times(plans.spend, price) + times(plans.uses, fee) + overflow * _overflow(part, plans)
    )


def with_fees(model: Model, plans: Plans) -> Floats:
    """What plans cost with the fee of every site where they work, whatever minutes they take."""
    return np.asarray(plans.cost + times(plans.uses, model.fee_cost))


def minutes_taken(model: Model, plans: Plans) -> Floats:
    """Tenths of a minute that plans take of each row of minutes, with the fee of every site where they work."""
    return times(plans.spend, model.rows) + times(plans.uses, model.fee_rows)


def overflow_of(model: Model, plans: Plans) -> Floats:
    """Tenths of a minute that plans take beyond each row of minutes there are."""
    return np.asarray(np.maximum(minutes_taken(model, plans) - model.room, 0.0))


def _overflow(part: Part, plans: Plans) -> Floats:
    """Tenths of a minute that sites have not got, the part having them all to itself."""
    return np.asarray(overflow_of(part.model, plans).sum(axis=1))


def fitting(part: Part, plans: Plans) -> Plans:
    """The plans that can be, with all the minutes there are."""
    return plans.take((_overflow(part, plans) == 0.0) & (plans.cost < NEVER))


def around(part: Part, plan: Plans, price: Floats, fee: Floats) -> Plans:
    """All next to one plan that fits: by every move, and by a single change."""
    moved = moved_visits(part, plan, price, fee, every_task=True)
    return fitting(part, priced(part, each_once(np.concatenate([moved, changed_visits(part, plan)]))))


def descend(part: Part, start: Plans, price: Floats, fee: Floats) -> tuple[Plans, Plans, int]:
    """The best plan found from `start` (one plan), all plans met on the way that fit alone, and how many were weighed."""
    current, met = start, [start]
    moved: Plans | None = None
    single: Plans | None = None
    for overflow in OVERFLOW:
        value = merit(part, current, price, fee, overflow)[0]
        for _ in range(MOST_MOVES):
            if moved is None:
                moved = neighbours(part, current, price, fee)
                met.append(moved)
            if single is None and overflow > SCARCE:
                single = single_changes(part, current)
                met.append(single)
            found = moved if single is None else joined_plans([moved, single])
            worth = merit(part, found, price, fee, overflow)
            best = int(worth.argmin())
            if worth[best] >= value:
                break
            current, value, moved, single = found.take(np.array([best])), worth[best], None, None
        if _overflow(part, current)[0] == 0.0:
            break
    return current, fitting(part, joined_plans(met)), sum(len(found.cost) for found in met)


def single_changes(part: Part, current: Plans) -> Plans:
    """Every plan with one visit more, one less, or one at another site, and nothing else changed."""
    plans = priced(part, changed_visits(part, current))
    return plans.take(plans.cost < NEVER)


def changed_visits(part: Part, current: Plans) -> Flags:
    """The visits of `single_changes`, whether they can be or not."""
    own, able = current.own[0], part.model.labour < NEVER
    more = np.argwhere(able & ~own)
    less = np.argwhere(own)
    found = np.repeat(own[None], len(more) + len(less) * own.shape[1], axis=0)
    found[np.arange(len(more)), more[:, 0], more[:, 1]] = True
    spots = len(more) + np.arange(len(less) * own.shape[1])
    task, site = np.repeat(less, own.shape[1], axis=0).T
    found[spots, task, site] = False
    other = np.tile(np.arange(own.shape[1]), len(less))
    found[spots, task, other] = (other != site) & able[task, other]
    return found


def neighbours(part: Part, current: Plans, price: Floats, fee: Floats, every_task: bool = False) -> Plans:
    """Every move from one plan, each with all tasks on their cheapest paths.

    With `every_task`, or in a small part, each single visit is forced and forbidden as well.
    """
    return priced(part, each_once(moved_visits(part, current, price, fee, every_task)))
