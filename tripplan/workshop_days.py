"""Which workshop day each job before departure falls on.

A rig may stay apart overnight at home, never over the shakedown drive. Bearings and brakes
are not opened in the last days, and what needs a later look is not left to the last day,
unless nothing else fits. Equal days are told apart by a small price on the later one.
"""

from dataclasses import dataclass, field
from datetime import timedelta

from tripplan.milp import Programme, solve
from tripplan.placement import AT_ONCE, PlaceKey, PlacementProblem, Task, labour_cost

DAY_GAP, DAY_NODES = 1e-3, 3_000
LATE_OPENING, NO_LATER_LOOK, DAY_RANK = 200.0, 50.0, 0.01
DELICATE = ("bearing", "brake")
KeptOpen = frozenset[tuple[int, PlaceKey, str]]
State = tuple[PlaceKey, str]


@dataclass(slots=True)
class _Columns:
    job: dict[tuple[int, int], int] = field(default_factory=dict)
    dropped: dict[int, int] = field(default_factory=dict)
    opened: dict[tuple[State, int], int] = field(default_factory=dict)
    kept: dict[tuple[State, int], int] = field(default_factory=dict)


def deal_out(
    problem: PlacementProblem, before: list[int], chosen: list[tuple[int, ...]]
) -> tuple[dict[int, int], KeptOpen]:
    """The day of each task, and what stays open overnight; a task that fits no day is left out.

    `chosen` are the sites on the road each task is renewed at next, which its day must reach.
    """
    if not before:
        return {}, frozenset()
    programme, columns = Programme(), _Columns()
    for index in before:
        _job_columns(programme, columns, problem, index, chosen[index])
    for day in range(problem.workshop_count):
        _day_rows(programme, columns, problem, before, day)
    solution = solve(programme, DAY_GAP, DAY_NODES)
    if solution is None:
        return {}, frozenset()
    days = {index: day for (index, day), column in columns.job.items() if solution.values[column] > 0.5}
    kept = frozenset((day, *state) for (state, day), c in columns.kept.items() if solution.values[c] > 0.5)
    return days, kept


def may_stay_open(problem: PlacementProblem, day: int) -> bool:
    """True when the rig may stay apart from this workshop day to the next: overnight, at home."""
    if day + 1 >= problem.workshop_count:
        return False
    last_before_shakedown = problem.shakedown and day + 2 == problem.workshop_count
    return problem.sites[day + 1].date - problem.sites[day].date == timedelta(days=1) and not last_before_shakedown


def allowed_days(problem: PlacementProblem, task: Task, following: tuple[int, ...]) -> list[int]:
    """Workshop days whose renewal lasts to the next one chosen, with parts there in time."""
    until = following[0] if following else problem.last
    farthest = max(task.reach[day + 1] for day in range(problem.workshop_count))
    wanted = min(until, farthest)
    latest = problem.workshop_count - 1 if task.overdue else min(task.reach[0], problem.workshop_count - 1)
    return [day for day in range(task.earliest, latest + 1) if task.reach[day + 1] >= wanted]


def _job_columns(
    programme: Programme, columns: _Columns, problem: PlacementProblem, index: int, following: tuple[int, ...]
) -> None:
    task = problem.tasks[index]
    for day in allowed_days(problem, task, following):
        columns.job[(index, day)] = programme.column(_day_price(problem, task, day))
        for state in task.opens:
            if (state, day) not in columns.opened:
                _open_columns(programme, columns, problem, state, day)
            programme.row({columns.opened[(state, day)]: 1.0, columns.job[(index, day)]: -1.0}, lower=0.0)
    columns.dropped[index] = programme.column(1e4 * (10.0 if task.item.safety else 1.0), whole=False)
    own = [column for (i, _), column in columns.job.items() if i == index]
    programme.row(dict.fromkeys((*own, columns.dropped[index]), 1.0), 1.0, 1.0)


def _day_price(problem: PlacementProblem, task: Task, day: int) -> float:
    price = DAY_RANK * day * (1.0 + task.minutes / 60.0)
    delicate = task.item.family in DELICATE and bool(task.opens)
    if delicate and (problem.depart - problem.sites[day].date).days <= problem.quiet_days:
        price += LATE_OPENING
    if task.item.follow_ups and problem.shakedown and day == problem.workshop_count - 1:
        price += NO_LATER_LOOK
    return price


def _open_columns(
    programme: Programme, columns: _Columns, problem: PlacementProblem, state: State, day: int
) -> None:
    (key, name) = state
    opening, closing = problem.open_minutes[(key[1], name)], problem.close_minutes[(key[1], name)]
    columns.opened[(state, day)] = programme.column(labour_cost(problem, day, opening + closing), whole=False)
    if key[1] != AT_ONCE and may_stay_open(problem, day):
        saved = labour_cost(problem, day, closing) + labour_cost(problem, day + 1, opening)
        columns.kept[(state, day)] = programme.column(-saved)


def _day_rows(
    programme: Programme, columns: _Columns, problem: PlacementProblem, before: list[int], day: int
) -> None:
    minutes = {columns.job[(i, day)]: problem.tasks[i].minutes for i in before if (i, day) in columns.job}
    for (state, d), column in columns.opened.items():
        key = (state[0][1], state[1])
        if d == day:
            minutes[column] = problem.open_minutes[key] + problem.close_minutes[key]
    for (state, d), column in columns.kept.items():
        key = (state[0][1], state[1])
        if d == day:
            minutes[column] = -problem.close_minutes[key]
            programme.row({column: 1.0, columns.opened[(state, day)]: -1.0}, upper=0.0)
            later = columns.opened.get((state, day + 1))
            programme.row({column: 1.0, **({later: -1.0} if later is not None else {})}, upper=0.0)
        elif d == day - 1:
            minutes[column] = -problem.open_minutes[key]
    limit = problem.sites[day].minutes
    if minutes and limit is not None:
        programme.row(minutes, upper=limit)
