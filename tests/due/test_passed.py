"""Which places lie behind the rig: a place already passed can take no work."""

from datetime import date, datetime, timedelta
from functools import cache
from pathlib import Path

import pytest

from tests.small import HERE, leg, looked_at, planned, row, stop, tables, thing, trip, wagon, workshop
from tripplan.due.passed import furthest, without_passed
from tripplan.files.demos import DEMOS
from tripplan.files.plan_folder import read
from tripplan.placing.greedy import place_greedily
from tripplan.placing.problem import build_sites
from tripplan.planner import look_around, make_plan
from tripplan.records.facts_in import Crossing, HistoryRow, Trip
from tripplan.trip.timeline import build_timeline

DEMO = Path(__file__).parents[2] / "demo"
FIRST, SECOND, THIRD = date(2026, 7, 1), date(2026, 7, 3), date(2026, 7, 5)
# stops at trip km 400 and 700, the first left on the day the second leg is driven
STOPS = (stop("Near", 1, FIRST, leave=SECOND), stop("Far", 2, SECOND, leave=THIRD))
LEGS = (leg(1, 400, FIRST), leg(2, 300, SECOND), leg(3, 500, THIRD))
TRIP = trip(*LEGS, stops=STOPS, workshop_days=(workshop(FIRST),))


def made(leg_number: int, at_km: float, day: date) -> Crossing:
    """A crossing that was made."""
    told = {"leg": leg_number, "at_km": at_km, "depth_m": 0.3, "water": "fresh", "crossed": day, "origin": HERE}
    return Crossing.model_validate(told)


def places(one_trip: Trip, today: date, *rows: HistoryRow) -> list[str]:
    """What is left to work at, as it comes out of the situation."""
    s, _ = looked_at(one_trip, *rows, catalogue=tables(thing(km=10000)), units=(wagon(),), today=today)
    return [site.place for site in build_sites(s.ahead, s.timeline, today) if site.kind != "after"]


@pytest.mark.parametrize(
    ("leg_number", "at_km", "left"),
    [
        (1, 399, ["Near", "Far"]),
        (1, 400, ["Near", "Far"]),  # at the very place
        (2, 0, ["Near", "Far"]),  # the same point, said from the next leg
        (2, 1, ["Far"]),
        (2, 300, ["Far"]),
    ],
)
def test_a_crossing_closes_what_has_a_lower_trip_km(leg_number: int, at_km: float, left: list[str]) -> None:
    """Otherwise work would be booked at a place that the rig left in the morning."""
    wet = TRIP.model_copy(update={"crossings": (made(leg_number, at_km, SECOND),)})
    assert places(wet, SECOND) == left


def test_a_planned_crossing_closes_nothing() -> None:
    """Otherwise every ford of the plan would take away the stops before it."""
    ahead = made(2, 200, SECOND).model_copy(update={"crossed": None})
    assert places(TRIP.model_copy(update={"crossings": (ahead,)}), FIRST) == ["home", "Near", "Far"]


def test_a_crossing_closes_the_shed() -> None:
    """Otherwise the day of departure would still take an hour's work at home, 40 km down the road."""
    assert places(TRIP, FIRST) == ["home", "Near", "Far"]
    assert places(TRIP.model_copy(update={"crossings": (made(1, 40, FIRST),)}), FIRST) == ["Near", "Far"]


def test_arriving_late_on_the_day_closes_nothing() -> None:
    """Otherwise the stop where the rig stands in the evening would be lost."""
    assert places(TRIP, FIRST + timedelta(days=1)) == ["Near", "Far"]
    late = TRIP.model_copy(update={"stops": (stop("Near", 1, datetime(2026, 7, 1, 21), leave=SECOND), STOPS[1])})
    assert places(late, FIRST + timedelta(days=1)) == ["Near", "Far"]


def test_a_driven_leg_closes_what_lies_before_it() -> None:
    """Otherwise dates that were left as planned would keep a place open that is 300 km back."""
    kept = TRIP.model_copy(update={"stops": (stop("Near", 1, FIRST, leave=THIRD), STOPS[1])})
    assert places(kept, SECOND) == ["Near", "Far"]
    assert places(kept, SECOND + timedelta(days=1)) == ["Far"]


