"""Trips made before this one: their km count with their wear, and are no usual weeks. Sums are made by hand."""

from datetime import date, timedelta
from typing import Any

import pytest

from tests.due.test_findings import bearings, done, known
from tests.small import HERE, camper, leg, looked_at, rig, row, tables, thing, trip, wagon
from tripplan.due.findings import read_lives
from tripplan.explain.reasons import reasons
from tripplan.planner import make_plan
from tripplan.records.facts_in import EarlierLeg, HistoryRow, Trip
from tripplan.sheets.plan_json import plan_dict
from tripplan.verify.whole import verify
from tripplan.wear.contradictions import check
from tripplan.wear.earlier_trips import counted_legs
from tripplan.wear.rates_from_readings import unit_rates

TODAY = date(2026, 6, 20)
DUSTY = thing(km=10000, dust="high")


def before(number: int, distance_km: float, day: date, name: str = "Winter loop", **changes: Any) -> EarlierLeg:
    """A leg of an earlier trip."""
    plain = leg(number, distance_km, day, **changes)
    return EarlierLeg.model_validate({**plain.model_dump(by_alias=True), "trip": name, "origin": HERE})


def with_earlier(*legs: EarlierLeg, **changes: Any) -> Trip:
    """The trip through July, and legs of earlier trips beside it."""
    return trip(leg(1, 100), earlier_legs=legs, **changes)


def used(one_trip: Trip, *rows: HistoryRow, **more: Any) -> float:
    """Km the bearings have used by today."""
    _, (standing,) = looked_at(one_trip, *rows, catalogue=tables(DUSTY), **more)
    found = standing.limits[0].used
    assert found is not None
    return found


REPACKED = row(date(2026, 1, 1), 0, "bearings", "repack")


def test_km_of_an_earlier_trip_count_with_their_wear() -> None:
    """Otherwise 1000 km of bulldust last autumn would be forgotten as soon as the next trip is planned.

    5000 km by the odometer, of which 1000 in bulldust that counts three: 4000 + 3 x 1000 = 7000.
    """
    rows = (REPACKED, row(date(2026, 6, 1), 5000, number=3))
    assert used(with_earlier(), *rows) == pytest.approx(5000)
    loop = before(1, 1000, date(2026, 3, 1), dust="bulldust")
    assert used(with_earlier(loop), *rows) == pytest.approx(7000)
    _, (standing,) = looked_at(with_earlier(loop), *rows, catalogue=tables(DUSTY))
    [said] = [reason for reason in reasons(standing, (), (), (), False) if "earlier trips" in reason.text]
    assert said.text.endswith("leg 1 of Winter loop, 1 000 km, each km 3.00.") and said.origins == (HERE,)


def test_an_earlier_trip_before_the_work_does_not_count() -> None:
    """Otherwise new bearings would begin their life with the wear of the old ones."""
    rows = (REPACKED, row(date(2026, 6, 1), 5000, number=3))
    assert used(with_earlier(before(1, 1000, date(2025, 11, 1), dust="bulldust")), *rows) == pytest.approx(5000)


def test_behind_the_last_reading_the_weeks_between_trips_count_too() -> None:
    """Otherwise an owner who reads the odometer once a year would seem to stand still at home.

    70 km a week: 70 days to the first loop, 35 from its one leg to the second, 40 from there to
    today are 145 days, 1450 km; the legs 500 km and 300 km.
    """
    start = date(2026, 1, 26)
    loops = (before(1, 500, start + timedelta(days=70)), before(1, 300, start + timedelta(days=105), "Spring loop"))
    rows = (row(start, 0, "bearings", "repack"),)
    unit = wagon(usual_km_per_week=70)
    assert (TODAY - start).days == 145
    assert used(with_earlier(*loops), *rows, units=(unit,)) == pytest.approx(1450 + 800)


def test_earlier_trips_are_no_usual_weeks() -> None:
    """Otherwise two long tours would make every week at home a long one.

    10 000 km in 400 days; without tours of 2000 and 1000 km that took 11 and 10 days: 7000 km in 379.
    """
    start = TODAY - timedelta(days=400)
    rows = tuple(row(start + timedelta(days=d), 25.0 * d, number=d + 2) for d in (0, 100, 200, 400))
    first = [before(n, 1000, start + timedelta(days=110 + 10 * (n - 1))) for n in (1, 2)]
    second = [before(n, 500, start + timedelta(days=250 + 9 * (n - 1)), "Spring loop") for n in (1, 2)]
    found = unit_rates(wagon(), rows, (*first, *second), TODAY)[0]
    assert found.measured == pytest.approx(7000 * 7 / 379)
    assert "without 3000 km of trips" in found.reason


def test_a_trailer_left_at_home_was_not_worn() -> None:
    """Otherwise the camper's bearings would age on trips that it never made."""
    rows = tuple(one.model_copy(update={"unit": "camper"}) for one in (REPACKED, row(date(2026, 6, 1), 5000, number=3)))
    catalogue = tables(thing(km=10000, dust="high", unit_kind="trailer"))
    for towing, km in ((False, 5000), (True, 7000)):
        loop = before(1, 1000, date(2026, 3, 1), dust="bulldust", towing=towing)
        _, (standing,) = looked_at(with_earlier(loop), *rows, catalogue=catalogue, units=(wagon(), camper()))
        assert standing.limits[0].used == pytest.approx(km)


