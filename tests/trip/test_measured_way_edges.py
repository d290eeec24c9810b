"""The figures of a measured way at their edges: points along the equator, where a degree is 111.195 km."""

from datetime import UTC, datetime, timedelta

import pytest

from tripplan.records.track import DRAWN, RECORDED, Point, Track, Waypoint
from tripplan.trip.route.measured_way import (
    Winding,
    climb_and_descent_m,
    is_sparse,
    measure,
    moving_speed_kmh,
    without_jumps,
    without_standing,
)

START = datetime(2026, 7, 3, 3, 30, tzinfo=UTC)
DEGREE_M = 111_195.0


def at(metres: float, seconds: float | None = None, height_m: float | None = None) -> Point:
    """A point so many metres east, at that second if given."""
    when = None if seconds is None else START + timedelta(seconds=seconds)
    return Point(0.0, 134 + metres / DEGREE_M, height_m, when)


def track(*segments: tuple[Point, ...], kind: str = RECORDED, waypoints: tuple[Waypoint, ...] = ()) -> Track:
    """A track of these segments."""
    return Track(file="way.gpx", kind=kind, segments=segments, waypoints=waypoints)


@pytest.mark.parametrize(
    ("heights", "climbed"),
    [
        ((0, 9.9, 0, 9.9), (0, 0)),
        ((0, 10, 0), (10, 10)),
        ((0, 6, 12, 5, 1), (12, 11)),
        ((100, 80, 85, 120), (40, 20)),
        ((5, 5), (0, 0)),
    ],
)
def test_a_climb_counts_from_ten_metres(heights: tuple[float, ...], climbed: tuple[float, float]) -> None:
    """If less counted, a receiver's wavering would be a mountain; what is under ten since the last turn is none."""
    assert climb_and_descent_m([at(0, height_m=height) for height in heights]) == climbed


def test_fewer_than_two_heights_tell_nothing() -> None:
    """One height, and points without."""
    assert climb_and_descent_m([at(0, height_m=5), at(1)]) is None and climb_and_descent_m([]) is None
    assert climb_and_descent_m([at(0, height_m=5), at(1), at(2, height_m=25)]) == (20, 0)


@pytest.mark.parametrize(
    ("metres", "seconds", "is_halt"),
    [(0, 60, True), (0, 59, False), (24.9, 60, True), (25.2, 60, False), (10, 300, True)],
)
def test_a_halt_is_a_minute_within_25_metres(metres: float, seconds: float, is_halt: bool) -> None:
    """If shorter counted, every gate would be taken out; of a halt only the first and the last point stay."""
    points = (at(0, 0), at(metres / 2, seconds / 2), at(metres, seconds), at(2000, seconds + 120))
    found = without_standing(points)
    assert len(found) == (3 if is_halt else 4)
    assert found[0] == points[0] and found[-2:] == points[-2:]


def test_points_without_times_are_all_kept() -> None:
    """Where no time was written nobody can tell standing from driving."""
    assert without_standing((at(0), at(1), at(2))) == (at(0), at(1), at(2))
    assert without_jumps((at(0), at(90_000), at(1))) == (at(0), at(90_000), at(1))


@pytest.mark.parametrize(
    ("off_m", "back_m", "is_jump"),
    [
        (4000, 100, False),  # 240 km/h there
        (4300, 100, True),  # 258 there, 252 back, and 3 without it
        (4300, 8600, False),  # as fast on and on: no single point
        (9000, 100, True),
    ],
)
def test_a_jump_is_faster_than_any_rig_there_and_back(off_m: float, back_m: float, is_jump: bool) -> None:
    """If not, one bad fix would add its kilometres: a minute between points, 250 km/h at the most."""
    points = (at(0, 0), at(off_m, 60), at(back_m, 120))
    assert len(without_jumps(points)) == (2 if is_jump else 3)
    assert measure(track(points), Winding()).jumps == int(is_jump)


def test_two_points_are_no_jump() -> None:
    """Nobody can say which of two is wrong."""
    assert len(without_jumps((at(0, 0), at(90_000, 60)))) == 2


@pytest.mark.parametrize(("step_m", "sparse"), [(990, False), (1010, True)])
def test_drawn_points_a_km_apart_do_not_follow_a_road(step_m: float, sparse: bool) -> None:
    """On average, over all segments; what was recorded was driven, however far apart its points."""
    points = tuple(at(step_m * n) for n in range(4))
    assert is_sparse(track(points, kind=DRAWN)) is sparse
    assert is_sparse(track(points)) is False
    assert is_sparse(track(kind=DRAWN)) is True and is_sparse(track((at(0),), kind=DRAWN)) is True


def test_between_segments_nothing_is_counted() -> None:
    """10 km, 5 km not recorded, 20 km: 30 km and a gap, told behind the second point."""
    way = measure(track((at(0), at(10_000)), (at(15_000), at(35_000))), Winding())
    assert way.length_km == pytest.approx(30, rel=0.01) and way.gap_km == pytest.approx(5, rel=0.01)
    assert way.opens == {1} and way.jumps == 0 and not way.has_times
    assert way.km[1] == way.km[2]


def test_the_winding_is_used_where_points_are_too_far_apart() -> None:
    """100 km drawn with two points are 120 by road; marks alone make a way as well."""
    winding = Winding(factor=1.2, low=1.1, high=1.6)
    assert measure(track((at(0), at(100_000)), kind=DRAWN), winding).length_km == pytest.approx(120, rel=0.01)
    assert measure(track((at(0), at(100_000))), winding).length_km == pytest.approx(100, rel=0.01)
    marks = (Waypoint("A", 0.0, 134.0), Waypoint("B", 0.0, 134 + 100_000 / DEGREE_M))
    assert measure(track(waypoints=marks), winding).length_km == pytest.approx(120, rel=0.01)
    assert measure(track(), winding).length_km == 0.0


def test_speed_without_halts_and_gaps() -> None:
    """An hour of 60 km, an hour of rest, half an hour of 30 km: 60 km/h; a gap between segments is no drive."""
    one = (at(0, 0), at(60_000, 3600), at(60_010, 7200), at(90_000, 9000))
    way = measure(track(one), Winding())
    assert moving_speed_kmh(way, 0, len(way.points) - 1) == pytest.approx(60, rel=0.01)
    two = measure(track((at(0, 0), at(60_000, 3600)), (at(160_000, 4000), at(190_000, 5800))), Winding())
    assert moving_speed_kmh(two, 0, 3) == pytest.approx(60, rel=0.01)
    assert moving_speed_kmh(measure(track((at(0, 5), at(1000, 5))), Winding()), 0, 1) is None
