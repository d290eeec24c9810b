"""The standing of one item position: what is used, the verdict, and what was found."""

from datetime import date, datetime

import pytest

from tests.small import camper, crossing, leg, looked_at, row, sheet, tables, thing, trip, wagon
from tripplan.due.standing import Standing, driven_legs, item_positions, mean_speed_kmh, unit_ledger
from tripplan.records.catalogue import Item
from tripplan.records.facts_in import HistoryRow, Trip
from tripplan.records.plan import DUE, LASTS, NO_RECORD, ON_THE_WAY
from tripplan.trip.timeline import build_timeline

DONE = date(2026, 1, 1)
TODAY = date(2026, 6, 20)
TRIP = trip(leg(1, 1000))


def standing(item: Item, *rows: HistoryRow, one_trip: Trip = TRIP, today: date = TODAY, **unit: object) -> Standing:
    """The first standing of one item on the wagon."""
    return looked_at(one_trip, *rows, catalogue=tables(item), units=(wagon(**unit),), today=today)[1][0]


def used(at_km: float, now_km: float, act: str = "repack", **more: object) -> tuple[HistoryRow, HistoryRow]:
    """Work at one reading and a reading today."""
    return row(DONE, at_km, "bearings", act, 2, **more), row(TODAY, now_km, number=3)


@pytest.mark.parametrize(
    ("now_km", "verdict"),
    [
        (8000, LASTS),  # 8000 + 1000 = 9000 of 10000
        (9000, LASTS),  # exactly 10000 at the gate
        (9001, ON_THE_WAY),
        (10000, DUE),
        (12000, DUE),
    ],
)
def test_the_four_verdicts_by_distance(now_km: float, verdict: str) -> None:
    """If not, work would be put before departure that can wait, or the other way about."""
    assert standing(thing(km=10000), *used(0, now_km)).verdict == verdict


def test_no_record_is_said_and_counts_as_due() -> None:
    """If not, unknown history would be taken as fresh."""
    found = standing(thing(km=10000), row(TODAY, 5000))
    assert (found.verdict, found.overdue, found.done, found.runs_out) == (NO_RECORD, True, None, None)
    assert [(limit.used, limit.left) for limit in found.limits] == [(None, None)]


def test_a_date_without_any_reading_is_no_record_for_a_distance() -> None:
    """If not, km since the work would be counted as none."""
    found = standing(thing(km=10000), row(DONE, None, "bearings", "repack"))
    assert (found.verdict, found.course.known) == (NO_RECORD, False)


def test_a_date_is_enough_for_an_interval_in_months() -> None:
    """If not, a fire extinguisher would need an odometer."""
    found = standing(thing(months=24), row(DONE, None, "bearings", "repack"))
    assert found.verdict == LASTS


def test_what_nobody_knows_counts_as_used_up_and_as_fresh_once_renewed() -> None:
    """If not, work without a record would be done once and then be trusted for any distance."""
    (track,) = standing(thing(km=700), row(TODAY, 5000)).course.tracks
    assert (track.used_today, track.used_reserve, track.interval) == (700, 700, 700)
    assert track.typical == (1000,)  # so a renewal before departure is seen not to last the trip


def test_the_verdict_is_typical_and_the_reserve_is_told_beside_it() -> None:
    """If not, the owner would not see what one bad trip in twenty uses up, or be sent to work by it."""
    # dust heavy: 1000 km count 2000 (typical) and 3000 (reserve); 7500 used of 10000
    dusty = trip(leg(1, 1000, dust="heavy"))
    found = standing(thing(km=10000, dust="high"), *used(0, 7500), one_trip=dusty)
    assert found.verdict == LASTS
    assert found.runs_out is None
    assert found.runs_out_reserve is not None
    assert found.runs_out_reserve.leg_km == pytest.approx(2500 / 3, rel=1e-4)


def test_the_intervals_own_spread_is_part_of_the_reserve() -> None:
    """If not, the reserve would trust a disputed interval to the kilometre."""
    # intervals in use from 0.5 to 2: half of that spread (in logarithms) is doubt, so 1 in 20 needs 10000 / sqrt 2
    item = thing(km=10000, spread_low=0.5, spread_high=2)
    found = standing(item, *used(0, 6500), one_trip=trip(leg(1, 1000)))
    assert (found.verdict, found.runs_out) == (LASTS, None)
    assert found.runs_out_reserve is not None
    assert found.runs_out_reserve.leg_km == pytest.approx(10000 / 2**0.5 - 6500, abs=0.01)
    (track,) = found.course.tracks
    assert track.log_sd == 0  # the doubt about the interval is none about the wear


