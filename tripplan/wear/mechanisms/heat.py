"""Heat: how much faster oil ages."""

from typing import Final

from tripplan.wear.mechanisms.arrays import Floats, within

AGEING: Final = "rate doubles per 10 deg C, a rule of the lubrication trade"


def oil_ageing_ratio(temp_c: Floats, reference_c: Floats, doubling_c: float = 10.0) -> Floats:
    """How many times faster an oil oxidises at one temperature than at another.

    Gives      ratio of rates, 1 at the reference. Same shape as the temperatures.
    Takes      temp_c       the oil itself, not the air, deg C
               reference_c  oil temperature in normal use, deg C
               doubling_c   rise that doubles the rate, deg C
    Formula    2^((T - T0) / step)
    Holds for  oil -10 to 160 deg C, step 5 to 20. Disputed for modern oils: the rule is coarse.
    Refuses    OutOfRange outside those limits.
    Worked     oil_ageing_ratio(105, 100) -> 1.41
    Source     a rule of the lubrication trade, read on a web page; a second page disputes it, read
    Basis      published
    Checked    tests/published/test_halving_rules.py
    """
    within("temp_c", temp_c, -10, 160, "deg C", AGEING)
    within("reference_c", reference_c, -10, 160, "deg C", AGEING)
    within("doubling_c", doubling_c, 5, 20, "deg C", AGEING)
    ratio: Floats = 2.0 ** ((temp_c - reference_c) / doubling_c)
    return ratio
