"""What the physical models share: numbers or arrays in, and a refusal outside the range.

A model takes plain numbers, or NumPy arrays of the same shape with one entry a leg. NumPy
is imported only when an array comes in, so that a plain plan starts quickly.
"""

from typing import TYPE_CHECKING, TypeAlias, Union

from tripplan.records.problems import OutOfRange

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Floats: TypeAlias = Union[float, "NDArray[np.float64]"]


def within(name: str, value: Floats, low: float, high: float, unit: str, source: str) -> None:
    """Refuse, with `OutOfRange`, the first entry that lies outside low to high.

    A not-a-number is outside every range. Nothing is ever moved to the edge.
    """
    if isinstance(value, int | float):
        if not low <= value <= high:
            raise OutOfRange(name, value, low, high, unit, source)
        return
    import numpy as np

    values = np.asarray(value, dtype=float)
    outside = ~((values >= low) & (values <= high))
    if outside.any():
        raise OutOfRange(name, float(values[outside].flat[0]), low, high, unit, source)


def at_least_one(ratio: Floats) -> Floats:
    """A ratio to normal as a wear multiplier: better than normal counts as normal.

    Gives      the larger of the ratio and 1. Same shape as the argument.
    Takes      ratio  how many times normal; 1 = normal
    Formula    max(1, ratio)
    Holds for  every number.
    Refuses    nothing.
    Worked     at_least_one(0.4) -> 1.0
    Source     the planner's rule that good conditions lengthen no interval
    Basis      judgement
    Checked    tests/properties/test_mechanisms.py
    """
    if isinstance(ratio, int | float):
        return max(1.0, ratio)
    import numpy as np

    return np.maximum(ratio, 1.0)
