"""Dirt in a rolling bearing: lubricant film, cleanliness, and the life they leave.

Written after ISO 281:2007 from published programs that agree; the standard was not read.
Fatigue only: rust and abrasive wear come on top, so the multipliers are lower bounds.
"""

from typing import Final

from tripplan.wear.mechanisms.arrays import Floats, within

ISO: Final = "after ISO 281:2007"
CAP: Final = 50.0
KAPPA_LOW: Final = 0.1
KAPPA_MOST: Final = 4.0
# upper end of the viscosity ratio: (ball constant, roller constant, exponent)
BRANCHES: Final = ((0.4, 2.2649, 1.3993, 0.054381), (1.0, 1.9987, 1.2348, 0.19087),
                   (KAPPA_MOST, 1.9987, 1.2348, 0.071739))  # fmt: skip
LIMIT_SHARE: Final[dict[str, float]] = {"ball": 22.0, "roller": 8.2}
# class: guide range of the contamination factor, mean diameter below 100 mm
CLEANLINESS: Final[dict[str, tuple[float, float]]] = {
    "extreme cleanliness": (1.0, 1.0),
    "high cleanliness": (0.6, 0.8),
    "normal cleanliness": (0.5, 0.6),
    "slight contamination": (0.3, 0.5),
    "typical contamination": (0.1, 0.3),
    "severe contamination": (0.0, 0.1),
    "very severe contamination": (0.0, 0.0),
}


def needed_viscosity_mm2_s(speed_r_min: Floats, mean_diameter_mm: Floats) -> Floats:
    """Thinnest oil, at running temperature, that still parts the rolling surfaces.

    Gives      viscosity, mm2/s. Same shape as the arguments.
    Takes      speed_r_min       turning speed, r/min
               mean_diameter_mm  half of bore plus outside diameter, mm
    Formula    45000 n^-0.83 D^-0.5 below 1000 r/min, else 4500 n^-0.5 D^-0.5
    Holds for  5 to 10 000 r/min, 10 to 1000 mm. The two forms differ by 2.3 % at 1000 r/min.
    Refuses    OutOfRange outside those limits.
    Worked     needed_viscosity_mm2_s(500, 55) -> 34.905
    Source     ISO 281:2007 equations 28 and 29, read in a published program
    Basis      published
    Checked    tests/published/test_iso_281.py
    """
    import numpy as np

    within("speed_r_min", speed_r_min, 5, 10_000, "r/min", ISO)
    within("mean_diameter_mm", mean_diameter_mm, 10, 1000, "mm", ISO)
    n = np.asarray(speed_r_min, dtype=float)
    slow, fast = 45_000 * n**-0.83, 4500 * n**-0.5
    return _plain(np.where(n < 1000, slow, fast) / np.sqrt(mean_diameter_mm))


def fatigue_limit_kn(static_rating_kn: Floats, kind: str) -> Floats:
    """Load under which a clean bearing would not pit at all.

    Gives      fatigue load limit C_u, kN. Same shape as the argument.
    Takes      static_rating_kn  static load rating C0, kN
               kind              "ball" or "roller"
    Formula    C0 / 22 ball, C0 / 8.2 roller
    Holds for  C0 1 to 2000 kN, mean diameter up to 100 mm.
    Refuses    OutOfRange outside those limits; KeyError for another kind.
    Worked     fatigue_limit_kn(60, "roller") -> 7.317
    Source     ISO 281:2007 B.18 to B.20, read in secondary sources
    Basis      published
    Checked    tests/published/test_iso_281.py
    """
    within("static_rating_kn", static_rating_kn, 1, 2000, "kN", ISO)
    return static_rating_kn / LIMIT_SHARE[kind]


def life_factor(kappa: Floats, contamination: Floats, limit_ratio: Floats, kind: str) -> Floats:
    """What film and dirt make of the rated life.

    Gives      factor a_ISO on the rated life, 0.1 to 50. Same shape as the arguments.
    Takes      kappa          oil viscosity over the needed one
               contamination  factor e_C: 1 spotless, 0 off the scale
               limit_ratio    fatigue load limit over load, C_u / P
               kind           "ball" or "roller"
    Formula    ball 0.1 (1 - (2.5671 - c/kappa^m)^0.83 r^(1/3))^-9.3,
               roller 0.1 (1 - (1.5859 - c/kappa^m) r^0.4)^-9.185, r = e_C C_u / P;
               50 where the bracket is not positive or the value is greater
    Holds for  kappa 0.1 to 100 (above 4 counts as 4, by the standard), e_C 0 to 1, ratio 0 to 5.
    Refuses    OutOfRange outside those limits; KeyError for another kind.
    Worked     life_factor(1, 0.55, 0.9146, "roller") -> 1.728
    Source     ISO 281:2007 equations 31 to 36, read in published programs (ball) and pages (roller);
               that roller and ball share the exponents m is from memory
    Basis      published
    Checked    tests/published/test_iso_281.py
    """
    import numpy as np

    within("kappa", kappa, KAPPA_LOW, 100, "1", ISO)
    within("contamination", contamination, 0, 1, "1", ISO)
    within("limit_ratio", limit_ratio, 0, 5, "1", ISO)
    ball, roller, exponent = _constants(np.minimum(kappa, KAPPA_MOST))
    thin = np.minimum(kappa, KAPPA_MOST) ** -exponent
    ratio = np.asarray(contamination, dtype=float) * limit_ratio
    brackets = {
        "ball": (1 - (2.5671 - ball * thin) ** 0.83 * ratio ** (1 / 3), -9.3),
        "roller": (1 - (1.5859 - roller * thin) * ratio**0.4, -9.185),
    }
    bracket, power = brackets[kind]
    safe = np.where(bracket > 0, bracket, 1.0)
    return _plain(np.minimum(CAP, np.where(bracket > 0, 0.1 * safe**power, CAP)))


def contamination_multiplier(base: Floats, leg: Floats, kappa: Floats, limit_ratio: Floats, kind: str) -> Floats:
    """How many times faster dirt on a leg uses up a bearing than its usual dirt does.

    Gives      wear multiplier, 1 when leg and base are equally clean. Same shape as the arguments.
    Takes      base         contamination factor e_C in normal use
               leg          contamination factor e_C on the leg, not above base
               kappa        oil viscosity over the needed one, the same for both
               limit_ratio  fatigue load limit over load, C_u / P
               kind         "ball" or "roller"
    Formula    a_ISO(base) / a_ISO(leg)
    Holds for  as `life_factor`. Depends strongly on kappa: always state it.
    Refuses    OutOfRange outside those limits.
    Worked     contamination_multiplier(0.55, 0.05, 1, 0.9146, "roller") -> 6.42
    Source     ratio of two ISO 281:2007 life factors
    Basis      derived
    Checked    tests/published/test_iso_281.py
    """
    clean = life_factor(kappa, base, limit_ratio, kind)
    return clean / life_factor(kappa, leg, limit_ratio, kind)


def _constants(kappa: Floats) -> tuple[Floats, Floats, Floats]:
    import numpy as np

    where = np.digitize(kappa, [BRANCHES[0][0], BRANCHES[1][0]])
    table = np.array(BRANCHES)[:, 1:]
    picked = table[where]
    return picked[..., 0], picked[..., 1], picked[..., 2]


def _plain(values: Floats) -> Floats:
    return float(values) if getattr(values, "ndim", 0) == 0 else values
