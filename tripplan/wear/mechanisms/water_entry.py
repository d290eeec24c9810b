"""Water: which points it reaches, how hard a hot hub sucks, and what it does to oil."""

from collections.abc import Mapping
from typing import Final

from tripplan.records.units import STANDARD_ATMOSPHERE_KPA, STANDARD_GRAVITY_M_S2, ZERO_CELSIUS_K
from tripplan.wear.mechanisms.arrays import Floats, within

GAS: Final = "ideal gas law"
HEAD: Final = "hydrostatics"
CANTLEY: Final = "Cantley 1977, tested at 25, 100 and 400 ppm"
FRESH_KG_PER_M3: Final = 1000.0
CANTLEY_LOW_PPM: Final = 25.0
CANTLEY_HIGH_PPM: Final = 400.0
MM_PER_M: Final = 1000.0


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


def head_kpa(depth_m: Floats, density_kg_per_m3: float = FRESH_KG_PER_M3) -> Floats:
    """Pressure of the water itself at a depth under its surface.

    Gives      pressure, kPa. Same shape as the depth.
    Takes      depth_m            depth of the point under the water line, m
               density_kg_per_m3  1000 fresh, about 1025 sea water
    Formula    density g h
    Holds for  depth 0 to 3 m, density 990 to 1100.
    Refuses    OutOfRange outside those limits.
    Worked     head_kpa(0.7) -> 6.865
    Source     hydrostatics
    Basis      derived
    Checked    tests/published/test_ideal_gas.py
    """
    within("depth_m", depth_m, 0, 3, "m", HEAD)
    within("density_kg_per_m3", density_kg_per_m3, 990, 1100, "kg/m3", HEAD)
    return density_kg_per_m3 * STANDARD_GRAVITY_M_S2 * depth_m / 1000


def hub_temp_for_suction_c(
    suction_kpa: Floats, water_temp_c: Floats, ambient_kpa: float = STANDARD_ATMOSPHERE_KPA
) -> Floats:
    """How far a hub must cool in the air so that the water meets no more than that suction.

    Gives      hub temperature, deg C. Same shape as the arguments.
    Takes      suction_kpa   suction that is accepted, kPa
               water_temp_c  water, deg C
               ambient_kpa   outside pressure, kPa absolute
    Formula    Th = Tw / (1 - suction / p), kelvin; the inverse of `cooling_suction_kpa`
    Holds for  suction 0 to 35 kPa, water 0 to 40 deg C, ambient 60 to 110 kPa.
    Refuses    OutOfRange outside those limits.
    Worked     hub_temp_for_suction_c(8.608, 20) -> 47.2
    Source     ideal gas law at constant volume
    Basis      derived
    Checked    tests/published/test_ideal_gas.py
    """
    within("suction_kpa", suction_kpa, 0, 35, "kPa", GAS)
    within("water_temp_c", water_temp_c, 0, 40, "deg C", GAS)
    within("ambient_kpa", ambient_kpa, 60, 110, "kPa", GAS)
    return (water_temp_c + ZERO_CELSIUS_K) / (1 - suction_kpa / ambient_kpa) - ZERO_CELSIUS_K


def water_drawn_share(
    hub_temp_c: Floats,
    water_temp_c: Floats,
    depth_m: Floats,
    ambient_kpa: float = STANDARD_ATMOSPHERE_KPA,
) -> Floats:
    """Share of a cavity's air space that water takes when water, not air, can get in.

    Gives      share of the air space, 0 to 1; times the air space it is the water drawn in.
               Same shape as the arguments.
    Takes      hub_temp_c    air inside on entry, deg C
               water_temp_c  water, deg C
               depth_m       depth of the seal under the water line, m
               ambient_kpa   outside pressure, kPa absolute
    Formula    1 - (Tw / Th) p / (p + density g h)
    Holds for  hub 0 to 150 and not colder than the water, water 0 to 40 deg C, depth 0 to 3 m.
    Refuses    OutOfRange outside those limits.
    Worked     water_drawn_share(80, 20, 0.7) -> 0.2226
    Source     ideal gas law and hydrostatics
    Basis      derived
    Checked    tests/published/test_ideal_gas.py
    """
    suction_kpa = cooling_suction_kpa(hub_temp_c, water_temp_c, ambient_kpa)
    within("suction_kpa", suction_kpa, 0, 60, "kPa", "the hub must not be colder than the water")
    return 1 - (ambient_kpa - suction_kpa) / (ambient_kpa + head_kpa(depth_m))


