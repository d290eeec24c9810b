"""Hours well spent: the most standing hours saved by each further hour of work, from nothing to everything.

Each job is weighed by what it saves for the minutes it takes, openings counted once: a hub that is
off for the bearings lets the seal be renewed at little more. Jobs behind one opening are taken
together where that is the better bargain. The work is this trip's: everything once before setting
out, and on the road what the plan does there; a look after water settles what water left, and renews nothing. Looks of
the walk-round are done anyway.
"""

from collections.abc import Iterator, Mapping, Sequence
from math import fsum

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from tripplan.placing.problem import HAIR, PlacementProblem, Placing, Task, can_stand, opening_minutes
from tripplan.placing.reckoning import Opening
from tripplan.placing.tasks import is_walk_round
from tripplan.records.plan_risk import CurvePoint
from tripplan.records.units import MINUTES_PER_HOUR
from tripplan.risk.cases import Case, settled_at
from tripplan.risk.failures import Path, failures
from tripplan.risk.reckoned import Reckoned
from tripplan.wear.mechanisms.uncertain import Array

NEITHER, HOME, ROAD, WATER, ALL = 0, 1, 2, 4, 7
"""What is done to an item, in sums: nothing, its work at home, that on the road, a look at what water left, all of it."""
Open = tuple[int, Opening]
Hours = Sequence[Sequence[float]]
State = dict[int, int] | list[int]


class Unit(Struct, frozen=True):
    """One piece of work: which state it brings which items to, its minutes, and what has to be open where."""

    task: int
    brings: int
    items: tuple[int, ...]
    minutes: float
    opens: frozenset[Open]
    words: str


class _Group(Struct, frozen=True):
    """Jobs behind one opening, and all items they bring on."""

    opening: frozenset[Open]
    units: tuple[Unit, ...]
    items: frozenset[int]


class _Offer(Struct, frozen=True):
    """Jobs to be done together, and what they save a minute."""

    units: tuple[Unit, ...]
    worth: float


class _Spent(Struct):
    """How far the work has got."""

    state: list[int]
    opened: set[Open] = field(default_factory=set)
    minutes: float = 0.0


def curve_of(r: Reckoned, placing: Placing) -> tuple[CurvePoint, ...]:
    """The curve: the first point is nothing done, the last everything."""
    by_state, stops = _by_state(r, placing)
    hours: Hours = by_state.tolist()
    units = list(_units(r, placing))
    spent = _Spent([NEITHER] * len(hours))
    points = [_point(spent, by_state, stops, ())]
    prices = _opening_prices(r.work.problem, units)
    groups = _groups(units)
    offers = [_offer(group, spent, hours, prices) for group in groups]
    while units:
        best = max(offers, key=lambda offer: offer.worth, default=_Offer((), 0.0))
        picked = best.units or tuple(units)  # the rest saves nothing
        _do(picked, spent, prices)
        done = {id(unit) for unit in picked}
        units = [unit for unit in units if id(unit) not in done]
        for spot in _touched(groups, picked):
            groups[spot] = replace(groups[spot], units=tuple(u for u in groups[spot].units if id(u) not in done))
            offers[spot] = _offer(groups[spot], spent, hours, prices)
        points.append(_point(spent, by_state, stops, tuple(unit.words for unit in picked)))
    return tuple(points)


def _point(spent: _Spent, hours: Array, stops: Array, jobs: tuple[str, ...]) -> CurvePoint:
    rows = np.arange(len(hours))
    return CurvePoint(
        work_hours=spent.minutes / MINUTES_PER_HOUR,
        standing_hours_expected=float(hours[rows, spent.state].sum()),
        stops_expected=float(stops[rows, spent.state].sum()), jobs=jobs,
    )  # fmt: skip


def _by_state(r: Reckoned, placing: Placing) -> tuple[Array, Array]:
    """Expected hours and stops of each item by what is done to it, on the road as the plan does it."""
    work, law, home = r.work, r.worn.law, r.work.before
    cases = []
    for state in range(ALL + 1):
        paths: list[Path] = []
        settled: dict[int, int] = {}
        done = _done_in(work.problem, placing, state)
        for item, path in enumerate(r.plan.paths):
            later = tuple(knot for knot in path if knot > home) if state & ROAD else ()
            paths.append(((home,) if state & HOME else ()) + later)
            settled.update(settled_at(work, done, item, paths[item]))
        cases.append(Case(tuple(paths), settled))
    pairs = [pair for case in cases for pair in enumerate(case.paths)]
    new = [pair for pair in dict.fromkeys(pairs) if pair not in r.known]
    known = {**r.known, **{pair: len(r.known) + spot for spot, pair in enumerate(new)}}
    found = np.concatenate([r.found, failures(r.worn, new)]) if new else r.found
    means = Reckoned(r.worn, work, r.plan, r.nothing_done, r.all_before, r.left, known, found)
    stops = np.stack([means.failures(case) @ r.weights * law.strands[:, None] for case in cases], axis=1)
    return stops @ r.worn.standing_hours, stops.sum(axis=2)


