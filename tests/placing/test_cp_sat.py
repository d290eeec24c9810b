"""A second solver of another kind on the same stations: CP-SAT of OR-Tools, its model written anew.

The model here is made from the fields of the problem, with yes-or-no steps between
renewals and no flow columns shared with the planner's; costs are counted in thousandths.
"""

from typing import Any

import pytest

from tests.placing.small_placements import WORKSHOP, gravity_of, problem
from tripplan.placing.optimise import _answer
from tripplan.placing.problem import PlacementProblem, Task
from tripplan.placing.stations import stations_of

cp_model = pytest.importorskip("ortools.sat.python.cp_model")
SCALE = 1000
RANK = {"camp": 1, "town": 2, "workshop": 3}
SIDES = ("left", "right", "rear left", "rear right")


class Stations:
    """Workshop days as one long station, then each stop, then home."""

    def __init__(self, given: PlacementProblem) -> None:
        home = [i for i, site in enumerate(given.sites) if site.kind == WORKSHOP]
        rest = [i for i in range(len(given.sites)) if i not in home]
        self.groups = ([home] if home else []) + [[i] for i in rest]
        self.room = [
            None if given.sites[group[-1]].minutes is None else sum(given.sites[i].minutes or 0 for i in group)
            for group in self.groups
        ]


def least_at_home(given: PlacementProblem, task: Task, site: int) -> float:
    """Minutes a task takes of a day even if all it needs stays open from the day before and to the day after."""
    days = [i for i, s in enumerate(given.sites) if s.kind == WORKSHOP]

    def night(day: int) -> bool:
        if day not in days or day + 1 not in days or (given.shakedown and day + 1 == days[-1]):
            return False
        return (given.sites[day + 1].date - given.sites[day].date).days == 1

    total = task.minutes
    for (_, place, _), state in task.opens:
        total += 0.0 if night(site - 1) else given.open_minutes[(place, state)]
        total += 0.0 if night(site) else given.close_minutes[(place, state)]
    return total


def able(given: PlacementProblem, task: Task, group: list[int]) -> bool:
    """True when the task can be a job of its own at one of a station's sites."""
    for i in group:
        site = given.sites[i]
        fits = site.minutes is None or least_at_home(given, task, i) <= site.minutes + 1e-9
        inside = task.window is None or task.window[0] <= i <= task.window[1]
        soon = site.kind != WORKSHOP or task.window is not None or task.overdue or i <= task.reach[0]
        if fits and inside and soon and i >= task.earliest and RANK[site.facility] >= RANK[task.facility]:
            return True
    return False


