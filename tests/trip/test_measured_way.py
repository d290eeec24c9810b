"""A measured way: halts, climb, winding, gaps, and its cutting into legs."""

import random
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from geopy.distance import geodesic
from hypothesis import given
from hypothesis import strategies as st

from tests.wear.mechanisms.legs import a_leg
from tripplan.records.problems import LOOK
from tripplan.records.track import DRAWN, RECORDED, Point, Track, Waypoint
from tripplan.trip.route.cut_into_legs import (
    compare_descent,
    compare_distance,
    compare_ends,
    km_cuts,
    overnight_cuts,
    propose,
    waypoint_cuts,
)
from tripplan.trip.route.geodesic import length_km
from tripplan.trip.route.leg_on_map import leg_lines, part, place_at, thinned
from tripplan.trip.route.measured_way import (
    STRAIGHT,
    Winding,
    climb_and_descent_m,
    is_sparse,
    measure,
    moving_speed_kmh,
    without_standing,
)

WINDING = Winding(factor=1.2, low=1.1, high=1.6)
MORNING = datetime(2026, 7, 3, 3, 30, tzinfo=UTC)  # 12:26 by the sun at 134 degrees east


def track(*segments: list[Point], kind: str = RECORDED, waypoints: tuple[Waypoint, ...] = ()) -> Track:
    """A track of these segments."""
    return Track(file="way.gpx", kind=kind, segments=tuple(map(tuple, segments)), waypoints=waypoints)


def drive(lon: float, start: datetime, hours: float, every_s: float = 60, kmh: float = 60) -> list[Point]:
    """Due east along latitude -23 at an even speed."""
    step_deg = kmh * every_s / 3600 / geodesic((-23, 0), (-23, 1)).km
    count = int(hours * 3600 / every_s) + 1
    return [Point(-23.0, lon + step_deg * n, 500.0, start + timedelta(seconds=every_s * n)) for n in range(count)]


def camp(at: Point, hours: float, every_s: float = 30) -> list[Point]:
    """A receiver left on all night: it wanders within some metres."""
    dice = random.Random(3)
    start = at.time or MORNING
    return [
        Point(at.lat + dice.uniform(-8e-5, 8e-5), at.lon + dice.uniform(-8e-5, 8e-5), 500.0,
              start + timedelta(seconds=every_s * (n + 1)))
        for n in range(int(hours * 3600 / every_s))
    ]  # fmt: skip


FIRST_DAY = drive(134.0, MORNING, 5)
NIGHT = camp(FIRST_DAY[-1], 14)
SECOND_DAY = drive(FIRST_DAY[-1].lon, (NIGHT[-1].time or MORNING) + timedelta(minutes=1), 4)


def test_a_night_in_camp_adds_no_kilometres() -> None:
    """Otherwise the receiver's wander would be counted as driving, and wear with it."""
    raw_km = length_km([*FIRST_DAY, *NIGHT, *SECOND_DAY])
    way = measure(track([*FIRST_DAY, *NIGHT, *SECOND_DAY]), WINDING)
    assert raw_km > 545
    assert way.length_km == pytest.approx(9 * 60, abs=0.1)


def test_a_jump_of_the_receiver_is_left_out() -> None:
    """Otherwise one bad fix would add a hundred kilometres, and their wear."""
    points = list(FIRST_DAY)
    points[100] = points[100]._replace(lat=points[100].lat + 0.5)
    points[200] = points[200]._replace(lon=points[200].lon - 3)
    way = measure(track(points), WINDING)
    assert (way.jumps, way.length_km) == (2, pytest.approx(300, abs=0.1))
    assert measure(track(FIRST_DAY), WINDING).jumps == 0
    bare = [point._replace(time=None) for point in points]
    assert measure(track(bare), WINDING).jumps == 0


def test_a_ferry_or_a_flight_is_no_jump() -> None:
    """Otherwise a stretch that was really covered fast would be thinned out, or a gap in the record be taken for one."""
    flight = drive(134.0, MORNING, 1, kmh=700)
    assert measure(track(flight), WINDING).jumps == 0
    late = drive(140.0, MORNING + timedelta(hours=30), 1)
    assert measure(track([*FIRST_DAY, *late]), WINDING).jumps == 0
    twice = [point for point in FIRST_DAY for _ in range(2)]
    assert measure(track(twice), WINDING).jumps == 0


