"""The placement programme: every task a path through stations, openings paid once a station.

A station is all workshop days together (or each by itself), one stop, or the time after return. Each task goes
from its state at today through its renewals to the end of the trip; an arc inside its limit
costs life thrown away and expected standing still, one past it also breaks the limit.

Two kinds of rows only make the relaxation tighter: whatever renews an item opens what all
its renewers open, and an item that another job does on the way is no job of its own there.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import timedelta

from tripplan.placing.greedy import rank_needed
from tripplan.placing.problem import (
    AT_ONCE,
    PlaceKey,
    PlacementProblem,
    Task,
    alone_minutes,
    arc_cost,
    labour_cost,
    ladder,
)
from tripplan.placing.programme import Programme

START = -1
HARM_PRICE, STANDING_PRICE, LEAST_PRICE = 30.0, 9.0, 1.0
Openings = dict[tuple[PlaceKey, str], int]


@dataclass(frozen=True, slots=True)
class Stations:
    """Sites seen coarsely: one station for all workshop days, one a stop, one after return.

    Where every workshop day is a station of its own, `has_before` is False.

    `site[k]` is the site that stands for station k in reach and cost.
    """

    site: tuple[int, ...]
    minutes: tuple[float | None, ...]
    has_before: bool

    @property
    def last(self) -> int:
        """Index of the station after return."""
        return len(self.site) - 1

    def first_site(self, k: int) -> int:
        """The earliest site a station can mean: the first workshop day for the one before departure."""
        return 0 if self.has_before and k == 0 else self.site[k]


@dataclass(slots=True)
class Paths:
    """Columns of one task: arcs (from, to, own) and own visits by station; `skip` leaves it undone."""

    arcs: dict[tuple[int, int, bool], int]
    own: dict[int, int]
    skip: int | None = None


@dataclass(slots=True)
class Model:
    """The programme, the columns of every task in it, and what each column breaks of the limits."""

    programme: Programme = field(default_factory=Programme)
    paths: dict[int, Paths] = field(default_factory=dict)
    weight: dict[int, float] = field(default_factory=dict)

    @property
    def weights(self) -> list[float]:
        """The weight of every column: 0 where it breaks no limit."""
        return [self.weight.get(column, 0.0) for column in range(len(self.programme.cost))]

    def unbroken(self) -> Programme:
        """The programme without the columns that break a limit."""
        pairs = enumerate(self.programme.upper)
        return replace(self.programme, upper=[0.0 if c in self.weight else upper for c, upper in pairs])

    def column(self, cost: float, weight: float = 0.0, whole: bool = False) -> int:
        """A new column of the programme with its cost and what it breaks."""
        column = self.programme.column(cost, whole=whole)
        if weight:
            self.weight[column] = weight
        return column


def stations_of(problem: PlacementProblem, is_apart: bool = False) -> Stations:
    """The stations of a problem; `is_apart` makes every workshop day a station of its own."""
    count = problem.workshop_count
    if is_apart:
        return Stations(tuple(range(len(problem.sites))), tuple(site.minutes for site in problem.sites), False)
    before = [count - 1] if count else []
    total = sum(problem.sites[s].minutes or 0.0 for s in range(count))
    sites = (*before, *range(count, len(problem.sites)))
    minutes = tuple(problem.sites[site].minutes for site in sites)
    return Stations(sites, (total, *minutes[1:]) if count else minutes, bool(count))


def overrun(task: Task, start: int, site: int) -> float:
    """How bad a broken limit is: 1, and more the further past it; from the start where it is due already."""
    past = task.shares[start + 1][site] - (0.0 if task.overdue and start == START else 1.0)
    return 1.0 + max(0.0, past)


def break_weight(task: Task) -> float:
    """How much worse it is to break this task's limit than that of a thing whose failure costs no time."""
    return HARM_PRICE if task.item.harms else LEAST_PRICE + STANDING_PRICE * task.item.strands


