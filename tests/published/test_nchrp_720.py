"""Repair and maintenance against roughness on paved roads: NCHRP Report 720.

Read: the abstract of a 2015 TRB paper on the same work (no effect up to 3 m/km, +10 % at 4,
up to +40 % for a car and +50 % for a heavy truck at 5). The report itself was not read.
It covers paved roads only and is threshold-shaped, which a power law misfits at 4.
"""

import pytest

from tests.published.printed import agrees
from tripplan.wear.mechanisms.roughness import roughness_multiplier


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
