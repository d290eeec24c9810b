"""The one door to the solver, which bounds plans and shared days and never makes one."""

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from typing import Any


def solved(
    model_of: Callable[[Any], Any], own: Mapping[str, float], plain: Mapping[str, Any], start: Sequence[float] = ()
) -> Any | None:
    """The solver at the end of a programme, on one thread and without a word; None without a solver or an end.

    `model_of` makes the programme from the package; `own` are options that every version has, `plain`
    are some that a version may lack and then goes on without. `start` are the first columns of a plan that is known.
    """
    try:
        import highspy
    except ImportError:
        return None
    # The binding itself: the wrapper class around it prints a banner while it is made.
    solver = highspy.Highs.__bases__[0]()
    options = highspy.HighsOptions()
    options.output_flag = False
    options.threads, options.random_seed = 1, 0
    for name, value in own.items():
        setattr(options, name, value)
    solver.passOptions(options)
    for name, value in plain.items():
        solver.setOptionValue(name, value)
    solver.passModel(model_of(highspy))
    if start:
        with suppress(AttributeError, TypeError):  # some versions know no part of a plan to start from
            solver.setSolution(len(start), range(len(start)), start)
    solver.run()
    return solver if solver.getModelStatus() == highspy.HighsModelStatus.kOptimal else None
