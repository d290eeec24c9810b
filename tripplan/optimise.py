"""Placement solved to a proven gap.

First every task chooses between before departure, each stop and after return: a path
through these stations, an arc of which is allowed only inside the interval with reserve.
Openings are paid once a station. Then what falls before departure is dealt out to the
workshop days (`workshop_days.py`). The first step sees all workshop days as one long day,
so its bound holds for the whole plan; the gap told is against that bound.

A limit that cannot be kept is broken at a price far above all labour, higher the worse a
failure would be and the further past the limit, so that safety is never traded for cost
and what is due is not left undone because it will not last; each break is told as unmet.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

from tripplan.greedy import GRAVITY, place_greedily, rank_needed, why_unmet
from tripplan.milp import Programme, Solution, solve
from tripplan.placement import (
    PlacementProblem,
    Placing,
    Task,
    Unmet,
    alone_minutes,
    arc_cost,
    labour_cost,
    renewals,
    totals,
)
from tripplan.workshop_days import deal_out

METHOD = "solved"
STATION_GAP, STATION_NODES = 1e-4, 20_000
START = -1
GRAVITY_PRICE = (1.0, 3.0, 10.0, 30.0)
SAFETY_PRICE = 30.0


@dataclass(frozen=True, slots=True)
class Stations:
    """Sites seen coarsely: one station for all workshop days, one a stop, one after return.

    `site[k]` is the site that stands for station k in reach and cost.
    """

    site: tuple[int, ...]
    minutes: tuple[float | None, ...]
    has_before: bool

    @property
    def last(self) -> int:
        """Index of the station after return."""
        return len(self.site) - 1


@dataclass(slots=True)
class Paths:
    """Columns of one task: arcs (from, to, own) and own visits by station; `skip` leaves it undone."""

    arcs: dict[tuple[int, int, bool], int]
    own: dict[int, int]
    skip: int | None = None


def place_optimally(problem: PlacementProblem) -> Placing:
    """The cheapest placing found, with its proven gap; the greedy one where that is better.

    Without a solver the greedy one, its gap None.
    """
    plain = place_greedily(problem)
    stations = _stations(problem)
    active = active_tasks(problem, stations)
    programme, paths = _programme(problem, stations, active)
    solution = solve(programme, STATION_GAP, STATION_NODES)
    if solution is None:
        return plain
    solved = _placing(problem, stations, paths, solution)
    best = min((solved, plain), key=lambda placing: priced(problem, placing))
    value = priced(problem, best)
    fixed = sum(_direct_cost(problem, i) for i in range(len(problem.tasks)) if i not in active)
    return replace(best, gap=max(0.0, (value - fixed - solution.bound) / max(abs(value), 1.0)))


def priced(problem: PlacementProblem, placing: Placing) -> float:
    """Cost of a placing with the price of every limit it breaks and every water call left undone."""
    weights = [
        break_weight(task) * overrun(task, start, site)
        for index, task in enumerate(problem.tasks)
        for start, site in broken_arcs(problem, placing, index)
    ]
    undone = [break_weight(task) for task, visits in zip(problem.tasks, placing.visits, strict=True)
              if task.window is not None and not visits]  # fmt: skip
    return totals(problem, placing)[1] + break_unit(problem) * (sum(weights) + sum(undone))


def broken_arcs(problem: PlacementProblem, placing: Placing, index: int) -> list[tuple[int, int]]:
    """Pairs of a renewal (-1 = today) and the next one, or home, that lies past the limit between them."""
    task = problem.tasks[index]
    if task.window is not None:
        return []
    stops = [START, *renewals(problem, placing, index), problem.last]
    return [(start, site) for start, site in pairwise(stops) if site > start and task.reach[start + 1] < site]


def overrun(task: Task, start: int, site: int) -> float:
    """How bad a broken limit is: 1, and more the further past it; from the start where it is due already."""
    past = task.shares[start + 1][site] - (0.0 if task.overdue and start == START else 1.0)
    return 1.0 + max(0.0, past)


def break_unit(problem: PlacementProblem) -> float:
    """A price above everything that labour could cost: ten times all work done alone."""
    alone = sum(alone_minutes(problem, task) for task in problem.tasks)
    return 10.0 * (1.0 + labour_cost(problem, problem.last, alone) * max(problem.labour_factor))


def break_weight(task: Task) -> float:
    """How much worse it is to break this task's limit than a nuisance's."""
    return SAFETY_PRICE if task.item.safety else GRAVITY_PRICE[GRAVITY.index(task.item.consequence)]


def _stations(problem: PlacementProblem) -> Stations:
    count = problem.workshop_count
    before = [count - 1] if count else []
    total = sum(problem.sites[s].minutes or 0.0 for s in range(count))
    sites = (*before, *range(count, len(problem.sites)))
    minutes = tuple(problem.sites[site].minutes for site in sites)
    return Stations(sites, (total, *minutes[1:]) if count else minutes, bool(count))


def own_stations(problem: PlacementProblem, stations: Stations, task: Task) -> list[int]:
    """Stations at which the task can be done as a job of its own."""
    found = []
    for k, site in enumerate(stations.site):
        sites = range(problem.workshop_count) if stations.has_before and k == 0 else (site,)
        inside = task.window is None or task.window[0] <= site <= task.window[1]
        if inside and any(can_stand(problem, task, s) for s in sites):
            found.append(k)
    return found


def can_stand(problem: PlacementProblem, task: Task, site: int) -> bool:
    """True when the site offers what the task needs and its parts can be there."""
    place = problem.sites[site]
    early = task.overdue or site <= task.reach[0] if task.window is None and place.kind == "workshop" else True
    fits = place.minutes is None or alone_minutes(problem, task) <= place.minutes + 1e-9
    return site >= task.earliest and place.rank >= rank_needed(task) and early and fits


def active_tasks(problem: PlacementProblem, stations: Stations) -> frozenset[int]:
    """Tasks that the programme has to decide; the rest need no visit even if opening were free.

    Tasks that cover each other are decided together, so that leaving the others out is exact.
    """
    needed = {i for i in range(len(problem.tasks)) if _may_need(problem, stations, i)}
    links: dict[int, set[int]] = {}
    for index, others in enumerate(problem.covered_by):
        for other in others:
            links.setdefault(index, set()).add(other)
            links.setdefault(other, set()).add(index)
    queue = list(needed)
    while queue:
        for other in links.get(queue.pop(), ()):
            if other not in needed:
                needed.add(other)
                queue.append(other)
    return frozenset(needed)


def _may_need(problem: PlacementProblem, stations: Stations, index: int) -> bool:
    """False when going straight through is allowed and no path with free openings is cheaper."""
    task = problem.tasks[index]
    if task.window is not None or task.reach[0] < problem.last:
        return True
    direct = _direct_cost(problem, index)
    best: dict[int, float] = {START: 0.0}
    for k in own_stations(problem, stations, task):
        site = stations.site[k]
        labour = labour_cost(problem, site, task.minutes)
        best[site] = labour + min(
            cost + arc_cost(problem, task, p, site, True) for p, cost in best.items() if task.reach[p + 1] >= site
        )
    ends = [cost + task.strand[p + 1][problem.last] for p, cost in best.items() if p not in (START, problem.last)]
    return min(ends, default=direct) < direct - 1e-9


def _direct_cost(problem: PlacementProblem, index: int) -> float:
    task = problem.tasks[index]
    return 0.0 if task.window is not None else task.strand[0][problem.last]


def _programme(
    problem: PlacementProblem, stations: Stations, active: frozenset[int]
) -> tuple[Programme, dict[int, Paths]]:
    programme, unit = Programme(), break_unit(problem)
    paths = {index: _columns(programme, problem, stations, index, unit) for index in sorted(active)}
    for index, path in paths.items():
        if problem.tasks[index].window is not None:
            _once_row(programme, path)
        else:
            _path_rows(programme, stations, path, [paths[c].own for c in problem.covered_by[index]])
    _station_rows(programme, problem, stations, paths)
    return programme, paths


def _columns(
    programme: Programme, problem: PlacementProblem, stations: Stations, index: int, unit: float
) -> Paths:
    task = problem.tasks[index]
    able = own_stations(problem, stations, task)
    own = {
        k: programme.column(labour_cost(problem, stations.site[k], task.minutes)) for k in able
    }
    price = unit * break_weight(task)
    if task.window is not None:
        return Paths({}, own, programme.column(price, whole=False))
    covered = bool(problem.covered_by[index])
    arcs: dict[tuple[int, int, bool], int] = {}
    for p in (START, *range(len(stations.site))):
        site_p = START if p == START else stations.site[p]
        for q in range(p + 1, len(stations.site)):
            site_q = stations.site[q]
            holds = task.reach[site_p + 1] >= min(site_q, _first_needed(problem, stations, q))
            broken = 0.0 if holds else price * overrun(task, site_p, site_q)
            for is_own in (True, False) if covered else (True,):
                if q in own or not is_own:
                    cost = arc_cost(problem, task, site_p, site_q, is_own) + broken
                    arcs[(p, q, is_own)] = programme.column(cost, whole=False)
        if p == stations.last:
            arcs[(p, p + 1, False)] = programme.column(0.0, whole=False)
        elif task.reach[site_p + 1] >= problem.last:
            arcs[(p, stations.last + 1, False)] = programme.column(
                task.strand[site_p + 1][problem.last], whole=False
            )
    return Paths(arcs, own)


def _first_needed(problem: PlacementProblem, stations: Stations, q: int) -> int:
    """The earliest site a station can mean: the first workshop day for the station before departure."""
    return 0 if stations.has_before and q == 0 else stations.site[q]


def _once_row(programme: Programme, path: Paths) -> None:
    assert path.skip is not None
    programme.row(dict.fromkeys((*path.own.values(), path.skip), 1.0), 1.0, 1.0)


def _path_rows(
    programme: Programme, stations: Stations, path: Paths, coverers: list[dict[int, int]]
) -> None:
    """One unit of flow from start to end; own arcs mean an own visit, covered ones a coverer's."""
    end = stations.last + 1
    programme.row({c: 1.0 for (p, _, _), c in path.arcs.items() if p == START}, 1.0, 1.0)
    for k in range(end):
        into = [c for (_, q, _), c in path.arcs.items() if q == k]
        out = [c for (p, _, _), c in path.arcs.items() if p == k]
        programme.row({**dict.fromkeys(into, 1.0), **dict.fromkeys(out, -1.0)}, 0.0, 0.0)
        own_in = [c for (_, q, is_own), c in path.arcs.items() if q == k and is_own]
        if k in path.own:
            programme.row({**dict.fromkeys(own_in, 1.0), path.own[k]: -1.0}, 0.0, 0.0)
        covers = [own[k] for own in coverers if k in own]
        cover_in = [c for (_, q, is_own), c in path.arcs.items() if q == k and not is_own]
        if cover_in:
            programme.row({**dict.fromkeys(cover_in, 1.0), **dict.fromkeys(covers, -1.0)}, upper=0.0)
        for visit in covers:
            programme.row({**dict.fromkeys(into, 1.0), visit: -1.0}, lower=0.0)


