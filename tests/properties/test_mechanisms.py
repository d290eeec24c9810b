"""Rules every multiplier keeps: worse is never less, neutral is 1, no jumps, no silent limits."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.wear.mechanisms.legs import a_leg
from tripplan.wear.from_mechanisms import Cause, cause_of
from tripplan.wear.mechanisms.arrays import at_least_one
from tripplan.wear.mechanisms.roughness import WEARS

FAMILIES = st.sampled_from(sorted(WEARS))
SENSITIVITIES = st.sampled_from(["low", "medium", "high"])
# condition, column that makes it worse, range, the other columns as strategies
WORSE: list[tuple[str, str, tuple[float, float], dict[str, Any]]] = [
    (
        "dust",
        "silt_percent",
        (1.8, 35),
        {
            "moisture_percent": st.floats(0.03, 13),
            "following_m": st.floats(5, 1000),
            "speed_kmh": st.floats(17, 88),
        },
    ),
    (
        "dust",
        "speed_kmh",
        (17, 88),
        {
            "silt_percent": st.floats(1.8, 35),
            "moisture_percent": st.floats(0.03, 13),
            "following_m": st.floats(5, 1000),
        },
    ),
    (
        "corrugation",
        "corrugation_mm",
        (0, 60),
        {"corrugation_wavelength_m": st.floats(0.3, 3), "speed_kmh": st.floats(5, 130)},
    ),
    (
        "corrugation",
        "roughness_iri_m_per_km",
        (0.5, 24),
        {"corrugation_wavelength_m": st.floats(0.3, 3), "corrugation_mm": st.floats(0, 60)},
    ),
    ("surface", "roughness_iri_m_per_km", (0.5, 24), {"speed_kmh": st.floats(5, 130)}),
    ("heat", "sump_temp_c", (-10, 160), {}),
    ("load", "wheel_load_factor", (0.2, 3), {"descent_m": st.floats(0, 20_000)}),
    ("load", "descent_m", (0, 20_000), {"wheel_load_factor": st.floats(0.2, 3)}),
    (
        "towing",
        "trailer_mass_kg",
        (0, 4000),
        {"vehicle_mass_kg": st.floats(2000, 4000), "towing": st.just(True)},
    ),
]
BETTER: list[tuple[str, str, tuple[float, float], dict[str, Any]]] = [
    (
        "dust",
        "moisture_percent",
        (0.03, 13),
        {"silt_percent": st.floats(1.8, 35), "following_m": st.floats(5, 1000)},
    ),
    (
        "dust",
        "following_m",
        (5, 1000),
        {"silt_percent": st.floats(1.8, 35), "moisture_percent": st.floats(0.03, 13)},
    ),
    (
        "towing",
        "vehicle_mass_kg",
        (2000, 12_000),
        {"trailer_mass_kg": st.floats(0, 4000), "towing": st.just(True)},
    ),
]


def triple(cause: Cause | None) -> tuple[float, float, float]:
    """Low, typical and high, or 1 where the table would be asked."""
    return (1.0, 1.0, 1.0) if cause is None else (cause.low, cause.typical, cause.high)


@pytest.mark.parametrize("case", [*WORSE, *BETTER], ids=lambda case: f"{case[0]} {case[1]}")
@settings(max_examples=40, deadline=None)
@given(data=st.data(), family=FAMILIES, sensitivity=SENSITIVITIES)
def test_monotone_ordered_and_at_least_one(case: Any, data: Any, family: str, sensitivity: str) -> None:
    """A worse leg would be planned as if it wore the rig less."""
    condition, column, (low, high), others = case
    shared = {name: data.draw(strategy) for name, strategy in others.items()}
    mild, bad = sorted(data.draw(st.tuples(st.floats(low, high), st.floats(low, high))))
    if case in BETTER:
        mild, bad = bad, mild
    milder, worse = (
        triple(cause_of(condition, sensitivity, family, a_leg(**(shared | {column: value})))) for value in (mild, bad)
    )
    for less, more in zip(milder, worse, strict=True):
        assert 1 - 1e-12 <= less <= more * (1 + 1e-9)
    assert worse[0] <= worse[1] <= worse[2]


@pytest.mark.parametrize("case", WORSE, ids=lambda case: f"{case[0]} {case[1]}")
@settings(max_examples=25, deadline=None)
@given(data=st.data(), family=FAMILIES)
def test_continuous(case: Any, data: Any, family: str) -> None:
    """A hair's breadth in a measurement would move a job by days."""
    condition, column, (low, high), others = case
    shared = {name: data.draw(strategy) for name, strategy in others.items()}
    step = (high - low) * 1e-7
    at = data.draw(st.floats(low, high - step))
    here, there = (
        triple(cause_of(condition, "high", family, a_leg(**(shared | {column: value})))) for value in (at, at + step)
    )
    assert here == pytest.approx(there, rel=1e-4)


