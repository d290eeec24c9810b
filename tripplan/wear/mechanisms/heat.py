"""Heat: how much faster lubricants and rubber age, and what it does to tyre pressure."""

from typing import Final

from tripplan.records.units import STANDARD_ATMOSPHERE_KPA, kelvin
from tripplan.wear.mechanisms.arrays import Floats, within

AGEING: Final = "rate doubles per 10 deg C, a rule of the lubrication trade"
GREASE: Final = "one bearing maker's catalogue: halve per 15 deg C above 70"
GREASE_BASE_C: Final = 70.0
GREASE_STEP_C: Final = 15.0


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


def grease_interval_factor(bearing_temp_c: Floats) -> Floats:
    """What a bearing's temperature leaves of its relubrication interval.

    Gives      factor on the interval: 1 at 70 deg C, 2 at the most. Same shape as the argument.
    Takes      bearing_temp_c  outer ring, in steady running, deg C
    Formula    min(2, 2^(-(T - 70) / 15))
    Holds for  40 to 130 deg C. The limit 2 is part of the rule, reached at 55 deg C.
    Refuses    OutOfRange outside those limits.
    Worked     grease_interval_factor(85) -> 0.5
    Source     one bearing maker's catalogue, read in part (three copies, one source)
    Basis      published
    Checked    tests/published/test_halving_rules.py
    """
    within("bearing_temp_c", bearing_temp_c, 40, 130, "deg C", GREASE)
    exponent = (GREASE_BASE_C - bearing_temp_c) / GREASE_STEP_C
    if isinstance(exponent, int | float):
        return float(min(2.0, 2.0**exponent))
    import numpy as np

    return np.minimum(2.0, 2.0**exponent)


def tyre_hot_pressure_kpa(cold_kpa: Floats, cold_temp_c: Floats, hot_temp_c: Floats) -> Floats:
    """What the gauge shows when a tyre set cold has warmed up.

    Gives      gauge pressure, kPa. Same shape as the arguments.
    Takes      cold_kpa     gauge pressure when set, kPa
               cold_temp_c  tyre air when set, deg C
               hot_temp_c   tyre air now, deg C
    Formula    (p + 101.325) Th / Tc - 101.325, temperatures in kelvin
    Holds for  50 to 700 kPa, -20 to 60 deg C cold, -20 to 120 hot; sea level, no stretch.
    Refuses    OutOfRange outside those limits.
    Worked     tyre_hot_pressure_kpa(240, 20, 65) -> 292
    Source     ideal gas law at constant volume
    Basis      derived
    Checked    tests/published/test_ideal_gas.py
    """
    source = "ideal gas law"
    within("cold_kpa", cold_kpa, 50, 700, "kPa", source)
    within("cold_temp_c", cold_temp_c, -20, 60, "deg C", source)
    within("hot_temp_c", hot_temp_c, -20, 120, "deg C", source)
    ratio = (hot_temp_c + kelvin(0)) / (cold_temp_c + kelvin(0))
    return (cold_kpa + STANDARD_ATMOSPHERE_KPA) * ratio - STANDARD_ATMOSPHERE_KPA