class Model:
    """The CP-SAT model, its two objectives as lists of coefficient and variable."""

    def __init__(self, given: PlacementProblem) -> None:
        self.given, self.stations, self.cp = given, Stations(given), cp_model.CpModel()
        self.cost: list[tuple[float, Any]] = []
        self.broken: list[tuple[float, Any]] = []
        count = len(self.stations.groups)
        self.own = [
            {k: self.cp.NewBoolVar("") for k in range(count) if able(given, task, self.stations.groups[k])}
            for task in given.tasks
        ]
        for index, task in enumerate(given.tasks):
            self._task(index, task)
        for k in range(count):
            self._station(k)

    def _task(self, index: int, task: Task) -> None:
        own, cp = self.own[index], self.cp
        if task.window is not None:
            cp.Add(sum(own.values()) <= 1)
            left = cp.NewBoolVar("")
            first, last = task.window
            greater = [
                self.own[c][k] for c in self.given.covered_by[index] for k in self.own[c]
                if first <= self.stations.groups[k][-1] <= last
            ]  # fmt: skip
            cp.Add(left + sum(own.values()) + sum(greater) >= 1)
            self.broken.append((gravity_of(task), left))
            return
        count = len(self.stations.groups)
        renewed = []
        for k in range(count):
            doing = [self.own[c][k] for c in (index, *self.given.covered_by[index]) if k in self.own[c]]
            here = cp.NewBoolVar("")
            cp.AddMaxEquality(here, [*doing, cp.NewConstant(0)])
            renewed.append(here)
        nodes = [cp.NewConstant(1), *renewed, cp.NewConstant(1)]
        steps = {(p, q): cp.NewBoolVar("") for p in range(count + 1) for q in range(p + 1, count + 2)}
        for node in range(count + 1):
            cp.Add(sum(steps[node, q] for q in range(node + 1, count + 2)) == nodes[node])
        for node in range(1, count + 2):
            cp.Add(sum(steps[p, node] for p in range(node)) == nodes[node])
        for (p, q), step in steps.items():
            self._step(index, task, p, q, step)

    def _step(self, index: int, task: Task, p: int, q: int, step: Any) -> None:
        groups, end = self.stations.groups, len(self.stations.groups)
        start = -1 if p == 0 else groups[p - 1][-1]
        last = len(self.given.sites) - 1
        if q == end + 1:
            if task.reach[start + 1] < last and p != end:
                self.cp.Add(step == 0)
            self.cost.append((0.0 if p == end else task.strand[start + 1][last], step))
            return
        site = groups[q - 1][-1]
        due = task.overdue and start == -1
        share = task.shares[start + 1][site]
        self.cost.append((task.strand[start + 1][site], step))
        if task.reach[start + 1] < groups[q - 1][0]:
            self.broken.append((gravity_of(task) * (1 + max(0.0, share - (0.0 if due else 1.0))), step))
        if q - 1 in self.own[index] and not due:
            thrown = self.cp.NewBoolVar("")
            self.cp.Add(thrown >= step + self.own[index][q - 1] - 1)
            self.cost.append((task.minutes / 60 * self.given.rate_per_hour * max(0.0, 1 - share), thrown))

    def _station(self, k: int) -> None:
        given, group = self.given, self.stations.groups[k]
        hourly = given.rate_per_hour * given.labour_factor[group[-1]] / 60
        opened: dict[Any, Any] = {}
        spent: list[tuple[float, Any]] = []
        for task, own in zip(given.tasks, self.own, strict=True):
            if k not in own:
                continue
            spent.append((task.minutes, own[k]))
            for pair in task.opens:
                is_open = opened.setdefault(pair, self.cp.NewBoolVar(""))
                self.cp.AddImplication(own[k], is_open)
        for ((_, place, _), state), is_open in opened.items():
            spent.append((given.open_minutes[(place, state)] + given.close_minutes[(place, state)], is_open))
        self.cost += [(minutes * hourly, var) for minutes, var in spent]
        room = self.stations.room[k]
        if room is not None:
            self.cp.Add(sum(round(minutes) * var for minutes, var in spent) <= round(room))

    def solve(self, slack: float) -> tuple[float, float, float]:
        """Least broken, least cost at a little more broken than that, and least cost at just that; all proven."""
        broken = self._least(self.broken)
        weight = sum(round(c * SCALE) * var for c, var in self.broken)
        self.cp.Add(weight <= round((broken * (1 + slack)) * SCALE) + len(self.given.tasks))
        loose = self._least(self.cost)
        self.cp.Add(weight <= round(broken * SCALE))
        return broken, loose, self._least(self.cost)

    def _least(self, terms: list[tuple[float, Any]]) -> float:
        self.cp.Minimize(sum(round(c * SCALE) * var for c, var in terms))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers, solver.parameters.random_seed = 1, 0
        assert solver.Solve(self.cp) == cp_model.OPTIMAL
        return float(solver.ObjectiveValue()) / SCALE


@pytest.mark.parametrize(("seed", "tasks", "days"), [(1, 20, 3), (2, 24, 5), (3, 30, 4), (4, 34, 3), (5, 40, 4)])
def test_two_solvers_agree(seed: int, tasks: int, days: int) -> None:
    """If they did not, one of two independent models of the same trip would be wrong, and perhaps the owner's."""
    given = problem(seed, tasks, days, 3, 2, SIDES)
    broken, loose, tight = Model(given).solve(slack=2e-4)
    answer = _answer(given, stations_of(given))
    assert answer is not None
    rounding = 2e-3 * tasks  # thousandths, a handful of terms a task
    assert answer.broken_bound <= broken + rounding
    assert broken <= answer.broken_bound * (1 + 2e-4) + rounding
    assert answer.cost_bound <= tight * (1 + 1e-4) + rounding
    assert loose <= answer.cost_bound * (1 + 1e-3) + rounding