def test_slow_driving_is_driving() -> None:
    """Otherwise a crawl over rock would be taken for a halt and lost."""
    crawl = drive(134.0, MORNING, 1, every_s=5, kmh=3)
    assert length_km(without_standing(crawl)) == pytest.approx(3, rel=1e-3)


def test_without_times_nothing_is_taken_out() -> None:
    """Otherwise a winding track would be cut short on the suspicion of a halt."""
    bare = [Point(lat, lon) for lat, lon, _, _ in NIGHT[:50]]
    assert without_standing(bare) == tuple(bare)


def test_a_receiver_that_hangs_costs_no_time() -> None:
    """Otherwise a file with one point written over and over would stop the check for minutes."""
    stuck = [Point(-23, 134, None, MORNING)] * 60_000
    assert len(without_standing(stuck)) == 60_000
    assert measure(track(stuck), WINDING).length_km == 0


@given(st.lists(st.tuples(st.floats(-0.01, 0.01), st.floats(-0.01, 0.01), st.integers(0, 600)), max_size=30))
def test_taking_halts_out_keeps_ends_and_order(rows: list[tuple[float, float, int]]) -> None:
    """Otherwise a leg could start or end elsewhere than the track, or run backwards."""
    when = MORNING
    points = []
    for lat, lon, seconds in rows:
        when += timedelta(seconds=seconds)
        points.append(Point(lat, lon, None, when))
    kept = without_standing(points)
    assert set(kept) <= set(points)
    assert [point.time for point in kept] == sorted(point.time for point in kept if point.time)
    if points:
        assert (kept[0], kept[-1]) == (points[0], points[-1])


def test_a_gap_between_segments_is_told_and_not_counted() -> None:
    """Otherwise a ferry, or a day without the receiver, would be counted as driven."""
    way = measure(track([Point(-23, 134), Point(-23, 135)], [Point(-24, 135), Point(-24, 136)]), WINDING)
    expected = geodesic((-23, 134), (-23, 135)).km + geodesic((-24, 135), (-24, 136)).km
    assert way.length_km == pytest.approx(expected)
    assert way.gap_km == pytest.approx(geodesic((-23, 135), (-24, 135)).km)


def test_over_the_antimeridian() -> None:
    """Otherwise a leg there would be forty thousand kilometres long."""
    way = measure(track([Point(-16.5, 179.9), Point(-16.5, -179.9)]), WINDING)
    assert way.length_km == pytest.approx(geodesic((-16.5, 0), (-16.5, 0.2)).km)


def test_winding_counts_only_where_the_road_is_not_known() -> None:
    """Otherwise a recorded road would be lengthened, or a line on a map taken for the road."""
    far = [Point(-23, 134 + n / 10) for n in range(5)]
    near = [Point(-23, 134 + n / 1000) for n in range(5)]
    marks = (Waypoint("a", -23, 134), Waypoint("b", -23, 135))
    assert is_sparse(track(far, kind=DRAWN))
    assert not is_sparse(track(near, kind=DRAWN))
    assert not is_sparse(track(far, kind=RECORDED))
    drawn = measure(track(far, kind=DRAWN), WINDING)
    assert drawn.length_km == pytest.approx(1.2 * length_km(far))
    only_marks = measure(track(kind=DRAWN, waypoints=marks), WINDING)
    assert only_marks.length_km == pytest.approx(1.2 * geodesic((-23, 134), (-23, 135)).km)
    assert measure(track(near, kind=DRAWN), WINDING).winding == STRAIGHT


def test_climb_ignores_the_wavering_of_heights() -> None:
    """Otherwise a flat road would show a mountain's climb from a receiver's noise."""

    def heights(*metres: float | None) -> list[Point]:
        return [Point(-23, 134, ele_m) for ele_m in metres]

    assert climb_and_descent_m(heights(500, 504, 499, 503, 498, 505)) == (0, 0)
    assert climb_and_descent_m(heights(500, 600, 550, 700)) == (250, 50)
    assert climb_and_descent_m(heights(*range(500, 601))) == (100, 0)
    assert climb_and_descent_m(heights(None, 500, None, 530)) == (30, 0)
    assert climb_and_descent_m(heights(None, 500)) is None


def test_moving_speed_leaves_halts_out() -> None:
    """Otherwise lunch would make the leg look slow, and its corrugation harmless."""
    first = drive(134.0, MORNING, 1)
    lunch = camp(first[-1], 1)
    second = drive(first[-1].lon, (lunch[-1].time or MORNING) + timedelta(minutes=1), 1)
    way = measure(track([*first, *lunch, *second]), WINDING)
    assert moving_speed_kmh(way, 0, len(way.points) - 1) == pytest.approx(60, rel=0.03)
    bare = measure(track([Point(-23, 134), Point(-23, 135)]), WINDING)
    assert moving_speed_kmh(bare, 0, 1) is None


