"""Brake energy: mechanics, figures worked by hand beforehand."""

import pytest

from tests.published.printed import agrees
from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.load import BRAKED_J_PER_KG_KM, brake_multiplier, load_multiplier


def test_heat_of_ordinary_driving() -> None:
    """Descents would be weighed against brakes that ordinary driving hardly uses, or wears out: 0.2 x 16.67^2 / 2."""
    assert agrees("27.8", BRAKED_J_PER_KG_KM)


def test_brakes_on_the_level_follow_mass() -> None:
    """Load without descents would leave the brakes alone, or punish them twice."""
    assert brake_multiplier(1.0, 0.0) == 1.0
    assert brake_multiplier(1.3, 0.0) == pytest.approx(1.3)


def test_brake_energy_of_a_descending_leg() -> None:
    """The descent would not weigh as its energy: 10 m/km, half braked, 49.0 J/kg against 27.8."""
    by_hand = 1 + 0.5 * 9.80665 * 10 / (0.2 * 0.5 * (60 / 3.6) ** 2)
    assert brake_multiplier(1.0, 10.0) == pytest.approx(by_hand)


def test_refuses_outside() -> None:
    """A slip of the pen in a mass would pass as a load."""
    for ratio in (0.1, 3.1):
        with pytest.raises(OutOfRange):
            load_multiplier(ratio, 3)
    with pytest.raises(OutOfRange):
        brake_multiplier(1.0, 151.0)
