"""Roughness and washboard: fatigue against rainflow counting in time, scaling laws, limits."""

import numpy as np
import pytest

from tests.published.roughness_index import iri_of_random_road
from tests.wear.mechanisms.oracle_quarter_car import Series, damage, drive, rainflow_ranges, random_road, smoothed
from tripplan.records.catalogue import Family
from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.quarter_car import Side
from tripplan.wear.mechanisms.roughness import (
    WEARS,
    equivalent_iri,
    roughness_multiplier,
)

STEP_S = 0.002
SIDES: tuple[Side, ...] = ("stroke", "body", "axle")
CLASS_B_M3 = 64e-6


def uneven_washboard(length_m: float, step_m: float, height_mm: float, seed: int) -> Series:
    """Washboard of 0.7 m whose waves vary by a tenth in length, as real ones do."""
    lengths = 0.7 * np.random.default_rng(seed).normal(1, 0.1, size=int(length_m / 0.5))
    edges = np.concatenate([[0], np.cumsum(np.clip(lengths, 0.4, 1.0))])
    place = np.arange(round(length_m / step_m)) * step_m
    phase = np.interp(place, edges, np.arange(len(edges)))
    return smoothed(height_mm / 2000 * np.sin(2 * np.pi * phase), step_m)


def damage_per_km(height_mm: float, speed_kmh: float) -> dict[str, list[tuple[float, float]]]:
    """Rainflow ranges of every channel over 1.5 km of class B with washboard."""
    step_m = speed_kmh / 3.6 * STEP_S
    road = random_road(1500, step_m, CLASS_B_M3, seed=3)
    return {
        side: rainflow_ranges(answer)
        for side, answer in drive(road + uneven_washboard(1500, step_m, height_mm, 5), STEP_S).items()
    }


Counted = dict[tuple[float, float], dict[str, list[tuple[float, float]]]]


@pytest.fixture(scope="module")
def counted() -> Counted:
    """Counted cycles: plain at 80 km/h, and 15 mm of washboard at three speeds."""
    return {case: damage_per_km(*case) for case in [(0.0, 80.0), (15.0, 30.0), (15.0, 60.0), (15.0, 80.0)]}


@pytest.mark.parametrize("speed_kmh", [30.0, 60.0, 80.0])
@pytest.mark.parametrize(
    ("side", "miner"), [("body", 3.0), ("axle", 3.0), ("axle", 10 / 3), ("body", 2.0), ("stroke", 5.0)]
)
def test_equivalent_index_against_rainflow(counted: Counted, speed_kmh: float, side: Side, miner: float) -> None:
    """The shape over speed, by which washboard is weighed, would not be that of counted cycles."""
    plain = damage(counted[0.0, 80.0][side], miner)
    rough = damage(counted[15.0, speed_kmh][side], miner)
    index = iri_of_random_road(CLASS_B_M3)
    expected = index * (rough / plain) ** (1 / miner)
    found = equivalent_iri(index, 15.0, 0.7, speed_kmh, side, miner)
    assert found == pytest.approx(expected, rel=0.25 if side == "stroke" else 0.15)


def test_floating_over_spares_the_body_not_the_hubs() -> None:
    """A driver who speeds up on washboard would be told that the hubs are spared too."""
    slow, fast = (
        {side: equivalent_iri(4.4, 20.0, 0.7, speed, side, 3.0) ** 3 for side in ("body", "axle")}
        for speed in (30.0, 80.0)
    )
    spared = {side: slow[side] / fast[side] for side in slow}
    assert spared["body"] > 8
    assert spared["body"] / spared["axle"] > 5


@pytest.mark.parametrize("miner", [2.0, 3.0, 5.0])
def test_random_road_scales_with_speed_as_a_power(miner: float) -> None:
    """Damage a km must go as v^(m/2-1), and faster on the axle, where a slow tyre bridges waves."""
    power = miner / 2 - 1
    of_side: dict[str, float] = {}
    for side in SIDES:
        at_40, at_80 = (equivalent_iri(5, 0, 1, speed, side, miner) ** miner for speed in (40.0, 80.0))
        of_side[side] = float(np.log2(at_80 / at_40))
    assert of_side["stroke"] == pytest.approx(power, abs=0.15)
    assert power <= of_side["stroke"] <= of_side["body"] <= of_side["axle"]


@pytest.mark.parametrize("side", ["stroke", "body", "axle"])
def test_plain_road_at_the_index_speed_is_itself(side: Side) -> None:
    """A surveyed roughness would be changed before it is used."""
    for miner in (2.0, 3.0, 5.0):
        assert equivalent_iri(7.0, 0.0, 0.7, 80.0, side, miner) == pytest.approx(7.0)


def test_twice_as_rough_is_twice_the_index() -> None:
    """A linear model would not scale: one class up must be 2^m in damage."""
    single, double = (equivalent_iri(2 * k, 6 * k, 0.7, 50, "axle", 3) for k in (1, 2))
    assert double == pytest.approx(2 * single)


def test_arrays_go_leg_by_leg() -> None:
    """A fleet run would mix up its legs."""
    heights, speeds = np.array([0.0, 10.0, 20.0]), np.array([80.0, 60.0, 30.0])
    found = equivalent_iri(4.0, heights, 0.7, speeds, "axle", 3.0)
    singles = [equivalent_iri(4.0, h, 0.7, v, "axle", 3.0) for h, v in zip(heights, speeds, strict=True)]
    assert np.allclose(found, singles)
    assert roughness_multiplier(np.array([1.0, 3.0, 6.0]), 1.0).tolist() == [1.0, 1.0, 2.0]


def test_every_family_has_a_side() -> None:
    """An item family would have no roughness wear at all."""
    assert set(WEARS) == set(Family.__args__)


@pytest.mark.parametrize(
    ("iri", "height", "length", "speed"),
    [(0.4, 0, 1, 80), (25, 0, 1, 80), (4, 61, 1, 80), (4, 5, 0.2, 80), (4, 5, 1, 4), (4, 5, 1, 131)],
)
def test_refuses_outside(iri: float, height: float, length: float, speed: float) -> None:
    """A road beyond the model would get a number that looks derived."""
    with pytest.raises(OutOfRange):
        equivalent_iri(iri, height, length, speed, "body", 3.0)
