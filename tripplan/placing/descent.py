"""The cheapest plan of one part at given prices of a site's minutes, by descent over whole moves.

From a plan all moves are tried at once: open a ladder at a site, close it with what is
behind it, shift it with all of that to another site, force or forbid a visit that covers
others. In each move what is open is free, what is closed costs, and every task takes its
cheapest path; then the plan is priced exactly. The best move is taken until none is better.
"""

from itertools import combinations

import numpy as np

from tripplan.placing.model import NEVER, Flags, Floats, Model, Numbers, Part, Plans, each_once, joined_plans, times
from tripplan.placing.whole_moves import moves_from

OVERFLOW = (5e3, 5e4, 1e6, 1e9)
"""Prices of a tenth of a minute that a site has not got, while descending, until the plan fits."""
MOST_MOVES, FEW_TASKS = 60, 8
MOST_NEW = 0.6
"""Where plans have more new than this share, all paths are sought at once."""


def only_at_home(part: Part) -> Plans:
    """The plan that does what is asked for after return, and nothing before."""
    visit = np.full((1, *part.model.labour.shape), NEVER)
    visit[0, :, -1] = part.model.labour[:, -1]
    return best_paths(part, visit, np.zeros(visit.shape, dtype=bool))


def listed(part: Part) -> Plans:
    """Every plan of a task by itself with at most two visits, that of doing it at home first."""
    sites = part.model.sites
    sets = [(), *((s,) for s in range(sites)), *combinations(range(sites), 2)]
    own = np.zeros((len(sets), 1, sites), dtype=bool)
    for number, at in enumerate(sets):
        own[number, 0, list(at)] = True
    return joined_plans([only_at_home(part), fitting(part, priced(part, own))])


def cheapest_visits(part: Part, price: Floats, fees: Floats) -> Flags:
    """The visits of each task's cheapest path by itself at these prices, the fee of each site task by task."""
    visit = np.minimum(visit_prices(part, price) + fees, NEVER)[None]
    return np.asarray(paths(part, visit, np.zeros(visit.shape, dtype=bool))[0])


def visit_prices(part: Part, price: Floats) -> Floats:
    """What every visit costs at these prices where nothing is open."""
    model = part.model
    closed = np.ones((1, part.asked, model.sites)), np.ones((1, len(model.looks.what)))
    return np.asarray(model.labour + model.spend * price[: model.sites] + opening_cost(part, *closed, price)[0])


def opening_prices(model: Model, price: Floats) -> Floats:
    """What each opening costs at each site at the prices of the clocks, that of a look where it falls."""
    cost, looks = model.open_cost + model.open_spend * price[: model.sites], model.looks
    cost[looks.what, looks.there] += looks.halt @ price[model.sites :]
    return np.asarray(cost)


def opening_cost(part: Part, closed: Floats, unlooked: Floats, price: Floats) -> Floats:
    """What a visit pays for opening: `closed` (plans, asked openings, sites) is 0 where it is open already.

    `unlooked` (plans, places of looks) is 0 where a look is made already.
    """
    model, looks, prices = part.model, part.model.looks, opening_prices(part.model, price)
    paid, looking = closed * prices[: part.asked], unlooked * prices[looks.what, looks.there]
    paid[:, looks.by, looks.at] = closed[:, looks.by, looks.at] * looking[:, looks.to]
    return np.asarray(model.need[:, : part.asked].astype(np.float64) @ paid)


def opened_by(model: Model, own: Flags) -> Flags:
    """What is open in each plan (plans, openings, sites), with the looks that follow where they fall."""
    used = np.asarray((model.need.T.astype(np.float64) @ own.astype(np.float64)) > 0)
    with_looks(model, used)
    return used


def with_looks(model: Model, used: Flags) -> None:
    """Adds to what is open (plans, openings, sites) the looks that it brings."""
    looks = model.looks
    if len(looks.by):
        used[:, looks.what, looks.there] |= looks.made(used)


def best_paths(part: Part, visit: Floats, forced: Flags) -> Plans:
    """For each of many visit prices (plans, tasks, sites) every task's cheapest path, priced exactly."""
    return priced(part, paths(part, visit, forced))


