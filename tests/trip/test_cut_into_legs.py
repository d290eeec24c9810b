"""A way cut into legs: nights, marks and days, on a drive due east whose km are known."""

from datetime import UTC, datetime, timedelta

import pytest

from tests.small import leg
from tripplan.records.track import Point, Waypoint
from tripplan.trip.route.cut_into_legs import (
    Cut,
    compare_distance,
    compare_ends,
    km_cuts,
    overnight_cuts,
    propose,
    spread_km,
    waypoint_cuts,
    winding_of,
)
from tripplan.trip.route.measured_way import STRAIGHT, Way, Winding

EVENING = datetime(2026, 7, 3, 9, 0, tzinfo=UTC)  # 18:00 by the sun at 135 degrees east


def way(*km: float, winding: Winding = STRAIGHT, times: tuple[float | None, ...] = (), lon: float = 135.0) -> Way:
    """Points on the equator at these km, 111.195 km a degree, with hours from the evening if given."""
    points = tuple(
        Point(0.0, lon + at / 111.195, None, EVENING + timedelta(hours=hours) if hours is not None else None)
        for at, hours in zip(km, times or (None,) * len(km), strict=True)
    )
    return Way(points=points, km=km, opens=frozenset(), gap_km=0.0, winding=winding, has_times=bool(times), jumps=0)


def cut(spot: int, km: float, name: str | None = None) -> Cut:
    """A cut there."""
    return Cut(spot=spot, km=km, lat=0.0, lon=135 + km / 111.195, name=name)


@pytest.mark.parametrize(
    ("cuts", "lengths"),
    [
        ((), [100.0]),
        ((40.0,), [40.0, 60.0]),
        ((1.0,), [1.0, 99.0]),  # a leg of one km is a leg
        ((0.9,), [100.0]),
        ((99.0,), [99.0, 1.0]),
        ((99.1,), [100.0]),
        ((60.0, 40.0), [40.0, 20.0, 40.0]),  # in the order of the way
        ((40.0, 40.5), [40.0, 60.0]),
        ((40.0, 41.0), [40.0, 1.0, 59.0]),
    ],
)
def test_no_leg_is_shorter_than_a_km(cuts: tuple[float, ...], lengths: list[float]) -> None:
    """If one were, a fuel stop would be a leg, with a crossing of its own to be written."""
    found = propose(way(0.0, 50.0, 100.0), [cut(0 if km < 50 else 1, km) for km in cuts])
    assert [one.distance_km for one in found] == pytest.approx(lengths)


@pytest.mark.parametrize(
    ("hours", "lon", "is_cut"),
    [
        (4.0, 135.0, False),  # no more than four hours
        (4.1, 135.0, True),  # from 18:00, the middle at 20:03
        (5.0, 90.0, False),  # from 15:00, the middle at 17:30
        (23.9, 90.0, True),  # the middle at 2:57
        (23.9, -90.0, False),  # from 3:00, the middle at 14:57
        (24.0, -90.0, True),  # a whole day counts, wherever its middle lies
        (15.9, -135.0, True),  # from midnight, the middle at 7:57
        (16.1, -135.0, False),  # at 8:03
    ],
)
def test_a_night_cuts_the_way(hours: float, lon: float, is_cut: bool) -> None:
    """If not, two days would be one leg. Night is 20 to 8 by the sun, which stands at 9 h + longitude / 15 at the start."""
    found = overnight_cuts(way(0.0, 10.0, times=(0.0, hours), lon=lon))
    assert [(one.spot, one.km) for one in found] == ([(0, 0.0)] if is_cut else [])


def test_points_without_times_cut_nothing() -> None:
    """If they did, a drawn way would have nights in it."""
    assert overnight_cuts(way(0.0, 10.0, times=(0.0, None))) == overnight_cuts(way(0.0, 10.0)) == ()


def test_cuts_by_the_day_lie_between_points() -> None:
    """Every 40 km of a way with points at 0, 50 and 100: at 40 and at 80, and none at the end."""
    assert [(one.spot, one.km) for one in km_cuts(way(0.0, 50.0, 100.0), 40.0)] == [(0, 40.0), (1, 80.0)]
    assert [one.km for one in km_cuts(way(0.0, 50.0, 100.0), 101.0)] == []
    assert [round(one.lon - 135, 3) for one in km_cuts(way(0.0, 50.0, 100.0), 40.0)] == [0.36, 0.719]
    with pytest.raises(ValueError, match="above 0"):
        km_cuts(way(0.0, 1.0), 0.0)


