"""Suction of a hot hub: ranges. The gas figures are in tests/published."""

import pytest

from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.water_entry import cooling_suction_kpa


def test_cold_hub_in_warm_water_does_not_suck() -> None:
    """A hub colder than the water would seem to have drawn water in."""
    assert cooling_suction_kpa(15, 20) < 0


def test_refuses_outside() -> None:
    """A temperature in another unit would be believed."""
    with pytest.raises(OutOfRange):
        cooling_suction_kpa(160, 20)
    with pytest.raises(OutOfRange):
        cooling_suction_kpa(80, 68)
