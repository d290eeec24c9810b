"""What visits cost at prices of the minutes, and every task's cheapest path through them."""

from itertools import pairwise

import numpy as np

from tripplan.placing.model import NEVER, Flags, Floats, Model, Numbers, Part, places


def visit_prices(part: Part, price: Floats) -> Floats:
    """What every visit (tasks, sites) costs at these prices where nothing is open."""
    looks = part.model.looks
    nothing = np.zeros((part.asked, part.model.sites), dtype=bool), np.zeros(len(looks.what), dtype=bool)
    return visits_beside(part, opening_paid(part, *nothing, price), price)


def visits_beside(part: Part, paid: Floats, price: Floats) -> Floats:
    """What every visit (tasks, sites) costs at these prices where that is `paid` for each opening (openings, sites)."""
    model = part.model
    need = model.need[:, : part.asked].astype(np.float64)
    return np.asarray(model.labour + model.spend * price[: model.sites] + need @ paid)


def opening_prices(model: Model, price: Floats) -> Floats:
    """What each opening costs at each site at the prices of the clocks, that of a look where it falls."""
    cost, looks = model.open_cost + model.open_spend * price[: model.sites], model.looks
    cost[looks.what, looks.there] += looks.halt @ price[model.sites :]
    return np.asarray(cost)


def opening_paid(part: Part, opened: Flags, looked: Flags, price: Floats) -> Floats:
    """What a visit pays for each opening (asked openings, sites): nothing where it is `opened` already.

    For what brings a look that is the look, and nothing where it is made already, as `looked` tells place by place.
    """
    looks, prices = part.model.looks, opening_prices(part.model, price)
    paid = np.where(opened, 0.0, prices[: part.asked])
    looking = np.where(looked, 0.0, prices[looks.what, looks.there])
    paid[looks.by, looks.at] = np.where(opened[looks.by, looks.at], 0.0, looking[looks.to])
    return np.asarray(paid)


def cheapest_visits(part: Part, price: Floats, fees: Floats) -> Flags:
    """The visits of each task's cheapest path by itself at these prices, the fee of each site task by task."""
    visit = np.minimum(visit_prices(part, price) + fees, NEVER)[None]
    return np.asarray(paths(part, visit)[0])


def paths(part: Part, visit: Floats, forced: Flags | None = None) -> Flags:
    """For each of many visit prices (plans, tasks, sites) the visits of every task's cheapest path.

    `forced` visits have to be made. Where a task is covered its path leads through there, at no price.
    """
    own = np.zeros(visit.shape, dtype=bool)
    plans = np.arange(len(visit))
    for level in part.levels:
        plan, who = np.repeat(plans, len(level)), np.tile(level, len(plans))
        visits = visit[plan, who]
        musts = np.zeros(visits.shape, dtype=bool) if forced is None else forced[plan, who]
        through = covered(part, own, plan, who)
        own[plan, who] = shortest(part.model.arc, part.model.again, who, visits, through, musts)
    return own


def covered(part: Part, own: Flags, plan: Numbers, who: Numbers) -> Flags:
    """Where each of these tasks is done on the way (tasks, sites), each in its plan of `own`."""
    found = np.zeros((len(who), own.shape[2]), dtype=bool)
    task, by = places(part.cover[who])
    if len(task):
        first = np.flatnonzero(np.append(True, task[1:] != task[:-1]))
        found[task[first]] = np.logical_or.reduceat(own[plan[task], by], first)
    return np.asarray(found & part.model.counts[who])


def steps_of(model: Model, own: Flags, row: int) -> list[tuple[int, int]]:
    """The steps (from, to) of one row through the visits of a plan, its own and those that do it on the way."""
    done = own[row] | (own[list(model.covers[row])].any(axis=0) & model.counts[row])
    at = [0, *(np.flatnonzero(done) + 1).tolist(), model.sites + 1]
    return [(p, q - 1) for p, q in pairwise(at)]