def own_stations(problem: PlacementProblem, stations: Stations, task: Task) -> list[int]:
    """Stations at which the task can be done as a job of its own."""
    found = []
    for k, site in enumerate(stations.site):
        inside = task.window is None or task.window[0] <= site <= task.window[1]
        sites = range(stations.first_site(k), site + 1)
        if inside and any(can_stand(problem, task, s) for s in sites):
            found.append(k)
    return found


def can_stand(problem: PlacementProblem, task: Task, site: int) -> bool:
    """True when the site offers what the task needs, its parts can be there, and the day can take it."""
    place = problem.sites[site]
    at_home = site < problem.workshop_count
    early = task.window is not None or task.overdue or not at_home or site <= task.reach[0]
    minutes = least_minutes(problem, task, site) if at_home else alone_minutes(problem, task)
    fits = place.minutes is None or minutes <= place.minutes + 1e-9
    return site >= task.earliest and place.rank >= rank_needed(task) and early and fits


def may_stay_open(problem: PlacementProblem, day: int) -> bool:
    """True when the rig may stay apart from this workshop day to the next: overnight, at home."""
    if not 0 <= day < problem.workshop_count - 1:
        return False
    last_before_shakedown = problem.shakedown and day + 2 == problem.workshop_count
    return problem.sites[day + 1].date - problem.sites[day].date == timedelta(days=1) and not last_before_shakedown


def least_minutes(problem: PlacementProblem, task: Task, day: int) -> float:
    """The least a task can take of a workshop day, if others keep open overnight what it needs."""
    minutes = task.minutes
    for key, state in task.opens:
        pair, stays = (key[1], state), key[1] != AT_ONCE
        minutes += 0.0 if stays and may_stay_open(problem, day - 1) else problem.open_minutes[pair]
        minutes += 0.0 if stays and may_stay_open(problem, day) else problem.close_minutes[pair]
    return minutes


def active_tasks(problem: PlacementProblem, stations: Stations) -> frozenset[int]:
    """Tasks that the programme has to decide; the rest need no visit even if opening were free.

    Tasks that cover each other are decided together, so that leaving the others out is exact.
    """
    needed = {i for i in range(len(problem.tasks)) if _may_need(problem, stations, i)}
    together = linked(problem, [{index, *others} for index, others in enumerate(problem.covered_by)])
    return frozenset(index for group in together if needed.intersection(group) for index in group)


def linked(problem: PlacementProblem, ties: Iterable[Iterable[int]]) -> list[list[int]]:
    """All tasks in groups: two are in one group when ties lead from one to the other."""
    group_of = {index: [index] for index in range(len(problem.tasks))}
    for tie in ties:
        first, *others = tie
        for other in others:
            small, large = sorted((group_of[first], group_of[other]), key=len)
            if small is not large:
                large += small
                group_of.update(dict.fromkeys(small, large))
    unique = {id(group): sorted(group) for group in group_of.values()}
    return sorted(unique.values())


def _may_need(problem: PlacementProblem, stations: Stations, index: int) -> bool:
    """False when going straight through is allowed and no path with free openings is cheaper."""
    task = problem.tasks[index]
    if task.window is not None or task.reach[0] < problem.last:
        return True
    direct = direct_cost(task, problem.last)
    best: dict[int, float] = {START: 0.0}
    for k in own_stations(problem, stations, task):
        site = stations.site[k]
        labour = labour_cost(problem, site, task.minutes)
        best[site] = labour + min(
            cost + arc_cost(problem, task, p, site, True) for p, cost in best.items() if task.reach[p + 1] >= site
        )
    ends = [cost + task.strand[p + 1][problem.last] for p, cost in best.items() if p not in (START, problem.last)]
    return min(ends, default=direct) < direct - 1e-9


def direct_cost(task: Task, last: int) -> float:
    """What a task costs that is never done: its expected standing still; a one-shot task has none."""
    return 0.0 if task.window is not None else task.strand[0][last]