def test_due_is_what_typical_wear_used_up() -> None:
    """If not, every item past two thirds of a disputed interval would be work before departure."""
    item = thing(km=10000, spread_low=0.5, spread_high=2)
    assert standing(item, *used(0, 9999), one_trip=trip(leg(1, 0.5))).verdict == LASTS
    assert standing(item, *used(0, 10000), one_trip=trip(leg(1, 1))).verdict == DUE
    legs = (leg(1, 4000, date(2026, 7, 1), dust="heavy"), leg(2, 400, date(2026, 7, 5)))
    rows = (row(date(2026, 6, 30), 0, "bearings", "repack"), row(date(2026, 7, 2), 4000, number=3))
    found = standing(thing(km=10000, dust="high"), *rows, one_trip=trip(*legs), today=date(2026, 7, 3))
    # 8000 used as typical wear goes, 12000 with the reserve of the leg already driven
    assert found.course.tracks[0].used_reserve == pytest.approx(12000, rel=1e-4)
    assert found.verdict == LASTS


def test_use_up_to_departure_is_counted() -> None:
    """If not, two weeks of commuting and the shakedown would be free."""
    # 70 km a week = 10 a day, 11 days to 1 July = 110, shakedown 80
    item = standing(thing(km=10000), *used(0, 5000), one_trip=trip(leg(1, 1000), shakedown_km=80), usual_km_per_week=70)
    assert [(limit.used, limit.left, limit.at_departure) for limit in item.limits] == [(5000, 5000, 5190)]


def test_months_are_due_on_the_day() -> None:
    """If not, work due the day of departure would be left for the road."""
    due_first = standing(thing(months=6), row(date(2026, 1, 1), None, "bearings", "repack"))
    due_second = standing(thing(months=6), row(date(2026, 1, 2), None, "bearings", "repack"))
    assert (due_first.verdict, due_second.verdict) == (DUE, ON_THE_WAY)


def test_several_meters_whichever_first() -> None:
    """If not, an item would be judged by its kindest meter."""
    item = thing(km=10000, months=6, engine_hours=250)
    found = standing(item, *used(0, 5000))
    # 5000 km of 10000; 100 h of 250 at 50 km/h; but 1 January + 6 months is the day of departure
    assert found.verdict == DUE
    assert {limit.meter: limit.used for limit in found.limits if limit.meter != "months"} == {
        "km": 5000, "engine_hours": pytest.approx(100),
    }  # fmt: skip


def test_hubs_free_and_locked_in_one_verdict() -> None:
    """If not, the stub-axle bush would be opened on every trip, or never."""
    rows = used(0, 9500)
    part = {"usual_engaged_share": 0.1}
    bush, bearing = thing(engaged_km=10000), thing(km=10000)
    # bush: 950 of 10000, hubs free on the leg; bearing: 9500 + 1000
    assert standing(bush, *rows, **part).verdict == LASTS
    assert standing(bearing, *rows, **part).verdict == ON_THE_WAY
    assert standing(bush, *rows, drive="full-time", hubs="fixed").verdict == ON_THE_WAY


@pytest.mark.parametrize("finding", ["worn", "failed", "water", "contaminated"])
def test_a_bad_finding_makes_it_due(finding: str) -> None:
    """If not, water found in a hub would wait for the interval to end."""
    seen = row(date(2026, 6, 1), 1500, "bearings", "look", 4, finding=finding)
    found = standing(thing(km=10000), *used(0, 2000), seen)
    assert (found.verdict, found.bad) == (DUE, seen)


@pytest.mark.parametrize("finding", ["as new", "serviceable"])
def test_a_good_finding_changes_nothing(finding: str) -> None:
    """If not, a look that found nothing would send the owner to work."""
    seen = row(date(2026, 6, 1), 1500, "bearings", "look", 4, finding=finding)
    assert standing(thing(km=10000), *used(0, 2000), seen).verdict == LASTS


