"""Hard limits that a placing does not keep, and calls of the water that it leaves, and why.

Full days, a job too long for a place, the owner's ceilings and the price are told apart.
"""

from collections.abc import Sequence

from msgspec import Struct

from tripplan.placing.followed_up import halt_minutes, halts, is_on_the_road, looks_due, most_minutes
from tripplan.placing.problem import STOP, PlacementProblem, Placing, Task, Unmet, can_stand, opening_minutes, renewals
from tripplan.placing.reckoning import Opening, opened_at, site_minutes

TOO_DEAR = "a place has the time, and doing it there costs more than leaving it"
TOO_LONG = "too long a job for any place before its limit"
BEYOND = "more than the owner gives of the road at any place before its limit"
FULL = "no time found at any place before its limit"
WORTH_LESS = "by the prices given other work takes the time before its limit"


class Taken(Struct, frozen=True):
    """What a placing takes of its sites: minutes and openings at each, and what is left of the road."""

    spent: tuple[float, ...]
    opened: tuple[frozenset[Opening], ...]
    road_left: float


def taken_of(problem: PlacementProblem, placing: Placing) -> Taken:
    """What that placing takes, reckoned once for all that is asked of it."""
    spent = site_minutes(problem, placing)
    return Taken(spent, opened_at(problem, placing), _road_left(problem, placing, spent))


def unmet_of(problem: PlacementProblem, placing: Placing, groups: Sequence[Sequence[int]]) -> tuple[Unmet, ...]:
    """Hard limits that are not kept, with the site where the item is done at last. `groups` are done together."""
    late = []
    for index, task in enumerate(problem.tasks):
        if task.window is None:
            start = -1
            for site in (*renewals(problem, placing, index), problem.last):
                if site > start and task.sound[start + 1] < site:
                    late.append((index, site, start))
                start = max(start, site)
    if not late:
        return ()
    mates, taken = {index: group for group in groups for index in group}, taken_of(problem, placing)
    return tuple(
        Unmet(index, site, _why_unmet(problem, placing, index, start, mates.get(index, (index,)), taken))
        for index, site, start in late
    )


def _why_unmet(
    problem: PlacementProblem, placing: Placing, index: int, at: int, mates: Sequence[int], taken: Taken
) -> str:
    """Why nothing between a renewal at site `at` (-1 = today) and the limit can take the task with all its mates."""
    task, group = problem.tasks[index], [problem.tasks[i] for i in mates]
    last = task.sound[at + 1]
    between = range(at + 1, last + 1)
    if not problem.sites[at + 1 : last + 1]:
        return "no workshop day or stop comes before its limit"
    able = [site for site in between if all(can_stand(problem, one, site) for one in group)]
    if not able:
        late = all(s < task.earliest for s in between)
        return (
            "parts that shelf.csv does not hold cannot arrive before its limit"
            if late
            else f"needs a {task.facility}, and none comes before its limit"
        )
    soon = {site for site in able if all(one.shares[at + 1][site] < problem.short_share for one in group)}
    return why_not(problem, placing, group, [site for site in able if site not in soon] or able, taken)


def why_not(
    problem: PlacementProblem, placing: Placing, group: Sequence[Task], able: Sequence[int], taken: Taken
) -> str:
    """Why a job is done at none of the sites that could take it, beside what the placing has taken."""
    alone = {site: _alone_minutes(problem, group) * problem.place_factor[site] for site in able}
    by_clock = [site for site in able if alone[site] <= _clock(problem, site)]
    if not by_clock:
        return TOO_LONG
    given = [site for site in by_clock if alone[site] <= most_minutes(problem, site)]
    if not given:
        return BEYOND
    spent = taken.spent
    more = {site: _more_minutes(problem, placing, group, site, taken.opened[site]) for site in given}
    free = [site for site in given if spent[site] + more[site] <= most_minutes(problem, site)]
    if any(more[site] <= taken.road_left or not _is_road(problem, site) for site in free):
        return TOO_DEAR
    clock = any(spent[site] + more[site] <= _clock(problem, site) for site in by_clock if site in more)
    return BEYOND if free or clock else FULL


def _is_road(problem: PlacementProblem, site: int) -> bool:
    return problem.sites[site].kind == STOP and not problem.at_home[site]


def _clock(problem: PlacementProblem, site: int) -> float:
    minutes = problem.sites[site].minutes
    return float("inf") if minutes is None else minutes


def _openings(group: Sequence[Task]) -> set[Opening]:
    return {pair for task in group for pair in task.opens}


def _alone_minutes(problem: PlacementProblem, group: Sequence[Task]) -> float:
    """Minutes of the home shed for the job alone, all opening and setting out in."""
    return sum(task.minutes for task in group) + opening_minutes(problem, _openings(group)) + problem.set_out_minutes


def _more_minutes(
    problem: PlacementProblem, placing: Placing, group: Sequence[Task], site: int, opened: frozenset[Opening]
) -> float:
    """Minutes that the job would take beside what is done at the site."""
    busy = any(site in visits for visits in placing.visits)
    minutes = _alone_minutes(problem, group) - opening_minutes(problem, _openings(group) & opened)
    return (minutes - (problem.set_out_minutes if busy else 0.0)) * problem.place_factor[site]


def _road_left(problem: PlacementProblem, placing: Placing, minutes: Sequence[float]) -> float:
    """What is left of the owner's minutes for the whole trip."""
    if problem.ceilings.trip_minutes is None:
        return float("inf")
    spent = sum(m for site, m in enumerate(minutes) if _is_road(problem, site))
    away = halts(problem, looks_due(problem, placing))
    spent += sum(halt_minutes(problem, due) for due in away if is_on_the_road(problem, due.at_km))
    return problem.ceilings.trip_minutes - spent
