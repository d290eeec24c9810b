"""Ranges and shapes of the bearing models. Their figures are in tests/published."""

import numpy as np
import pytest

from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.bearing_life import rating_life_mrev, reliability_factor, survival, together_l10_km
from tripplan.wear.mechanisms.contamination import life_factor
from tripplan.wear.mechanisms.relubrication import relubrication_correction, relubrication_hours


def test_nine_in_ten_reach_the_rated_life() -> None:
    """The rated life would not mean what the catalogue page means."""
    assert survival(300_000, 300_000) == pytest.approx(0.9)
    assert reliability_factor(90.0) == pytest.approx(1.0)
    assert reliability_factor(90.0, 1990) == pytest.approx(1.0)


def test_together_never_outlasts_the_weakest() -> None:
    """A set of bearings would seem to last longer than its worst one."""
    assert together_l10_km([100_000, 400_000]) < 100_000
    assert together_l10_km([250_000]) == pytest.approx(250_000)


def test_arrays_go_leg_by_leg() -> None:
    """A fleet run would mix up its legs."""
    dirt = np.array([0.7, 0.2, 0.0])
    singles = [life_factor(1.0, float(clean), 0.9, "roller") for clean in dirt]
    assert np.allclose(life_factor(1.0, dirt, 0.9, "roller"), singles)
    assert np.allclose(reliability_factor(np.array([90.0, 95.0])), [1.0, 0.6379], atol=1e-4)
    assert np.allclose(relubrication_hours(np.array([100.0, 1500.0]), 50, "ball"), [30_000, 11_199.3])


def test_refuses_outside() -> None:
    """A bearing far outside the rules would get a life that looks calculated."""
    with pytest.raises(OutOfRange):
        rating_life_mrev(50, 40, "ball")
    with pytest.raises(OutOfRange):
        rating_life_mrev(50, 0, "ball")
    with pytest.raises(OutOfRange):
        reliability_factor(89)
    with pytest.raises(OutOfRange):
        reliability_factor(99.9, 1990)
    with pytest.raises(OutOfRange):
        life_factor(0.05, 0.5, 1.0, "ball")
    with pytest.raises(OutOfRange):
        life_factor(1.0, 1.1, 1.0, "ball")
    with pytest.raises(OutOfRange):
        relubrication_hours(6000, 200, "roller")
    with pytest.raises(OutOfRange):
        relubrication_correction(160, "light", "dry", 0)
    with pytest.raises(KeyError):
        relubrication_correction(60, "filthy", "dry", 0)
