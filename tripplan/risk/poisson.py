"""Spares under a Poisson demand: how likely the kth is asked for."""

from typing import Final

import numpy as np

from tripplan.wear.mechanisms.arrays import Floats, within
from tripplan.wear.mechanisms.uncertain import Array

DEMAND: Final = "Poisson demand"


def more_than(count: int, mean: Floats) -> Array:
    """The chance that more parts are asked for than there are.

    Gives      probability. Same shape as the mean.
    Takes      count  parts carried, 0 or more
               mean   parts expected to be asked for, 0 to 500
    Formula    1 - sum over k = 0..count of exp(-m) m^k / k!
    Holds for  the limits above.
    Refuses    OutOfRange outside those limits.
    Worked     more_than(1, 1.0) -> 0.264241
    Source     Poisson law, any textbook; sparing by it: Blanchard (memory)
    Basis      published
    Checked    tests/published/test_spares_poisson.py
    """
    within("parts", float(count), 0.0, 1e4, "1", DEMAND)
    within("expected demand", mean, 0.0, 500.0, "1", DEMAND)
    m = np.asarray(mean, dtype=float)
    term = np.exp(-m)
    below = term.copy()
    for k in range(1, count + 1):
        term = term * m / k
        below = below + term
    return np.asarray(np.maximum(1.0 - below, 0.0))
