"""Ranges and arrays of the heat models. Their figures are in tests/published."""

import numpy as np
import pytest

from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.heat import grease_interval_factor, oil_ageing_ratio, tyre_hot_pressure_kpa


def test_arrays_go_leg_by_leg() -> None:
    """A fleet run would mix up its legs."""
    assert np.allclose(grease_interval_factor(np.array([40.0, 70.0, 85.0])), [2, 1, 0.5])
    assert np.allclose(oil_ageing_ratio(np.array([90.0, 110.0]), 100.0), [0.5, 2])


def test_refuses_outside() -> None:
    """An oil temperature in another unit would be believed."""
    with pytest.raises(OutOfRange):
        oil_ageing_ratio(212, 100)
    with pytest.raises(OutOfRange):
        grease_interval_factor(131)
    with pytest.raises(OutOfRange):
        tyre_hot_pressure_kpa(35, 20, 65)
