"""Ideal gas law and hydrostatics: hot hub in cold water, warm tyre.

The law is textbook knowledge; standard gravity and atmosphere are exact by definition. The
table was worked out by hand before the program existed.
"""

import pytest

from tests.published.printed import agrees
from tripplan.wear.mechanisms.heat import tyre_hot_pressure_kpa
from tripplan.wear.mechanisms.water_entry import (
    cooling_suction_kpa,
    head_kpa,
    hub_temp_for_suction_c,
    water_drawn_share,
)

TABLE = [
    (60, 20, "12.166", "1.241", "19.030", "0.1201", "0.1759"),
    (80, 20, "17.215", "1.755", "24.080", "0.1699", "0.2226"),
    (80, 15, "18.650", "1.902", "25.514", "0.1841", "0.2358"),
    (100, 15, "23.081", "2.354", "29.946", "0.2278", "0.2768"),
    (120, 20, "25.773", "2.628", "32.637", "0.2544", "0.3017"),
]


@pytest.mark.parametrize(("hub", "water", "suction", "metres", "deep", "at_top", "at_depth"), TABLE)
def test_suction_table(
    hub: float, water: float, suction: str, metres: str, deep: str, at_top: str, at_depth: str
) -> None:
    """How hard a hot hub sucks, and how much water it takes, would be wrong at every crossing."""
    found = float(cooling_suction_kpa(hub, water))
    assert agrees(suction, found)
    assert agrees(metres, found / float(head_kpa(1.0)))
    assert agrees(deep, found + float(head_kpa(0.7)))
    assert agrees(at_top, float(water_drawn_share(hub, water, 0.0)))
    assert agrees(at_depth, float(water_drawn_share(hub, water, 0.7)))


def test_worked_example() -> None:
    """The example printed in the model's own description would be false."""
    assert agrees("14.764", float(cooling_suction_kpa(70, 20)))


def test_water_drawn_in() -> None:
    """An axle with its breather under water would seem to take a cupful instead of half a litre."""
    assert agrees("5.1", 30 * float(water_drawn_share(80, 20, 0.0)))
    assert agrees("0.51", 3 * float(water_drawn_share(80, 20, 0.0)))


def test_cooling_off_first() -> None:
    """The advice to let hubs cool before a ford would name the wrong temperature."""
    assert agrees("47.2", float(hub_temp_for_suction_c(8.608, 20)))


def test_warm_tyre() -> None:
    """A pressure set cold would be judged by the wrong reading at the midday stop."""
    assert agrees("292", float(tyre_hot_pressure_kpa(240, 20, 65)))