@pytest.mark.parametrize("left_on", [True, False])
def test_cut_at_overnight_halts(left_on: bool) -> None:
    """Otherwise two days would be one leg, with one departure and no stop between."""
    segments = [[*FIRST_DAY, *NIGHT, *SECOND_DAY]] if left_on else [FIRST_DAY, SECOND_DAY]
    way = measure(track(*segments), WINDING)
    legs = propose(way, overnight_cuts(way))
    assert [round(leg.distance_km) for leg in legs] == [300, 240]
    assert legs[0].depart == MORNING
    assert legs[1].depart is not None and abs(legs[1].depart - (SECOND_DAY[0].time or MORNING)) < timedelta(minutes=2)
    assert [leg.from_ for leg in legs] == ["start of the track", "halt 1"]
    assert legs[0].speed_kmh == pytest.approx(60, rel=0.02)


def test_a_long_lunch_is_no_night() -> None:
    """Otherwise a day in a garage would cut a leg in two."""
    morning, evening = drive(134.0, MORNING, 1), drive(134.6, MORNING + timedelta(hours=6), 1)
    way = measure(track(morning, evening), WINDING)
    assert overnight_cuts(way) == ()
    after_two_days = drive(134.6, MORNING + timedelta(hours=48), 1)
    assert len(overnight_cuts(measure(track(morning, after_two_days), WINDING))) == 1


def test_cut_at_named_waypoints() -> None:
    """Otherwise a leg would end somewhere between the places the owner named."""
    marks = (Waypoint("Far Bore", -25, 134), Waypoint("Two Wells", -23.005, FIRST_DAY[150].lon),
             Waypoint("Red Pan", -23.0, FIRST_DAY[-1].lon))  # fmt: skip
    way = measure(track(FIRST_DAY), WINDING)
    cuts, missed = waypoint_cuts(way, marks)
    legs = propose(way, cuts, marks)
    assert missed == ("Far Bore",)
    assert [(leg.from_, leg.to) for leg in legs] == [("start of the track", "Two Wells"), ("Two Wells", "Red Pan")]
    assert [leg.distance_km for leg in legs] == pytest.approx([150, 150], abs=0.1)


@given(st.floats(20, 400))
def test_cut_by_km_a_day(km_a_day: float) -> None:
    """Otherwise kilometres would be lost or counted twice at the cuts."""
    way = measure(track(FIRST_DAY), WINDING)
    legs = propose(way, km_cuts(way, km_a_day))
    assert sum(leg.distance_km for leg in legs) == pytest.approx(way.length_km)
    assert all(leg.distance_km <= km_a_day + 1.001 for leg in legs)
    assert all(one.end == other.start for one, other in pairwise(legs))


def test_several_cuts_between_two_points() -> None:
    """Otherwise a long straight line on a map could not be cut into days."""
    way = measure(track([Point(-23, 130), Point(-23, 140)], kind=DRAWN), WINDING)
    legs = propose(way, km_cuts(way, 300))
    assert [round(leg.distance_km) for leg in legs[:-1]] == [300] * (len(legs) - 1)
    assert legs[0].end[1] == pytest.approx(130 + 10 * 300 / way.length_km)
    assert (legs[0].low_km, legs[0].high_km) == pytest.approx((275, 400))


def test_a_typed_distance_is_held_against_the_track() -> None:
    """Otherwise a slip of the pen in legs.csv would set all wear of the leg."""
    way = measure(track(FIRST_DAY), WINDING)
    assert compare_distance([a_leg(distance_km=320)], way, "way.gpx") is None
    assert compare_distance([a_leg(distance_km=160), a_leg(leg=2, distance_km=150)], way, "way.gpx") is None
    told = compare_distance([a_leg(distance_km=30)], way, "way.gpx")
    assert told is not None and (told.code, told.weight) == ("X08", LOOK)
    assert "about 300 km" in told.accepted and "270 km shorter" in told.hint


def test_a_drawn_way_is_held_against_its_spread() -> None:
    """Otherwise a right distance would be questioned only because roads wind."""
    way = measure(track([Point(-23, 134), Point(-23, 136)], kind=DRAWN), WINDING)
    straight_km = way.length_km / 1.2
    assert compare_distance([a_leg(distance_km=straight_km * 1.7)], way, "way.gpx") is None
    assert compare_distance([a_leg(distance_km=straight_km * 0.9)], way, "way.gpx") is not None


