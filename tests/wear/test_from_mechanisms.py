"""From the columns of a leg to a multiplier: which columns, which effect, no double counting."""

import pytest

from tests.wear.mechanisms.legs import a_leg
from tripplan.records.problems import OutOfRange
from tripplan.wear.from_mechanisms import NEEDS, Cause, cause_of
from tripplan.wear.mechanisms.roughness import roughness_multiplier

DUSTY = {"silt_percent": 11, "moisture_percent": 0.2, "following_m": 100, "speed_kmh": 70}
WASHBOARD = {"corrugation_mm": 15, "corrugation_wavelength_m": 0.7, "surface": "gravel"}


def found(condition: str, family: str = "bearing", sensitivity: str = "high", **columns: object) -> Cause:
    """The cause, which must be there."""
    cause = cause_of(condition, sensitivity, family, a_leg(**columns))
    assert cause is not None
    return cause


@pytest.mark.parametrize(
    "condition",
    ["dust", "corrugation", "surface", "heat", "load", "towing", "mud", "low range", "water"],
)
def test_a_leg_without_measurements_goes_by_the_tables(condition: str) -> None:
    """A plain leg would be given numbers nobody measured."""
    assert cause_of(condition, "high", "bearing", a_leg()) is None


@pytest.mark.parametrize("missing", NEEDS["dust"])
def test_half_a_set_is_not_enough(missing: str) -> None:
    """A missing moisture or distance would be filled in silently."""
    assert cause_of("dust", "high", "joint", a_leg(**(DUSTY | {missing: None}))) is None


def test_dust_that_is_drawn_in_is_weighed() -> None:
    """An air cleaner would be looked at on the interval of a ball joint, or a fuel filter on that of an air cleaner."""
    filling, wearing = cause_of("dust", "drawn in", "filter", a_leg(**DUSTY)), found("dust", "joint", **DUSTY)
    assert filling is not None and filling.typical > wearing.typical > 1
    assert "grams on the element" in filling.formula
    assert found("dust", "filter", **DUSTY) == wearing
    assert 1 <= wearing.low < wearing.typical < wearing.high
    names = [name for name, _, _ in wearing.inputs]
    assert "silt" in names and "dust in the air" in names


def test_washboard_and_surface_count_once() -> None:
    """The same vibration would be charged under two conditions."""
    surface = found("surface", "bush", **WASHBOARD)
    assert (surface.low, surface.typical, surface.high) == (1, 1, 1)
    assert "corrugation" in surface.formula
    assert found("corrugation", "bush", **WASHBOARD).typical > 1


def test_no_washboard_left_is_the_surface_alone() -> None:
    """Washboard shrinking to nothing would not lead back to the road under it."""
    bare = found("corrugation", "bush", **(WASHBOARD | {"corrugation_mm": 0, "speed_kmh": 80}))
    assert bare.typical == pytest.approx(float(roughness_multiplier(4.0, 0.8)))


def test_a_surveyed_road_stands_for_the_surface() -> None:
    """A measured roughness would be set aside for a word; the washboard word still counts."""
    leg = a_leg(roughness_iri_m_per_km=8, speed_kmh=80)
    cause = cause_of("surface", "high", "damper", leg)
    assert cause is not None and cause.typical == pytest.approx((8 / 3) ** 0.8)
    assert cause_of("corrugation", "high", "damper", leg) is None
    both = found("corrugation", "damper", **(WASHBOARD | {"roughness_iri_m_per_km": 8}))
    assert ("roughness under the washboard", 8.0, "m/km") in both.inputs


def test_slow_washboard_shakes_hubs_more_than_springs() -> None:
    """Hubs, which take the most on washboard, would be looked at with the springs."""
    columns = WASHBOARD | {"speed_kmh": 40}
    hub, spring = (found("corrugation", family, **columns) for family in ("bearing", "spring"))
    assert hub.typical > spring.typical


def test_hot_oil_ages_fluids_only() -> None:
    """An oil gauge would shorten the life of hoses, or fail to shorten that of the oil."""
    assert found("heat", "fluid", sump_temp_c=110).typical == pytest.approx(2)
    assert found("heat", "fluid", sump_temp_c=95).typical == 1
    assert cause_of("heat", "high", "hose", a_leg(sump_temp_c=120)) is None


