"""From standings and water calls to tasks: what has to be placed, and within what reach."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from tripplan.due.standing import Situation, Standing
from tripplan.placing.both_sides import twins_of
from tripplan.placing.greedy import WALK_ROUND
from tripplan.placing.problem import (
    AT_ONCE,
    PlaceKey,
    PlacementProblem,
    Site,
    Task,
    build_sites,
    first_site_from,
    labour_factors,
    last_chance,
    opens,
    pile_indices,
    reach_and_shares,
)
from tripplan.placing.risk import stranding
from tripplan.records.catalogue import Catalogue, Item, Teardown
from tripplan.trip.timeline import leg_ends
from tripplan.water.crossing import Call

AT_THE_BANK = "bank"
AT_THE_HALT = "halt"
AGAIN_LATER = "later"


def placement_problem(standings: Sequence[Standing], calls: Sequence[Call], s: Situation) -> PlacementProblem:
    """Sites and tasks of this trip, ready for `greedy.py` or the solver."""
    sites = build_sites(s.ahead, s.timeline, s.today)
    teardown = teardown_index(s.catalogue)
    tasks = [_renewal(standing, sites, teardown, s) for standing in standings]
    tasks += _once_tasks(calls, sites, teardown)
    ordered = tuple(sorted(tasks, key=lambda task: task.key))
    covered_by = _coverers(ordered, s)
    return PlacementProblem(
        sites=sites,
        tasks=ordered,
        covered_by=covered_by,
        teardown=teardown,
        open_minutes={key: row.open_minutes for key, row in teardown.items()}
        | {(AT_ONCE, item.id): item.minutes for item in s.catalogue.items},
        close_minutes={key: row.close_minutes for key, row in teardown.items()}
        | {(AT_ONCE, item.id): 0.0 for item in s.catalogue.items},
        rate_per_hour=s.trip.rate_per_hour,
        labour_factor=labour_factors(sites, s.catalogue),
        tolerance_share=s.catalogue.assumed("tolerance_share").value,
        depart=s.trip.depart,
        quiet_days=s.catalogue.assumed("opening_near_departure_days").value,
        shakedown=s.trip.shakedown_km > 0,
        twins=twins_of(ordered, covered_by),
    )


def with_calls(problem: PlacementProblem, calls: Sequence[Call], s: Situation) -> PlacementProblem:
    """The same problem with other water calls; the renewals stay as they were worked out."""
    kept = [task for task in problem.tasks if task.window is None]
    once = _once_tasks(calls, problem.sites, problem.teardown)
    ordered = tuple(sorted([*kept, *once], key=lambda task: task.key))
    covered_by = _coverers(ordered, s)
    return replace(problem, tasks=ordered, covered_by=covered_by, twins=twins_of(ordered, covered_by))


def _each_morning(standing: Standing, sites: Sequence[Site], task: Task, today: date) -> Task:
    """A walk-round check: once before going on if due, then each morning; it takes no slot's minutes."""
    count, leaving = len(sites), last_chance(sites, today)
    nothing = ((0.0,) * count,) * (count + 1)
    reach = (leaving if standing.overdue else count - 1, *[count - 1] * count)
    return replace(task, minutes=0.0, opens=(), earliest=max(leaving, 0), reach=reach, shares=nothing, strand=nothing)


def _coverers(tasks: Sequence[Task], s: Situation) -> tuple[tuple[int, ...], ...]:
    """For each task the tasks whose act does it on the way, at the same side or the whole unit.

    What water calls for is done on the way by an act at the same item that is as much and opens as far.
    """
    covered_by = s.history.covered_by
    done_by = {rule.act: {rule.act, *rule.done_by} for rule in s.catalogue.acts}
    renewals: dict[tuple[str, str], list[int]] = {}
    for index, task in enumerate(tasks):
        if task.window is None or task.resets:
            renewals.setdefault((task.item.id, task.unit.id), []).append(index)

    def of(task: Task) -> tuple[int, ...]:
        others = (task.item, *(covered_by.get(task.item.id, ()) if task.window is None else ()))
        found = [
            index
            for other in others
            for index in renewals.get((other.id, task.unit.id), ())
            if tasks[index].position in (None, task.position) and tasks[index] is not task
        ]
        if task.window is not None:
            enough = done_by.get(task.act, {task.act})
            found = [i for i in found if tasks[i].act in enough and set(task.opens) <= set(tasks[i].opens)]
        return tuple(sorted(found))

    return tuple(of(task) for task in tasks)


