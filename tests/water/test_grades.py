"""Five grades of a crossing, by named points, time, and what happened in it."""

from datetime import date
from typing import Any

import pytest

from tests.small import camper, crossing, wagon
from tripplan.files.data_tables import read_catalogue
from tripplan.records.facts_in import Unit
from tripplan.water.grades import (
    BESIDE_HUBS,
    BREATHERS,
    FLOOR_POINTS,
    HUB_POINTS,
    NIPPLE_POINTS,
    Easy,
    easy_limits,
    grade,
    one_side_tells,
)
from tripplan.water.lines import BowWave

WAVE, LIMITS = BowWave(0.10, 0.25, 0.0, 0.15), Easy(depth_m=0.51, minutes=5, stood_minutes=30)
MADE = date(2026, 7, 1)
UNIT = wagon(heights_mm={
    "knuckle_lower": 330, "shackle": 450, "hub_centre": 400, "axle_centre": 400, "diff_breather": 540, "starter": 580,
    "door_sill": 620,
})  # fmt: skip
SHIPPED, _ = read_catalogue()


def number(depth_m: float, unit: Unit = UNIT, leaks: bool = False, **more: Any) -> int:
    """The grade of a ford of that depth that was made in three minutes, unless said otherwise."""
    ford = crossing(1, 10, depth_m, **{"crossed": MADE, "minutes": 3, **more})
    return grade(ford, unit, WAVE, LIMITS, leaks).number


@pytest.mark.parametrize(
    ("depth_m", "expected"), [(0.0, 0), (0.32, 0), (0.33, 1), (0.39, 1), (0.40, 2), (0.51, 2), (0.54, 3), (0.58, 4)]
)
def test_the_points_that_were_under_make_the_grade(depth_m: float, expected: int) -> None:
    """If not, wet wheels would be treated as wet hubs, or a wet starter as wet hubs.

    Points: TM 10-3930-675 WP 0006 (fittings below the line), axle makers' manuals (hub, breather), quad manuals
    (floor height); heights by hand from the unit above.
    """
    assert number(depth_m) == expected


@pytest.mark.parametrize("more", [
    {"hubs_hot": True}, {"minutes": 6}, {"water": "muddy"}, {"minutes": None}, {"leaks": True},
])  # fmt: skip
def test_one_trouble_makes_an_easy_hub_crossing_hard(more: dict[str, Any]) -> None:
    """If not, a hub that drew water in would stay shut. Hot hubs: TM 9-2330-331-14&P WP 0022 notes 1 to 5."""
    assert number(0.45) == 2 and number(0.45, **more) == 3


def test_deeper_than_twenty_inches_is_not_easy() -> None:
    """Otherwise 0.9 m in four minutes would count as easy. TM 9-2320-273-10: 20 inches, five minutes = 0.508 m."""
    bare = wagon(heights_mm={"hub_centre": 400})
    assert [number(depth, bare) for depth in (0.51, 0.52, 0.9)] == [2, 3, 3]
    shipped = easy_limits(SHIPPED)
    assert shipped.depth_m == pytest.approx(20 * 0.0254, abs=0.005) and shipped.minutes == 5


@pytest.mark.parametrize(("more", "expected"), [
    ({"stalled": True}, 5), ({"minutes": 31}, 5), ({"water": "salt"}, 5), ({"minutes": 30}, 3),
])  # fmt: skip
def test_what_stands_in_water_is_the_hardest(more: dict[str, Any], expected: int) -> None:
    """If not, an engine that stopped, or salt at the hubs, would be a matter for next week."""
    assert number(0.45, **more) == expected


def test_salt_below_the_hubs_is_as_the_depth_says() -> None:
    """If not, a splash of sea water on the tyres would open every hub."""
    assert number(0.35, water="salt") == 1


def test_a_crossing_ahead_counts_as_short_unless_its_row_says_more() -> None:
    """If not, every planned ford whose minutes nobody wrote would be a hard one."""
    assert number(0.45, crossed=None, minutes=None) == 2
    assert number(0.45, crossed=None, minutes=9) == 3


def test_a_trailer_has_a_grade_of_its_own() -> None:
    """If not, small trailer wheels would be judged by the wagon's."""
    assert number(0.36, camper(heights_mm={"hub_centre": 350})) == 2 and number(0.36) == 1


def test_every_point_of_the_tables_is_in_a_grade() -> None:
    """Otherwise a point of a new row would be under water and make no grade."""
    named = {*NIPPLE_POINTS, *HUB_POINTS, *BESIDE_HUBS, *BREATHERS, *FLOOR_POINTS}
    assert {point for item in SHIPPED.items for point in item.points} <= named


def test_the_reason_is_told() -> None:
    """If not, nobody could tell the owner why this ford is a hard one."""
    found = grade(crossing(1, 1, 0.45, water="muddy", hubs_hot=True), UNIT, WAVE, LIMITS)
    assert found.because == ("hubs went in hot", "silt in the water")


def test_one_side_tells_only_in_cool_fresh_water() -> None:
    """If not, one hub would stand for another that had sucked in silt."""
    assert one_side_tells(crossing(1, 1, 0.5))
    for trouble in ({"hubs_hot": True}, {"stalled": True}, {"water": "muddy"}):
        assert not one_side_tells(crossing(1, 1, 0.5, **trouble))
