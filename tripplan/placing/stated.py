"""The placement problem as arrays, and back: what goes together is one row there.

Both sides of an axle are one row, and so is all that belongs to an open hub. Whoever has a
hub off pays for what belongs to it, and whoever brings looks some km later pays for those.
"""

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import chain
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from tripplan.placing.followed_up import as_a_look, is_a_look_itself, looks_on_the_spot
from tripplan.placing.later_looks import HALT, LATER, looks_of, spots_of
from tripplan.placing.limits_first import limits_first
from tripplan.placing.model import NEVER, Flags, Floats, Model, Part, Spoilt, whole_of, with_minutes_of
from tripplan.placing.problem import (
    AGAIN,
    AT_ONCE,
    THOUSAND,
    PlaceKey,
    PlacementProblem,
    Task,
    may_stay_open,
    rank_needed,
)
from tripplan.placing.reckoning import Opening, first_minutes
from tripplan.placing.rooms import TENTHS, rooms_of
from tripplan.placing.tasks import is_every_morning
from tripplan.placing.trade_rules import HUB_OFF, ends_before_the_hub, has_hub_off, is_with_the_hub
from tripplan.records.grouped import grouped
from tripplan.records.units import MINUTES_PER_HOUR

HUB_WORK = "with the hub"
DELICATE = ("bearing", "brake")
QUIET_MINUTES = 20.0
"""What a delicate job in the last days before departure counts for besides its own minutes (judgement)."""


class Stated(Struct, frozen=True, eq=False):
    """The arrays, the tasks that each row stands for, and the openings in the order of their rows.

    `whole` is the model as one part, `labour` that of the model with minutes without end, `again` what it has before
    limits go first, `stops` the sites that have a clock of halts.
    """

    problem: PlacementProblem
    shared: "Shared"
    model: Model
    whole: Part
    groups: tuple[tuple[int, ...], ...]
    openings: tuple[Opening, ...]
    labour: Floats
    again: Floats
    stops: tuple[int | None, ...]


class Shared(Struct, frozen=True):
    """What tasks of one problem share, looked up by what brings it.

    `hubs` is what belongs to an open hub, by place and side; `looks` are the looks that some act brings on the spot;
    `along` is what looks as closely as a look after water into a hub that it has off anyway, by that look.
    """

    hubs: dict[PlaceKey, list[int]]
    looks: frozenset[Opening]
    along: dict[int, list[int]]


def shared_of(problem: PlacementProblem) -> Shared:
    """What the tasks share, gone through once."""
    hubs: dict[PlaceKey, list[int]] = {}
    for index, task in enumerate(problem.tasks):
        if is_with_the_hub(task):
            hubs.setdefault((task.unit.id, task.item.place, task.position), []).append(index)
    along = {
        index: found for index in range(len(problem.tasks)) if (found := _hub_work_that_looks(problem, index, hubs))
    }
    return Shared(hubs, looks_on_the_spot(problem), along)


@lru_cache(maxsize=2)
def stated(problem: PlacementProblem) -> Stated:
    """The problem as arrays of whole numbers; a visit that no day could hold even alone is none.

    Whoever asks again for the same problem is given the same arrays, which nobody changes.
    """
    groups, shared = groups_of(problem), shared_of(problem)
    needs, spots = [_needs(problem, group, shared) for group in groups], spots_of(problem, shared.looks)
    openings = tuple(
        sorted({pair for pairs in needs for pair in pairs} | {spot.opening for spot in spots.values()}, key=str)
    )
    number = {pair: i for i, pair in enumerate(openings)}
    need = np.zeros((len(groups), len(openings)), dtype=bool)
    for g, pairs in enumerate(needs):
        need[g, [number[pair] for pair in pairs]] = True
    labour, spend = _visits(problem, groups, shared)
    open_cost, open_spend = _openings(problem, openings, shared)
    looks, stops = looks_of(problem, spots, number, open_cost)
    keeps = _keeps(problem, openings)
    arc, again = _arcs(problem, groups)
    more_spend, along = _by_turn(problem, groups, arc, again)
    rows, room = rooms_of(problem, stops)
    fee_spend = _time(problem, [problem.set_out_minutes])[0]
    model = Model(
        labour=labour, spend=spend, need=need, open_cost=open_cost, open_spend=open_spend,
        keep_cost=keeps[0], keep_here=keeps[1], keep_next=keeps[2], arc=arc, again=again,
        more_spend=more_spend, along=along, looks=looks, covers=_covers(problem, groups), counts=_counts(problem, groups), rows=rows, room=room,
        fee_cost=_money(problem, [problem.set_out_minutes])[0], fee_spend=fee_spend,
        home=problem.workshop_count, spoilt=_spoilt(problem, groups, number),
    )  # fmt: skip
    model = limits_first(problem, groups, _where_it_fits(model))
    return Stated(problem, shared, model, whole_of(model), groups, openings, labour, again, tuple(stops))


