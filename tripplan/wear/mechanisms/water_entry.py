"""Water: how hard a hot hub sucks when it meets it."""

from typing import Final

from tripplan.records.units import STANDARD_ATMOSPHERE_KPA, ZERO_CELSIUS_K
from tripplan.wear.mechanisms.arrays import Floats, within

GAS: Final = "ideal gas law"


def cooling_suction_kpa(
    hub_temp_c: Floats, water_temp_c: Floats, ambient_kpa: Floats = STANDARD_ATMOSPHERE_KPA
) -> Floats:
    """Suction inside a sealed hub that meets cold water while hot.

    Gives      suction, kPa, positive when the hub pulls inward. Same shape as the arguments.
    Takes      hub_temp_c    air inside the hub on entry, deg C
               water_temp_c  water, deg C; the air is assumed to reach it fully
               ambient_kpa   outside pressure when last vented, kPa absolute
    Formula    suction = p (1 - Tw / Th), temperatures in kelvin
    Holds for  hub 0 to 150 deg C, water 0 to 40 deg C, ambient 60 to 110 kPa.
               Rigid volume, no leak, no breather: an upper bound.
    Refuses    OutOfRange outside those limits; it never clips.
    Worked     cooling_suction_kpa(70, 20, 101.325) -> 14.76
    Source     ideal gas law at constant volume; derived here, no table needed
    Basis      derived
    Checked    tests/published/test_ideal_gas.py
    """
    within("hub_temp_c", hub_temp_c, 0, 150, "deg C", GAS)
    within("water_temp_c", water_temp_c, 0, 40, "deg C", GAS)
    within("ambient_kpa", ambient_kpa, 60, 110, "kPa", GAS)
    return ambient_kpa * (1 - (water_temp_c + ZERO_CELSIUS_K) / (hub_temp_c + ZERO_CELSIUS_K))
