"""A mixed-integer programme collected row by row and handed to HiGHS, always the same way.

One thread, a fixed seed, and limits on gap and nodes but never on the clock, so that equal
programmes give equal answers on any machine.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

INFINITY = float("inf")
TINY = 1e-6
FIRST_SLACK_SHARE = 0.015


@dataclass(slots=True)
class Programme:
    """Columns with cost, bounds and kind; rows with bounds. Minimised."""

    cost: list[float] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    row_lower: list[float] = field(default_factory=list)
    row_upper: list[float] = field(default_factory=list)
    starts: list[int] = field(default_factory=lambda: [0])
    columns: list[int] = field(default_factory=list)
    values: list[float] = field(default_factory=list)

    def column(self, cost: float = 0.0, upper: float = 1.0, whole: bool = True) -> int:
        """A new column from 0 to `upper`; its index."""
        self.cost.append(cost)
        self.lower.append(0.0)
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.cost) - 1

    def row(self, terms: Mapping[int, float], lower: float = -INFINITY, upper: float = INFINITY) -> None:
        """A new row: lower <= sum of value x column <= upper."""
        self.columns += terms.keys()
        self.values += terms.values()
        self.starts.append(len(self.columns))
        self.row_lower.append(lower)
        self.row_upper.append(upper)

    def with_row(self, terms: Mapping[int, float], upper: float) -> "Programme":
        """The same programme with one row more; this one stays as it is."""
        more = replace(
            self, row_lower=[*self.row_lower], row_upper=[*self.row_upper], starts=[*self.starts],
            columns=[*self.columns], values=[*self.values],
        )  # fmt: skip
        more.row(terms, upper=upper)
        return more


@dataclass(frozen=True, slots=True)
class Solution:
    """Column values, the objective, and the proven bound below it."""

    values: tuple[float, ...]
    objective: float
    bound: float


@dataclass(frozen=True, slots=True)
class Relaxed:
    """The programme solved without whole numbers: values, objective, and reduced costs."""

    values: tuple[float, ...]
    objective: float
    reduced_cost: tuple[float, ...]


def solve(
    programme: Programme, relative_gap: float, node_limit: int, start: Sequence[float] | None = None
) -> Solution | None:
    """The best solution found to that gap or within that many nodes; None if there is none.

    `start` is a solution already known. None as well where the solver is not installed: the
    caller has a plain answer at hand.
    """
    solver = _run(programme, relative_gap, node_limit, start)
    if solver is None:
        return None
    info = solver.getInfo()
    if info.primal_solution_status != 2:
        return None
    values = tuple(solver.getSolution().col_value)
    bound = info.mip_dual_bound if any(programme.whole) else info.objective_function_value
    return Solution(values, info.objective_function_value, bound)


def relax(programme: Programme) -> Relaxed | None:
    """The programme with every column allowed to be a fraction; None if nothing satisfies the rows."""
    solver = _run(replace(programme, whole=[False] * len(programme.whole)), 0.0, 0)
    if solver is None or solver.getInfo().primal_solution_status != 2:
        return None
    found = solver.getSolution()
    return Relaxed(tuple(found.col_value), solver.getInfo().objective_function_value, tuple(found.col_dual))


def solve_near(
    programme: Programme, relative_gap: float, good_enough: float, node_limit: int,
    groups: Sequence[Sequence[int]] = (),
) -> Solution | None:  # fmt: skip
    """As `solve`, by way of the relaxation, which is much faster where that is nearly whole.

    First whole columns stay where the relaxation has them at 0 or 1: each by itself, then only
    those of `groups` it has whole altogether. A solution found so within `good_enough` of the
    relaxation's bound is taken. Else columns are left out whose reduced cost alone lifts the
    objective above the best known, which loses nothing better.
    """
    relaxed = relax(programme)
    if relaxed is None:
        return None
    best: Solution | None = None
    each = [(column,) for column, whole in enumerate(programme.whole) if whole]
    for bound_together in (each, groups) if groups else (each,):
        found = solve(_rounded(programme, relaxed, bound_together), relative_gap, node_limit)
        if found is not None and (best is None or found.objective < best.objective):
            best = replace(found, bound=relaxed.objective)
        if best is not None and gap_of(best) <= good_enough:
            return best
    slack = FIRST_SLACK_SHARE * abs(relaxed.objective) if best is None else best.objective - relaxed.objective
    found = _within(programme, relaxed, slack, relative_gap, node_limit, best)
    if found is None:
        return best or solve(programme, relative_gap, node_limit)
    if found.objective > relaxed.objective + slack + TINY:
        wider = found.objective - relaxed.objective
        return _within(programme, relaxed, wider, relative_gap, node_limit, found) or found
    return found


def gap_of(solution: Solution) -> float:
    """How far the objective lies above its bound, as a share of the objective."""
    return max(0.0, solution.objective - solution.bound) / max(abs(solution.objective), 1.0)


def _rounded(programme: Programme, relaxed: Relaxed, groups: Sequence[Sequence[int]]) -> Programme:
    """The programme with every group of columns held that the relaxation has whole."""
    lower, upper, values = list(programme.lower), list(programme.upper), relaxed.values
    for group in groups:
        if all(abs(values[column] - round(values[column])) < TINY for column in group):
            for column in group:
                lower[column] = upper[column] = float(round(values[column]))
    return replace(programme, lower=lower, upper=upper)


def _within(
    programme: Programme, relaxed: Relaxed, slack: float, relative_gap: float, node_limit: int,
    known: Solution | None,
) -> Solution | None:  # fmt: skip
    """The best without the columns that alone cost more than `slack`; its bound holds with them too."""
    upper = [
        0.0 if reduced > slack + TINY and low == 0.0 else high
        for reduced, low, high in zip(relaxed.reduced_cost, programme.lower, programme.upper, strict=True)
    ]
    found = solve(replace(programme, upper=upper), relative_gap, node_limit, known.values if known else None)
    if found is None:
        return None
    return replace(found, bound=max(relaxed.objective, min(found.bound, relaxed.objective + slack)))


def _run(
    programme: Programme, relative_gap: float, node_limit: int, start: Sequence[float] | None = None
) -> Any:
    try:
        import highspy
    except ImportError:
        return None
    # The binding itself: the wrapper class around it prints a banner while it is made.
    solver = highspy.Highs.__bases__[0]()
    options = highspy.HighsOptions()
    options.output_flag = False
    options.threads, options.random_seed = 1, 0
    options.mip_rel_gap, options.mip_max_nodes = relative_gap, node_limit
    solver.passOptions(options)
    solver.passModel(_as_lp(programme))
    if start is not None:
        known = highspy.HighsSolution()
        known.col_value = list(start)
        solver.setSolution(known)
    solver.run()
    return solver


def _as_lp(programme: Programme) -> Any:
    import highspy
    import numpy as np

    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(programme.cost), len(programme.row_lower)
    lp.col_cost_ = np.array(programme.cost)
    lp.col_lower_, lp.col_upper_ = np.array(programme.lower), np.array(programme.upper)
    lp.row_lower_, lp.row_upper_ = np.array(programme.row_lower), np.array(programme.row_upper)
    kinds = highspy.HighsVarType
    if any(programme.whole):
        lp.integrality_ = [kinds.kInteger if whole else kinds.kContinuous for whole in programme.whole]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.array(programme.starts, dtype=np.int32)
    lp.a_matrix_.index_ = np.array(programme.columns, dtype=np.int32)
    lp.a_matrix_.value_ = np.array(programme.values)
    return lp