def build_model(problem: PlacementProblem, stations: Stations, active: frozenset[int]) -> Model:
    """All columns and rows for the tasks that have to be decided."""
    model = Model()
    for index in sorted(active):
        task = problem.tasks[index]
        able = own_stations(problem, stations, task)
        own = {k: model.column(labour_cost(problem, stations.site[k], task.minutes), whole=True) for k in able}
        skip = model.column(0.0, break_weight(task)) if task.window is not None else None
        model.paths[index] = Paths({}, own, skip)
    for index, path in model.paths.items():
        if path.skip is not None:
            _once_rows(model, problem, stations, index)
        else:
            coverers = [model.paths[c].own for c in problem.covered_by[index]]
            _arcs(model, problem, stations, index, {k for own in coverers for k in own})
            _path_rows(model, stations, path, coverers)
    opened = [_openings(model, problem, stations, k) for k in range(len(stations.site))]
    kept = [_kept(model, problem, stations, k, opened) for k in range(len(stations.site))]
    for k in range(len(stations.site)):
        _minutes_row(model, problem, stations, k, opened[k], kept)
    return model


def _once_rows(model: Model, problem: PlacementProblem, stations: Stations, index: int) -> None:
    """Done once inside the window: as a job of its own, on the way with a greater one, or left undone."""
    path, window, row = model.paths[index], problem.tasks[index].window, model.programme.row
    assert path.skip is not None and window is not None
    greater = [
        model.paths[c].own[k] for c in problem.covered_by[index] for k, site in enumerate(stations.site)
        if k in model.paths[c].own and window[0] <= site <= window[1]
    ]  # fmt: skip
    either = dict.fromkeys((*path.own.values(), path.skip), 1.0)
    row(either, 0.0 if greater else 1.0, 1.0)
    if greater:
        row({**either, **dict.fromkeys(greater, 1.0)}, lower=1.0)
    for visit in greater:
        row({**dict.fromkeys(path.own.values(), 1.0), visit: 1.0}, upper=1.0)


def _arcs(model: Model, problem: PlacementProblem, stations: Stations, index: int, covered: set[int]) -> None:
    task, path = problem.tasks[index], model.paths[index]
    for p in (START, *range(len(stations.site))):
        site_p = START if p == START else stations.site[p]
        for q in range(p + 1, len(stations.site)):
            site_q = stations.site[q]
            broken = 0.0
            if task.reach[site_p + 1] < stations.first_site(q):
                broken = break_weight(task) * overrun(task, site_p, site_q)
            done_at_home = p != START and site_q < problem.workshop_count
            for is_own, able in ((True, path.own), (False, covered)):
                if q in able and not (is_own and done_at_home):
                    cost = arc_cost(problem, task, site_p, site_q, is_own)
                    path.arcs[(p, q, is_own)] = model.column(cost, broken)
        if p == stations.last:
            path.arcs[(p, p + 1, False)] = model.column(0.0)
        elif task.reach[site_p + 1] >= problem.last:
            path.arcs[(p, stations.last + 1, False)] = model.column(task.strand[site_p + 1][problem.last])


def _path_rows(model: Model, stations: Stations, path: Paths, coverers: list[dict[int, int]]) -> None:
    """One unit of flow from start to end; own arcs mean an own visit, covered ones a coverer's."""
    row, end = model.programme.row, stations.last + 1
    row({c: 1.0 for (p, _, _), c in path.arcs.items() if p == START}, 1.0, 1.0)
    for k in range(end):
        into, own_in, cover_in = _arcs_into(path, k)
        out = [c for (p, _, _), c in path.arcs.items() if p == k]
        row({**dict.fromkeys(into, 1.0), **dict.fromkeys(out, -1.0)}, 0.0, 0.0)
        if k in path.own:
            row({**dict.fromkeys(own_in, 1.0), path.own[k]: -1.0}, 0.0, 0.0)
        covers = [own[k] for own in coverers if k in own]
        if cover_in:
            row({**dict.fromkeys(cover_in, 1.0), **dict.fromkeys(covers, -1.0)}, upper=0.0)
        for visit in covers:
            row({**dict.fromkeys(into, 1.0), visit: -1.0}, lower=0.0)
            if k in path.own:
                row({path.own[k]: 1.0, visit: 1.0}, upper=1.0)


