"""Repair and maintenance against roughness on paved roads: NCHRP Report 720.

Read: the abstract of a 2015 TRB paper on the same work (no effect up to 3 m/km, +10 % at 4,
up to +40 % for a car and +50 % for a heavy truck at 5; tyre wear +1 % and fuel +2 to 3 % of
cars for each m/km). The report itself was not read.
It covers paved roads only and is threshold-shaped, which a power law misfits at 4.
"""

import pytest

from tests.published.printed import agrees
from tripplan.wear.mechanisms.roughness import LIGHT_EXPONENTS, SLOPES_PER_IRI, level, roughness_multiplier


def test_no_effect_up_to_three() -> None:
    """A sound sealed road would shorten intervals."""
    for iri in (0.5, 2.0, 3.0):
        assert agrees("1.00", float(roughness_multiplier(iri, 1.1)))


def test_heavy_truck_at_five() -> None:
    """The typical level would miss the one published point that fits a laden vehicle."""
    assert agrees("1.5", float(roughness_multiplier(5, 0.8)))


def test_car_at_five_lies_between_low_and_typical() -> None:
    """The band around the typical level would not hold the published car figure 1.4."""
    assert roughness_multiplier(5, 0.5) < 1.4 < roughness_multiplier(5, 0.8)


def test_known_misfit_at_four() -> None:
    """A known difference would be forgotten: printed 1.10, ours 1.26, low 1.15, on the safe side."""
    ours = float(roughness_multiplier(4, 0.8))
    assert agrees("1.26", ours)
    assert ours - 1.10 == pytest.approx(0.16, abs=0.005)


def test_parts_that_shaking_reaches_in_part_follow_the_car() -> None:
    """The medium level would be a half of something, with nobody's figure behind it.

    By hand: 1.10 = (4/3)^0.331 and 1.40 = (5/3)^0.659, so low and high exponent; both printed points
    lie inside the band at their index.
    """
    low, _, high = LIGHT_EXPONENTS
    assert agrees("1.10", float(roughness_multiplier(4, low))) and agrees("1.40", float(roughness_multiplier(5, high)))
    for index, printed in ((4, 1.10), (5, 1.40)):
        found = level(index, "medium")
        assert found.low <= printed <= found.high


def test_parts_that_shaking_hardly_reaches_follow_tyres_and_fuel() -> None:
    """Oil would be changed as if the road shook it: printed +1 % (tyres), +2 to 3 % (fuel) for each m/km."""
    assert SLOPES_PER_IRI == (0.01, 0.02, 0.03)
    for index in (4, 5):
        found = level(index, "low")
        assert found.low <= 1 + 0.01 * (index - 3) and 1 + 0.03 * (index - 3) <= found.high
        assert agrees("1.02" if index == 4 else "1.04", found.typical)


@pytest.mark.parametrize("index", [3.0, 3.5, 5.0, 10.0, 24.0])
def test_what_is_reached_less_wears_less(index: float) -> None:
    """A filter would be shaken to pieces before a bracket."""
    weak, middle, strong = (level(index, word) for word in ("low", "medium", "high"))
    for a, b, c in zip(weak, middle, strong, strict=True):
        assert 1 <= a <= b + 1e-12 and b <= c + 1e-12
