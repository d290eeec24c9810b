"""Dust in the air, on the filter and in the joints. Figures worked by hand beforehand.

Read: 0.1 and 10 mg/m3 (a filter catalogue);
more than 1 g/m3 behind tracked vehicles. From memory: zero visibility at 0.025 g/ft3.
"""

import numpy as np
import pytest

from tests.published.printed import agrees
from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.dust import exposed_multiplier, filter_multiplier, following_mg_per_m3


@pytest.mark.parametrize(
    ("dirt_mg", "printed"),
    [(0.25 * 10 + 0.75 * 0.1, "4.3"), (0.5 * 10 + 0.5 * 0.1, "8.5"), (10, "16.8"), (50, "84")],
)
def test_dust_over_normal(dirt_mg: float, printed: str) -> None:
    """The normal dust that a filter interval allows for would be another one."""
    assert agrees(printed, float(exposed_multiplier(dirt_mg, 1.0)))


@pytest.mark.parametrize(("emission", "metres", "printed"), [(1000, 100, "17"), (3000, 5, "116")])
def test_wake(emission: float, metres: float, printed: str) -> None:
    """Following close and following far would be the same dust (range 17 to 125, an estimate)."""
    assert agrees(printed, float(following_mg_per_m3(emission, metres)))


def test_neutral() -> None:
    """Normal dust would shorten intervals."""
    assert filter_multiplier(8.0) == 1.0
    assert exposed_multiplier(0.59, 0.3) == 1.0


def test_arrays_go_leg_by_leg() -> None:
    """A fleet run would mix up its legs."""
    assert np.allclose(filter_multiplier(np.array([0.1, 50.0])), [1.0, 6.0])


def test_refuses_outside() -> None:
    """A distance or a dust beyond the estimate would be used without a word."""
    for distance_m in (4, 1001):
        with pytest.raises(OutOfRange):
            following_mg_per_m3(1000, distance_m)
    with pytest.raises(OutOfRange):
        filter_multiplier(2001)
    with pytest.raises(OutOfRange):
        filter_multiplier(np.array([1.0, float("nan")]))
