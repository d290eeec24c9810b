"""The placement problem as arrays, and back: what goes together is one row there.

Both sides of an axle are one row, and so is all that belongs to an open hub. Whoever has a
hub off pays for what belongs to it, and whoever brings looks some km later pays for those.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from tripplan.placing.model import NEVER, Flags, Floats, Model
from tripplan.placing.problem import (
    AGAIN,
    AT_ONCE,
    STOP,
    THOUSAND,
    PlaceKey,
    PlacementProblem,
    Placing,
    Task,
    Unmet,
    can_stand,
    may_stay_open,
    renewals,
)
from tripplan.placing.reckoning import Opening, again_cost, labour_cost, opened_at
from tripplan.placing.tasks import is_walk_round
from tripplan.placing.trade_rules import HUB_OFF, is_with_the_hub

HUB_WORK = "with the hub"
TENTHS = 10
DELICATE = ("bearing", "brake")
QUIET_MINUTES = 20.0
"""What a delicate job in the last days before departure counts for besides its own minutes (judgement)."""


@dataclass(frozen=True, slots=True)
class Stated:
    """The arrays, the tasks that each row stands for, and the openings in the order of their rows."""

    problem: PlacementProblem
    model: Model
    groups: tuple[tuple[int, ...], ...]
    openings: tuple[Opening, ...]


def stated(problem: PlacementProblem) -> Stated:
    """The problem as arrays of whole numbers; a visit that no day could hold even alone is none."""
    groups = groups_of(problem)
    openings = tuple(sorted({pair for group in groups for pair in _needs(problem, group)}, key=str))
    number = {pair: i for i, pair in enumerate(openings)}
    need = np.zeros((len(groups), len(openings)), dtype=bool)
    for g, group in enumerate(groups):
        need[g, [number[pair] for pair in _needs(problem, group)]] = True
    labour, spend = _visits(problem, groups)
    open_cost, open_spend = _openings(problem, openings)
    keeps = _keeps(problem, openings)
    arc, again = _arcs(problem, groups)
    rows, room = _rooms(problem)
    fee = [problem.set_out_minutes] * len(problem.sites)
    fee_spend = np.array([_time(problem, s, m) for s, m in enumerate(fee)])
    saved = keeps[1] + np.concatenate([np.zeros((len(openings), 1)), keeps[2][:, :-1]], axis=1)
    least = spend + need.astype(np.float64) @ (open_spend - saved) + fee_spend
    labour = np.where((least[:, :, None] * rows > room).any(axis=2), NEVER, labour)
    model = Model(
        labour=labour, spend=spend, need=need, open_cost=open_cost, open_spend=open_spend,
        keep_cost=keeps[0], keep_here=keeps[1], keep_next=keeps[2], arc=arc, again=again,
        covers=_covers(problem, groups), counts=_counts(problem, groups), rows=rows, room=room,
        fee_cost=np.array([_money(problem, s, m) for s, m in enumerate(fee)]),
        fee_spend=fee_spend,
    )  # fmt: skip
    return Stated(problem, model, groups, openings)


def groups_of(problem: PlacementProblem) -> tuple[tuple[int, ...], ...]:
    """Tasks that are one job: what belongs to an open hub of one axle, two sides alike, else each alone."""
    tasks = problem.tasks
    hubs: dict[tuple[str, str], list[int]] = {}
    for index, task in enumerate(tasks):
        if is_with_the_hub(task):
            hubs.setdefault((task.unit.id, task.item.place), []).append(index)
    taken = {index for group in hubs.values() for index in group}
    groups = [tuple(group) for group in hubs.values()]
    for pair in problem.twins:
        if not taken.intersection(pair):
            groups.append(pair)
            taken.update(pair)
    alone = (i for i, task in enumerate(tasks) if i not in taken and not is_walk_round(task.item))
    return tuple(sorted([*groups, *((index,) for index in alone)]))


def _money(problem: PlacementProblem, site: int, minutes: float) -> float:
    return float(round(labour_cost(problem, site, minutes) * THOUSAND))


def _time(problem: PlacementProblem, site: int, minutes: float) -> float:
    return float(round(minutes * problem.place_factor[site] * TENTHS))


def _needs(problem: PlacementProblem, group: Iterable[int]) -> list[Opening]:
    """What a visit pays for and others may share: states, looks on the spot, work at a hub, looks again."""
    found: dict[Opening, None] = {}
    for index in group:
        task = problem.tasks[index]
        found.update(dict.fromkeys(task.opens))
        found.update({(key, name): None for key, name, _ in task.again})
        if _is_a_look_at_once(problem, task):
            found[((task.unit.id, AT_ONCE, task.position), task.item.id)] = None
        for key, state in task.opens:
            if state == HUB_OFF and _hub_tasks(problem, key):
                found[((key[0], HUB_WORK, key[2]), key[1])] = None
                for hub in _hub_tasks(problem, key):
                    found.update({(look, name): None for look, name, _ in problem.tasks[hub].again})
    return list(found)


def _is_a_look_at_once(problem: PlacementProblem, task: Task) -> bool:
    """True when other acts bring this very look on the spot, so that it is shared with them."""
    pair = ((task.unit.id, AT_ONCE, task.position), task.item.id)
    return task.window is None and any(pair in other.opens for other in problem.tasks)


def _hub_tasks(problem: PlacementProblem, key: PlaceKey) -> list[int]:
    """What belongs to this open hub: place and side."""
    return [
        i for i, task in enumerate(problem.tasks)
        if is_with_the_hub(task) and (task.unit.id, task.item.place, task.position) == key
    ]  # fmt: skip


def _own_minutes(problem: PlacementProblem, index: int) -> float:
    """Minutes of a task beyond what it shares: work at a hub and looks on the spot are paid as openings."""
    task = problem.tasks[index]
    if is_with_the_hub(task) or _is_a_look_at_once(problem, task):
        return 0.0
    for key, state in task.opens:
        if state == HUB_OFF and task.resets:
            same = [i for i in _hub_tasks(problem, key) if problem.tasks[i].thing == task.thing]
            return max(0.0, task.minutes - sum(problem.tasks[i].minutes for i in same))
    return task.minutes


def _visits(problem: PlacementProblem, groups: tuple[tuple[int, ...], ...]) -> tuple[Floats, Floats]:
    labour = np.full((len(groups), len(problem.sites)), NEVER)
    spend = np.zeros(labour.shape)
    own = {index: _own_minutes(problem, index) for group in groups for index in group}
    for g, group in enumerate(groups):
        for s in range(len(problem.sites)):
            if all(can_stand(problem, problem.tasks[index], s) for index in group):
                quiet = QUIET_MINUTES if any(_is_late_and_delicate(problem, index, s) for index in group) else 0.0
                labour[g, s] = sum(_money(problem, s, own[index]) for index in group) + _money(problem, s, quiet)
                spend[g, s] = sum(_time(problem, s, own[index]) for index in group)
    return labour, spend


def _is_late_and_delicate(problem: PlacementProblem, index: int, site: int) -> bool:
    task = problem.tasks[index]
    near = site < problem.workshop_count and (problem.depart - problem.sites[site].date).days <= problem.quiet_days
    return near and task.item.family in DELICATE and bool(task.opens)


def _openings(problem: PlacementProblem, openings: tuple[Opening, ...]) -> tuple[Floats, Floats]:
    cost, spend = np.zeros((len(openings), len(problem.sites))), np.zeros((len(openings), len(problem.sites)))
    looks = {(key, name): minutes for task in problem.tasks for key, name, minutes in task.again}
    for o, (key, state) in enumerate(openings):
        for s in range(len(problem.sites)):
            if key[1] == AGAIN:
                cost[o, s] = round(again_cost(problem, s, looks[(key, state)]) * THOUSAND)
                continue
            if key[1] == HUB_WORK:
                parts = [problem.tasks[i].minutes for i in _hub_tasks(problem, (key[0], state, key[2]))]
            else:
                parts = [problem.open_minutes[(key[1], state)], problem.close_minutes[(key[1], state)]]
            cost[o, s] = sum(_money(problem, s, part) for part in parts)
            spend[o, s] = sum(_time(problem, s, part) for part in parts)
    return cost, spend


def _keeps(problem: PlacementProblem, openings: tuple[Opening, ...]) -> tuple[Floats, Floats, Floats]:
    shape = (len(openings), len(problem.sites))
    cost, here, after = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    for o, (key, state) in enumerate(openings):
        for s in range(problem.workshop_count - 1) if key[1] not in (AGAIN, HUB_WORK, AT_ONCE) else ():
            if may_stay_open(problem, s):
                closing, opening = problem.close_minutes[(key[1], state)], problem.open_minutes[(key[1], state)]
                cost[o, s] = _money(problem, s, closing) + _money(problem, s + 1, opening)
                here[o, s], after[o, s] = _time(problem, s, closing), _time(problem, s + 1, opening)
    return cost, here, after


def _arcs(problem: PlacementProblem, groups: tuple[tuple[int, ...], ...]) -> tuple[Floats, Floats]:
    """What waiting costs between visits, and where a visit would come too soon after the last."""
    sites = len(problem.sites)
    arc = np.full((len(groups), sites + 1, sites + 1), NEVER)
    again = np.zeros(arc.shape)
    for g, group in enumerate(groups):
        tasks = [problem.tasks[index] for index in group]
        if tasks[0].window is not None:
            for p in range(sites + 1):
                arc[g, p, p:] = 0.0
            arc[g, 0, sites] = sum(task.undone for task in tasks)
            continue
        late = np.sum([np.array(task.late, dtype=np.float64) for task in tasks], axis=0)
        shares = np.max([np.array(task.shares) for task in tasks], axis=0)
        for p in range(sites + 1):
            arc[g, p, p:sites] = late[p, p:]
            if p == sites:
                arc[g, p, sites] = 0.0
            elif shares[p, -1] < 1.0 - problem.tolerance_share:
                arc[g, p, sites] = late[p, -1] + sum(task.worth[p] for task in tasks)
        again[g, :, :sites] = np.where(shares < problem.short_share, NEVER, 0.0)
    return arc, again


def _covers(problem: PlacementProblem, groups: tuple[tuple[int, ...], ...]) -> tuple[tuple[int, ...], ...]:
    """Rows that do a row on the way: each of its tasks is done by one of theirs.

    What water calls for and renews, or has a hub off for, is not done by the renewal: it is
    that renewal, called for. No row covers itself round a corner.
    """
    number = {index: g for g, group in enumerate(groups) for index in group}
    found: list[set[int]] = []
    for g, group in enumerate(groups):
        tasks = [problem.tasks[index] for index in group]
        if any(task.window is not None and task.resets for task in tasks):
            found.append(set())
            continue
        has_hub_off = any(task.window is not None and HUB_OFF in {state for _, state in task.opens} for task in tasks)
        by = [
            {number[c] for c in problem.covered_by[index]
             if c in number and not (has_hub_off and problem.tasks[c].window is None)} - {g}
            for index in group
        ]  # fmt: skip
        found.append(set.intersection(*by))
    return _without_circles(found)


def _without_circles(covers: list[set[int]]) -> tuple[tuple[int, ...], ...]:
    """The same without what would close a circle: the first row that waits for itself gives way."""
    done: set[int] = set()
    while len(done) < len(covers):
        ready = {g for g, others in enumerate(covers) if g not in done and others <= done}
        if not ready:
            stuck = min(g for g in range(len(covers)) if g not in done)
            covers[stuck] &= done
        done |= ready
    return tuple(tuple(sorted(others)) for others in covers)


def _counts(problem: PlacementProblem, groups: tuple[tuple[int, ...], ...]) -> Flags:
    counts = np.ones((len(groups), len(problem.sites)), dtype=bool)
    for g, group in enumerate(groups):
        window = problem.tasks[group[0]].window
        if window is not None:
            counts[g] = False
            counts[g, window[0] : window[1] + 1] = True
    return counts


def _rooms(problem: PlacementProblem) -> tuple[Floats, Floats]:
    """Minutes of each site, under the owner's ceiling for a day on the road, and of the road as a whole."""
    count = len(problem.sites)
    rows, room = np.zeros((count, count + 1)), np.full(count + 1, np.inf)
    for s, site in enumerate(problem.sites):
        rows[s, s] = 1.0
        on_the_road = site.kind == STOP and not problem.at_home[s]
        limits = [] if site.minutes is None else [site.minutes]
        if on_the_road:
            rows[s, count] = 1.0
            if problem.ceilings.day_minutes is not None:
                limits.append(problem.ceilings.day_minutes * site.days)
        if limits:
            room[s] = np.floor(min(limits) * TENTHS + 1e-6)
    if problem.ceilings.trip_minutes is not None:
        room[count] = np.floor(problem.ceilings.trip_minutes * TENTHS + 1e-6)
    return rows, room