def _is_a_look_after_water(task: Task) -> bool:
    return task.window is not None and not task.resets


def _done_in(problem: PlacementProblem, placing: Placing, state: int) -> Placing:
    """The visits of a placing that belong to a state."""
    kinds = (WATER if _is_a_look_after_water(task) else ROAD for task in problem.tasks)
    return replace(
        placing, visits=tuple(at if kind & state else () for kind, at in zip(kinds, placing.visits, strict=True))
    )


def _units(r: Reckoned, placing: Placing) -> Iterator[Unit]:
    """All work that can be done: everything at home, and on the road what the plan does there."""
    problem, work = r.work.problem, r.work
    home = max(problem.workshop_count - 1, 0)
    asked = {standing.thing for standing in r.worn.courses.standings}
    for index, task in enumerate(problem.tasks):
        if is_walk_round(task.item) or task.thing not in asked:
            continue
        items = work.done_by(index)
        if task.window is None and home < problem.last and can_stand(problem, task, home):
            yield _unit(problem, index, HOME, items, (home,))
        road = tuple(s for s in placing.visits[index] if s < problem.last and (s > home or task.window is not None))
        if road:
            yield _unit(problem, index, WATER if _is_a_look_after_water(task) else ROAD, items, road)


def _unit(problem: PlacementProblem, index: int, brings: int, items: tuple[int, ...], sites: Sequence[int]) -> Unit:
    task = problem.tasks[index]
    minutes = sum(task.minutes * problem.place_factor[site] for site in sites)
    opens = frozenset((site, opening) for site in sites for opening in task.opens)
    return Unit(index, brings, items, minutes, opens, _words(problem, task, sites))


def _words(problem: PlacementProblem, task: Task, sites: Sequence[int]) -> str:
    side = f" {task.position}" if task.position else ""
    places = ", ".join(dict.fromkeys(problem.sites[site].place for site in sites))
    return f"{task.item.said}{side}: {task.act} ({places})"


def _opening_prices(problem: PlacementProblem, units: Sequence[Unit]) -> Mapping[Open, float]:
    """Minutes of each opening where it is done."""
    return {
        (site, opening): opening_minutes(problem, [opening]) * problem.place_factor[site]
        for unit in units for site, opening in unit.opens
    }  # fmt: skip


def _groups(units: Sequence[Unit]) -> list[_Group]:
    """The jobs behind each opening; what needs nothing open stands alone."""
    alone = [_Group(frozenset(), (unit,), frozenset(unit.items)) for unit in units if not unit.opens]
    opened = [unit for unit in units if unit.opens]
    found = []
    for opening in dict.fromkeys(unit.opens for unit in opened):
        inside = tuple(unit for unit in opened if unit.opens <= opening)
        found.append(_Group(opening, inside, frozenset(item for unit in inside for item in unit.items)))
    return [*alone, *found]


def _offer(group: _Group, spent: _Spent, hours: Hours, prices: Mapping[Open, float]) -> _Offer:
    """Of the jobs behind one opening those that together save most for their minutes."""
    minutes = fsum(prices[one] for one in group.opening - spent.opened)
    ranked = [(_saved(unit, spent.state, hours), unit) for unit in group.units]
    ranked.sort(key=lambda pair: (-pair[0] / max(pair[1].minutes, HAIR), pair[1].task, pair[1].brings))
    chosen: list[Unit] = []
    state, saved = {item: spent.state[item] for item in group.items}, 0.0
    for _, unit in ranked:
        more = _saved(unit, state, hours)
        if more > HAIR and not (chosen and more * minutes < saved * unit.minutes):
            chosen.append(unit)
            saved, minutes = saved + more, minutes + unit.minutes
            _bring(unit, state)
    return _Offer(tuple(chosen), saved / max(minutes, HAIR) if chosen else 0.0)


def _touched(groups: Sequence[_Group], picked: Sequence[Unit]) -> list[int]:
    """Groups that open what was picked opens, or bring the same items on."""
    opened = frozenset(one for unit in picked for one in unit.opens)
    items = frozenset(item for unit in picked for item in unit.items)
    return [n for n, group in enumerate(groups) if opened & group.opening or items & group.items]


def _saved(unit: Unit, state: State, hours: Hours) -> float:
    return sum(hours[item][state[item]] - hours[item][state[item] | unit.brings] for item in unit.items)


def _bring(unit: Unit, state: State) -> None:
    for item in unit.items:
        state[item] |= unit.brings


def _do(units: Sequence[Unit], spent: _Spent, prices: Mapping[Open, float]) -> None:
    for unit in units:
        spent.minutes += unit.minutes + fsum(prices[one] for one in unit.opens - spent.opened)
        spent.opened |= unit.opens
        _bring(unit, spent.state)