def test_findings_are_judged_by_the_wear_of_earlier_trips() -> None:
    """Otherwise bearings that stayed good through bulldust would say no more than on sealed road."""
    rows = (done(date(2020, 1, 1), 0, position=None), done(date(2021, 1, 1), 30000, "as new", position=None))
    loop = before(1, 5000, date(2020, 6, 1), dust="bulldust")
    ages = []
    for one_trip in (with_earlier(), with_earlier(loop)):
        situation, _ = looked_at(one_trip, *rows, catalogue=known(bearings(dust="high", positions=None)))
        ages.append(read_lives(situation)[0].counted[0].low)
    assert ages == [pytest.approx(30000), pytest.approx(40000)]


def test_legs_that_are_not_before_the_trip_are_told_and_left_out() -> None:
    """Otherwise the trip's own legs, copied there too early, would count twice."""
    early, late = before(1, 100, date(2026, 3, 1)), before(2, 100, date(2026, 7, 1))
    one = with_earlier(early, early.model_copy(), late)
    assert counted_legs(one, date(2027, 1, 1)) == (early,)
    told = [found.code for found in check(rig(), (), one, tables(), TODAY) if found.file == HERE.file]
    assert told.count("L20") == 2


def test_a_plan_with_earlier_trips_stands_up_to_the_checker() -> None:
    """Otherwise the reserve on what past dust wore would be called a broken rule.

    With reserve 4000 + 5 x 1000 = 9000 of 9050 are used, so it runs out after 50 km; typically it lasts.
    """
    rows = (REPACKED, row(date(2026, 6, 1), 5000, number=3))
    one = with_earlier(before(1, 1000, date(2026, 3, 1), dust="bulldust"))
    catalogue = tables(thing(km=9050, dust="high"))
    plan = plan_dict(make_plan(rig(), rows, one, catalogue, TODAY))
    assert plan["items"][0]["limits"][0]["used"] == pytest.approx(7000)
    assert (plan["items"][0]["runs_out"], plan["items"][0]["runs_out_reserve"]["trip_km"]) == (None, pytest.approx(50))
    assert verify(plan, rig(), rows, one, catalogue) == ()


def test_trips_may_number_their_legs_alike() -> None:
    """Otherwise leg 1 of the spring would be worn as leg 1 of the winter was. 3 x 1000 + 1 x 500 + 3500 = 7000."""
    rows = (REPACKED, row(date(2026, 6, 1), 5000, number=3))
    winter = before(1, 1000, date(2026, 2, 1), dust="bulldust")
    spring = before(1, 500, date(2026, 4, 1), "Spring loop")
    assert used(with_earlier(spring, winter), *rows) == pytest.approx(7000)


def test_what_legs_of_one_number_measured_is_kept_apart() -> None:
    """Otherwise the spring's leg 1, whose engine ran as cool as ever, would wear the oil as the winter's leg 1 did.

    Oil ages twice as fast at 110 deg C as at 100 (a trade rule, doubling per 10 K): 2 x 1000 + 4000 km are 6000.
    """
    oil = thing(km=10000, heat="high", family="fluid")
    hot = before(1, 1000, date(2026, 2, 1), sump_temp_c=110)
    cool = before(1, 1000, date(2026, 4, 1), "Spring loop", sump_temp_c=100)
    rows = (REPACKED, row(date(2026, 6, 1), 5000, number=3))
    for legs in ((hot, cool), (cool, hot)):
        _, (standing,) = looked_at(with_earlier(*legs), *rows, catalogue=tables(oil))
        assert standing.limits[0].used == pytest.approx(6000)
        assert [wear for _, wear in standing.driven] == pytest.approx([2.0, 1.0])


def test_two_ranges_of_one_distance_are_kept_apart() -> None:
    """Otherwise the doubt about one guessed leg would stand for that about another trip's leg of the same number.

    A guess of 400 to 2000 km keeps more in reserve than one of 900 to 1100, and both together lie between.
    """
    rows = (REPACKED, row(date(2026, 6, 1), 5000, number=3))
    doubtful = {"distance_low_km": 400, "distance_high_km": 2000}
    sure = {"distance_low_km": 900, "distance_high_km": 1100}

    def reserve(winter: dict[str, float], spring: dict[str, float]) -> float:
        legs = before(1, 1000, date(2026, 2, 1), **winter), before(1, 1000, date(2026, 4, 1), "Spring loop", **spring)
        _, (standing,) = looked_at(with_earlier(*legs), *rows, catalogue=tables(DUSTY))
        found = standing.limits[0].at_departure_reserve
        assert found is not None
        return found

    low, high = reserve(sure, sure), reserve(doubtful, doubtful)
    mixed = reserve(sure, doubtful)
    assert low < mixed < high and mixed == pytest.approx(reserve(doubtful, sure))


def test_what_no_model_holds_for_is_told_of_earlier_legs_too() -> None:
    """Otherwise a graded row would stand in for the numbers of a past leg in silence."""
    rows = (REPACKED, row(date(2026, 6, 1), 5000, number=3))
    fast = before(
        1, 1000, date(2026, 3, 1), dust="heavy", silt_percent=10, moisture_percent=1, following_m=20, speed_kmh=120
    )
    (text,) = [
        told.text
        for told in make_plan(rig(), rows, with_earlier(fast), tables(DUSTY), TODAY).warnings
        if told.kind == "graded row used"
    ]
    assert text.startswith("Leg 1 of Winter loop, dust: ")