def test_work_found_bad_and_put_right_in_one_row() -> None:
    """If not, writing what was found beside the repack would ask for the repack again."""
    assert standing(thing(km=10000), *used(0, 2000, finding="worn")).bad is None


def test_found_bad_and_put_right_later_the_same_day() -> None:
    """If not, two rows of one day, the look and then the repack, would leave it due for ever."""
    seen = row(DONE, 0, "bearings", "look", 2, finding="worn")
    done = row(DONE, 0, "bearings", "repack", 3)
    now = row(TODAY, 2000, number=4)
    assert standing(thing(km=10000), seen, done, now).bad is None
    late = row(DONE, 0, "bearings", "look", 5, finding="worn")
    assert standing(thing(km=10000), done, late, now).bad is late


def test_a_row_further_down_the_same_day_is_the_later_one() -> None:
    """If not, sorting rows of one day would decide whether a hub is due."""
    seen = row(DONE, 0, "bearings", "look", 3, finding="water")
    packed = row(DONE, 0, "bearings", "repack", 4)
    now = row(TODAY, 2000, number=9)
    for rows in ((seen, packed, now), (packed, now, seen)):
        assert standing(thing(km=10000), *rows).bad is None


def test_a_finding_without_a_reading_is_not_hidden_by_one_of_the_same_day_that_has_it() -> None:
    """Otherwise brakes seen worn at camp would pass for as new, because the look at home wrote the odometer down."""
    seen = row(date(2026, 6, 1), 1500, "bearings", "look", 4, finding="as new")
    worn = row(date(2026, 6, 1), None, "bearings", "look", 5, finding="worn")
    found = standing(thing(km=10000), *used(0, 2000), seen, worn)
    assert (found.bad, found.verdict) == (worn, DUE)


def test_what_is_only_looked_at_is_put_right_by_more_than_a_look() -> None:
    """If not, a worn hose would be condemned for ever, or forgiven by a second glance."""
    hose = thing(act="look", km=10000)
    seen = row(DONE, 0, "bearings", "look", 2, finding="worn")
    now = row(TODAY, 2000, number=9)
    looked = row(date(2026, 2, 1), 500, "bearings", "look", 3)
    renewed = row(date(2026, 2, 1), 500, "bearings", "renew", 4)
    measured = row(date(2026, 2, 1), 500, "bearings", "measure", 5)
    assert standing(hose, seen, now).bad is seen
    assert standing(hose, seen, looked, now).bad is seen
    assert standing(hose, seen, measured, now).bad is seen
    assert standing(hose, seen, renewed, now).bad is None


@pytest.mark.parametrize(
    ("act", "finding", "done", "is_over"),
    [
        ("clean", "contaminated", "clean", True),
        ("clean", "water", "clean", True),
        ("clean", "worn", "clean", False),
        ("grease", "contaminated", "grease", True),
        ("grease", "worn", "grease", False),
        ("grease", "worn", "renew", True),
        ("grease", "failed", "repack", True),
        ("look", "worn", "adjust", False),
        ("look", "failed", "adjust", False),
    ],
)
def test_each_act_puts_right_what_its_row_says(act: str, finding: str, done: str, is_over: bool) -> None:
    """If not, breathers cleaned two days later stay due for ever, or a worn joint is forgiven by grease."""
    seen = row(date(2026, 6, 1), 1500, "bearings", act, 4, finding=finding)
    later = row(date(2026, 6, 3), 1500, "bearings", done, 5)
    assert (standing(thing(act=act, km=10000), *used(0, 2000, act), seen, later).bad is None) is is_over


def test_a_service_sheet_puts_right_what_the_item_s_own_act_does() -> None:
    """If not, a whole service would leave a dirty breather due, or its look would mend a worn hose."""
    for act, is_over in (("clean", True), ("look", False)):
        catalogue = tables(thing(act=act, km=10000), services=(sheet("annual", "bearings"),))
        seen = row(date(2026, 6, 1), 1500, "bearings", "look", 4, finding="contaminated")
        served = row(date(2026, 6, 3), 1500, "annual", "service", 5)
        found = looked_at(TRIP, *used(0, 2000, act), seen, served, catalogue=catalogue, units=(wagon(),), today=TODAY)
        assert (found[1][0].bad is None) is is_over


