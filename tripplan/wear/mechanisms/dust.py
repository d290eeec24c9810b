"""Dust: how much a road gives off, how much reaches the rig, and what it uses up.

Chain: silt, speed and moisture give an emission; a distance behind the vehicle in front
gives a concentration; the air drawn in takes it to the filter as grams.
"""

from typing import Final, Literal

from tripplan.records.units import KM_PER_MILE
from tripplan.wear.mechanisms.arrays import Floats, at_least_one, within

Size = Literal["PM2.5", "PM10", "PM30"]
AP42: Final = "US EPA AP-42 section 13.2.2, public unpaved roads"
G_PER_KM_PER_LB_PER_MILE: Final = 281.9
# size: (k lb per vehicle-mile, exponent of moisture, exponent of speed, exhaust and tyre part)
EMISSION: Final[dict[Size, tuple[float, float, float, float]]] = {
    "PM2.5": (0.18, 0.2, 0.5, 0.00036),
    "PM10": (1.8, 0.2, 0.5, 0.00047),
    "PM30": (6.0, 0.3, 0.3, 0.00047),
}
SPEED_LOW_KMH: Final = 10 * KM_PER_MILE
SPEED_HIGH_KMH: Final = 55 * KM_PER_MILE
AMBIENT_MG_PER_M3: Final = 0.1
DIRT_ROAD_MG_PER_M3: Final = 10.0
DIRT_SHARE_NORMAL: Final = 0.05
NORMAL_MG_PER_M3: Final = DIRT_SHARE_NORMAL * DIRT_ROAD_MG_PER_M3 + (1 - DIRT_SHARE_NORMAL) * AMBIENT_MG_PER_M3
WAKE_START_M2: Final = 24.0
WAKE_GROWTH_M2_PER_M: Final = 0.36
FILTER_CAPACITY_G: Final = 250.0
FILTER_AIR_M3_PER_KM: Final = 3.0
FILTER_INTERVAL_KM: Final = 10_000.0
BALANCE: Final = "balance of masses"
WAKE: Final = "box in the wake, judgement of this project"


def emission_g_per_km(silt_percent: Floats, speed_kmh: Floats, moisture_percent: Floats, size: Size = "PM30") -> Floats:
    """Dust one vehicle throws up on each km of an unsealed road.

    Gives      emission, g per vehicle-km. Arrays: same shape as the arguments.
    Takes      silt_percent      share of the loose surface finer than 75 micrometres, %
               speed_kmh         mean vehicle speed, km/h
               moisture_percent  moisture of the surface material, %
               size              PM2.5, PM10 or PM30 (all that stays in the air a while)
    Formula    E = k (s/12) (S/30)^d / (M/0.5)^c - C, lb per vehicle-mile, S in mph; x 281.9
    Holds for  silt 1.8 to 35 %, speed 10 to 55 mph (16.1 to 88.5 km/h), moisture 0.03 to 13 %.
    Refuses    OutOfRange outside those limits; it never clips.
    Worked     emission_g_per_km(6.4, 60, 0.5) -> 962.7
    Source     US EPA AP-42 section 13.2.2; coefficients read in a public program, not in the page
    Basis      published
    Checked    tests/published/test_ap42.py
    """
    within("silt_percent", silt_percent, 1.8, 35, "%", AP42)
    within("speed_kmh", speed_kmh, SPEED_LOW_KMH, SPEED_HIGH_KMH, "km/h", AP42)
    within("moisture_percent", moisture_percent, 0.03, 13, "%", AP42)
    k, c, d, wear = EMISSION[size]
    speed_mph = speed_kmh / KM_PER_MILE
    pounds = k * (silt_percent / 12) * (speed_mph / 30) ** d / (moisture_percent / 0.5) ** c - wear
    return pounds * G_PER_KM_PER_LB_PER_MILE


def following_mg_per_m3(emission_g_per_km: Floats, following_m: Floats) -> Floats:
    """Dust in the air at the rig when another vehicle drives that far ahead.

    Gives      concentration, mg per cubic metre, background included. Same shape as the arguments.
    Takes      emission_g_per_km  dust thrown up by the vehicle ahead, g/km
               following_m        distance to it, m
    Formula    c = 0.1 + E / (24 + 0.36 x): the emission spread evenly over a wake section that is
               24 square metres at the vehicle and 60 at 100 m
    Holds for  emission 0 to 20 000 g/km, distance 5 to 1000 m; still air, no settling: a high
               estimate far back, a rough one everywhere.
    Refuses    OutOfRange outside those limits.
    Worked     following_mg_per_m3(1000, 100) -> 16.8
    Source     none for the section; this project's estimate. Background 0.1: a filter catalogue, read
    Basis      judgement
    Checked    tests/wear/mechanisms/test_dust.py
    """
    within("emission_g_per_km", emission_g_per_km, 0, 20_000, "g/km", WAKE)
    within("following_m", following_m, 5, 1000, "m", WAKE)
    return AMBIENT_MG_PER_M3 + emission_g_per_km / (WAKE_START_M2 + WAKE_GROWTH_M2_PER_M * following_m)


def filter_multiplier(concentration_mg_per_m3: Floats, capacity_g: float = FILTER_CAPACITY_G) -> Floats:
    """How many times faster an air filter fills than its usual interval allows for.

    Gives      wear multiplier, 1 = the element lasts its usual interval. Same shape as the argument.
    Takes      concentration_mg_per_m3  dust in the air at the intake
               capacity_g               dust the element holds
    Formula    max(1, c V L / capacity), V = 3 m3/km, usual interval L = 10 000 km
    Holds for  0 to 2000 mg/m3, capacity 20 to 3000 g; no pre-cleaner.
    Refuses    OutOfRange outside those limits.
    Worked     filter_multiplier(50) -> 6.0
    Source     balance of masses; V, L and capacity are assumptions of this project
    Basis      judgement
    Checked    tests/wear/mechanisms/test_dust.py
    """
    within("concentration_mg_per_m3", concentration_mg_per_m3, 0, 2000, "mg/m3", BALANCE)
    within("capacity_g", capacity_g, 20, 3000, "g", BALANCE)
    loading_g_per_km = concentration_mg_per_m3 * FILTER_AIR_M3_PER_KM / 1000
    return at_least_one(loading_g_per_km * FILTER_INTERVAL_KM / capacity_g)


def exposed_multiplier(concentration_mg_per_m3: Floats, exponent: float) -> Floats:
    """How many times faster dust uses up exposed lubricant, joints, seals and belts.

    Gives      wear multiplier, 1 at or below normal dust. Same shape as the concentration.
    Takes      concentration_mg_per_m3  dust in the air at the rig
               exponent                 0.2 / 0.3 / 0.4 as low / typical / high
    Formula    max(1, c / 0.595)^q; 0.595 mg/m3 is 5 % of the km on a dirt road at 10, the rest at 0.1
    Holds for  0 to 2000 mg/m3, exponent 0.1 to 1.
    Refuses    OutOfRange outside those limits.
    Worked     exposed_multiplier(10, 0.3) -> 2.3
    Source     exponent set so that a dirt road (10 mg/m3) and no visibility (883) fall near the
               relubrication factors 0.4 and 0.2 for light and heavy abrasive dust (read, secondary)
    Basis      judgement
    Checked    tests/published/test_relubrication.py
    """
    within("concentration_mg_per_m3", concentration_mg_per_m3, 0, 2000, "mg/m3", WAKE)
    within("exponent", exponent, 0.1, 1, "1", WAKE)
    return at_least_one(concentration_mg_per_m3 / NORMAL_MG_PER_M3) ** exponent
