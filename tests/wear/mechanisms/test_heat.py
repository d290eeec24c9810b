"""Ranges and arrays of the heat model. Its figures are in tests/published."""

import numpy as np
import pytest

from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.heat import oil_ageing_ratio


def test_arrays_go_leg_by_leg() -> None:
    """A fleet run would mix up its legs."""
    assert np.allclose(oil_ageing_ratio(np.array([90.0, 110.0]), 100.0), [0.5, 2])


def test_refuses_outside() -> None:
    """An oil temperature in another unit would be believed."""
    with pytest.raises(OutOfRange):
        oil_ageing_ratio(212, 100)