def test_items_and_positions_that_exist_on_the_rig() -> None:
    """If not, a full-time wagon would be asked to grease hubs it has not got."""
    catalogue = tables(
        thing("hubs", needs="hubs=free-wheeling", positions="left;right", km=1),
        thing("winch", needs="fitted=winch", km=1),
        thing("coupling", unit_kind="trailer", km=1),
        thing("oil", needs="drive=part-time|full-time", km=1),
    )
    situation, _ = looked_at(TRIP, catalogue=catalogue, units=(wagon(), camper()))
    found = [(unit.id, item.id, position) for unit, item, position in item_positions(situation.rig, catalogue)]
    assert found == [
        ("wagon", "hubs", "left"), ("wagon", "hubs", "right"), ("wagon", "oil", None), ("camper", "coupling", None),
    ]  # fmt: skip


def test_driven_legs_lie_before_today() -> None:
    """If not, the leg of this morning would be counted as driven and as still to come."""
    legs = (leg(1, 100, date(2026, 7, 1)), leg(2, 100, date(2026, 7, 2)), leg(3, 100, date(2026, 7, 3)))
    situation, _ = looked_at(trip(*legs), today=date(2026, 7, 2))
    assert [one.leg for one in driven_legs(situation.timeline, date(2026, 7, 2))] == [1]
    assert situation.driven_km == 100
    assert situation.uses[("wagon", "km")] == (0, 100, 100)


def test_driven_legs_wear_by_their_own_grades() -> None:
    """If not, a re-plan on the track would forget the dust already driven through."""
    legs = (leg(1, 400, date(2026, 7, 1), dust="heavy"), leg(2, 400, date(2026, 7, 5)))
    rows = (row(date(2026, 6, 30), 0, "bearings", "repack"), row(date(2026, 7, 2), 400, number=3))
    found = standing(thing(km=10000, dust="high"), *rows, one_trip=trip(*legs), today=date(2026, 7, 3))
    assert [limit.used for limit in found.limits] == [800]  # 400 x 2
    assert found.course.tracks[0].used_reserve == pytest.approx(1200, rel=1e-4)  # 400 x 3
    assert found.course.tracks[0].typical == (0, 400)


WET_ITEM = thing(km=10000, water="high", points="hub_centre")
FORDED = (crossing(1, 100, 0.6, crossed=datetime(2026, 7, 1, 10)),)


def test_a_crossing_wears_once_where_it_is_made() -> None:
    """If not, a ford would wear the kilometres driven before it, or wear them all over again when a leg is cut."""
    # immersed counts 1.5 for 500 km: 250 km more at km 100; the leg ends 900 km behind it
    found = standing(WET_ITEM, *used(0, 9000), one_trip=trip(leg(1, 1000), crossings=(crossing(1, 100, 0.6),)))
    (track,) = found.course.tracks
    assert track.typical == pytest.approx((100, 350, 1250))
    assert track.use_per_stretch == (100, 0, 900)
    assert found.runs_out is not None and found.runs_out.leg_km == pytest.approx(750)
    (wet,) = found.wet
    assert (wet.km, wet.factor.grade, wet.factor.multiplier) == (500, "immersed for 500 km", 1.5)
    assert found.assumed  # the rows of the assumptions behind it


@pytest.mark.parametrize(("first_m", "second_km", "added", "ends_km"), [(0.6, 300, 150, 150), (0.2, 20, 247, 148)])
def test_a_second_ford_takes_nothing_from_the_first(
    first_m: float, second_km: float, added: float, ends_km: float
) -> None:  # fmt: skip
    """If not, one more ford would put off where a bearing runs out.

    By hand, 9600 of 10000 km used. Immersed at km 0 is 0.5 x 500 = 250 km there, so 150 km are left; again at
    km 300, 300 km of it new, 0.5 x 300 = 150 km there. Splashed at km 0 (50 km, 0.1) 5 km, then under at km 20:
    0.5 x 470 where it was dry and 0.4 x 30 where it was splashed, 247 km, with 380 left before it: 148 km on.
    """
    first, second = crossing(1, 0, first_m), crossing(1, second_km, 0.6)
    alone, both = (
        standing(WET_ITEM, *used(0, 9600), one_trip=trip(leg(1, 1000), crossings=fords))
        for fords in ((first,), (first, second))
    )
    step = both.course.tracks[0].typical
    assert step[-2] - step[-3] == pytest.approx(added)
    assert both.runs_out is not None and both.runs_out.trip_km == pytest.approx(ends_km)
    for one, other in ((alone.runs_out, both.runs_out), (alone.runs_out_reserve, both.runs_out_reserve)):
        assert one is not None and other is not None and other.trip_km <= one.trip_km + 1e-6