@settings(max_examples=60, deadline=None)
@given(
    family=FAMILIES,
    condition=st.sampled_from(["dust", "corrugation", "surface", "load", "heat", "towing"]),
    first=SENSITIVITIES,
    silt=st.floats(1.8, 35),
    height=st.floats(0, 60),
    load=st.floats(0.2, 3),
)
def test_more_sensitive_never_wears_less(
    family: str, condition: str, first: str, silt: float, height: float, load: float
) -> None:
    """An item marked as more sensitive would be looked after less."""
    leg = a_leg(
        silt_percent=silt,
        moisture_percent=0.5,
        following_m=50,
        corrugation_mm=height,
        corrugation_wavelength_m=0.7,
        wheel_load_factor=load,
        descent_m=500,
        sump_temp_c=115,
        towing=True,
        vehicle_mass_kg=3000,
        trailer_mass_kg=1500,
    )
    order = ["low", "medium", "high"]
    for stronger in order[order.index(first) :]:
        weak, strong = (triple(cause_of(condition, word, family, leg)) for word in (first, stronger))
        assert all(a <= b * (1 + 1e-12) for a, b in zip(weak, strong, strict=True))


@settings(max_examples=60, deadline=None)
@given(family=FAMILIES, sensitivity=SENSITIVITIES, speed=st.floats(17, 88))
def test_neutral_leg_is_exactly_one(family: str, sensitivity: str, speed: float) -> None:
    """A smooth, damp, cool, normally laden leg would shorten intervals."""
    leg = a_leg(
        speed_kmh=speed,
        silt_percent=1.8,
        moisture_percent=13,
        following_m=1000,
        corrugation_mm=0,
        corrugation_wavelength_m=1.0,
        roughness_iri_m_per_km=2.0,
        sump_temp_c=95,
        wheel_load_factor=1.0,
        descent_m=0,
        towing=True,
        vehicle_mass_kg=3000,
        trailer_mass_kg=0,
    )
    for condition in ("dust", "corrugation", "surface", "heat", "load", "towing"):
        assert triple(cause_of(condition, sensitivity, family, leg)) == (1.0, 1.0, 1.0), condition


@settings(max_examples=60, deadline=None)
@given(speed=st.floats(5, 130), family=FAMILIES)
def test_sealed_road_without_washboard_is_one_at_any_speed(speed: float, family: str) -> None:
    """Driving a sealed road at highway speed would count as rough driving."""
    leg = a_leg(speed_kmh=speed, corrugation_mm=0, corrugation_wavelength_m=0.7)
    assert triple(cause_of("corrugation", "high", family, leg)) == (1.0, 1.0, 1.0)


@given(ratio=st.floats(-10, 10))
def test_good_conditions_lengthen_nothing(ratio: float) -> None:
    """A gentle trip would stretch intervals beyond those of normal use."""
    assert at_least_one(ratio) == max(1.0, ratio)
