"""Spares under a Poisson demand: how likely the kth is asked for, and what stays unmet."""

import math
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


def unmet(count: int, mean: float) -> float:
    """Demands expected that the parts carried do not meet.

    Gives      count. One number out.
    Takes      count  parts carried, 0 or more
               mean   parts expected to be asked for, 0 to 500
    Formula    B(0) = m; B(s + 1) = B(s) - P(X > s)
    Holds for  the limits above.
    Refuses    OutOfRange outside those limits.
    Worked     unmet(1, 1.0) -> 0.367879
    Source     "On spare parts optimization", an open course text (read); Sherbrooke 2004 (memory)
    Basis      published
    Checked    tests/published/test_spares_poisson.py
    """
    found = float(mean)
    for carried in range(count):
        found -= float(more_than(carried, mean))
    return max(found, 0.0)


def enough(assurance: float, mean: float) -> int:
    """The least number of parts that suffices with a stated chance.

    Gives      count. One number out.
    Takes      assurance  chance, 0 to below 1
               mean       parts expected to be asked for, 0 to 500
    Formula    the least s with P(X <= s) at least the assurance
    Holds for  the limits above.
    Refuses    OutOfRange outside those limits.
    Worked     enough(0.95, 1.0) -> 3
    Source     Poisson law, any textbook; sparing by it: Blanchard (memory)
    Basis      published
    Checked    tests/published/test_spares_poisson.py
    """
    within("assurance", assurance, 0.0, 1.0 - 1e-12, "1", DEMAND)
    count = 0
    while 1.0 - float(more_than(count, mean)) < assurance - 1e-12:
        count += 1
        if count > 10 * math.ceil(mean + 10):
            break
    return count
