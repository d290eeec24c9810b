"""Where the graded rows marked `derived` come from: the models at one typical case a grade.

A grade is a word, so each row needs an assumed case (a height of washboard, a load ratio).
Those cases are judgements and stand here in the open. A test holds `multipliers.csv` to
these functions.
"""

import math
from typing import Final

from tripplan.wear.mechanisms import dust, load, roughness
from tripplan.wear.mechanisms.quarter_car import Side
from tripplan.wear.mechanisms.sensitivity import DRAWN_IN, SHARE, Bounds, reaching

WASHBOARD_M: Final = 0.7
WASHBOARD_KMH: Final = 60.0
WASHBOARD_MM: Final[dict[str, float]] = {"light": 3.5, "moderate": 8.5, "severe": 17.0}
WASHBOARD_SIDES: Final[tuple[tuple[Side, float], ...]] = (("body", 3.0), ("axle", 3.0))
SURFACES: Final = ("gravel", "rock", "sand", "track")
NORMAL_AIR_C: Final = 30.0
AIR_C: Final[dict[str, float]] = {"warm": 34.0, "hot": 41.5, "extreme": 50.0}
DOUBLING_C: Final = (30.0, 15.0, 10.0)
# dust in the air that is drawn in, mg/m3, as low, typical, high
DRAWN_IN_AIR: Final[dict[str, tuple[float, float, float]]] = {
    "light": (5.0, 10.0, 50 / 3), "heavy": (62.5 / 3, 100 / 3, 50.0), "bulldust": (100 / 3, 200 / 3, 400 / 3),
}  # fmt: skip
# (ratio of loads, exponent) as low, typical, high
HEAVY: Final = ((1.05, load.BALL_EXPONENT), (1.10, load.ROLLER_EXPONENT), (1.20, load.ROLLER_EXPONENT))
TOWING: Final = ((1.03, load.BALL_EXPONENT), (1.07, load.ROLLER_EXPONENT), (1.15, load.ROLLER_EXPONENT))


def surface_effect(surface: str) -> Bounds:
    """Wear from a kind of surface without washboard, at an item fully open to shaking.

    Gives      low, typical and high multiplier.
    Takes      surface  gravel, rock, sand or track
    Formula    (IRI / 3)^0.5, 0.8, 1.1 with IRI 4, 8, 6, 6 m/km
    Holds for  those four words.
    Refuses    KeyError for another word.
    Worked     surface_effect("track").typical -> 1.74
    Source     `roughness.roughness_multiplier`; the indexes are judgements
    Basis      judgement
    Checked    tests/published/test_graded_rows.py
    """
    iri = roughness.SURFACE_IRI[surface]
    powers = roughness.LEVEL_EXPONENTS
    return Bounds(*(float(roughness.roughness_multiplier(iri, power)) for power in powers))


def corrugation_effect(grade: str) -> Bounds:
    """Wear from washboard on gravel over that of the gravel, at an item fully open to shaking.

    Gives      low, typical and high multiplier.
    Takes      grade  light, moderate or severe
    Formula    typical = (equivalent index with washboard / without)^0.8, geometric mean of the two
               sides of the spring; ln EF = root of squares of 0.3 ln ratio (exponent 0.5 to 1.1)
               and half the gap between the sides; washboard 3.5, 8.5 or 17 mm high (index 5, 8, 14),
               0.7 m apart, at 60 km/h on gravel of 4 m/km
    Holds for  those three words.
    Refuses    KeyError for another word.
    Worked     corrugation_effect("moderate").typical -> 1.75
    Source     `roughness.equivalent_iri`; heights are judgements: an index of 8 to 15 is "corrugated" in
               World Bank Technical Paper 46 (from memory), and washboard grows to a few cm (read)
    Basis      judgement
    Checked    tests/published/test_graded_rows.py
    """
    one, other = (math.log(_washboard_ratio(WASHBOARD_MM[grade], *side)) for side in WASHBOARD_SIDES)
    low, middle, high = roughness.LEVEL_EXPONENTS
    mean = (one + other) / 2
    doubt = math.hypot((high - low) / 2 * mean, middle * (one - other) / 2)
    return Bounds(*(math.exp(middle * mean + step * doubt) for step in (-1, 0, 1)))


