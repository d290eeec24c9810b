"""A plain placement that always exists: due work before departure, the rest at the last
stop before it runs out, whatever is nearly due after return.

Tasks are taken in one fixed order: by what a failure would do, what is overdue first, then the
deepest openings, so that what shares an opening comes together while there is room.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from tripplan.placing.problem import (
    PlaceKey,
    PlacementProblem,
    Placing,
    Task,
    Unmet,
    once_done,
    opening_minutes,
    renewals,
)
from tripplan.records.facts_in import FACILITY_RANK

METHOD = "greedy"
WALK_ROUND = "walk-round"


@dataclass(slots=True)
class Load:
    """What is already opened and planned at one site."""

    minutes: float = 0.0
    opened: set[tuple[PlaceKey, str]] = field(default_factory=set)


def place_greedily(problem: PlacementProblem) -> Placing:
    """One placing by the rule above; equal problems give equal placings."""
    loads = [Load() for _ in problem.sites]
    visits: list[tuple[int, ...]] = [() for _ in problem.tasks]
    unmet: list[Unmet] = []
    for index in _in_order(problem):
        task = problem.tasks[index]
        if task.window is not None:
            if not once_done(problem, Placing(tuple(visits), (), METHOD), index):
                site = _place_once(problem, task, loads)
                visits[index] = () if site is None else (site,)
        else:
            on_the_way = sorted({site for other in problem.covered_by[index] for site in visits[other]})
            visits[index], missed = _place_path(problem, index, loads, on_the_way)
            unmet += missed
    return without_lesser(problem, Placing(tuple(visits), tuple(unmet), METHOD))


def without_lesser(problem: PlacementProblem, placing: Placing) -> Placing:
    """The placing without the one-shot tasks that a greater job does on the way inside their window."""
    done = [i for i, task in enumerate(problem.tasks) if task.window is not None and once_done(problem, placing, i)]
    for index in done:
        if problem.covered_by[index] and placing.visits[index]:
            fewer = replace(placing, visits=(*placing.visits[:index], (), *placing.visits[index + 1 :]))
            if all(once_done(problem, fewer, other) for other in done):
                placing = fewer
    return placing


def _in_order(problem: PlacementProblem) -> list[int]:
    """Water calls, then what harms, then what strands most, overdue first; what covers a task goes before it."""

    def rank(index: int) -> tuple[bool, bool, float, bool, int, tuple[str, str, str, str, int]]:
        task = problem.tasks[index]
        item = task.item
        return (task.window is None, not item.harms, -item.strands, not task.overdue, -len(task.opens), task.key)

    order: dict[int, None] = {}
    for index in sorted(range(len(problem.tasks)), key=rank):
        task = problem.tasks[index]
        for other in sorted(problem.covered_by[index], key=rank):
            if (problem.tasks[other].overdue or not task.overdue) and task.window is None:
                order.setdefault(other)
        order.setdefault(index)
    return list(order)


def extra_minutes(problem: PlacementProblem, task: Task, load: Load) -> float:
    """Minutes a task adds to a site, given what is open there already."""
    return task.minutes + opening_minutes(problem, set(task.opens) - load.opened)


def _fits(problem: PlacementProblem, task: Task, site: int, loads: list[Load]) -> bool:
    place = problem.sites[site]
    if site < task.earliest or place.rank < rank_needed(task):
        return False
    needed = loads[site].minutes + extra_minutes(problem, task, loads[site])
    return place.minutes is None or needed <= place.minutes + 1e-9


def rank_needed(task: Task) -> int:
    """The least a site must offer for a task, as `Site.rank` counts."""
    return FACILITY_RANK[task.facility]


def _take(problem: PlacementProblem, task: Task, site: int, loads: list[Load]) -> None:
    loads[site].minutes += extra_minutes(problem, task, loads[site])
    loads[site].opened |= set(task.opens)


def _place_once(problem: PlacementProblem, task: Task, loads: list[Load]) -> int | None:
    assert task.window is not None
    first, last = task.window
    for site in range(last, first - 1, -1):
        if _fits(problem, task, site, loads):
            _take(problem, task, site, loads)
            return site
    return None


def _place_path(
    problem: PlacementProblem, index: int, loads: list[Load], forced: list[int]
) -> tuple[tuple[int, ...], list[Unmet]]:
    task = problem.tasks[index]

    def fits(site: int) -> bool:
        return _fits(problem, task, site, loads)

    late, late_missed = _path(problem, index, fits, forced, None)
    early_site = _best_workshop_day(problem, task, loads)
    if early_site is not None:
        early, early_missed = _path(problem, index, fits, forced, early_site)
        key_early = (len(early_missed), len(early) - 1, len(early))
        key_late = (len(late_missed), sum(s >= problem.workshop_count for s in late), len(late))
        if late and key_early < key_late:
            late, late_missed = early, early_missed
    for site in late:
        _take(problem, task, site, loads)
    return late, late_missed


def _best_workshop_day(problem: PlacementProblem, task: Task, loads: list[Load]) -> int | None:
    days = [s for s in range(problem.workshop_count) if _fits(problem, task, s, loads) and s <= task.reach[0]]
    return min(days, key=lambda s: (extra_minutes(problem, task, loads[s]), s), default=None)


def _path(
    problem: PlacementProblem, index: int, fits: Callable[[int], bool], forced: list[int], first: int | None
) -> tuple[tuple[int, ...], list[Unmet]]:
    """Sites of one item's renewals: as late as it lasts, through the forced renewals."""
    task, visits, missed = problem.tasks[index], [], []
    at = -1
    if first is not None:
        visits.append(first)
        at = first
    while task.reach[at + 1] < problem.last:
        ahead = next((site for site in forced if site > at), None)
        if ahead is not None and ahead <= task.reach[at + 1]:
            at = ahead
            continue
        options = [site for site in range(at + 1, task.reach[at + 1] + 1) if fits(site)]
        if options:
            at = options[-1]
            visits.append(at)
            continue
        late = next((site for site in range(max(at, task.reach[at + 1]) + 1, problem.last + 1) if fits(site)), None)
        missed.append(Unmet(index, late, why_unmet(problem, task, at)))
        if late is None:
            break
        visits.append(late)
        at = late
    return tuple(visits), missed


def why_unmet(problem: PlacementProblem, task: Task, at: int) -> str:
    """Why nothing between a renewal at site `at` (-1 = today) and the limit can take the task."""
    reach = task.reach[at + 1]
    before = [site for site in problem.sites[at + 1 : reach + 1]]
    if not before:
        return "no workshop day or stop comes before its limit"
    able = [site for site in before if site.rank >= rank_needed(task)]
    if not able:
        return f"needs a {task.facility}, and none comes before its limit"
    if all(i < task.earliest for i in range(at + 1, reach + 1)):
        return "parts cannot arrive before its limit"
    return "no time left at any place before its limit"


def after_return(problem: PlacementProblem, placing: Placing) -> Placing:
    """The placing with what comes home inside the tolerance of its limit added after return."""
    visits = list(placing.visits)
    for index, task in enumerate(problem.tasks):
        if task.window is None and task.item.rhythm != WALK_ROUND:
            previous = max(renewals(problem, placing, index), default=-1) + 1
            if previous <= problem.last and task.shares[previous][problem.last] >= 1 - problem.tolerance_share:
                visits[index] = (*visits[index], problem.last)
    return without_lesser(problem, replace(placing, visits=tuple(visits)))
