"""From the numbers a leg gives to the wear multiplier of one condition at one item.

`cause_of` is the planner's only door to the physical models. It answers None when the leg
does not give what a model needs (`NEEDS`); the graded table row is used then. A value a
model was not made for raises `OutOfRange`, which names the column: nothing is clipped.

The arrays behind the models are imported only when a leg gives such a number.
"""

from collections.abc import Callable, Hashable
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from tripplan.records.facts_in import Leg
from tripplan.wear.mechanisms.arrays import within
from tripplan.wear.mechanisms.sensitivity import DRAWN_IN, SHARE, Bounds, reaching

if TYPE_CHECKING:
    from tripplan.wear.mechanisms.quarter_car import Side

Input = tuple[str, float, str]
Found = tuple[Bounds, str, tuple[Input, ...], str, str]

NEEDS: Final[dict[str, tuple[str, ...]]] = {
    "dust": ("silt_percent", "moisture_percent", "following_m"),
    "corrugation": ("corrugation_mm", "corrugation_wavelength_m"),
    "surface": ("roughness_iri_m_per_km",),
    "heat": ("sump_temp_c",),
    "load": ("wheel_load_factor",),
    "towing": ("trailer_mass_kg", "vehicle_mass_kg"),
}
NEEDS_BRAKE: Final = ("wheel_load_factor", "descent_m")
CARRIED: Final = "1: the corrugation height is given, so the corrugation part carries the whole surface"
NORMAL_SUMP_C: Final = 100.0
DOUBLING_C: Final = (15.0, 10.0, 7.5)
EXPOSED_EXPONENTS: Final = (0.2, 0.3, 0.4)
CAPACITIES_G: Final = (375.0, 250.0, 500.0 / 3)
BRAKED_SHARES: Final = (0.25, 0.5, 1.0)
TOWING_EXPONENTS: Final = (1 / 3, 2 / 3, 1.0)
SPREAD_OF_EXPONENT: Final = (2 / 3, 1.0, 4 / 3)
# family: exponent on the ratio of loads; brakes go by the energy they take (`_brake`)
LOAD_EXPONENT: Final[dict[str, float]] = {
    "bearing": 10 / 3, "joint": 3, "bush": 3, "spring": 3, "structure": 3, "fastener": 3,
    "mechanism": 2, "body": 2, "damper": 2, "tyre": 1.5, "seal": 1, "fluid": 1, "filter": 1,
    "belt": 1, "hose": 1, "electrical": 1,
}  # fmt: skip


class Cause(Struct, frozen=True, kw_only=True):
    """One condition's wear multiplier from a physical model, and what went into it.

    `inputs` holds (name, value, unit).
    """

    condition: str
    formula: str
    inputs: tuple[Input, ...]
    typical: float
    low: float
    high: float
    basis: str
    source: str


def cause_of(condition: str, sensitivity: str, family: str, leg: Leg) -> Cause | None:
    """The multiplier of one condition on a leg for an item, or None to use the graded row.

    `sensitivity` is low, medium or high; `family` a word of the catalogue. Roughness has a level
    for each sensitivity; of the other models a fifth, a half or all of the excess over 1 reaches
    the item: judgement, and said in the formula. Dust that is drawn in with the air is weighed. Mud, low range and water have no model fed by a
    leg. Raises OutOfRange outside a model's range.
    """
    found = _found(condition, sensitivity, family, leg)
    if found is None:
        return None
    effect, formula, inputs, basis, source = found
    share = 1.0 if condition in SHAKEN else SHARE[sensitivity]
    low, typical, high = effect if condition in SHAKEN else reaching(effect, sensitivity)
    reach = "" if share == 1 else f"; {share:g} of its excess over 1"
    return Cause(
        condition=condition, formula=formula + reach, inputs=inputs, low=low, typical=typical,
        high=high, basis=basis, source=source,
    )  # fmt: skip


def _found(condition: str, sensitivity: str, family: str, leg: Leg) -> Found | None:
    if condition in SHAKEN:
        return SHAKEN[condition](family, leg, sensitivity)
    model = MODELS.get(condition)
    return model(DRAWN_IN if sensitivity == DRAWN_IN else family, leg) if model else None