def heat_effect(grade: str) -> Bounds:
    """Wear from hot air, at an item fully open to heat.

    Gives      low, typical and high multiplier.
    Takes      grade  warm, hot or extreme
    Formula    2^(rise / 30, 15, 10); the part is as much hotter as the air is above 30 deg C,
               taken at 34, 41.5 and 50 deg C, the middles of the grades
    Holds for  those three words.
    Refuses    KeyError for another word.
    Worked     heat_effect("extreme").typical -> 2.52
    Source     grease rule as typical, oil rule as high (both read); one for one is a judgement
    Basis      judgement
    Checked    tests/published/test_graded_rows.py
    """
    steps = DOUBLING_C
    rise_c = AIR_C[grade] - NORMAL_AIR_C
    return Bounds(*(2 ** (rise_c / step) for step in steps))


def load_effect(condition: str) -> Bounds:
    """Wear from a heavy load, or from a trailer, at an item fully open to load.

    Gives      low, typical and high multiplier.
    Takes      condition  "load" (near the permitted mass) or "towing"
    Formula    ratio^3, ratio^(10/3), ratio^(10/3); ratios 1.05, 1.1, 1.2 or 1.03, 1.07, 1.15
    Holds for  those two words.
    Refuses    KeyError for another word.
    Worked     load_effect("load").typical -> 1.37
    Source     `load.load_multiplier`; the ratios are judgements
    Basis      judgement
    Checked    tests/published/test_graded_rows.py
    """
    cases = {"load": HEAVY, "towing": TOWING}[condition]
    return Bounds(*(float(load.load_multiplier(ratio, power)) for ratio, power in cases))


def drawn_in_effect(grade: str) -> Bounds:
    """How much faster an air cleaner fills than in its usual 10 000 km.

    Gives      low, typical and high multiplier.
    Takes      grade  light, heavy or bulldust
    Formula    `dust.filter_multiplier` at 5, 10, 17 / 21, 33, 50 / 33, 67, 133 mg/m3
    Holds for  those three words.
    Refuses    KeyError for another word.
    Worked     drawn_in_effect("heavy").typical -> 4.0
    Source     a dirt road has 10 mg/m3 (a filter catalogue), close behind another vehicle 160 (Goossens and Buck
               2014, abstract); the mixes are judgements: one km in seven close behind another gives 33, and makers
               who look at 2500 km where dusty and at 10 000 or 15 000 elsewhere say 4 to 6
    Basis      judgement
    Checked    tests/published/test_graded_rows.py
    """
    return Bounds(*(float(dust.filter_multiplier(air)) for air in DRAWN_IN_AIR[grade]))


def derived_rows() -> dict[tuple[str, str, str], Bounds]:
    """Every graded row the models can give, by condition, grade and sensitivity.

    Gives      low, typical and high multiplier of each row, unrounded.
    Takes      nothing.
    Formula    the effects above, through `sensitivity.reaching`
    Holds for  surface, corrugation, heat, load and towing; dust that is drawn in.
    Refuses    nothing.
    Worked     derived_rows()["load", "heavy", "high"].typical -> 1.37
    Source     the functions above
    Basis      judgement
    Checked    tests/published/test_graded_rows.py
    """
    effects = {("surface", word): surface_effect(word) for word in SURFACES}
    effects |= {("corrugation", word): corrugation_effect(word) for word in WASHBOARD_MM}
    effects |= {("heat", word): heat_effect(word) for word in AIR_C}
    effects |= {("load", "heavy"): load_effect("load"), ("towing", "yes"): load_effect("towing")}
    found = {
        (condition, grade, sensitivity): reaching(effect, sensitivity)
        for (condition, grade), effect in effects.items()
        for sensitivity in SHARE
        if sensitivity != DRAWN_IN
    }
    return found | {("dust", word, DRAWN_IN): reaching(drawn_in_effect(word), DRAWN_IN) for word in DRAWN_IN_AIR}


def _washboard_ratio(height_mm: float, side: Side, miner: float) -> float:
    index = roughness.SURFACE_IRI["gravel"]
    with_it, without = (
        float(roughness.equivalent_iri(index, height, WASHBOARD_M, WASHBOARD_KMH, side, miner))
        for height in (height_mm, 0.0)
    )
    return with_it / without
