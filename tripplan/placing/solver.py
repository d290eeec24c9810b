"""The one door to the solver, which bounds plans and shared days and never makes one."""

from collections.abc import Callable, Mapping
from typing import Any


def solved(model_of: Callable[[Any], Any], options: Mapping[str, Any]) -> float | None:
    """The least value of a programme, on one thread and without a word; endless where nothing keeps its rows or lies
    below an `objective_bound`; None without a solver or an end.

    `model_of` makes the programme from the package; an option that a version does not know is left out.
    """
    try:
        import highspy
    except ImportError:
        return None
    # The binding itself: the wrapper class around it prints a banner while it is made.
    solver = highspy.Highs.__bases__[0]()
    first = highspy.HighsOptions()
    first.output_flag = False
    first.threads, first.random_seed = 1, 0
    solver.passOptions(first)
    for name, value in options.items():
        solver.setOptionValue(name, value)
    solver.passModel(model_of(highspy))
    solver.run()
    kinds, status = highspy.HighsModelStatus, solver.getModelStatus()
    if status == kinds.kOptimal:
        return float(solver.getInfo().objective_function_value)
    # Every column has an end, so that what is not feasible or has no end is not feasible.
    return float("inf") if status in (kinds.kInfeasible, kinds.kUnboundedOrInfeasible, kinds.kObjectiveBound) else None