def paths(part: Part, visit: Floats, forced: Flags) -> Flags:
    """For each of many visit prices (plans, tasks, sites) the visits of every task's cheapest path.

    `forced` visits have to be made. Where a task is covered its path leads through there, at no price.
    """
    own = np.zeros(visit.shape, dtype=bool)
    for level in part.levels:
        some = len(level) < visit.shape[1]
        visits, musts = (visit[:, level], forced[:, level]) if some else (visit, forced)
        through = _covered(part, own, level)
        own[:, level] = _each_path(part.model.arc[level], part.model.again[level], visits, through, musts)
    return own


def _each_path(arc: Floats, again: Floats, visit: Floats, through: Flags, forced: Flags) -> Flags:
    """The cheapest paths of these tasks; where a plan has nothing new for a task, its path is that of the first plan."""
    new = (visit != visit[0]).any(axis=2) | (through != through[0]).any(axis=2) | (forced != forced[0]).any(axis=2)
    new[0] = True
    if new.sum() > MOST_NEW * new.size:
        return shortest(arc, again, visit, through, forced)
    plan, task = np.nonzero(new)
    found = shortest(arc, again, visit[None, plan, task], through[None, plan, task], forced[None, plan, task], task)[0]
    own = np.repeat(found[None, : visit.shape[1]], len(visit), axis=0)
    own[plan, task] = found
    return own


def _covered(part: Part, own: Flags, level: Numbers) -> Flags:
    who = part.cover[level].astype(np.float64)
    if not who.any():
        return np.zeros((len(own), len(level), own.shape[2]), dtype=bool)
    return np.asarray((who @ own.astype(np.float64) > 0) & part.model.counts[level])


def shortest(
    arc: Floats, again: Floats, visit: Floats, through: Flags, forced: Flags, who: Numbers | None = None
) -> Flags:
    """Visits of the cheapest path of each task in each plan; ties go to the earlier start.

    `who` names the task of each column where they are not one after the other. `through` sites are passed at no price; at `forced` sites a visit is made and paid. The start
    of the best step is carried in the last digits of its cost, so that one minimum finds both.
    """
    plans, tasks, sites = visit.shape
    digits = float(1 << (sites + 1).bit_length())
    order = np.arange(sites + 1, dtype=np.float64)[:, None, None]
    steps = np.ascontiguousarray(arc.transpose(1, 2, 0)) * digits + order
    visited = steps + again.transpose(1, 2, 0) * digits
    paid = np.ascontiguousarray(visit.transpose(2, 0, 1)) * digits
    passed, must = through.transpose(2, 0, 1), (through | forced).transpose(2, 0, 1)
    any_passed: Flags = np.asarray(through.any(axis=(0, 1)))
    any_must: Flags = np.asarray(must.any(axis=(1, 2)))
    reach = np.full((sites + 1, plans, tasks), NEVER * digits)
    reach[0] = 0.0
    back = np.zeros((sites + 1, plans, tasks))
    for q in range(sites + 1):
        arcs = _columns((visited if q < sites else steps)[: q + 1, None, q], who)
        if q < sites and any_passed[q]:
            arcs = np.where(passed[q], _columns(steps[: q + 1, None, q], who), arcs)
        best = (reach[: q + 1] + arcs).min(axis=0)
        value = np.floor(best / digits) * digits
        back[q] = best - value
        if q < sites:
            reach[q + 1] = value + (np.where(passed[q], 0.0, paid[q]) if any_passed[q] else paid[q])
            if any_must[q]:
                reach[: q + 1] = np.where(must[q], NEVER * 2 * digits, reach[: q + 1])
    return _walked_back(back, through)


def _columns(arcs: Floats, who: Numbers | None) -> Floats:
    return arcs if who is None else arcs[..., who]


def _walked_back(back: Floats, through: Flags) -> Flags:
    """The visits on the way back from the end, without those that are only passed."""
    sites = len(back) - 1
    own = np.zeros((sites, *back.shape[1:]), dtype=bool)
    at = back[sites]
    for q in range(sites, 0, -1):
        own[q - 1] = at == q
        at = np.where(own[q - 1], back[q - 1], at)
    return np.asarray(own.transpose(1, 2, 0) & ~through)


