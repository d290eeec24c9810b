"""The one door to the solver, which bounds plans and shared days and never makes one."""

from collections.abc import Callable, Mapping
from math import inf, isfinite
from typing import Any


def solved(model_of: Callable[[Any], Any], options: Mapping[str, Any]) -> float | None:
    """The least value of a programme, on one thread and without a word; endless where nothing keeps its rows or lies
    below an `objective_bound`; None without a solver or an end.

    `model_of` makes the programme from the package; an option that a version does not know is left out.
    """
    least, is_end = _run(model_of, options)
    return least if is_end else None


def proven(model_of: Callable[[Any], Any], options: Mapping[str, Any]) -> float | None:
    """The same of a programme in whole numbers; where the work given ends first, what no solution undercuts by then."""
    return _run(model_of, options)[0]


def _run(model_of: Callable[[Any], Any], options: Mapping[str, Any]) -> tuple[float | None, bool]:
    """What no solution undercuts, and whether that is the end."""
    try:
        import highspy
    except ImportError:
        return None, False
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
        return float(solver.getInfo().objective_function_value), True
    # Every column has an end, so that what is not feasible or has no end is not feasible.
    if status in (kinds.kInfeasible, kinds.kUnboundedOrInfeasible, kinds.kObjectiveBound):
        return inf, True
    least = float(solver.getInfo().mip_dual_bound)
    return (least if status == kinds.kSolutionLimit and isfinite(least) else None), False