def wait_of(model: Model, own: Flags, row: int) -> float:
    """What waiting costs one row in a plan, whoever does it."""
    return float(sum(model.arc[row, p, q] for p, q in steps_of(model, own, row)))


def shortest(arc: Floats, again: Floats, who: Numbers, visit: Floats, through: Flags, forced: Flags) -> Flags:
    """Visits of the cheapest path of each of these rows (rows, sites); ties go to the earlier start.

    Row r is of task `who[r]` of `arc` and `again`. `through` sites are passed at no price; at `forced` sites a visit is made and paid. The start
    of the best step is carried in the last digits of its cost, so that one minimum finds both.
    """
    rows, sites = visit.shape
    digits = float(1 << (sites + 1).bit_length())
    order = np.arange(sites + 1, dtype=np.float64)[:, None, None]
    steps = np.ascontiguousarray(arc.transpose(1, 2, 0)) * digits + order
    visited = steps + again.transpose(1, 2, 0) * digits
    paid, passed, must = np.ascontiguousarray(visit.T) * digits, through.T, (through | forced).T
    any_passed, any_must = (np.asarray(some.any(axis=1)).tolist() for some in (passed, must))
    reach = np.full((sites + 1, rows), NEVER * digits)
    reach[0] = 0.0
    back = np.zeros((sites + 1, rows))
    for q in range(sites):
        arcs = visited[: q + 1, q].take(who, axis=1)
        if any_passed[q]:
            arcs = np.where(passed[q], steps[: q + 1, q].take(who, axis=1), arcs)
        best = (arcs + reach[: q + 1]).min(axis=0)
        np.remainder(best, digits, out=back[q])
        reach[q + 1] = best - back[q] + (np.where(passed[q], 0.0, paid[q]) if any_passed[q] else paid[q])
        if any_must[q]:
            reach[: q + 1] = np.where(must[q], NEVER * 2 * digits, reach[: q + 1])
    np.remainder((steps[:, sites].take(who, axis=1) + reach).min(axis=0), digits, out=back[sites])
    return _walked_back(back, through)


def _walked_back(back: Floats, through: Flags) -> Flags:
    """The visits on the way back from the end, without those that are only passed."""
    sites = len(back) - 1
    own = np.zeros((sites, back.shape[1]), dtype=bool)
    at = back[sites]
    for q in range(sites, 0, -1):
        own[q - 1] = at == q
        at = np.where(own[q - 1], back[q - 1], at)
    return np.asarray(own.T & ~through)


def ways_through(model: Model, visit: Floats, through: Flags) -> Floats:
    """How much more each task's cheapest path that visits or passes a site (tasks, sites) costs than its cheapest of all."""
    tasks, sites = visit.shape
    arrive = model.arc.copy()
    arrive[..., :sites] += np.where(through[:, None], 0.0, model.again[..., :sites] + visit[:, None])
    here, ahead = np.full((tasks, sites + 1), 2 * NEVER), np.full((tasks, sites + 1), 2 * NEVER)
    here[:, 0] = ahead[:, sites] = 0.0  # what it costs to come from today to a site, and to go on from one to the end
    found = np.empty((tasks, sites))
    for q in range(sites):
        found[:, q] = (here[:, : q + 1] + arrive[:, : q + 1, q]).min(axis=1)
        here[:, : q + 1] = np.where(through[:, q, None], 2 * NEVER, here[:, : q + 1])
        here[:, q + 1] = found[:, q]
    for q in range(sites - 1, -1, -1):
        on = (arrive[:, q + 1, q + 1 :] + ahead[:, q + 1 :]).min(axis=1)
        ahead[:, q + 1 :] = np.where(through[:, q, None], 2 * NEVER, ahead[:, q + 1 :])
        ahead[:, q] = on
        found[:, q] += on
    return np.asarray(found - (arrive[:, 0] + ahead).min(axis=1)[:, None])