def _station_rows(
    programme: Programme, problem: PlacementProblem, stations: Stations, paths: dict[int, Paths]
) -> None:
    """Openings are paid once a station and follow the visits; minutes stay inside what there is."""
    for k, site in enumerate(stations.site):
        minutes: dict[int, float] = {}
        opened: dict[object, int] = {}
        for index, path in paths.items():
            if k not in path.own:
                continue
            minutes[path.own[k]] = problem.tasks[index].minutes
            for key, state in problem.tasks[index].opens:
                if (key, state) not in opened:
                    both = problem.open_minutes[(key[1], state)] + problem.close_minutes[(key[1], state)]
                    column = programme.column(labour_cost(problem, site, both), whole=False)
                    opened[(key, state)] = column
                    minutes[column] = both
                programme.row({opened[(key, state)]: 1.0, path.own[k]: -1.0}, lower=0.0)
        limit = stations.minutes[k]
        if limit is not None and minutes:
            programme.row(minutes, upper=limit)


def _placing(
    problem: PlacementProblem, stations: Stations, paths: dict[int, Paths], solution: Solution
) -> Placing:
    """Read the visits off the columns, then deal what falls before departure to its days."""
    chosen: list[tuple[int, ...]] = [() for _ in problem.tasks]
    before: list[int] = []
    for index, path in paths.items():
        taken = [k for k, column in path.own.items() if solution.values[column] > 0.5]
        chosen[index] = tuple(stations.site[k] for k in taken if not (stations.has_before and k == 0))
        if stations.has_before and 0 in taken:
            before.append(index)
    days, kept_open = deal_out(problem, before, chosen)
    for index, day in days.items():
        chosen[index] = (day, *chosen[index])
    return mended(problem, Placing(tuple(chosen), (), METHOD, kept_open=kept_open))


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
