"""Grease life in hours: a screening rule for how soon a greased bearing wants fresh grease."""

from typing import Final

from tripplan.wear.mechanisms.arrays import Floats, within

RULE: Final = "simplified relubrication rule for lithium grease at 70 deg C"
DESIGN: Final[dict[str, float]] = {"ball": 10.0, "needle": 5.0, "roller": 1.0}
CEILING_HOURS: Final = 30_000.0
CONTAMINATION: Final[dict[str, float]] = {
    "light": 1.0, "heavy": 0.7, "light abrasive": 0.4, "heavy abrasive": 0.2,
}  # fmt: skip
MOISTURE: Final[dict[str, float]] = {
    "dry": 1.0, "humid": 0.7, "condensation": 0.4, "water on housing": 0.1,
}  # fmt: skip
# (upper end, factor)
TEMPERATURE: Final = ((66.0, 1.0), (79.4, 0.5), (93.3, 0.2), (150.0, 0.1))
VIBRATION: Final = ((5.08, 1.0), (10.16, 0.6), (100.0, 0.3))


def relubrication_hours(speed_r_min: Floats, bore_mm: Floats, kind: str, correction: Floats = 1.0) -> Floats:
    """Running hours after which a greased bearing wants fresh grease.

    Gives      hours, 30 000 at the most. Same shape as the arguments.
    Takes      speed_r_min  turning speed, r/min
               bore_mm      bore of the bearing, mm
               kind         "ball", "needle" (also cylindrical) or "roller" (tapered, spherical)
               correction   product of the factors for heat, dirt, water and shaking
    Formula    K F (14 10^6 / (n sqrt(d)) - 4 d), K = 10, 5 or 1
    Holds for  20 to 6000 r/min, 10 to 200 mm, correction 0.0001 to 1, bracket positive.
    Refuses    OutOfRange outside those limits; KeyError for another kind.
    Worked     relubrication_hours(1500, 50, "ball") -> 11199.3
    Source     a bearing trade page and a published program, read; screening only
    Basis      published
    Checked    tests/published/test_relubrication.py
    """
    within("speed_r_min", speed_r_min, 20, 6000, "r/min", RULE)
    within("bore_mm", bore_mm, 10, 200, "mm", RULE)
    within("correction", correction, 1e-4, 1, "1", RULE)
    bracket = 14e6 / (speed_r_min * bore_mm**0.5) - 4 * bore_mm
    within("hours at correction 1", bracket, 0, 1e9, "h", RULE)
    return _at_most(DESIGN[kind] * correction * bracket, CEILING_HOURS)


def relubrication_correction(temp_c: float, contamination: str, moisture: str, vibration_mm_s: float) -> float:
    """How much of the relubrication interval heat, dirt, water and shaking leave.

    Gives      factor, 0 to 1; 1 = clean, dry, cool and smooth. One number out.
    Takes      temp_c          outer ring, deg C
               contamination   light, heavy, light abrasive or heavy abrasive
               moisture        dry (below 80 % humidity), humid, condensation or water on housing
               vibration_mm_s  peak velocity, mm/s
    Formula    Ft Fc Fm Fv: four tables of steps (66, 79, 93 deg C; 5.08, 10.16 mm/s)
    Holds for  -20 to 150 deg C, 0 to 100 mm/s. The factors are steps by the source.
    Refuses    OutOfRange outside those limits; KeyError for another word.
    Worked     relubrication_correction(60, "heavy abrasive", "water on housing", 20) -> 0.006
    Source     values read in secondary sources; names of the classes from memory
    Basis      published
    Checked    tests/published/test_relubrication.py
    """
    within("temp_c", temp_c, -20, TEMPERATURE[-1][0], "deg C", RULE)
    within("vibration_mm_s", vibration_mm_s, 0, VIBRATION[-1][0], "mm/s", RULE)
    heat = next(factor for upper, factor in TEMPERATURE if temp_c <= upper)
    shaking = next(factor for upper, factor in VIBRATION if vibration_mm_s <= upper)
    return heat * shaking * CONTAMINATION[contamination] * MOISTURE[moisture]


def _at_most(value: Floats, ceiling: float) -> Floats:
    if isinstance(value, int | float):
        return min(value, ceiling)
    import numpy as np

    return np.minimum(value, ceiling)
