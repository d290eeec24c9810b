"""The two water lines: where the wave stands, and what only the high line reaches."""

import pytest

from tests.small import camper, crossing, wagon
from tripplan.files.data_tables import read_catalogue
from tripplan.water.crossing import water_marks
from tripplan.water.lines import BowWave, bow_wave, is_under

WAVE = BowWave(front_m=0.10, front_high_m=0.25, elsewhere_m=0.0, elsewhere_high_m=0.15)
SHIPPED, _ = read_catalogue()


def test_the_wave_stands_at_the_front_of_the_vehicle() -> None:
    """If not, a hub at 0.40 m would be repacked for a ford of 0.25 m, by a wave that never reaches it."""
    unit = wagon(heights_mm={"fan_centre": 550, "hub_centre": 400})
    assert [is_under(unit, "fan_centre", depth, WAVE) for depth in (0.44, 0.45)] == [False, True]
    assert [is_under(unit, "hub_centre", depth, WAVE) for depth in (0.39, 0.40)] == [False, True]
    assert not is_under(unit, "hub_centre", 0.249, WAVE, high=True)
    assert is_under(unit, "hub_centre", 0.25, WAVE, high=True)


def test_a_trailer_pushes_no_wave() -> None:
    """If not, a trailer's lamp would be wet by the water in front of the wagon."""
    assert WAVE.at(camper(), "lamp") == 0 and WAVE.at(wagon(), "lamp") == 0.10


def test_no_water_and_no_height_reach_nothing() -> None:
    """If not, a dry bed or a point nobody measured would call for work."""
    assert not is_under(wagon(), "hub_centre", 0, WAVE)
    assert not is_under(wagon(), "starter", 2.0, WAVE)


def test_the_front_lines_are_the_velocity_head_at_the_speeds_of_the_books() -> None:
    """Otherwise the allowance would be a number without a reason.

    v^2 / 2g by hand: 5 km/h = 1.389 m/s, 1.929 / 19.613 = 0.098 m; 8 km/h = 2.222 m/s, 4.938 / 19.613 = 0.252 m.
    Owner's books give walking pace to 8 km/h for wading (read in part); nobody publishes a bow wave.
    """
    wave = bow_wave(SHIPPED)
    assert wave.front_m == pytest.approx((5 / 3.6) ** 2 / (2 * 9.80665), abs=0.005)
    assert wave.front_high_m == pytest.approx((8 / 3.6) ** 2 / (2 * 9.80665), abs=0.005)


def test_a_mark_tells_what_only_the_high_line_reaches() -> None:
    """If not, the owner would look for a tide mark where none need be."""
    marks = {mark.point: mark for mark in water_marks(wagon(heights_mm={"lamp": 600}), (), crossing(1, 1, 0.40), WAVE)}
    assert (marks["lamp"].under, marks["lamp"].perhaps, marks["lamp"].wave_m) == (False, True, 0.10)