def priced(part: Part, own: Flags) -> Plans:
    """Plans with what they cost and what they take of each site, exactly."""
    model, seen = part.model, own.astype(np.float64)
    used, looked = _opened(part, seen)
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
    renewed = own | ((part.cover.astype(np.float64) @ seen > 0) & model.counts) if part.cover.any() else own
    here += _more_spend(model, renewed, own)
    return Plans(own, cost + _path_cost(model.arc, model.again, renewed, own), np.concatenate([here, halts], axis=1))


def _asked_for(part: Part, seen: Floats) -> Flags:
    """Which openings (plans, openings, sites) the visits need themselves, looks that they bring left out."""
    return np.asarray(part.model.need[:, : part.asked].T.astype(np.float64) @ seen > 0)


def _opened(part: Part, seen: Floats) -> tuple[Flags, Floats]:
    """What is open of the asked openings (plans, openings, sites), and which looks are made by whatever brings them."""
    looks = part.model.looks
    used = _asked_for(part, seen)
    if not len(looks.by):
        return used, np.zeros((len(seen), 0))
    looked = looks.made(used)
    shared = looks.what < part.asked
    used[:, looks.what[shared], looks.there[shared]] |= looked[:, shared]
    return used, looked.astype(np.float64)


def _looks_alone(part: Part, looked: Floats) -> tuple[Floats, Floats, Floats]:
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


def overflow_of(model: Model, plans: Plans) -> Floats:
    """Tenths of a minute that plans take beyond each row of minutes there are."""
    taken = times(plans.spend, model.rows) + times(plans.uses, model.fee_rows)
    return np.asarray(np.maximum(taken - model.room, 0.0))


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


def descend(part: Part, start: Plans, price: Floats, fee: Floats) -> tuple[Plans, Plans]:
    """The best plan found from `start` (one plan), and all plans met on the way that fit alone."""
    current, met = start, [start]
    for overflow in OVERFLOW:
        value = merit(part, current, price, fee, overflow)[0]
        for _ in range(MOST_MOVES):
            found = neighbours(part, current, price, fee)
            if overflow > OVERFLOW[0]:
                found = joined_plans([found, single_changes(part, current)])
            worth = merit(part, found, price, fee, overflow)
            met.append(found)
            best = int(worth.argmin())
            if worth[best] >= value:
                break
            current, value = found.take(np.array([best])), worth[best]
        if _overflow(part, current)[0] == 0.0:
            break
    return current, fitting(part, joined_plans(met))


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


def moved_visits(part: Part, current: Plans, price: Floats, fee: Floats, every_task: bool) -> Flags:
    """The visits of `neighbours`, one plan a move."""
    model, looks, own = part.model, part.model.looks, current.own[0]
    seen = own[None].astype(np.float64)
    used, looked = (some[0] for some in _opened(part, seen))
    moves = moves_from(part, own, _asked_for(part, seen)[0], every_task or len(own) <= FEW_TASKS)
    some = np.flatnonzero(_any_of_each(moves.opens) | (np.arange(len(moves.opens)) == 0))  # the others open nothing
    opened = used | moves.opens[some]
    unlooked = np.where(looks.what < part.asked, 0.0, 1.0 - looked) + np.zeros((len(some), 1))
    shared = np.flatnonzero(looks.what < part.asked)
    unlooked[:, shared] = np.where(opened[:, looks.what[shared], looks.there[shared]], 0.0, 1.0)
    prices = model.labour + model.spend * price[: model.sites]
    prices = prices + opening_cost(part, np.where(opened, 0.0, 1.0), unlooked, price)
    working = own.any(axis=0)
    prices += np.where(working | moves.opens[some].any(axis=1), 0.0, fee)[:, None, :]
    prices = np.minimum(prices, NEVER)
    visit = np.repeat(prices[:1], len(moves.opens), axis=0)
    visit[some] = prices
    visit[moves.forbids] = NEVER
    shut = np.flatnonzero(_any_of_each(moves.shuts))
    behind = model.need[:, : part.asked].astype(np.float64) @ moves.shuts[shut].astype(np.float64) > 0
    visit[shut] = np.where(behind, NEVER, visit[shut])
    return paths(part, visit, moves.forces)


def _any_of_each(moves: Flags) -> Flags:
    return np.asarray(moves.reshape(len(moves), -1).any(axis=1))