def _arcs_into(path: Paths, k: int) -> tuple[list[int], list[int], list[int]]:
    own = [c for (_, q, is_own), c in path.arcs.items() if q == k and is_own]
    covered = [c for (_, q, is_own), c in path.arcs.items() if q == k and not is_own]
    return own + covered, own, covered


def _openings(model: Model, problem: PlacementProblem, stations: Stations, k: int) -> Openings:
    """What can be opened at a station: paid once, and open wherever a visit needs it."""
    opened: Openings = {}
    for index, path in model.paths.items():
        for pair in problem.tasks[index].opens if k in path.own else ():
            if pair not in opened:
                cost = labour_cost(problem, stations.site[k], _both_minutes(problem, pair))
                opened[pair] = model.column(cost, whole=True)
            model.programme.row({opened[pair]: 1.0, path.own[k]: -1.0}, lower=0.0)
    _shared_openings(model, problem, k, opened)
    return opened


def _both_minutes(problem: PlacementProblem, pair: tuple[PlaceKey, str]) -> float:
    key = (pair[0][1], pair[1])
    return problem.open_minutes[key] + problem.close_minutes[key]


def _kept(model: Model, problem: PlacementProblem, stations: Stations, k: int, opened: list[Openings]) -> Openings:
    """What may stay open overnight from this station to the next, between two jobs that need it open."""
    kept: Openings = {}
    if stations.has_before or not may_stay_open(problem, k):
        return kept
    shared = [pair for pair in opened[k] if pair in opened[k + 1] and pair[0][1] != AT_ONCE]
    for pair in sorted(shared, key=lambda pair: len(ladder(problem.teardown, pair[0][1], pair[1]))):
        key = (pair[0][1], pair[1])
        saved = problem.close_minutes[key] + problem.open_minutes[key]
        kept[pair] = model.column(-labour_cost(problem, k, saved), whole=True)
        for day in (k, k + 1):
            users = [path.own[day] for index, path in model.paths.items()
                     if day in path.own and pair in problem.tasks[index].opens]  # fmt: skip
            model.programme.row({kept[pair]: 1.0, **dict.fromkeys(users, -1.0)}, upper=0.0)
            model.programme.row({kept[pair]: 1.0, opened[day][pair]: -1.0}, upper=0.0)
        outer = kept.get((pair[0], problem.teardown[key].parent or ""))
        if outer is not None:
            model.programme.row({kept[pair]: 1.0, outer: -1.0}, upper=0.0)
    return kept


def _minutes_row(
    model: Model, problem: PlacementProblem, stations: Stations, k: int, opened: Openings, kept: list[Openings]
) -> None:
    """Jobs and openings stay inside the minutes there are; what is kept open is not closed and opened again."""
    limit = stations.minutes[k]
    minutes = {path.own[k]: problem.tasks[index].minutes for index, path in model.paths.items() if k in path.own}
    if limit is None or not minutes:
        return
    minutes |= {column: _both_minutes(problem, pair) for pair, column in opened.items()}
    minutes |= {column: -problem.close_minutes[(pair[0][1], pair[1])] for pair, column in kept[k].items()}
    if k:
        minutes |= {column: -problem.open_minutes[(pair[0][1], pair[1])] for pair, column in kept[k - 1].items()}
    model.programme.row(minutes, upper=limit)


def _shared_openings(model: Model, problem: PlacementProblem, k: int, opened: Openings) -> None:
    """However an item is renewed here, what all its renewers open is open."""
    for index, path in model.paths.items():
        covers = [c for c in problem.covered_by[index] if k in model.paths[c].own]
        if not covers or path.skip is not None:
            continue
        into, _, cover_in = _arcs_into(path, k)
        common = set(problem.tasks[covers[0]].opens).intersection(*(problem.tasks[c].opens for c in covers))
        for pair in sorted(common, key=str):
            arcs = into if pair in problem.tasks[index].opens else cover_in
            model.programme.row({opened[pair]: 1.0, **dict.fromkeys(arcs, -1.0)}, lower=0.0)
