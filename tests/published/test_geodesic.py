"""Distance on the ellipsoid: the library we lean on, against a published worked example.

Flinders Peak to Buninyong on GRS80, 54972.271 m: the worked example of the Australian
datum manuals for the inverse problem. Positions and distance from memory, not read here.
"""

from geopy.distance import geodesic

from tests.published.printed import agrees
from tripplan.records.track import Point
from tripplan.trip.route.geodesic import distance_km, steps_km


def degrees(whole: float, minutes: float, seconds: float) -> float:
    """Degrees, minutes and seconds as degrees; the sign of the degrees holds for all."""
    size = abs(whole) + minutes / 60 + seconds / 3600
    return -size if whole < 0 else size


FLINDERS_PEAK = (degrees(-37, 57, 3.72030), degrees(144, 25, 29.52440))
BUNINYONG = (degrees(-37, 39, 10.15610), degrees(143, 55, 35.38390))


def test_the_published_line() -> None:
    """Otherwise legs drawn from coordinates would have the wrong length, and all wear with them."""
    assert agrees("54972.271", geodesic(FLINDERS_PEAK, BUNINYONG, ellipsoid="GRS-80").m)


def test_the_default_ellipsoid_is_no_different_on_a_map() -> None:
    """Otherwise it would matter which of two nearly equal ellipsoids a receiver uses: under 1 mm here."""
    default_m = geodesic(FLINDERS_PEAK, BUNINYONG).m
    assert abs(default_m - geodesic(FLINDERS_PEAK, BUNINYONG, ellipsoid="GRS-80").m) < 0.001


def test_our_own_ways_to_measure_agree_with_it() -> None:
    """Otherwise a leg measured from its track and one measured from its ends would disagree."""
    km = "54.972271"
    assert agrees(km, distance_km(FLINDERS_PEAK, BUNINYONG))
    assert agrees(km, float(steps_km([Point(*FLINDERS_PEAK), Point(*BUNINYONG)])[0]))
