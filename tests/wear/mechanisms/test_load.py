"""Brake energy: mechanics, figures worked by hand beforehand."""

import pytest

from tests.published.printed import agrees
from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.load import brake_multiplier, load_multiplier, stop_energy_kj


@pytest.mark.parametrize(("mass_kg", "printed"), [(3000, "741"), (5500, "1358")])
def test_a_stop_from_80(mass_kg: float, printed: str) -> None:
    """The heat of a stop with a trailer would be understated."""
    assert agrees(printed, float(stop_energy_kj(mass_kg, 80)))


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
        stop_energy_kj(50, 80)