@pytest.mark.parametrize(
    ("now_km", "left"),
    [
        (1410, ["Near", "Far"]),  # 410 km read long is still the stop at 400
        (1421, ["Near", "Far"]),  # 421 x 0.95 = 399.95
        (1422, ["Far"]),  # 422 x 0.95 = 400.9
        (1690, ["Far"]),
    ],
)
def test_a_reading_closes_only_what_it_is_well_past(now_km: float, left: list[str]) -> None:
    """Otherwise a detour round town would close the stop the rig stands at."""
    assert places(TRIP, SECOND, row(FIRST, 1000, number=2), row(SECOND, now_km, number=3)) == left


def test_home_km_before_departure_are_no_way_made() -> None:
    """Otherwise a reading from weeks before would count the shopping as road."""
    weekly = wagon(usual_km_per_week=700)  # 10 days at home, 100 km a day: 1000 km
    rows = (row(date(2026, 6, 21), 1000, number=2), row(SECOND, 2300, number=3))
    s, _ = looked_at(TRIP, *rows, catalogue=tables(thing(km=10000)), units=(weekly,), today=SECOND)
    assert s.reached is not None
    assert s.reached.trip_km == pytest.approx(400)  # leg 1, driven: the reading says 300 x 0.95 = 285
    assert [site.place for site in build_sites(s.ahead, s.timeline, SECOND)][:1] == ["Near"]


def test_a_reading_never_reaches_beyond_the_legs_begun() -> None:
    """Otherwise a typing slip of 1000 km would close the whole trip."""
    assert places(TRIP, SECOND, row(FIRST, 1000, number=2), row(SECOND, 9000, number=3)) == ["Far"]


def test_nothing_is_passed_before_the_trip() -> None:
    """Otherwise a plan made at home would lose its shed days."""
    line = build_timeline(TRIP, 8)
    assert furthest(TRIP, line, wagon(), (row(date(2026, 6, 1), 1000),), date(2026, 6, 20), 0.05) is None
    assert without_passed(TRIP, line, None) == (TRIP, ())


def test_what_is_passed_is_said() -> None:
    """Otherwise a stop would vanish from the sheet without a word."""
    wet = TRIP.model_copy(update={"crossings": (made(2, 90, SECOND),)})
    told = [text for text in planned(wet, today=SECOND).assumptions if text.startswith("Already passed")]
    assert told == [
        "Already passed, so no work is put there: Near "
        "(the rig has been at trip km 490, a crossing made there, 3 July)."
    ]


@cache
def demo(name: str) -> tuple[object, ...]:
    """A demo as read on its own day."""
    return read(DEMO / name, DEMOS[name])


@pytest.mark.parametrize(("name", "number"), [(name, number) for name, count in
                         (("outback", 4), ("long-tour", 10), ("after-crossing", 5)) for number in range(count)])  # fmt: skip
def test_crossings_before_at_and_after_each_stop_of_the_demos(name: str, number: int) -> None:
    """Otherwise a real folder could still send the owner back to a place behind them."""
    inputs, catalogue, _ = demo(name)
    one, legs = inputs.trip.stops[number], sorted(inputs.trip.legs, key=lambda leg: leg.leg)
    to = next(leg for leg in legs if leg.leg == one.after_leg)
    away = next(leg for leg in legs if leg.leg > one.after_leg)
    last = to.distance_km
    for place, at_km, stays in ((to, last - 1, True), (to, last, True), (away, 1, False)):
        # crossed at the stop's own last day: its dates alone would keep it open
        wet = made(place.leg, at_km, min(away.date, one.date if stays else away.date))
        today = wet.crossed
        one_trip = inputs.trip.model_copy(update={"crossings": (wet,)})
        s = look_around(inputs.rig, inputs.history, one_trip, catalogue, today)
        sites = build_sites(s.ahead, s.timeline, today)
        assert any((site.place, site.after_leg) == (one.stop, one.after_leg) for site in sites) is stays
        assert all(site.trip_km >= s.timeline.crossing_km[0] for site in sites)


def test_no_job_of_the_outback_is_put_behind_a_crossing() -> None:
    """Otherwise the case that was found, 30 jobs at a stop 60 km back, would come again."""
    inputs, catalogue, _ = demo("outback")
    day = date(2026, 6, 23)
    wet = made(4, 60, day).model_copy(update={"depth_m": 0.7, "water": "muddy"})
    one_trip = inputs.trip.model_copy(update={"crossings": (wet,)})
    plan = make_plan(inputs.rig, inputs.history, one_trip, catalogue, day, place=place_greedily)
    assert [slot.place for slot in plan.slots][:2] == ["Far Ledger", "Crookshank Yards"]
    assert min(slot.trip_km for slot in plan.slots if slot.jobs) >= 910 + 60
