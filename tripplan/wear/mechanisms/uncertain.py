"""Uncertain wear: what one doubtful multiplier is worth, and the 95 % value of a sum of many.

A multiplier has a typical value, its median, and a high one that only 1 in 20 exceeds. What
is doubtful is its excess over 1, taken as lognormal: no doubt ever makes a bad road good.
"""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tripplan.wear.mechanisms.arrays import Floats, within

Array = NDArray[np.float64]
LOGNORMAL: Final = "lognormal excess over 1"
Z95: Final = 1.6448536269514722
NODES: Final[Array] = np.polynomial.hermite_e.hermegauss(9)[0]
WEIGHTS: Final[Array] = np.polynomial.hermite_e.hermegauss(9)[1] / math.sqrt(2 * math.pi)
MEDIAN: Final = 4
NEARLY_EVEN: Final = 1e-4
LARGEST: Final = 1e6


def excess_at(typical: Floats, high: Floats, normal: Floats) -> Array:
    """What a doubtful multiplier adds to 1 when its doubt turns out so far from the middle.

    Gives      excess over 1. The shapes of the arguments, as NumPy joins them.
    Takes      typical  multiplier, median
               high     multiplier that 1 in 20 exceeds
               normal   standard normal number: 0 = the median, 1.644854 = the high value
    Formula    e (E / e)^(n / 1.644854), e = typical - 1, E = high - 1; where e is 0: E max(0, n) / 1.644854
    Holds for  multipliers 1 to 10^6, high not below typical.
    Refuses    OutOfRange outside those limits.
    Worked     excess_at(2.0, 3.0, 1.6448536) -> 2.0
    Source     lognormal law, read on a software page; that the excess follows it is a judgement
    Basis      judgement
    Checked    tests/published/test_golden_lognormal.py
    """
    within("typical", typical, 1, LARGEST, "1", LOGNORMAL)
    within("high less typical", np.subtract(high, typical), 0, LARGEST, "1", LOGNORMAL)
    middle, upper = np.subtract(typical, 1.0), np.subtract(high, 1.0)
    steps = np.asarray(normal, dtype=float) / Z95
    is_certain = middle <= 0
    ratio = np.where(is_certain, 1.0, upper / np.where(is_certain, 1.0, middle))
    return np.where(is_certain, upper * np.maximum(steps, 0.0), middle * ratio**steps)


def interval_sigma(spread_low: float, spread_high: float, share: float) -> float:
    """Doubt about an interval itself, on the scale of logarithms.

    Gives      standard deviation of the logarithm. One number out.
    Takes      spread_low   shortest interval in use over the table's, 1 or less
               spread_high  longest over the table's, 1 or more
               share        part of that spread which is doubt and not severity of service, 0 to 1
    Formula    share ln(spread_high / spread_low) / (2 x 1.644854): the two ends as 5 and 95 % values
    Holds for  spreads 0.01 to 1 and 1 to 100.
    Refuses    OutOfRange outside those limits.
    Worked     interval_sigma(0.5, 2.0, 1.0) -> 0.421404
    Source     lognormal law, read on a software page; the share is an assumption of the tables
    Basis      judgement
    Checked    tests/published/test_golden_lognormal.py
    """
    within("spread_low", spread_low, 0.01, 1, "1", LOGNORMAL)
    within("spread_high", spread_high, 1, 100, "1", LOGNORMAL)
    within("share", share, 0, 1, "1", LOGNORMAL)
    return share * math.log(spread_high / spread_low) / (2 * Z95)


def percentile(mean: Floats, variance: Floats, third: Floats, normal: float = Z95) -> Array:
    """A percentile of a sum of many skewed parts, from its first three moments.

    Gives      the value exceeded as often as the standard normal number `normal` is; 1 in 20 by default.
    Takes      mean, variance, third  mean, and mean square and cube of the distance from it
               normal                 standard normal number of the percentile
    Formula    lognormal with a shift of the same three moments: skewness g = third / variance^1.5,
               c = (1 + g^2/2 + g sqrt(1 + g^2/4))^(1/3), w = c + 1/c - 1, s = sqrt(ln w),
               mean + sqrt(variance / (w (w - 1))) (exp(s n) - sqrt(w)); normal law where g < 0.0001
    Holds for  sums of lognormal parts and their product with one more: 4.2 to 5.5 % of draws lie beyond
               the 95 % value; exact for one part.
    Refuses    nothing; a negative skewness counts as none.
    Worked     percentile(2.0, 1.0, 0.0) -> 3.644854
    Source     lognormal of three parameters by moments (Johnson, Kotz, Balakrishnan, from memory)
    Basis      derived
    Checked    tests/wear/test_total.py, tests/published/test_golden_lognormal.py
    """
    spread = np.sqrt(np.maximum(variance, 0.0))
    skew = np.maximum(third, 0.0) / np.where(spread > 0, spread, 1.0) ** 3
    is_even = skew < NEARLY_EVEN
    g = np.where(is_even, 1.0, skew)
    root = np.cbrt(1 + g * g / 2 + g * np.sqrt(1 + g * g / 4))
    omega = root + 1 / root - 1
    sigma = np.sqrt(np.log(omega))
    steps = (np.exp(sigma * normal) - np.sqrt(omega)) / np.sqrt(omega * (omega - 1))
    return np.asarray(mean + spread * np.where(is_even, normal, steps))