def test_legs_that_share_a_track_share_it_in_order() -> None:
    """Otherwise a crossing of the second leg would be drawn on the first."""
    way = measure(track(FIRST_DAY), WINDING)
    legs = [a_leg(leg=1, distance_km=100, track="way.gpx"), a_leg(leg=2, distance_km=200, track="way.gpx")]
    lines = leg_lines(legs, {"way.gpx": way})
    assert lines[1].positions[-1] == pytest.approx(lines[2].positions[0])
    assert lines[1].km[-1] == pytest.approx(100) and lines[2].km[-1] == pytest.approx(200)
    off_km = geodesic(FIRST_DAY[0][:2], place_at(lines[2], 50)).km
    assert off_km == pytest.approx(150, abs=0.2)
    assert place_at(lines[2], -5) == pytest.approx(lines[2].positions[0])
    assert place_at(lines[2], 999) == pytest.approx(FIRST_DAY[-1][:2])


def test_a_part_of_a_leg_and_a_thinner_line_keep_their_ends() -> None:
    """Otherwise a stretch on the map would begin or end where the leg does not."""
    line = leg_lines([a_leg(distance_km=300, track="way.gpx")], {"way.gpx": measure(track(FIRST_DAY), WINDING)})[1]
    piece = part(line, 100, 250)
    assert (piece[0], piece[-1]) == (place_at(line, 100), place_at(line, 250))
    assert sum(geodesic(a, b).km for a, b in pairwise(piece)) == pytest.approx(150, abs=0.2)
    few = thinned(line, 20)
    assert len(few.km) == len(few.positions) == 20
    assert (few.positions[0], few.positions[-1]) == (line.positions[0], line.positions[-1])
    assert place_at(few, 123) == pytest.approx(place_at(line, 123), abs=1e-3)
    assert thinned(few, 20) is few


def test_a_leg_with_two_ends_is_a_straight_guess() -> None:
    """Otherwise a guessed place would be shown as if it had been driven."""
    ends = a_leg(distance_km=100, from_lat=-23, from_lon=179, to_lat=-23, to_lon=-179)
    line = leg_lines([ends, a_leg(leg=2)], {})[1]
    assert not line.is_recorded
    assert place_at(line, 25) == pytest.approx((-23, 179.5))


def test_a_typed_distance_is_held_against_its_ends() -> None:
    """Otherwise a slip of the pen would pass on every leg that has no track."""
    ends = {"from_lat": -23, "from_lon": 134, "to_lat": -23, "to_lon": 136}
    straight_km = geodesic((-23, 134), (-23, 136)).km
    for factor, is_asked in ((0.9, True), (1.0, False), (1.7, False), (1.8, True)):
        told = compare_ends(a_leg(distance_km=straight_km * factor, **ends), WINDING)
        assert (told is not None) is is_asked
    told = compare_ends(a_leg(distance_km=50, **ends), WINDING)
    assert told is not None and f"{straight_km:.0f} km apart" in told.hint
    assert compare_ends(a_leg(distance_km=50), WINDING) is None
    assert compare_ends(a_leg(distance_km=50, **ends, track="way.gpx"), WINDING) is None
    assert compare_ends(a_leg(distance_km=140, **(ends | {"to_lon": 134.001})), WINDING) is None


def test_a_typed_descent_is_held_against_the_heights() -> None:
    """Otherwise brakes would be spared a mountain that the track has seen."""
    down = [Point(-23, 134 + n / 100, 900 - 5 * n) for n in range(101)]
    flat = [Point(-23, 135 + n / 100, 400) for n in range(1, 101)]
    way = measure(track([*down, *flat]), WINDING)
    legs = [a_leg(leg=n, distance_km=way.length_km / 2, track="way.gpx", descent_m=m) for n, m in ((1, 525), (2, 9))]
    assert compare_descent(legs, way, "way.gpx") == ()
    wrong = [legs[0].model_copy(update={"descent_m": 600.0}), legs[1].model_copy(update={"descent_m": 30.0})]
    assert [(p.code, p.found) for p in compare_descent(wrong, way, "way.gpx")] == [("X13", "600 m"), ("X13", "30 m")]
    bare = measure(track([Point(-23, 134), Point(-23, 136)]), WINDING)
    assert compare_descent(wrong, bare, "way.gpx") == ()
