"""Placement solved to a proven gap.

First every task chooses between before departure, each stop and after return
(`stations.py`): what is broken of the limits is made as little as can be, and only then the
cost, so that safety is never traded for it. Then what falls before departure is dealt out
to the workshop days (`workshop_days.py`). The first step sees all workshop days as one long
day, so its bounds hold for the whole plan; the gap told is against them. Only where the jobs
then do not fit their days is it taken again with every day by itself.

A broken limit counts more the worse a failure would be and the further it lies past the
limit, so that what is due is not left undone because it will not last; each is told as unmet.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from tripplan.placing.both_sides import brought_together, joined, split_twins
from tripplan.placing.greedy import place_greedily, why_unmet
from tripplan.placing.problem import PlacementProblem, Placing, Unmet, once_done, renewals, totals
from tripplan.placing.programme import Programme, Solution, solve
from tripplan.placing.stations import (
    START,
    Model,
    Stations,
    active_tasks,
    break_weight,
    build_model,
    direct_cost,
    overrun,
    stations_of,
)
from tripplan.placing.workshop_days import Day, deal_out

METHOD = "solved"
PROVEN_GAP, LARGE_GAP, STATION_NODES = 1e-6, 1e-2, 5_000
LARGE_COLUMNS = 5_000
HAIR = 1e-6


@dataclass(frozen=True, slots=True)
class _Answer:
    """A placing, whether a job fitted no workshop day, and what no placing can undercut."""

    placing: Placing
    overflows: bool
    broken_bound: float
    cost_bound: float


@dataclass(frozen=True, slots=True)
class _Found:
    """The stations each task takes, and what no choice can undercut."""

    taken: dict[int, list[int]]
    broken_bound: float
    cost_bound: float


def place_optimally(problem: PlacementProblem) -> Placing:
    """The best placing found, with its proven gap; the greedy one where that is better.

    Least broken first, then cheapest (`priced`). Without a solver the greedy one, its gap None.
    """
    plain = place_greedily(problem)
    bounds: list[tuple[float, float]] = []
    found = [plain]
    for is_apart in (False, True):
        answer = _answer(problem, stations_of(problem, is_apart))
        if answer is None:
            break
        found.append(answer.placing)
        bounds.append((answer.broken_bound, answer.cost_bound))
        if not answer.overflows:
            break
    best = min(reversed(found), key=lambda placing: _rank(problem, placing))
    if not bounds:
        return best
    broken, cost = priced(problem, best)
    return replace(best, gap=max(_share_above(broken, max(bounds)[0]), _share_above(cost, max(bounds)[1])))


def _rank(problem: PlacementProblem, placing: Placing) -> tuple[float, bool, float]:
    """Least broken, then both sides of an axle together if nothing is broken, then cheapest."""
    broken, cost = priced(problem, placing)
    return broken, not broken and bool(split_twins(problem, placing)), cost


def _share_above(value: float, bound: float) -> float:
    return 0.0 if value <= bound + HAIR else (value - bound) / value


def _answer(problem: PlacementProblem, stations: Stations) -> _Answer | None:
    """No limit broken, with twins as one if that can be; else the least broken. Then the least cost."""
    if problem.twins:
        pair = joined(problem)
        found = _least_cost(pair.problem, stations, False)
        if found is not None:
            return _as_placed(problem, stations, replace(found, taken=pair.apart(found.taken)))
    found = _least_cost(problem, stations, False) or _least_cost(problem, stations, True)
    return None if found is None else _as_placed(problem, stations, found)


def _least_cost(problem: PlacementProblem, stations: Stations, may_break: bool) -> _Found | None:
    """The cheapest there is that breaks no limit, or the cheapest of the least broken; None if there is none."""
    active = active_tasks(problem, stations)
    fixed = sum(direct_cost(task, problem.last) for i, task in enumerate(problem.tasks) if i not in active)
    if not active:
        return _Found({}, 0.0, fixed)
    model = build_model(problem, stations, active)
    if not may_break:
        cheapest = _least(model.unbroken())
        return None if cheapest is None else _Found(_taken(model, cheapest), 0.0, cheapest.bound + fixed)
    least = _least(replace(model.programme, cost=model.weights))
    if least is None:
        return None
    broken = max(0.0, least.objective)
    within = model.programme.with_row(model.weight, upper=broken + HAIR * max(1.0, broken))
    cheapest = _least(within, least)
    return None if cheapest is None else _Found(_taken(model, cheapest), least.bound, cheapest.bound + fixed)


def _taken(model: Model, solution: Solution) -> dict[int, list[int]]:
    return {
        index: [k for k, column in path.own.items() if solution.values[column] > 0.5]
        for index, path in model.paths.items()
    }


def _least(programme: Programme, known: Solution | None = None) -> Solution | None:
    """The least there is; a large programme is not pressed for the last share of it."""
    gap = LARGE_GAP if len(programme.cost) > LARGE_COLUMNS else PROVEN_GAP
    return solve(programme, gap, STATION_NODES, known.values if known else None)


def priced(problem: PlacementProblem, placing: Placing) -> tuple[float, float]:
    """What a placing breaks of the limits, water calls left undone among them, and then its cost."""
    weights = [
        break_weight(task) * overrun(task, start, site)
        for index, task in enumerate(problem.tasks)
        for start, site in broken_arcs(problem, placing, index)
    ]
    undone = [
        break_weight(task)
        for index, task in enumerate(problem.tasks)
        if task.window is not None and not once_done(problem, placing, index)
    ]
    return round(sum(weights) + sum(undone), 6), totals(problem, placing)[1]


def broken_arcs(problem: PlacementProblem, placing: Placing, index: int) -> list[tuple[int, int]]:
    """Pairs of a renewal (-1 = today) and the next one, or home, that lies past the limit between them."""
    task = problem.tasks[index]
    if task.window is not None:
        return []
    stops = [START, *renewals(problem, placing, index), problem.last]
    return [(start, site) for start, site in pairwise(stops) if site > start and task.reach[start + 1] < site]


def _as_placed(problem: PlacementProblem, stations: Stations, found: _Found) -> _Answer:
    """The visits at their sites, with what falls before departure dealt to its days."""
    sites = [tuple(stations.site[k] for k in found.taken.get(index, ())) for index in range(len(problem.tasks))]
    home = {index for index, at in enumerate(sites) if at and at[0] < problem.workshop_count}
    visits = [tuple(site for site in at if site >= problem.workshop_count) for at in sites]
    jobs = [Day(index, _next_site(problem, visits, index)) for index in sorted(home)]
    days, kept_open = deal_out(problem, jobs, _leaning(problem, visits, home))
    for index, day in days.items():
        visits[index] = (day, *visits[index])
    together = brought_together(
        problem, Placing(tuple(visits), (), METHOD, kept_open=kept_open), lambda placing: priced(problem, placing)
    )
    placing = mended(problem, together)
    return _Answer(placing, len(days) < len(jobs), found.broken_bound, found.cost_bound)


def _leaning(
    problem: PlacementProblem, visits: Sequence[tuple[int, ...]], home: set[int]
) -> list[tuple[Day, tuple[int, ...]]]:
    """Tasks done before departure only by others, with those others: one of them has to suit them."""
    found = []
    for index, task in enumerate(problem.tasks):
        others = tuple(other for other in problem.covered_by[index] if other in home)
        if task.window is None and index not in home and others:
            found.append((Day(index, _next_site(problem, visits, index)), others))
    return found


def _next_site(problem: PlacementProblem, visits: Sequence[tuple[int, ...]], index: int) -> int:
    """The first site on the road at which a task is renewed, or the last of all."""
    renewed = [site for other in (index, *problem.covered_by[index]) for site in visits[other]]
    return min(renewed, default=problem.last)


def mended(problem: PlacementProblem, placing: Placing) -> Placing:
    """Tell every limit a placing breaks, and give what no site took the first that can, after return."""
    visits, unmet = list(placing.visits), []
    for index, task in enumerate(problem.tasks):
        if task.window is not None:
            continue
        on_the_way = {site for other in problem.covered_by[index] for site in visits[other]}
        at = START
        while task.reach[at + 1] < problem.last:
            ahead = min((site for site in {*visits[index], *on_the_way} if site > at), default=None)
            if ahead is None:
                visits[index] = (*visits[index], problem.last)
                ahead = problem.last
            if ahead > task.reach[at + 1]:
                unmet.append(Unmet(index, ahead, why_unmet(problem, task, at)))
            at = ahead
    return replace(placing, visits=tuple(visits), unmet=tuple(unmet))