def given(leg: Leg, columns: tuple[str, ...]) -> tuple[float, ...] | None:
    """The values of those columns of a leg, or None when any of them is empty."""
    values = tuple(getattr(leg, column) for column in columns)
    return None if any(value is None for value in values) else values


def goes_by(condition: str, family: str) -> Hashable:
    """What of an item's family the model of a condition goes by; families that agree in it wear alike."""
    if condition in SHAKEN:
        from tripplan.wear.mechanisms.roughness import WEARS

        return WEARS[family]
    return {"heat": family == "fluid", "load": family}.get(condition)


def _dust(family: str, leg: Leg) -> Found | None:
    values = given(leg, NEEDS["dust"])
    if values is None:
        return None
    emission, air = _dust_in_air(leg.speed_kmh, *values)
    inputs = (("silt", values[0], "%"), ("moisture", values[1], "%"), ("speed", leg.speed_kmh, "km/h"),
              ("following distance", values[2], "m"), ("dust thrown up", emission, "g/km"),
              ("dust in the air", air, "mg/m3"))  # fmt: skip
    source = "AP-42 13.2.2 for the dust thrown up; wake, exponent and filter size are judgement"
    from tripplan.wear.mechanisms import dust

    if family == DRAWN_IN:
        effect = Bounds(*(float(dust.filter_multiplier(air, grams)) for grams in CAPACITIES_G))
        formula = "grams on the element over what it holds in its usual 10 000 km"
        return effect, formula, inputs, "judgement", source
    effect = Bounds(*(float(dust.exposed_multiplier(air, power)) for power in EXPOSED_EXPONENTS))
    return effect, "(dust in the air / 0.595 mg/m3)^0.3", inputs, "judgement", source


@lru_cache(maxsize=4096)
def _dust_in_air(speed_kmh: float, silt: float, moisture: float, following_m: float) -> tuple[float, float]:
    from tripplan.wear.mechanisms import dust

    emission = float(dust.emission_g_per_km(silt, speed_kmh, moisture))
    return emission, float(dust.following_mg_per_m3(emission, following_m))


def _surface(family: str, leg: Leg, sensitivity: str) -> Found | None:
    if given(leg, NEEDS["corrugation"]) is not None:
        source = "roughness and washboard are one vibration, counted once"
        return Bounds(1.0, 1.0, 1.0), CARRIED, (), "derived", source
    if leg.roughness_iri_m_per_km is None:
        return None
    return _roughness(family, leg, sensitivity, leg.roughness_iri_m_per_km, 0.0, 1.0)


def _corrugation(family: str, leg: Leg, sensitivity: str) -> Found | None:
    values = given(leg, NEEDS["corrugation"])
    if values is None:
        return None
    from tripplan.wear.mechanisms.roughness import SURFACE_IRI

    iri = leg.roughness_iri_m_per_km
    return _roughness(family, leg, sensitivity, SURFACE_IRI[leg.surface] if iri is None else iri, *values)


def _roughness(
    family: str, leg: Leg, sensitivity: str, iri: float, height_mm: float, wavelength_m: float
) -> Found:  # fmt: skip
    from tripplan.wear.mechanisms.roughness import WEARS, level

    side, miner = WEARS[family]
    equivalent = _equivalent(iri, height_mm, wavelength_m, leg.speed_kmh, side, miner)
    inputs: tuple[Input, ...] = (
        ("speed", leg.speed_kmh, "km/h"),
        ("roughness under the washboard", iri, "m/km"),
        ("washboard height", height_mm, "mm"),
        ("washboard wavelength", wavelength_m, "m"),
        ("equivalent roughness", equivalent, "m/km"),
    )
    formula = f"{LEVEL_WORDS[sensitivity]}, {side} side, fatigue exponent {miner:.3g}"
    source = "quarter car with the reference-car values, Miner; level between published maintenance models"
    return level(equivalent, sensitivity), formula, inputs, "judgement", source


