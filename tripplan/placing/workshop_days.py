"""Which workshop day each job before departure falls on.

A rig may stay apart overnight at home, never over the shakedown drive. Bearings and brakes
are not opened in the last days, what needs a later look is not left to the last day, and both
sides of an axle are done on one day, unless nothing else fits. Equal days are told apart by a small price on the later one.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from tripplan.placing.problem import AT_ONCE, PlaceKey, PlacementProblem, Task, arc_cost, labour_cost
from tripplan.placing.programme import Programme, solve
from tripplan.placing.stations import START, break_weight, may_stay_open, overrun

DAY_GAP, MANY_DAYS_GAP, MANY_COLUMNS, DAY_NODES = 1e-6, 1e-3, 1_000, 2_000
LATE_OPENING, NO_LATER_LOOK, SIDES_APART, DAY_RANK, LEFT_OUT = 1000.0, 50.0, 30.0, 0.01, 1e4
DELICATE = ("bearing", "brake")
State = tuple[PlaceKey, str]
KeptOpen = frozenset[tuple[int, PlaceKey, str]]


@dataclass(frozen=True, slots=True)
class Day:
    """A task to be given a workshop day, and the site at which it is renewed next."""

    task: int
    until: int


@dataclass(slots=True)
class _Columns:
    job: dict[tuple[int, int], int] = field(default_factory=dict)
    opened: dict[tuple[State, int], int] = field(default_factory=dict)
    kept: dict[tuple[State, int], int] = field(default_factory=dict)


def deal_out(
    problem: PlacementProblem, jobs: Sequence[Day], leaning: Iterable[tuple[Day, tuple[int, ...]]] = ()
) -> tuple[dict[int, int], KeptOpen]:
    """The day of each task, and what stays open overnight; a task that fits no day is left out.

    `leaning` are tasks done by others before departure, with those others.
    """
    if not jobs:
        return {}, frozenset()
    programme, columns = Programme(), _Columns()
    for job in jobs:
        _job_columns(programme, columns, problem, job)
    for job, others in leaning:
        _suit(programme, columns, problem, job, others)
    for pair in _sides(problem, jobs):
        _same_day(programme, columns, problem, pair)
    for state, day in columns.opened:
        _opened_rows(programme, columns, problem, jobs, state, day)
    for day in range(problem.workshop_count):
        _minutes_row(programme, columns, problem, jobs, day)
    gap = MANY_DAYS_GAP if len(programme.cost) > MANY_COLUMNS else DAY_GAP
    solution = solve(programme, gap, DAY_NODES)
    if solution is None:
        return {}, frozenset()
    days = {index: day for (index, day), column in columns.job.items() if solution.values[column] > 0.5}
    kept = frozenset((day, *state) for (state, day), c in columns.kept.items() if solution.values[c] > 0.5)
    return days, kept


def allowed_days(problem: PlacementProblem, job: Day) -> range:
    """Workshop days inside the limit of today's state, or inside the window of a water call."""
    task, count = problem.tasks[job.task], problem.workshop_count
    if task.window is not None:
        return range(task.window[0], min(task.window[1] + 1, count))
    return range(count if task.overdue else min(task.reach[0] + 1, count))


def _job_columns(programme: Programme, columns: _Columns, problem: PlacementProblem, job: Day) -> None:
    task = problem.tasks[job.task]
    own = []
    for day in allowed_days(problem, job)[task.earliest :]:
        own.append(programme.column(_day_price(problem, task, day, job.until)))
        columns.job[(job.task, day)] = own[-1]
        for state in task.opens:
            if (state, day) not in columns.opened:
                _open_columns(programme, columns, problem, state, day)
    worse = 1.0 if task.window is not None else overrun(task, START, job.until)
    left_out = programme.column(LEFT_OUT * (1.0 + break_weight(task) * worse), whole=False)
    programme.row(dict.fromkeys((*own, left_out), 1.0), 1.0, 1.0)


def _day_price(problem: PlacementProblem, task: Task, day: int, until: int) -> float:
    price = DAY_RANK * day * (1.0 + task.minutes / 60.0) + _onward_price(task, day, until)
    if task.window is None:
        price += arc_cost(problem, task, START, day, True)
    delicate = task.item.family in DELICATE and bool(task.opens)
    if delicate and (problem.depart - problem.sites[day].date).days <= problem.quiet_days:
        price += LATE_OPENING
    if task.item.follow_ups and problem.shakedown and day == problem.workshop_count - 1:
        price += NO_LATER_LOOK
    return price


