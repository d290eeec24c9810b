"""Load: what extra weight, a trailer and long descents take out of bearings and brakes."""

from typing import Final

from tripplan.records.units import STANDARD_GRAVITY_M_S2
from tripplan.wear.mechanisms.arrays import Floats, within

RATING: Final = "rating life, after ISO 281"
MECHANICS: Final = "kinetic and potential energy"
NORMAL_STOPS_PER_KM: Final = 0.2
NORMAL_STOP_KMH: Final = 60.0


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


def stop_energy_kj(mass_kg: Floats, speed_kmh: Floats) -> Floats:
    """Heat one stop from that speed puts into the brakes.

    Gives      energy, kJ. Same shape as the arguments.
    Takes      mass_kg    all that is slowed down, kg
               speed_kmh  speed before the stop, km/h
    Formula    m v^2 / 2
    Holds for  100 to 40 000 kg, 0 to 150 km/h; the road, air and engine take nothing.
    Refuses    OutOfRange outside those limits.
    Worked     stop_energy_kj(3000, 80) -> 741
    Source     mechanics
    Basis      derived
    Checked    tests/wear/mechanisms/test_load.py
    """
    within("mass_kg", mass_kg, 100, 40_000, "kg", MECHANICS)
    within("speed_kmh", speed_kmh, 0, 150, "km/h", MECHANICS)
    energy: Floats = 0.5 * mass_kg * (speed_kmh / 3.6) ** 2 / 1000
    return energy


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
    stops = NORMAL_STOPS_PER_KM * stop_energy_kj(1000.0, NORMAL_STOP_KMH)
    return mass_ratio * (1 + braked_share * STANDARD_GRAVITY_M_S2 * descent_m_per_km / stops)
