"""How much of a physical effect reaches an item, and how sure anyone can be of it."""

from typing import Final, NamedTuple

from tripplan.wear.mechanisms.arrays import within

DRAWN_IN: Final = "drawn in"
SHARE: Final[dict[str, float]] = {"low": 0.2, "medium": 0.5, "high": 1.0, DRAWN_IN: 1.0}
LEAST_ERROR_FACTOR: Final = 1.2


class Bounds(NamedTuple):
    """A wear multiplier: typical, the value 1 in 20 exceeds, and the low that mirrors it."""

    low: float
    typical: float
    high: float


def reaching(effect: Bounds, sensitivity: str) -> Bounds:
    """What a physical effect comes to at an item that is more or less open to it.

    Gives      low, typical and high multiplier at the item, each 1 or more.
    Takes      effect       low, typical and high at an item fully open to it, each 1 or more
               sensitivity  "low", "medium", "high" or "drawn in"
    Formula    high at least typical times 1.2 (times itself where below 1.2), low at most the mirror
               of that; then 1 + share (effect - 1), share 0.2, 0.5, 1 or 1
    Holds for  multipliers 1 to 10 000 in rising order.
    Refuses    OutOfRange outside those limits; KeyError for another word.
    Worked     reaching(Bounds(2, 3, 5), "medium")[2] -> 3.0
    Source     none: share of the excess over 1, as in the graded rows; keeps 1 at 1 and the order
    Basis      judgement
    Checked    tests/wear/mechanisms/test_sensitivity.py
    """
    source = "multipliers in rising order"
    within("low", effect.low, 1, 1e4, "1", source)
    within("typical", effect.typical, effect.low, 1e4, "1", source)
    within("high", effect.high, effect.typical, 1e4, "1", source)
    error_factor = min(LEAST_ERROR_FACTOR, effect.typical)
    low = min(effect.low, effect.typical / error_factor)
    high = max(effect.high, effect.typical * error_factor)
    share = SHARE[sensitivity]
    return Bounds(*(1 + share * (value - 1) for value in (low, effect.typical, high)))