def points_under_water(heights_mm: Mapping[str, float], depth_m: float, bow_wave_m: float) -> tuple[str, ...]:
    """Which named points of a unit the water line reaches, lowest first.

    Gives      names of the points at or under the water line, in order of height, then name.
    Takes      heights_mm  height of each point above the ground, mm
               depth_m     depth of the crossing, m
               bow_wave_m  allowance for the wave the moving vehicle pushes up, m
    Formula    height <= depth + allowance
    Holds for  depth 0 to 3 m, allowance 0 to 1 m, heights 0 to 4000 mm. A point exactly at the
               water line counts as reached.
    Refuses    OutOfRange outside those limits.
    Worked     len(points_under_water({'hub': 390, 'breather': 900}, 0.5, 0.1)) -> 1
    Source     geometry; the allowance is the caller's and is a judgement
    Basis      judgement
    Checked    tests/wear/mechanisms/test_water_entry.py
    """
    within("depth_m", depth_m, 0, 3, "m", "geometry")
    within("bow_wave_m", bow_wave_m, 0, 1, "m", "geometry")
    for name, height_mm in heights_mm.items():
        within(f"height of {name}", height_mm, 0, 4000, "mm", "geometry")
    line_mm = (depth_m + bow_wave_m) * MM_PER_M
    reached = [(height, name) for name, height in heights_mm.items() if height <= line_mm]
    return tuple(name for _, name in sorted(reached))


def water_in_oil_ppm(water_ml: Floats, oil_l: Floats, oil_kg_per_m3: float = 880.0) -> Floats:
    """Water content of a sump after that much water came in and mixed.

    Gives      content by weight, ppm. Same shape as the arguments.
    Takes      water_ml       water, mL
               oil_l          oil in the sump, L
               oil_kg_per_m3  density of the oil
    Formula    10^6 m_water / m_oil
    Holds for  water 0 to 5000 mL, oil 0.1 to 30 L, density 750 to 1000 kg/m3; all mixed in.
    Refuses    OutOfRange outside those limits.
    Worked     water_in_oil_ppm(1, 1) -> 1136
    Source     balance of masses
    Basis      derived
    Checked    tests/published/test_cantley.py
    """
    within("water_ml", water_ml, 0, 5000, "mL", "balance of masses")
    within("oil_l", oil_l, 0.1, 30, "L", "balance of masses")
    within("oil_kg_per_m3", oil_kg_per_m3, 750, 1000, "kg/m3", "balance of masses")
    return 1e6 * water_ml / (oil_kg_per_m3 * oil_l)


def water_life_ratio(water_ppm: Floats) -> Floats:
    """What water in the oil leaves of a roller bearing's life, 1 at 100 ppm.

    Gives      life over life at 100 ppm. Same shape as the argument.
    Takes      water_ppm  water by weight, ppm
    Formula    (100 / x)^0.6
    Holds for  25 to 400 ppm, the range tested. More than 400 ppm is an oil to change, not a life.
    Refuses    OutOfRange outside those limits; the paper's readers warn against extrapolating.
    Worked     water_life_ratio(400) -> 0.4353
    Source     Cantley, ASLE Transactions 20(3), 1977; equation and range read in a trade journal (2021)
    Basis      published
    Checked    tests/published/test_cantley.py
    """
    within("water_ppm", water_ppm, CANTLEY_LOW_PPM, CANTLEY_HIGH_PPM, "ppm", CANTLEY)
    ratio: Floats = (100.0 / water_ppm) ** 0.6
    return ratio