def test_wet_km_wear_as_they_are_driven() -> None:
    """If not, a ford on a leg with free hubs would take the wet from the locked leg behind the next one.

    Immersed at km 50 of a leg of 100 with the hubs free, 400 km locked behind it: 0.5 x 400 = 200 km of the front
    axle's use are added there, whether or not the locked leg begins with a ford of its own.
    """
    legs = (leg(1, 100, hubs=0.0), leg(2, 400, date(2026, 7, 5), hubs=1.0))
    fords = (crossing(1, 50, 0.6), crossing(2, 0, 0.6))
    item = thing(engaged_km=10000, water="high", points="hub_centre")
    one, both = (
        standing(item, *used(0, 0), one_trip=trip(*legs, crossings=some)).course.tracks[0].typical
        for some in (fords[:1], fords)
    )
    assert one == pytest.approx((0, 200, 200, 600)) and both[-1] == pytest.approx(600 + 0.5 * 0)


def test_wear_of_the_wet_ends_with_the_act_that_renewed_what_got_wet() -> None:
    """If not, new grease would be charged for the water that came out with the old."""
    legs = (leg(1, 400), leg(2, 400, date(2026, 7, 5)))
    one_trip, today = trip(*legs, crossings=FORDED), date(2026, 7, 3)
    before = (row(date(2026, 6, 30), 0, "bearings", "repack"), row(date(2026, 7, 2), 400, number=3))
    after = (*before, row(date(2026, 7, 2), 400, "bearings", "repack", 4))
    left, renewed = (standing(WET_ITEM, *rows, one_trip=one_trip, today=today) for rows in (before, after))
    assert left.course.tracks[0].used == pytest.approx(400 + 250)
    assert renewed.course.tracks[0].used == 0 and renewed.wet == ()
    assert [one.course.tracks[0].typical[-1] for one in (left, renewed)] == [400, 400]


def test_what_the_water_does_not_come_near_is_not_worn() -> None:
    """If not, a ford of 0.20 m would wear the mouth of a snorkel."""
    mouth = thing(km=10000, water="high", points="intake_mouth")
    one_trip = trip(leg(1, 1000), crossings=(crossing(1, 100, 0.2),))
    found = standing(mouth, *used(0, 0), one_trip=one_trip, heights_mm={"intake_mouth": 1950})
    assert found.wet == () and found.course.tracks[0].typical[-1] == 1000
    splashed = standing(mouth, *used(0, 0), one_trip=one_trip, heights_mm={"intake_mouth": 600})
    assert splashed.course.tracks[0].typical[-1] == pytest.approx(1000 + 0.1 * 50)


def test_mean_speed_is_distance_over_time() -> None:
    """If not, engine hours at home would come from the mean of the speeds and be too few."""
    # 100 km at 50 and 100 km at 25: 2 h + 4 h, so 33.3 km/h
    assert mean_speed_kmh([leg(1, 100), leg(2, 100, speed_kmh=25)]) == pytest.approx(200 / 6)


@pytest.mark.parametrize(("usual", "speed_kmh"), [(40.0, 40.0), (None, 60.0)])
def test_hours_go_by_the_owners_usual_speed_or_the_trips_mean(usual: float | None, speed_kmh: float) -> None:
    """Without a usual speed 300 km at 50 and 300 at 75 are 600 km in 10 hours: 60 km/h. If not, oil counted by the hour
    would go by the speed of the trip at home as well."""
    one_trip = trip(leg(1, 300, speed_kmh=50), leg(2, 300, date(2026, 7, 5), speed_kmh=75))
    unit = wagon(usual_speed_kmh=usual)
    assert (
        unit_ledger(unit, (row(date(2026, 6, 1), 0),), one_trip, build_timeline(one_trip, 8), TODAY).speed_kmh
        == speed_kmh
    )