def with_minutes(given: Stated, problem: PlacementProblem) -> Stated:
    """The same for a problem that differs in nothing but the minutes there are."""
    rows, room = rooms_of(problem, given.stops)
    model = _where_it_fits(replace(given.model, labour=given.labour, again=given.again, rows=rows, room=room))
    model = limits_first(problem, given.groups, model)
    return replace(given, problem=problem, model=model, whole=with_minutes_of(model, given.whole))


def _spoilt(
    problem: PlacementProblem, groups: Sequence[Sequence[int]], number: Mapping[Opening, int]
) -> tuple[Spoilt, ...]:
    """The rows whose work does not outlast a hub that comes off behind it, with those hubs."""
    found = []
    for row, group in enumerate(groups):
        ends = {key for index in group for key in ends_before_the_hub(problem.tasks[index])}
        if hubs := tuple(sorted(number[(key, HUB_OFF)] for key in ends if (key, HUB_OFF) in number)):
            found.append((row, hubs))
    return tuple(found)


def _where_it_fits(model: Model) -> Model:
    """Without visits that take more than the minutes there are, even alone and with all that stays open overnight."""
    saved = model.keep_here + np.concatenate([np.zeros((len(model.keep_next), 1)), model.keep_next[:, :-1]], axis=1)
    least = model.spend + model.need.astype(np.float64) @ (model.open_spend - saved) + model.fee_spend
    over = (least[:, :, None] * model.rows[: model.sites] > model.room).any(axis=2)
    return replace(model, labour=np.where(over, NEVER, model.labour))


def groups_of(problem: PlacementProblem) -> tuple[tuple[int, ...], ...]:
    """Tasks that are one job: what belongs to an open hub of one axle, two sides alike, else each alone.

    Where one side of an axle was done a short time ago and the other was not, each side's hub is a job of its own,
    but where both have something to be put right.
    """
    tasks = problem.tasks
    axles = grouped(((t.unit.id, t.item.place), index) for index, t in enumerate(tasks) if is_with_the_hub(t))
    groups = [group for axle in axles.values() for group in _hubs_together(problem, axle)]
    taken = {index for group in groups for index in group}
    for pair in problem.twins:
        if not taken.intersection(pair):
            groups.append(pair)
            taken.update(pair)
    alone = (i for i, task in enumerate(tasks) if i not in taken and not is_every_morning(task))
    return tuple(sorted([*groups, *((index,) for index in alone)]))


def _hubs_together(problem: PlacementProblem, axle: Sequence[int]) -> list[tuple[int, ...]]:
    """The tasks of an axle's hubs as one job, or side by side where one was done a short time ago on one side alone.

    What was found bad and is put right on both sides, such as linings, has both hubs off together however fresh one is.
    """
    tasks = problem.tasks
    bad = grouped((tasks[i].item.id, tasks[i].found_bad) for i in axle)
    if any(len(sides) > 1 and all(sides) for sides in bad.values()):
        return [tuple(axle)]
    fresh = grouped(
        (tasks[i].item.id, bool(tasks[i].shares) and tasks[i].shares[0][0] < problem.short_share) for i in axle
    )
    if all(len(set(sides)) == 1 for sides in fresh.values()):
        return [tuple(axle)]
    return [tuple(side) for side in grouped((tasks[i].position, i) for i in axle).values()]


