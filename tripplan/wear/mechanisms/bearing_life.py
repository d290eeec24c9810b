"""Rolling bearing life: rating life, reliability, risk of a trip, bearings together.

Written after ISO 281 from secondary sources that agree; the standard itself was not read.
"""

import math
from collections.abc import Sequence
from typing import Final

from tripplan.wear.mechanisms.arrays import Floats, within
from tripplan.wear.mechanisms.load import BALL_EXPONENT, ROLLER_EXPONENT

ISO: Final = "after ISO 281"
SLOPE: Final = 1.5
FLOOR_SHARE: Final[dict[int, float]] = {1990: 0.0, 2007: 0.05}
EXPONENT: Final[dict[str, float]] = {"ball": BALL_EXPONENT, "roller": ROLLER_EXPONENT}
LN_RATED: Final = math.log(100 / 90)


def rating_life_mrev(load_rating_kn: Floats, load_kn: Floats, kind: str) -> Floats:
    """Revolutions nine of ten such bearings reach, in clean oil, before they pit.

    Gives      life, million revolutions. Same shape as the arguments.
    Takes      load_rating_kn  dynamic load rating C, kN
               load_kn         equivalent load P, kN
               kind            "ball" or "roller"
    Formula    (C / P)^p, p = 3 ball, 10/3 roller
    Holds for  C 1 to 2000 kN, P 0.01 to 1000 kN, C/P 2 to 100.
    Refuses    OutOfRange outside those limits; KeyError for another kind.
    Worked     rating_life_mrev(25.5, 5, "ball") -> 132.65
    Source     ISO 281 clauses 5 to 7, read in secondary sources
    Basis      published
    Checked    tests/published/test_iso_281.py
    """
    within("load_rating_kn", load_rating_kn, 1, 2000, "kN", ISO)
    within("load_kn", load_kn, 0.01, 1000, "kN", ISO)
    within("load ratio C/P", load_rating_kn / load_kn, 2, 100, "1", ISO)
    life: Floats = (load_rating_kn / load_kn) ** EXPONENT[kind]
    return life


def life_km(life_mrev: Floats, rollout_m: Floats) -> Floats:
    """That life as road distance at the wheel.

    Gives      distance, km. Same shape as the arguments.
    Takes      life_mrev  life, million revolutions
               rollout_m  distance the loaded tyre rolls in one turn, m
    Formula    1000 L U
    Holds for  life 0 to 1e9, roll-out 1 to 4 m.
    Refuses    OutOfRange outside those limits.
    Worked     life_km(216, 2.4) -> 518400
    Source     geometry
    Basis      derived
    Checked    tests/published/test_iso_281.py
    """
    within("life_mrev", life_mrev, 0, 1e9, "million rev", ISO)
    within("rollout_m", rollout_m, 1, 4, "m", ISO)
    return 1000 * life_mrev * rollout_m


def reliability_factor(reliability_percent: Floats, edition: int = 2007) -> Floats:
    """What is left of the rated life when more than nine of ten must survive.

    Gives      factor a1 on the rated life, 1 at 90 %. Same shape as the reliability.
    Takes      reliability_percent  share that must survive, %
               edition              1990 or 2007 edition of the standard
    Formula    (1 - Cg) (ln(100/S) / ln(100/90))^(1/1.5) + Cg, Cg = 0 in 1990, 0.05 in 2007
    Holds for  90 to 99.95 % (2007), 90 to 99 % (1990).
    Refuses    OutOfRange outside those limits; KeyError for another edition.
    Worked     reliability_factor(95) -> 0.64
    Source     ISO/TR 1281-2, closed form from memory; tables read in secondary sources
    Basis      published
    Checked    tests/published/test_iso_281.py
    """
    floor = FLOOR_SHARE[edition]
    within("reliability_percent", reliability_percent, 90, 99.95 if edition == 2007 else 99, "%", ISO)
    if isinstance(reliability_percent, int | float):
        logarithm: Floats = math.log(100 / reliability_percent)
    else:
        import numpy as np

        logarithm = np.log(100 / reliability_percent)
    factor: Floats = (1 - floor) * (logarithm / LN_RATED) ** (1 / SLOPE) + floor
    return factor


def survival(km: Floats, l10_km: Floats, slope: float = SLOPE) -> Floats:
    """Chance that a bearing is still good after that distance.

    Gives      chance, 0 to 1; 0.9 at the rated life. Same shape as the arguments.
    Takes      km      distance so far, km counted with wear
               l10_km  rated life, km
               slope   Weibull slope: 1.5 in the standard, 1.1 to 2 in the field
    Formula    exp(-ln(1/0.9) (x / L10)^slope)
    Holds for  0 to 10^7 km, L10 1000 to 10^8 km, slope 1 to 4.
    Refuses    OutOfRange outside those limits.
    Worked     survival(200000, 400000) -> 0.96343
    Source     Weibull life through the rated point, from memory
    Basis      derived
    Checked    tests/published/test_iso_281.py
    """
    within("km", km, 0, 1e7, "km", ISO)
    within("l10_km", l10_km, 1e3, 1e8, "km", ISO)
    within("slope", slope, 1, 4, "1", ISO)
    chance: Floats = 0.9 ** ((km / l10_km) ** slope)
    return chance


def trip_risk(done_km: Floats, ahead_km: Floats, l10_km: Floats, slope: float = SLOPE) -> Floats:
    """Chance that a bearing still good today fails before the trip ends.

    Gives      chance, 0 to 1. Same shape as the arguments.
    Takes      done_km   distance so far, km counted with wear
               ahead_km  distance of the trip, km counted with wear
               l10_km    rated life, km
               slope     Weibull slope
    Formula    1 - R(done + ahead) / R(done)
    Holds for  as `survival`.
    Refuses    OutOfRange outside those limits.
    Worked     trip_risk(200000, 48000, 400000) -> 0.014085
    Source     conditional Weibull reliability, from memory
    Basis      derived
    Checked    tests/published/test_iso_281.py
    """
    return 1 - survival(done_km + ahead_km, l10_km, slope) / survival(done_km, l10_km, slope)


def together_l10_km(l10_km: Sequence[float], slope: float = SLOPE) -> float:
    """Rated life of several bearings that must all survive.

    Gives      distance, km, always below the shortest. One number out.
    Takes      l10_km  rated life of each, km
               slope   Weibull slope, the same for all
    Formula    (sum of L^-slope)^(-1/slope)
    Holds for  each 1000 to 10^8 km, slope 1 to 4, at least one bearing.
    Refuses    OutOfRange outside those limits.
    Worked     together_l10_km([400000] * 8) -> 100000
    Source     product of Weibull reliabilities, from memory
    Basis      derived
    Checked    tests/published/test_iso_281.py
    """
    within("number of bearings", len(l10_km), 1, 1000, "1", ISO)
    within("slope", slope, 1, 4, "1", ISO)
    for life in l10_km:
        within("l10_km", life, 1e3, 1e8, "km", ISO)
    return float(sum(life**-slope for life in l10_km) ** (-1 / slope))