@lru_cache(maxsize=4096)
def _equivalent(
    iri: float, height_mm: float, wavelength_m: float, speed_kmh: float, side: "Side", miner: float
) -> float:  # fmt: skip
    from tripplan.wear.mechanisms.roughness import equivalent_iri

    return float(equivalent_iri(iri, height_mm, wavelength_m, speed_kmh, side, miner))


def _heat(family: str, leg: Leg) -> Found | None:
    """Oil temperature speaks for fluids only; air temperature alone goes by the graded row."""
    if leg.sump_temp_c is None or family != "fluid":
        return None
    from tripplan.wear.mechanisms import heat

    hot_c = max(leg.sump_temp_c, NORMAL_SUMP_C)
    effect = Bounds(*(float(heat.oil_ageing_ratio(hot_c, NORMAL_SUMP_C, step)) for step in DOUBLING_C))
    inputs = (("oil temperature", leg.sump_temp_c, "deg C"), ("normal", NORMAL_SUMP_C, "deg C"))
    source = "rate doubles per 10 deg C, a trade rule; 100 deg C as normal is judgement"
    return effect, "2^((oil temperature - 100) / 10), 1 below 100", inputs, "derived", source


def _load(family: str, leg: Leg) -> Found | None:
    if family == "brake":
        return _brake(leg)
    ratio = leg.wheel_load_factor
    if ratio is None:
        return None
    from tripplan.wear.mechanisms import load

    power = LOAD_EXPONENT[family]
    within("wheel_load_factor", ratio, 0.2, 3, "1", load.RATING)
    powers = (power * part for part in SPREAD_OF_EXPONENT)
    effect = Bounds(*(float(load.load_multiplier(max(ratio, 1.0), exponent)) for exponent in powers))
    formula = f"(load now / usual load)^{power:.3g}, 1 below usual"
    inputs = (("load over usual load", ratio, "1"),)
    if family == "bearing":
        return effect, formula, inputs, "derived", "rating life, after ISO 281"
    return effect, formula, inputs, "judgement", "power law; the exponent is judgement"


def _brake(leg: Leg) -> Found | None:
    values = given(leg, NEEDS_BRAKE)
    if values is None:
        return None
    from tripplan.wear.mechanisms import load

    ratio, fall = values[0], values[1] / leg.distance_km
    within("wheel_load_factor", ratio, 0.2, 3, "1", load.RATING)
    multipliers = (float(load.brake_multiplier(max(ratio, 1.0), fall, share)) for share in BRAKED_SHARES)
    inputs = (("load over usual load", ratio, "1"), ("height lost", fall, "m/km"))
    formula = "load ratio (1 + 0.5 g height lost / 27.8 J/kg/km)"
    return Bounds(*multipliers), formula, inputs, "judgement", "brake energy; wear taken as energy"


def _towing(family: str, leg: Leg) -> Found | None:
    values = given(leg, NEEDS["towing"])
    if values is None or not leg.towing:
        return None
    from tripplan.wear.mechanisms import load

    trailer_kg, vehicle_kg = values
    ratio = 1 + trailer_kg / vehicle_kg
    effect = Bounds(*(float(load.load_multiplier(ratio, power)) for power in TOWING_EXPONENTS))
    inputs = (("trailer", trailer_kg, "kg"), ("vehicle", vehicle_kg, "kg"))
    formula = "((vehicle + trailer) / vehicle)^(2/3), the same for every family"
    return effect, formula, inputs, "judgement", "part of the work at the wheels goes with the mass moved"


MODELS: Final[dict[str, Callable[[str, Leg], Found | None]]] = {
    "dust": _dust, "heat": _heat, "load": _load, "towing": _towing,
}  # fmt: skip
SHAKEN: Final[dict[str, Callable[[str, Leg, str], Found | None]]] = {"surface": _surface, "corrugation": _corrugation}
LEVEL_WORDS: Final = {
    "high": "(equivalent roughness / 3)^0.8", "medium": "(equivalent roughness / 3)^0.45",
    "low": "1 + 0.02 (equivalent roughness - 3)",
}  # fmt: skip