def _money(problem: PlacementProblem, minutes: Sequence[float]) -> Floats:
    """What these minutes of the home shed cost (rows) at every site (columns), as `labour_cost` has it."""
    worked = np.array(minutes, dtype=np.float64)[:, None] * np.array(problem.place_factor)
    return np.asarray(np.rint(worked / MINUTES_PER_HOUR * np.array(problem.hour_price) * THOUSAND))


def _time(problem: PlacementProblem, minutes: Sequence[float]) -> Floats:
    """What these minutes of the home shed (rows) take at every site (columns)."""
    return np.asarray(np.rint(np.array(minutes, dtype=np.float64)[:, None] * np.array(problem.place_factor) * TENTHS))


def _needs(problem: PlacementProblem, group: Iterable[int], shared: Shared) -> list[Opening]:
    """What a visit pays for and others may share: states, looks on the spot, work at a hub, looks again."""
    found: dict[Opening, None] = {}
    for index in group:
        task = problem.tasks[index]
        found.update(dict.fromkeys(task.opens))
        found.update({look.opening: None for look in task.again})
        if _is_a_look_at_once(task, shared):
            found[as_a_look(task)] = None
        for key, state in task.opens:
            if state == HUB_OFF and key in shared.hubs:
                found[((key[0], HUB_WORK, key[2]), key[1])] = None
                for hub in shared.hubs[key]:
                    found.update({look.opening: None for look in problem.tasks[hub].again})
                    found.update({pair: None for pair in problem.tasks[hub].opens if pair[0][1] == AT_ONCE})
    return list(found)


def _is_a_look_at_once(task: Task, shared: Shared) -> bool:
    """True when other acts bring this very look on the spot, or ask for it some km later, so that it is shared with them."""
    return as_a_look(task) in shared.looks and is_a_look_itself(task)


def _own_minutes(problem: PlacementProblem, index: int, shared: Shared) -> float:
    """Minutes of a task beyond what it shares: work at a hub and looks on the spot are paid as openings."""
    task = problem.tasks[index]
    if is_with_the_hub(task) or index in shared.along:
        return 0.0
    if _is_a_look_at_once(task, shared):
        return max(0.0, _least(task) - problem.open_minutes[(AT_ONCE, task.item.id)])
    for key, state in task.opens:
        if state == HUB_OFF and task.resets:
            same = [i for i in shared.hubs.get(key, ()) if problem.tasks[i].thing == task.thing]
            return max(0.0, _least(task) - sum(_least(problem.tasks[i]) for i in same))
    return _least(task)


def _hub_work_that_looks(problem: PlacementProblem, index: int, in_hubs: dict[PlaceKey, list[int]]) -> list[int]:
    """What is done anyway at the open hub that a look after water needs, and looks as closely: the bearing that is packed."""
    task = problem.tasks[index]
    if task.window is None or task.resets:
        return []
    hubs = [i for key, state in task.opens if state == HUB_OFF for i in in_hubs.get(key, ())]
    return [i for i in hubs if problem.tasks[i].thing == task.thing and i in problem.covered_by[index]]


def _least(task: Task) -> float:
    """Minutes of the shorter of a task's visits; what the others take besides goes by the visit before."""
    return task.minutes if task.later_minutes is None else min(first_minutes(task), task.later_minutes)


def _by_turn(
    problem: PlacementProblem, groups: tuple[tuple[int, ...], ...], arc: Floats, again: Floats
) -> tuple[Floats, Flags]:
    """Time of first and of later visits beyond the shorter of both; what that costs goes to `arc` or `again`.

    What belongs to a hub is done by whoever has it off, so there it counts for every renewal.
    """
    sites = len(problem.sites)
    more, along = np.zeros((len(groups), 2, sites)), np.zeros(len(groups), dtype=bool)
    for g, group in enumerate(groups):
        tasks = [problem.tasks[index] for index in group]
        along[g] = is_with_the_hub(tasks[0])
        for task in tasks:
            if task.later_minutes is not None:
                both = [first_minutes(task) - _least(task), task.later_minutes - _least(task)]
                cost, into = _money(problem, both), arc if along[g] else again
                into[g, 0, :sites] += cost[0]
                into[g, 1:, :sites] += cost[1]
                more[g] += _time(problem, both)
    return more, along


