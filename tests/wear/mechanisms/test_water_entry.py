"""Which points the water reaches; ranges. The gas and water figures are in tests/published."""

import pytest

from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.water_entry import (
    cooling_suction_kpa,
    head_kpa,
    points_under_water,
    water_drawn_share,
    water_in_oil_ppm,
)

HEIGHTS_MM = {"breather": 900.0, "hub_centre": 395.0, "diff_breather": 520.0, "lamp": 800.0}


def test_points_in_order_of_height() -> None:
    """A wet hub or breather would not be opened after the crossing."""
    assert points_under_water(HEIGHTS_MM, 0.6, 0.0) == ("hub_centre", "diff_breather")
    assert points_under_water(HEIGHTS_MM, 0.6, 0.2) == ("hub_centre", "diff_breather", "lamp")
    assert points_under_water(HEIGHTS_MM, 0.1, 0.1) == ()


def test_a_point_at_the_water_line_counts_as_wet() -> None:
    """A point that was just reached would be taken as dry."""
    assert "hub_centre" in points_under_water(HEIGHTS_MM, 0.395, 0.0)


def test_cold_hub_in_warm_water_does_not_suck() -> None:
    """A hub colder than the water would seem to have drawn water in."""
    assert cooling_suction_kpa(15, 20) < 0
    assert water_drawn_share(20, 20, 0.0) == 0
    with pytest.raises(OutOfRange):
        water_drawn_share(15, 20, 0.5)


def test_refuses_outside() -> None:
    """A depth typed in centimetres would flood the whole rig on paper."""
    with pytest.raises(OutOfRange):
        points_under_water(HEIGHTS_MM, 60, 0.0)
    with pytest.raises(OutOfRange):
        points_under_water({"hub": -1}, 0.5, 0.0)
    with pytest.raises(OutOfRange):
        head_kpa(4)
    with pytest.raises(OutOfRange):
        cooling_suction_kpa(160, 20)
    with pytest.raises(OutOfRange):
        water_in_oil_ppm(-1, 2)