def teardown_index(catalogue: Catalogue) -> dict[tuple[str, str], Teardown]:
    """Teardown rows by place and state."""
    return {(row.place, row.state): row for row in catalogue.teardown}


def _renewal(
    standing: Standing, sites: Sequence[Site], teardown: dict[tuple[str, str], Teardown], s: Situation
) -> Task:
    item, unit = standing.item, standing.unit
    index = pile_indices(sites, s.timeline)
    reach, shares = reach_and_shares(standing.course, sites, index, s.today, standing.overdue)
    task = Task(
        item=item,
        unit=unit,
        position=standing.position,
        act=item.act,
        minutes=item.minutes,
        facility=item.facility,
        state=item.state,
        opens=opens(item, unit, standing.position, item.state, teardown) + _at_once(standing, s.catalogue),
        earliest=first_site_from(sites, s.today, item.parts_lead_days),
        reach=reach,
        shares=shares,
        strand=stranding(standing, sites, index, leg_ends(s.timeline), s),
        overdue=standing.overdue,
    )
    return _each_morning(standing, sites, task, s.today) if item.rhythm == WALK_ROUND else task


def _at_once(standing: Standing, catalogue: Catalogue) -> tuple[tuple[PlaceKey, str], ...]:
    """The looks an act brings with it on the spot, such as play with the wheel off the ground."""
    found: list[tuple[PlaceKey, str]] = []
    for follow in standing.item.follow_ups:
        item = catalogue.item(follow.item)
        if follow.at_once and item.fits(standing.unit):
            side = standing.position if item.positions else None
            found.append(((standing.unit.id, AT_ONCE, side), item.id))
    return tuple(found)


def _once_tasks(calls: Sequence[Call], sites: Sequence[Site], teardown: dict[tuple[str, str], Teardown]) -> list[Task]:
    """One-shot tasks: calls for the same act at the same item share a visit where windows meet."""
    groups: dict[tuple[str, str, str, str, str], list[tuple[int, Call, tuple[int, int]]]] = {}
    for index, call in enumerate(calls):
        window = site_window(call, sites)
        if window and not call.contingent and call.rule.when not in (AT_THE_BANK, AT_THE_HALT, AGAIN_LATER):
            key = (call.item.id, call.unit.id, call.position or "", call.rule.act, call.rule.state)
            groups.setdefault(key, []).append((index, call, window))
    found = []
    for group in groups.values():
        found += [_once(chunk, teardown) for chunk in _stab(group)]
    return found


def _stab(
    group: Sequence[tuple[int, Call, tuple[int, int]]],
) -> list[list[tuple[int, Call, tuple[int, int]]]]:
    """Fewest visits that meet every window: by earliest deadline, each takes all it can."""
    chunks: list[list[tuple[int, Call, tuple[int, int]]]] = []
    for entry in sorted(group, key=lambda e: (e[2][1], e[2][0], e[0])):
        if chunks and entry[2][0] <= min(e[2][1] for e in chunks[-1]):
            chunks[-1].append(entry)
        else:
            chunks.append([entry])
    return chunks


def _once(chunk: Sequence[tuple[int, Call, tuple[int, int]]], teardown: dict[tuple[str, str], Teardown]) -> Task:
    call = chunk[0][1]
    rule, item = call.rule, call.item
    window = (max(w[0] for _, _, w in chunk), min(w[1] for _, _, w in chunk))
    return Task(
        item=item,
        unit=call.unit,
        position=call.position,
        act=rule.act,
        minutes=rule.minutes,
        facility=rule.facility,
        state=rule.state,
        opens=opens(item, call.unit, call.position, rule.state, teardown),
        earliest=0,
        window=window,
        calls=tuple(sorted(index for index, _, _ in chunk)),
        resets=rule.resets,
    )


def site_window(call: Call, sites: Sequence[Site]) -> tuple[int, int] | None:
    """First and last site index that meet a call; None when no site lies in its window."""
    inside = [
        index
        for index, site in enumerate(sites)
        if site.trip_km >= call.after_km - 1e-6
        and site.legs_done > 0
        and (call.by_km is None or site.trip_km <= call.by_km + 1e-6)
        and (call.by_date is None or site.date <= call.by_date)
    ]
    return (inside[0], inside[-1]) if inside else None


def is_walk_round(item: Item) -> bool:
    """True for the few-minute checks done every morning rather than in a slot."""
    return item.rhythm == WALK_ROUND