def _visits(
    problem: PlacementProblem, groups: tuple[tuple[int, ...], ...], shared: Shared
) -> tuple[Floats, Floats]:  # fmt: skip
    tasks = problem.tasks
    own = [_own_minutes(problem, index, shared) for index in range(len(tasks))]
    delicate = np.array([_is_delicate(task) for task in tasks])[:, None]
    labour = _of_groups(np.add, _money(problem, own), groups)
    labour += np.where(_of_groups(np.logical_or, delicate, groups), _quiet(problem), 0.0)
    spend = _of_groups(np.add, _time(problem, own), groups)
    able = _of_groups(np.logical_and, where_able(problem), groups) & ~_left_to_looks(problem, groups)[:, None]
    return np.where(able, labour, NEVER), np.where(able, spend, 0.0)


def _is_delicate(task: Task) -> bool:
    """True for what is tried on a drive before the trip: brakes and bearings, and all for which a hub is off."""
    return bool(task.opens) and (task.item.family in DELICATE or has_hub_off(task))


def where_able(problem: PlacementProblem) -> Flags:
    """Where each task can stand, as `can_stand` has it for one."""
    site, rank = np.arange(len(problem.sites)), np.array([site.rank for site in problem.sites])
    rows = [
        (rank_needed(task), problem.last if task.look_first else task.earliest, *(task.window or (0, problem.last)))
        for task in problem.tasks
    ]
    needed, earliest, first, last = np.array(rows, dtype=np.intp).reshape(-1, 4).T[:, :, None]
    return np.asarray((rank >= needed) & (site >= earliest) & (site >= first) & (site <= last))


def _left_to_looks(problem: PlacementProblem, groups: tuple[tuple[int, ...], ...]) -> Flags:
    """The rows that are no job until a look asks for them: where no side of an axle has a record."""
    return np.array([all(problem.tasks[index].look_tells for index in group) for group in groups], dtype=bool)


def _of_groups(how: np.ufunc, rows: NDArray[Any], groups: Sequence[Sequence[int]]) -> NDArray[Any]:
    """The rows of each group's members put together: one row a group."""
    if not groups:
        return rows[:0]
    first = np.cumsum([0, *map(len, groups[:-1])])
    return np.asarray(how.reduceat(rows[[index for group in groups for index in group]], first))


def _quiet(problem: PlacementProblem) -> Floats:
    """What a delicate job costs besides at every site: something in the last days before departure, else nothing."""
    near = [
        s < problem.workshop_count and (problem.depart - site.date).days <= problem.quiet_days
        for s, site in enumerate(problem.sites)
    ]
    return np.where(near, _money(problem, [QUIET_MINUTES])[0], 0.0)


def _openings(
    problem: PlacementProblem, openings: tuple[Opening, ...], shared: Shared
) -> tuple[Floats, Floats]:  # fmt: skip
    looks = {(look.unit, look.side, look.item): look.minutes for task in problem.tasks for look in task.again}
    minutes: list[float] = []
    parts: list[range] = []
    for key, state in openings:
        if key[1] in (AGAIN, HALT):
            found = [0.0]
        elif key[1] == LATER:
            found = [looks[(key[0], key[2], state)]]
        elif key[1] == HUB_WORK:
            found = [_least(problem.tasks[i]) for i in shared.hubs.get((key[0], state, key[2]), ())]
        else:
            found = [problem.open_minutes[(key[1], state)], problem.close_minutes[(key[1], state)]]
        parts.append(range(len(minutes), len(minutes) + len(found)))
        minutes += found
    return _of_groups(np.add, _money(problem, minutes), parts), _of_groups(np.add, _time(problem, minutes), parts)