def _onward_price(task: Task, day: int, until: int) -> float:
    """What lies between a renewal on that day and the next: standing still, and a limit it breaks."""
    if task.window is not None:
        return 0.0
    broken = LEFT_OUT * break_weight(task) * overrun(task, day, until) if task.reach[day + 1] < until else 0.0
    return task.strand[day + 1][until] + broken


def _open_columns(programme: Programme, columns: _Columns, problem: PlacementProblem, state: State, day: int) -> None:
    (key, name) = state
    opening, closing = problem.open_minutes[(key[1], name)], problem.close_minutes[(key[1], name)]
    columns.opened[(state, day)] = programme.column(labour_cost(problem, day, opening + closing), whole=False)
    if key[1] != AT_ONCE and may_stay_open(problem, day):
        saved = labour_cost(problem, day, closing) + labour_cost(problem, day + 1, opening)
        columns.kept[(state, day)] = programme.column(-saved)


def _suit(
    programme: Programme, columns: _Columns, problem: PlacementProblem, job: Day, others: tuple[int, ...]
) -> None:
    """One of the jobs that do this task on the way falls on a day that suits it."""
    task, suited = problem.tasks[job.task], []
    for day in allowed_days(problem, job):
        doing = [columns.job[(other, day)] for other in others if (other, day) in columns.job]
        suited.append(programme.column(_onward_price(task, day, job.until), whole=False))
        programme.row({suited[-1]: 1.0, **dict.fromkeys(doing, -1.0)}, upper=0.0)
    left_out = programme.column(LEFT_OUT * break_weight(task) * overrun(task, START, job.until), whole=False)
    programme.row(dict.fromkeys((*suited, left_out), 1.0), lower=1.0)


def _sides(problem: PlacementProblem, jobs: Sequence[Day]) -> list[tuple[int, int]]:
    """Jobs that are one act at two sides of a unit, however far gone each is."""
    first: dict[tuple[str, str, str], int] = {}
    found = []
    for job in jobs:
        task = problem.tasks[job.task]
        other = first.setdefault((task.item.id, task.unit.id, task.act), job.task)
        if other != job.task:
            found.append((other, job.task))
    return found


def _same_day(programme: Programme, columns: _Columns, problem: PlacementProblem, pair: tuple[int, int]) -> None:
    """Both sides on one day; apart costs a price."""
    for day in range(problem.workshop_count):
        one, other = (columns.job.get((index, day)) for index in pair)
        if one is not None and other is not None:
            apart = programme.column(SIDES_APART, whole=False)
            programme.row({one: 1.0, other: -1.0, apart: -1.0}, upper=0.0)


def _opened_rows(
    programme: Programme, columns: _Columns, problem: PlacementProblem, jobs: Sequence[Day], state: State, day: int
) -> None:
    """Open for every job that needs it and for no other reason; kept open only between two such days."""
    column = columns.opened[(state, day)]
    users = [columns.job[(job.task, day)] for job in jobs
             if (job.task, day) in columns.job and state in problem.tasks[job.task].opens]  # fmt: skip
    for user in users:
        programme.row({column: 1.0, user: -1.0}, lower=0.0)
    programme.row({column: 1.0, **dict.fromkeys(users, -1.0)}, upper=0.0)
    kept = columns.kept.get((state, day))
    if kept is None:
        return
    later = columns.opened.get((state, day + 1))
    programme.row({kept: 1.0, column: -1.0}, upper=0.0)
    programme.row({kept: 1.0, **({} if later is None else {later: -1.0})}, upper=0.0)
    parent = problem.teardown[(state[0][1], state[1])].parent
    outer = columns.kept.get(((state[0], parent), day)) if parent else None
    if outer is not None:
        programme.row({kept: 1.0, outer: -1.0}, upper=0.0)


def _minutes_row(
    programme: Programme, columns: _Columns, problem: PlacementProblem, jobs: Sequence[Day], day: int
) -> None:
    minutes = {columns.job[(job.task, day)]: problem.tasks[job.task].minutes
               for job in jobs if (job.task, day) in columns.job}  # fmt: skip
    for (state, opened_day), column in columns.opened.items():
        if opened_day == day:
            key = (state[0][1], state[1])
            minutes[column] = problem.open_minutes[key] + problem.close_minutes[key]
    for (state, kept_day), column in columns.kept.items():
        key = (state[0][1], state[1])
        if kept_day == day:
            minutes[column] = -problem.close_minutes[key]
        elif kept_day == day - 1:
            minutes[column] = -problem.open_minutes[key]
    limit = problem.sites[day].minutes
    if minutes and limit is not None:
        programme.row(minutes, upper=limit)
