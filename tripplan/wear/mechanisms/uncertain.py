"""Uncertain wear multipliers: how they combine, and how much to keep in reserve.

A multiplier is taken as lognormal: `typical` is its median, `high` the bad but believable
value that only 1 in 20 exceeds. EF, the error factor, is high over typical.
"""

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from tripplan.wear.mechanisms.arrays import within

LOGNORMAL: Final = "lognormal multiplier"
Z95: Final = 1.6448536269514722


def sigma_of(typical: float, high: float) -> float:
    """Spread of one multiplier on the scale of logarithms.

    Gives      standard deviation of the logarithm. One number out.
    Takes      typical  median, above 0
               high     value that 1 in 20 exceeds, not below typical
    Formula    ln(high / typical) / 1.644854
    Holds for  typical 0.001 to 10^6, high over typical 1 to 1000.
    Refuses    OutOfRange outside those limits.
    Worked     sigma_of(1, 2) -> 0.421404
    Source     error factor of a lognormal law, read on a software page
    Basis      published
    Checked    tests/published/test_golden_lognormal.py
    """
    return _log_error_factor(typical, high) / Z95


def mean_over_median(error_factor: float) -> float:
    """How much the average lies above the typical value.

    Gives      mean over median, 1 or more. One number out.
    Takes      error_factor  high over typical
    Formula    exp(sigma^2 / 2)
    Holds for  error factor 1 to 1000.
    Refuses    OutOfRange outside those limits.
    Worked     mean_over_median(2) -> 1.092852
    Source     lognormal law, read on a software page
    Basis      published
    Checked    tests/published/test_golden_lognormal.py
    """
    return math.exp(sigma_of(1.0, error_factor) ** 2 / 2)


def combine(typicals: Sequence[float], highs: Sequence[float]) -> tuple[float, float, float]:
    """The multiplier of several conditions at once, with its low and high.

    Gives      (typical, low, high); low is the mirror image of high. Nothing given: (1, 1, 1).
    Takes      typicals  median of each factor
               highs     value of each that 1 in 20 exceeds, in the same order
    Formula    typical = product; high = typical exp(sqrt(sum of ln(high_i / typical_i)^2));
               low = typical^2 / high. Independent factors: medians multiply, sigma^2 adds
    Holds for  each as `sigma_of`; the factors must not know of each other.
    Refuses    OutOfRange outside those limits; ValueError when the two differ in length.
    Worked     combine([1, 1, 1], [1.5, 1.3, 2])[2] -> 2.327516
    Source     sum of independent normal laws
    Basis      derived
    Checked    tests/published/test_golden_lognormal.py
    """
    typical, squares = 1.0, 0.0
    for middle, upper in zip(typicals, highs, strict=True):
        squares += _log_error_factor(middle, upper) ** 2
        typical *= middle
    error_factor = math.exp(math.sqrt(squares))
    return typical, typical / error_factor, typical * error_factor


def variance_shares(typicals: Sequence[float], highs: Sequence[float]) -> tuple[float, ...]:
    """Which condition the doubt about a multiplier comes from.

    Gives      share of each factor in the spread, adding up to 1; all 0 when nothing is in doubt.
    Takes      typicals  median of each factor
               highs     value of each that 1 in 20 exceeds, in the same order
    Formula    ln(high_i / typical_i)^2 over their sum
    Holds for  as `combine`.
    Refuses    OutOfRange outside those limits; ValueError when the two differ in length.
    Worked     variance_shares([1, 1, 1], [1.5, 1.3, 2])[2] -> 0.673
    Source     closed-form sensitivity of a product of lognormals
    Basis      derived
    Checked    tests/published/test_golden_lognormal.py
    """
    squares = [_log_error_factor(m, u) ** 2 for m, u in zip(typicals, highs, strict=True)]
    total = sum(squares)
    return tuple(square / total if total else 0.0 for square in squares)


def most_doubtful(names: Sequence[str], typicals: Sequence[float], highs: Sequence[float]) -> str | None:
    """The condition worth finding out more about, because it moves the answer most.

    Gives      its name, the first of equals; None when nothing is in doubt.
    Takes      names     condition of each factor
               typicals  median of each factor
               highs     value of each that 1 in 20 exceeds
    Formula    largest of `variance_shares`
    Holds for  as `combine`.
    Refuses    OutOfRange outside those limits; ValueError when the lengths differ.
    Worked     len(most_doubtful(["dust", "load"], [1, 1], [2, 1.5])) -> 4
    Source     closed-form sensitivity of a product of lognormals
    Basis      derived
    Checked    tests/published/test_golden_lognormal.py
    """
    shares = variance_shares(typicals, highs)
    if not any(shares):
        return None
    return max(zip(names, shares, strict=True), key=lambda pair: pair[1])[0]


def reserve_interval(interval: float, typical: float, high: float) -> float:
    """The interval to plan on, so that only 1 trip in 20 uses it up early.

    Gives      interval in the unit of the one given. One number out.
    Takes      interval  interval in normal use
               typical   combined multiplier, median
               high      combined multiplier that 1 in 20 exceeds
    Formula    interval / high, the typical interval over the error factor
    Holds for  interval above 0 to 10^7; multipliers as `sigma_of`.
    Refuses    OutOfRange outside those limits.
    Worked     reserve_interval(10000, 1.5, 2.0) -> 5000
    Source     percentile of a lognormal law
    Basis      derived
    Checked    tests/published/test_golden_lognormal.py
    """
    within("interval", interval, 1e-9, 1e7, "its own unit", LOGNORMAL)
    return interval / typical / math.exp(_log_error_factor(typical, high))


@lru_cache(maxsize=4096)
def _log_error_factor(typical: float, high: float) -> float:
    within("typical", typical, 1e-3, 1e6, "1", LOGNORMAL)
    within("high over typical", high / typical, 1, 1000, "1", LOGNORMAL)
    return math.log(high / typical)