def as_placing(given: Stated, own: Flags, method: str) -> Placing:
    """The visits of each row as visits of its tasks, with what belongs to an open hub, and what stays open."""
    problem = given.problem
    visits: list[set[int]] = [set() for _ in problem.tasks]
    for g, group in enumerate(given.groups):
        for s in np.flatnonzero(own[g]).tolist():
            for index in group:
                visits[index].add(s)
    _add_hub_work(problem, visits)
    _add_walk_rounds(problem, visits)
    placing = Placing(tuple(tuple(sorted(at)) for at in visits), (), method)
    placing = Placing(placing.visits, unmet_of(problem, placing), method, None, _kept(problem, placing))
    return placing


def _add_hub_work(problem: PlacementProblem, visits: list[set[int]]) -> None:
    open_hubs = {
        (key, s) for index, task in enumerate(problem.tasks) for key, state in task.opens if state == HUB_OFF
        for s in visits[index]
    }  # fmt: skip
    called = {
        (*task.thing, s) for index, task in enumerate(problem.tasks) if task.window is not None and task.resets
        for s in visits[index]
    }  # fmt: skip
    for key, s in open_hubs:
        for index in _hub_tasks(problem, key):
            if (*problem.tasks[index].thing, s) not in called:
                visits[index].add(s)