@pytest.mark.parametrize(("off_km", "is_near"), [(0.0, True), (1.9, True), (2.1, False)])
def test_a_mark_within_two_km_cuts_the_way(off_km: float, is_near: bool) -> None:
    """If not, a leg would end at a name far from the road."""
    mark = Waypoint("Bore", off_km / 111.195, 135 + 50 / 111.195)
    cuts, missed = waypoint_cuts(way(0.0, 50.0, 100.0), [mark])
    assert ([(one.spot, one.km, one.name) for one in cuts], missed) == (
        ([(1, 50.0, "Bore")], ()) if is_near else ([], ("Bore",))
    )


def test_ends_take_the_name_of_a_mark_close_by() -> None:
    """Two km are close; without one, start, halt and end."""
    marks = (Waypoint("Home", 0.0, 135.0), Waypoint("Far", 1.0, 135.0))
    found = propose(way(0.0, 50.0, 100.0), [cut(0, 30.0), cut(1, 60.0, "Ford")], marks)
    assert [(one.from_, one.to) for one in found] == [
        ("Home", "halt 1"),
        ("halt 1", "Ford"),
        ("Ford", "end of the track"),
    ]


WINDS = Winding(factor=1.2, low=1.1, high=1.6)


def test_the_spread_of_a_winding_way() -> None:
    """120 km as reckoned are 100 in a straight line: 110 to 160 as roads wind. Legs have the same spread."""
    assert spread_km(way(0.0, 120.0, winding=WINDS)) == pytest.approx((110, 160))
    (one,) = propose(way(0.0, 120.0, winding=WINDS), [])
    assert (one.low_km, one.high_km) == pytest.approx((110, 160))
    assert spread_km(way(0.0, 120.0)) == (120, 120)
    assert winding_of(1.3, None, None) == Winding(factor=1.3, low=1.3, high=1.3)
    assert winding_of(1.3, 1.1, 1.7) == Winding(factor=1.3, low=1.1, high=1.7)


@pytest.mark.parametrize(
    ("typed", "winding", "is_asked"),
    [(91.0, STRAIGHT, False), (89.0, STRAIGHT, True), (109.0, STRAIGHT, False), (111.0, STRAIGHT, True),
     (84.0, WINDS, False), (82.0, WINDS, True), (146.0, WINDS, False), (147.0, WINDS, True)],
)  # fmt: skip
def test_a_typed_distance_may_be_a_tenth_off(typed: float, winding: Winding, is_asked: bool) -> None:
    """100 km: 90 to 110; with 91.7 to 133.3 as roads wind, 82.5 to 146.7."""
    found = compare_distance([leg(1, typed / 2), leg(2, typed / 2)], way(0.0, 100.0, winding=winding), "way.gpx")
    assert (found is not None) is is_asked
    if found:
        assert ("shorter" in (found.hint or "")) is (typed < 100)
    assert compare_distance([leg(1, 5)], way(0.0), "way.gpx") is None


@pytest.mark.parametrize(("typed", "is_asked"), [(99.5, False), (98.0, True), (176.0, False), (177.0, True)])
def test_a_typed_distance_fits_the_straight_line_of_its_ends(typed: float, is_asked: bool) -> None:
    """Ends 100 km apart are 110 to 160 by road, a tenth given: 99 to 176. A track, or a round trip, is not asked."""
    ends = {"from_lat": 0.0, "from_lon": 135.0, "to_lat": 0.0, "to_lon": 135 + 100 / 111.195}
    assert (compare_ends(leg(1, typed, **ends), WINDS) is not None) is is_asked
    assert compare_ends(leg(1, 10, **ends, track="way.gpx"), WINDS) is None
    assert compare_ends(leg(1, 500, **{**ends, "to_lon": 135.0}), WINDS) is None
    assert compare_ends(leg(1, 500), WINDS) is None
