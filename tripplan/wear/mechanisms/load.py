"""Load: what extra weight, a trailer and long descents take out of bearings and brakes."""

from typing import Final

from tripplan.records.units import STANDARD_GRAVITY_M_S2
from tripplan.wear.mechanisms.arrays import Floats, within

RATING: Final = "rating life, after ISO 281"
MECHANICS: Final = "kinetic and potential energy"
# 0.2 stops a km from 60 km/h, each v^2 / 2: a judgement of this project
BRAKED_J_PER_KG_KM: Final = 0.2 * 0.5 * (60.0 / 3.6) ** 2


def load_multiplier(load_ratio: Floats, exponent: Floats) -> Floats:
    """How many times faster a part is used up when it carries more than usual.

    Gives      wear multiplier; below 1 when the load is below normal. Same shape as the arguments.
    Takes      load_ratio  load now over load in normal use
               exponent    3 for ball bearings, 10/3 for roller bearings, 1 for energy
    Formula    ratio^p
    Holds for  ratio 0.2 to 3, exponent 0.3 to 8.
    Refuses    OutOfRange outside those limits.
    Worked     load_multiplier(1.25, 3) -> 1.95
    Source     ISO 281 rating life, exponents read in secondary sources
    Basis      published
    Checked    tests/published/test_iso_281.py
    """
    within("load_ratio", load_ratio, 0.2, 3, "1", RATING)
    within("exponent", exponent, 0.3, 8, "1", RATING)
    ratio: Floats = load_ratio**exponent
    return ratio


def brake_multiplier(mass_ratio: Floats, descent_m_per_km: Floats, braked_share: Floats = 0.5) -> Floats:
    """How many times faster brakes wear on a leg with weight and descents.

    Gives      wear multiplier, 1 at normal weight on the level. Same shape as the arguments.
    Takes      mass_ratio        mass now over mass in normal use
               descent_m_per_km  height lost per km of leg, m/km
               braked_share      share of the descent held on the brakes, 0.25 / 0.5 / 1
    Formula    ratio (1 + share g h / e); e = 0.2 stops a km from 60 km/h = 27.8 J per kg and km
    Holds for  ratio 0.2 to 3, descent 0 to 150 m/km, share 0 to 1. Wear taken as energy.
    Refuses    OutOfRange outside those limits.
    Worked     brake_multiplier(1.2, 0) -> 1.2
    Source     mechanics; wear in step with energy and 0.2 stops a km are judgements of this project
    Basis      judgement
    Checked    tests/wear/mechanisms/test_load.py
    """
    within("mass_ratio", mass_ratio, 0.2, 3, "1", MECHANICS)
    within("descent_m_per_km", descent_m_per_km, 0, 150, "m/km", MECHANICS)
    within("braked_share", braked_share, 0, 1, "share", MECHANICS)
    return mass_ratio * (1 + braked_share * STANDARD_GRAVITY_M_S2 * descent_m_per_km / BRAKED_J_PER_KG_KM)