def test_load_by_family() -> None:
    """Bearings, tyres and brakes would all wear alike under load."""
    columns = {"wheel_load_factor": 1.25, "descent_m": 0}
    assert found("load", "bearing", **columns).typical == pytest.approx(1.25 ** (10 / 3))
    assert found("load", "brake", **columns).typical == pytest.approx(1.25)
    assert found("load", "bearing", wheel_load_factor=0.6).typical == 1
    assert cause_of("load", "high", "brake", a_leg(wheel_load_factor=1.25)) is None


def test_descents_wear_brakes() -> None:
    """A mountain leg would cost the brakes nothing."""
    flat, steep = (found("load", "brake", wheel_load_factor=1, descent_m=metres) for metres in (0, 3000))
    assert flat.typical == 1 and steep.typical > 2


def test_towing_needs_a_trailer_behind() -> None:
    """Masses noted for a leg driven solo would count as towing."""
    masses = {"vehicle_mass_kg": 3000, "trailer_mass_kg": 1500}
    assert cause_of("towing", "high", "fluid", a_leg(**masses)) is None
    assert found("towing", "fluid", towing=True, **masses).typical == pytest.approx(1.5 ** (2 / 3))


def test_a_weaker_sensitivity_says_so() -> None:
    """The report would not tell that only a share of the effect was taken."""
    full = found("dust", "joint", **DUSTY)
    half = cause_of("dust", "medium", "joint", a_leg(**DUSTY))
    assert half is not None and half.typical == pytest.approx(1 + (full.typical - 1) / 2)
    assert "0.5 of its excess" in half.formula


def test_refuses_what_the_model_does_not_cover() -> None:
    """A highway speed on dirt would be given a dust figure the equation was not made for."""
    with pytest.raises(OutOfRange, match="speed_kmh"):
        cause_of("dust", "high", "joint", a_leg(**(DUSTY | {"speed_kmh": 110})))


def by_load(family: str, factor: float) -> tuple[float, float, float]:
    """Low, typical and high for a wheel load so many times the usual."""
    cause = found("load", family, wheel_load_factor=factor)
    return cause.low, cause.typical, cause.high


def test_a_rolling_bearing_suffers_most_from_load() -> None:
    """ISO 281: life of a roller bearing goes with the load to the power 10/3; two thirds and four thirds of it in doubt.

    What is fatigued goes by the third power, what wears by a lesser one, what only stands there by the load itself.
    """
    assert by_load("bearing", 2.0) == pytest.approx((2 ** (20 / 9), 2 ** (10 / 3), 2 ** (40 / 9)))
    for families, power in (
        (("joint", "bush", "spring", "structure", "fastener"), 3),
        (("mechanism", "body", "damper"), 2),
        (("tyre",), 1.5),
        (("seal", "fluid", "filter", "belt", "hose", "electrical"), 1),
    ):
        assert [by_load(family, 2.0)[1] for family in families] == pytest.approx([2.0**power] * len(families))
    assert by_load("bearing", 0.5) == (1.0, 1.0, 1.0)


def test_brakes_go_by_the_energy_they_take() -> None:
    """Twice the load is twice the energy; 1000 m down in 100 km, 10 J/kg/m of them half on the brakes, more besides."""
    level = found("load", "brake", wheel_load_factor=2.0, descent_m=0, distance_km=100)
    down = found("load", "brake", wheel_load_factor=2.0, descent_m=1000, distance_km=100)
    assert level.typical == pytest.approx(2.0) and down.low < down.typical < down.high
    assert down.typical == pytest.approx(2 * (1 + 0.5 * 9.81 * 10 / 27.8), rel=0.01)
    assert cause_of("load", "high", "brake", a_leg(wheel_load_factor=2.0)) is None


@pytest.mark.parametrize(("oil_c", "times"), [(90, 1.0), (100, 1.0), (110, 2.0), (120, 4.0)])
def test_hot_oil_ages_twice_as_fast_every_ten_degrees(oil_c: float, times: float) -> None:
    """A trade rule; cooler than normal counts as normal, and other families go by the graded row."""
    assert found("heat", "fluid", sump_temp_c=oil_c).typical == pytest.approx(times)
    assert cause_of("heat", "high", "bearing", a_leg(sump_temp_c=oil_c)) is None


def test_a_trailer_makes_the_mass_that_is_moved() -> None:
    """800 kg behind 2400: 4/3 of the mass, to the power 2/3; nothing where nothing is towed."""
    masses = {"vehicle_mass_kg": 2400, "trailer_mass_kg": 800}
    assert found("towing", "joint", towing=True, **masses).typical == pytest.approx((4 / 3) ** (2 / 3))
    assert cause_of("towing", "high", "joint", a_leg(towing=False, **masses)) is None
