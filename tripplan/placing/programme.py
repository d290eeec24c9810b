"""A mixed-integer programme collected row by row and handed to HiGHS, always the same way.

One thread, a fixed seed, and limits on gap and nodes but never on the clock, so that equal
programmes give equal answers on any machine.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

INFINITY = float("inf")


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


def _run(programme: Programme, relative_gap: float, node_limit: int, start: Sequence[float] | None = None) -> Any:
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
