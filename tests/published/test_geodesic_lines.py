"""Our distances on the ellipsoid against published lines and two independent libraries.

Read:
- GeographicLib's documentation, Python interface, first example: Wellington to Salamanca,
  19959679.267 m on WGS-84, over the antimeridian and nearly half round the globe
  (the docstring of geographiclib.geodesic, version 2).
- GeographicLib's own test lines on WGS-84, drawn by C. F. F. Karney from his published set
  for geodesics (the table `testcases` of its geographiclib.test.test_geodesic).
From memory:
- T. Vincenty, Survey Review 23 (176), 1975, Table II, the lines (a) to (d): on the Bessel
  and the International (Hayford) ellipsoid. Line (d) is nearly half round the globe. The
  printed lengths are of an earlier author; a column beside them says that the formula
  differs from them by up to 0.8 mm, which is why 1 mm is allowed here (line (c): 0.7 mm).
- The quarter meridian of WGS-84, 10001965.729 m, and a degree of its equator, pi a / 180.
"""

import math
import random

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from geographiclib.test.test_geodesic import GeodesicTest
from geopy.distance import geodesic

from tests.published.printed import agrees
from tests.published.test_geodesic import BUNINYONG, FLINDERS_PEAK, degrees
from tripplan.records.track import Point
from tripplan.trip.route.geodesic import WGS84, between, distance_km, inverse_m, length_km, steps_km

BESSEL = (6_377_397.155, 1 / 299.1528128)
HAYFORD = (6_378_388.0, 1 / 297)
TABLE_DIFFERS_M = 0.001
Line = tuple[tuple[float, float], float, float, float, str]
VINCENTY: dict[str, Line] = {
    "a": (BESSEL, degrees(55, 45, 0), degrees(-33, 26, 0), degrees(108, 13, 0), "14110526.170"),
    "b": (HAYFORD, degrees(37, 19, 54.95367), degrees(26, 7, 42.83946), degrees(41, 28, 35.50729), "4085966.703"),
    "c": (HAYFORD, degrees(35, 16, 11.24862), degrees(67, 22, 14.77638), degrees(137, 47, 28.31435), "8084823.839"),
    "d": (HAYFORD, degrees(1, 0, 0), -degrees(0, 59, 53.83076), degrees(179, 17, 48.02997), "19960000.000"),
}  # fmt: skip


def one_m(ellipsoid: tuple[float, float], lat1: float, lon1: float, lat2: float, lon2: float) -> float:
    """A single line through the function for many."""
    return float(inverse_m(*(np.array([value]) for value in (lat1, lon1, lat2, lon2)), ellipsoid)[0])


@pytest.mark.parametrize("name", VINCENTY)
def test_vincentys_own_lines(name: str) -> None:
    """Otherwise a leg's length, and all wear with it, would rest on a formula typed wrong."""
    ellipsoid, lat1, lat2, lon2, printed = VINCENTY[name]
    ours_m = one_m(ellipsoid, lat1, 0, lat2, lon2)
    assert abs(ours_m - float(printed)) <= TABLE_DIFFERS_M
    oracle_m = Geodesic(ellipsoid[0], ellipsoid[1]).Inverse(lat1, 0, lat2, lon2)["s12"]
    assert abs(ours_m - oracle_m) <= TABLE_DIFFERS_M


def test_flinders_peak_to_buninyong() -> None:
    """Otherwise a line of an ordinary day's length would be wrong; printed in the datum manuals, from memory."""
    assert agrees("54972.271", steps_km([Point(*FLINDERS_PEAK), Point(*BUNINYONG)])[0] * 1000)


@pytest.mark.parametrize("line", GeodesicTest.testcases, ids=[f"line {n}" for n in range(len(GeodesicTest.testcases))])
def test_the_published_test_lines(line: list[float]) -> None:
    """Otherwise the only long lines checked would be those that somebody remembered."""
    lat1, lon1, _, lat2, lon2, _, printed_m, *_ = line
    assert abs(one_m(WGS84, lat1, lon1, lat2, lon2) - printed_m) <= TABLE_DIFFERS_M


def test_wellington_to_salamanca() -> None:
    """Otherwise a line over the antimeridian would go the wrong way round."""
    assert agrees("19959679.267", one_m(WGS84, -41.32, 174.81, 40.96, -5.50))


def test_quarter_meridian_and_a_degree_of_equator() -> None:
    """Otherwise north and east would be measured with two yardsticks."""
    assert agrees("10001965.729", one_m(WGS84, 0, 10, 90, 10))
    assert one_m(WGS84, 0, 10, 0, 11) == pytest.approx(math.pi * WGS84[0] / 180, abs=1e-6)


def test_many_lines_against_two_libraries() -> None:
    """Otherwise some corner of the globe would be measured differently from all others."""
    dice = random.Random(7)
    points = [Point(dice.uniform(-90, 90), dice.uniform(-180, 180)) for _ in range(400)]
    points += [Point(-23 + dice.uniform(0, 1e-4), 133 + dice.uniform(0, 1e-4)) for _ in range(200)]
    for ours, start, end in zip(steps_km(points), points, points[1:], strict=False):
        theirs = Geodesic.WGS84.Inverse(start.lat, start.lon, end.lat, end.lon)["s12"] / 1000
        assert ours == pytest.approx(theirs, abs=1e-6)
        assert ours == pytest.approx(geodesic(start[:2], end[:2]).km, abs=1e-6)


@pytest.mark.parametrize(
    ("start", "end"),
    [((0, 0), (0.5, 179.7)), ((0, 0), (0, 180)), ((90, 0), (-90, 50)), ((12, 34), (12, 34)), ((12, -146), (-12, 34))],
)
def test_corners(start: tuple[float, float], end: tuple[float, float]) -> None:
    """Otherwise a pair of points the formula does not settle on would give no number, or a wrong one."""
    theirs = Geodesic.WGS84.Inverse(*start, *end)["s12"]
    assert one_m(WGS84, *start, *end) == pytest.approx(theirs, abs=1e-3)
    assert distance_km(start, end) * 1000 == pytest.approx(theirs, abs=1e-3)


def test_a_long_line_of_small_steps_is_the_long_line() -> None:
    """Otherwise a dense track would be longer or shorter than the road it follows."""
    whole = Geodesic.WGS84.InverseLine(-20, 179, -21, -178)
    count = 5000
    places = [whole.Position(whole.s13 * spot / count) for spot in range(count + 1)]
    points = [Point(place["lat2"], place["lon2"]) for place in places]
    assert length_km(points) == pytest.approx(whole.s13 / 1000, rel=1e-7)


def test_places_between_cross_the_antimeridian() -> None:
    """Otherwise a leg cut there would end on the far side of the earth."""
    assert between((-16.0, 179.0), (-17.0, -179.0), 0.25) == pytest.approx((-16.25, 179.5))
    assert between((-16.0, 179.0), (-17.0, -179.0), 0.75) == pytest.approx((-16.75, -179.5))