def _add_walk_rounds(problem: PlacementProblem, visits: list[set[int]]) -> None:
    """A daily look that is due is done on the last chance before going on, unless a job there does it."""
    for index, task in enumerate(problem.tasks):
        if is_walk_round(task.item) and task.window is None and task.reach[0] < problem.last:
            done = {s for c in problem.covered_by[index] for s in visits[c] if s <= max(task.reach[0], 0)}
            if not done:
                visits[index].add(max(task.reach[0], 0))


def _kept(problem: PlacementProblem, placing: Placing) -> frozenset[tuple[int, PlaceKey, str]]:
    opened = opened_at(problem, placing)
    return frozenset(
        (s, key, state)
        for s in range(problem.workshop_count - 1)
        if may_stay_open(problem, s)
        for key, state in opened[s] & opened[s + 1]
        if key[1] != AT_ONCE
    )


def unmet_of(problem: PlacementProblem, placing: Placing) -> tuple[Unmet, ...]:
    """Hard limits that are not kept, with the site where the item is done at last."""
    found = []
    for index, task in enumerate(problem.tasks):
        if task.window is None:
            start = -1
            for site in (*renewals(problem, placing, index), problem.last):
                if site > start and task.sound[start + 1] < site:
                    found.append(Unmet(index, site, why_unmet(problem, task, start)))
                start = max(start, site)
    return tuple(found)


def why_unmet(problem: PlacementProblem, task: Task, at: int) -> str:
    """Why nothing between a renewal at site `at` (-1 = today) and the limit can take the task."""
    last = task.sound[at + 1]
    before = problem.sites[at + 1 : last + 1]
    if not before:
        return "no workshop day or stop comes before its limit"
    if not any(can_stand(problem, task, s) for s in range(at + 1, last + 1)):
        late = all(s < task.earliest for s in range(at + 1, last + 1))
        return (
            "parts cannot arrive before its limit"
            if late
            else f"needs a {task.facility}, and none comes before its limit"
        )
    return "no time left at any place before its limit"