def _keeps(problem: PlacementProblem, openings: tuple[Opening, ...]) -> tuple[Floats, Floats, Floats]:
    shape = (len(openings), len(problem.sites))
    cost, here, after = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    nights = [s for s in range(problem.workshop_count - 1) if may_stay_open(problem, s)]
    for o, (key, state) in enumerate(openings):
        if nights and key[1] not in (AGAIN, HALT, LATER, HUB_WORK, AT_ONCE):
            parts = [problem.close_minutes[(key[1], state)], problem.open_minutes[(key[1], state)]]
            (close_cost, open_cost), (close_time, open_time) = _money(problem, parts), _time(problem, parts)
            for s in nights:
                cost[o, s] = close_cost[s] + open_cost[s + 1]
                here[o, s], after[o, s] = close_time[s], open_time[s + 1]
    return cost, here, after


def _arcs(problem: PlacementProblem, groups: tuple[tuple[int, ...], ...]) -> tuple[Floats, Floats]:
    """What waiting costs between visits, and where a visit would come too soon after the last."""
    sites, tasks = len(problem.sites), problem.tasks
    arc = np.full((len(groups), sites + 1, sites + 1), NEVER)
    again = np.zeros(arc.shape)
    forward = np.triu(np.ones((sites + 1, sites), dtype=bool))
    for g, group in enumerate(groups):
        if tasks[group[0]].window is not None:
            arc[g, :, :sites] = np.where(forward, 0.0, NEVER)
            arc[g, :, sites] = 0.0
            arc[g, 0, sites] = sum(tasks[index].undone for index in group)
    renewed = [g for g, group in enumerate(groups) if tasks[group[0]].window is None]
    if renewed:
        members = list(chain.from_iterable(groups[g] for g in renewed))
        late, shares, worth = _waiting([tasks[index] for index in members], sites)
        ends = np.cumsum([len(groups[g]) for g in renewed]).tolist()
        alike = [range(start, end) for start, end in zip([0, *ends], ends, strict=False)]
        late, worth = _of_groups(np.add, late, alike), _of_groups(np.add, worth, alike)
        shares = _of_groups(np.maximum, shares, alike)
        may_end = shares[:, :sites, -1] < 1.0 - problem.tolerance_share
        may_end[:, 0] |= _left_to_looks(problem, groups)[renewed]
        arc[renewed, :, :sites] = np.where(forward, late, NEVER)
        arc[renewed, :sites, sites] = np.where(may_end, late[:, :sites, -1] + worth[:, :sites], NEVER)
        arc[renewed, sites, sites] = 0.0
        again[renewed, :, :sites] = np.where(shares < problem.short_share, NEVER, 0.0)
    return arc, again


def _waiting(tasks: Sequence[Task], sites: int) -> tuple[Floats, Floats, Floats]:
    """What waiting costs, what it uses and what is lost at the end, for every task that renews."""
    late, shares = (
        np.fromiter(chain.from_iterable(chain.from_iterable(tables)), dtype=np.float64).reshape(-1, sites + 1, sites)
        for tables in ([task.late for task in tasks], [task.shares for task in tasks])
    )
    return late, shares, np.array([task.worth for task in tasks], dtype=np.float64)


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
        called_off = any(task.window is not None and has_hub_off(task) for task in tasks)
        by = [
            {number[c] for c in problem.covered_by[index]
             if c in number and not (called_off and problem.tasks[c].window is None)} - {g}
            for index in group
        ]  # fmt: skip
        found.append(set.intersection(*by))
    return _without_circles(found, {g for g, group in enumerate(groups) if is_with_the_hub(problem.tasks[group[0]])})


def _without_circles(covers: list[set[int]], hubs: set[int]) -> tuple[tuple[int, ...], ...]:
    """The same without what would close a circle: a row that waits for itself gives way.

    Work at a hub does first: it loses what only has the hub off for a part of that work, such as a seal.
    """
    done: set[int] = set()
    while len(done) < len(covers):
        ready = {g for g, others in enumerate(covers) if g not in done and others <= done}
        if not ready:
            stuck = min((g for g in range(len(covers)) if g not in done), key=lambda g: (g not in hubs, g))
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
