"""The closed form of the quarter car against a simulation in time, and its limits."""

import numpy as np
import pytest

from tests.wear.mechanisms.oracle_quarter_car import Series, drive, random_road
from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.quarter_car import (
    Side,
    body_response,
    channel_response,
    envelope,
    travel_response,
    tyre_force_response,
    wheel_response,
)
from tripplan.wear.mechanisms.roughness import GRID_PER_M, profile_density_m3

SIDES: tuple[Side, ...] = ("stroke", "body", "axle")
STEP_S = 0.001


@pytest.mark.parametrize("frequency_hz", [0.7, 1.2, 3.0, 11.0, 24.0])
def test_a_sine_gives_the_same_swing_in_time(frequency_hz: float) -> None:
    """The answer to washboard at one speed would be wrong, and hubs or springs misjudged."""
    times = np.arange(0, 12 + 4 / frequency_hz, STEP_S)
    answers = drive(0.01 * np.sin(2 * np.pi * frequency_hz * times), STEP_S)
    for side in SIDES:
        settled = answers[side][times > 8]
        assert np.ptp(settled) / 0.02 == pytest.approx(float(channel_response(frequency_hz, side)), rel=0.01)


@pytest.fixture(scope="module")
def driven() -> dict[str, Series]:
    """Four kilometres of class C road at 72 km/h."""
    step_m = 20 * STEP_S
    return drive(random_road(4000, step_m, 256e-6, seed=11), STEP_S)


@pytest.mark.parametrize("side", SIDES)
def test_a_random_road_gives_the_same_rms_in_time(side: Side, driven: dict[str, Series]) -> None:
    """The wear of a rough road without washboard would rest on a wrong integral."""
    answer = channel_response(20 * GRID_PER_M, side) * envelope(GRID_PER_M)
    density = answer**2 * profile_density_m3(GRID_PER_M, 256e-6)
    power = np.sum((density[1:] + density[:-1]) / 2 * np.diff(GRID_PER_M))
    assert np.std(driven[side][5000:]) == pytest.approx(np.sqrt(power), rel=0.08)


def test_limits() -> None:
    """A road met slowly would shake a vehicle that only follows it up and down."""
    assert abs(wheel_response(0.001)) == pytest.approx(1, abs=1e-3)
    assert abs(travel_response(0.001)) == pytest.approx(0, abs=1e-3)
    assert abs(body_response(0.001)) == pytest.approx(0, abs=1e-3)
    assert abs(wheel_response(2000.0)) < 1e-3
    assert abs(tyre_force_response(2000.0)) == pytest.approx(653, rel=1e-3)


def test_forces_balance() -> None:
    """Tyre, spring and the two masses would not obey Newton together."""
    frequency = np.geomspace(0.1, 100, 40)
    s_squared = (2j * np.pi * frequency) ** 2
    wheels = 0.15 * s_squared * wheel_response(frequency)
    assert np.allclose(-tyre_force_response(frequency), wheels + body_response(frequency))


def test_tyre_bridges_short_waves() -> None:
    """Waves as short as the tyre's footprint would shake the vehicle in full."""
    assert envelope(0.0) == 1
    assert envelope(4.0) == pytest.approx(0, abs=1e-12)
    with pytest.raises(OutOfRange):
        envelope(101.0)
    with pytest.raises(OutOfRange):
        travel_response(0.0)
