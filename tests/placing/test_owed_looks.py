"""Looks that work on record brings: which are owed, from what km on, and where they fall. Worked out by hand."""

from datetime import date
from typing import Any

import pytest
from msgspec.structs import replace

from tests.small import TODAY, crossing, leg, planned, row, stated, stop, tables, thing, trip, water_rule, workshop
from tripplan.placing.followed_up import looks_due, owed_left, owed_minutes
from tripplan.placing.problem import Ceilings, OwedLook, Placing
from tripplan.placing.rooms import rooms_of
from tripplan.records.facts_in import HistoryRow, Trip

LEGS = (leg(1, 300), leg(2, 400, date(2026, 7, 4)), leg(3, 500, date(2026, 7, 8)))
BEARINGS = thing("front_wheel_bearings", km=40000, positions="left;right", state="hub off", covers="front_bearing_play",
                 follow_ups="front_bearing_play 50-100 km; front_bearing_play 500-1000 km")  # fmt: skip
NUTS = thing("wheel_nuts", act="torque", km=5000, minutes=6, place="outside")
PLAY = thing("front_bearing_play", act="measure", km=40000, minutes=10, positions="left;right", state="wheel raised")
TABLES = tables(BEARINGS, NUTS, PLAY)
FRESH = (row(date(2026, 6, 1), 900, "wheel_nuts", "torque"),)
MAY = date(2026, 6, 10)
PACKED = row(MAY, 1000, "front_wheel_bearings", "repack", 3, position="left")


def owed(*rows: HistoryRow, one_trip: Trip | None = None, today: date = TODAY, **more: Any) -> tuple[OwedLook, ...]:
    """What those rows leave owed on three legs without a stop or a day at home."""
    return stated(
        one_trip or trip(*LEGS), *FRESH, *rows, catalogue=more.pop("catalogue", TABLES), today=today, **more
    ).owed


def told(found: tuple[OwedLook, ...]) -> list[tuple[str, str | None, float, float, int | None]]:
    """Item, side, km and place of each."""
    return [(one.look.item, one.look.side, one.from_km, one.to_km, one.site) for one in found]


def test_work_on_record_brings_what_the_same_job_brings_in_a_plan() -> None:
    """Read at 1020, so 20 km ago: play on that side 30 to 80 and 480 to 980 km on, nuts as the wheel was off.

    Otherwise the nuts of a wheel that was off leave the plan on the day the work is written down.
    """
    assert told(owed(PACKED, row(TODAY, 1020, number=4))) == [
        ("front_bearing_play", "left", 30.0, 80.0, None),
        ("wheel_nuts", None, 30.0, 80.0, None),
        ("front_bearing_play", "left", 480.0, 980.0, None),
    ]


def test_once_its_km_are_open_it_is_owed_at_once_and_twice_as_far_no_more() -> None:
    """At most 100 km, so asked at once up to 200, and not at 201: then only the look of 500 to 1000 km is left.

    Otherwise jobs of months ago would fill the plan with looks, or one of last week be forgotten on its 101st km.
    """
    assert told(owed(PACKED, row(TODAY, 1180, number=4)))[:2] == [
        ("front_bearing_play", "left", 0.0, 0.0, None),
        ("wheel_nuts", None, 0.0, 0.0, None),
    ]
    assert told(owed(PACKED, row(TODAY, 1070, number=4)))[0] == ("front_bearing_play", "left", 0.0, 30.0, None)
    assert told(owed(PACKED, row(TODAY, 1201, number=4))) == [("front_bearing_play", "left", 299.0, 799.0, None)]
    assert told(owed(PACKED, row(TODAY, 3001, number=4))) == []


@pytest.mark.parametrize(
    ("later", "left"),
    [
        ([row(date(2026, 6, 15), 1060, "wheel_nuts", "torque", 4)], False),
        ([row(date(2026, 6, 15), 1046, "wheel_nuts", "torque", 4)], False),  # a tenth before its 50 km is near enough
        ([row(date(2026, 6, 15), 1030, "wheel_nuts", "torque", 4)], True),
        ([row(date(2026, 6, 15), None, "wheel_nuts", "torque", 4)], False),  # no reading says otherwise
        ([row(MAY, None, "wheel_nuts", "torque", 4)], True),
        ([row(date(2026, 6, 15), 1060, "wheel_nuts", "look", 4)], True),
    ],
)  # fmt: skip
def test_a_look_on_record_is_not_asked_for_again(later: list[HistoryRow], left: bool) -> None:
    """Otherwise a look would stand in every plan for ever, or one made before its km would pass for it."""
    found = owed(PACKED, *later, row(TODAY, 1070, number=9))
    assert ("wheel_nuts" in {one.look.item for one in found}) == left


def test_a_greater_act_later_does_the_look_and_brings_its_own() -> None:
    """Packed again at 1060: its own play at 1110, not that of the first time. Otherwise one look would be asked for twice."""
    again = row(date(2026, 6, 15), 1060, "front_wheel_bearings", "repack", 4, position="left")
    found = owed(PACKED, again, row(TODAY, 1070, number=9))
    assert [(one.look.low_km, one.from_km) for one in found if one.look.item == PLAY.id] == [
        (50.0, 40.0),
        (500.0, 490.0),
    ]


def test_a_look_after_water_that_had_the_hub_off_brings_nuts_and_play() -> None:
    """It renews nothing, so no look at 500 km. Otherwise a hub opened because of water would be closed for good."""
    rule = water_rule("front_wheel_bearings", "days", "look", state="hub off")
    seen = row(MAY, 1000, "front_wheel_bearings", "look", 3, position="left")
    found = owed(seen, row(TODAY, 1000, number=4), catalogue=tables(BEARINGS, NUTS, PLAY, water_rules=(rule,)))
    assert [(one.look.item, one.look.high_km) for one in found] == [
        ("front_bearing_play", 100.0),
        ("wheel_nuts", 100.0),
    ]
    assert owed(seen, row(TODAY, 1000, number=4)) == ()  # no rule tells what such a look opens


def test_work_at_a_stop_counts_from_that_stop() -> None:
    """Done at the camp of km 300 on its second day: 50 to 100 km on is 350 to 400, whatever the odometer did not tell.

    Otherwise work on the road would count from the last reading, at home, and its looks be passed over as driven long ago.
    """
    camp = stop("Camp", 1, date(2026, 7, 1), leave=date(2026, 7, 3))
    packed = row(date(2026, 7, 2), None, "front_wheel_bearings", "repack", 5, position="left")
    rows = (row(TODAY, 1000, number=4), packed)
    found = owed(*rows, one_trip=trip(*LEGS, stops=(camp,)), today=date(2026, 7, 3))
    assert [(one.work_km, one.from_km, one.to_km) for one in found[:1]] == [(300.0, 350.0, 400.0)]
    later = owed(
        *rows, one_trip=trip(*LEGS, stops=(camp,)), today=date(2026, 7, 6)
    )  # the second leg is driven: 400 km on
    assert told(later) == [("front_bearing_play", "left", 800.0, 1300.0, None)]


def test_work_of_this_trip_at_home_counts_from_departure_behind_the_shakedown() -> None:
    """Packed on the first day, the last one lies behind 60 km: play and nuts there, as the plan had them.

    Otherwise what was planned for the last day would go to a halt once the first day is written down.
    """
    days = (workshop(date(2026, 6, 20)), workshop(date(2026, 6, 28)))
    one_trip = trip(*LEGS, workshop_days=days, shakedown_km=60)
    packed = row(date(2026, 6, 20), None, "front_wheel_bearings", "repack", 5, position="left")
    rows = (row(date(2026, 6, 5), 1000, number=4), packed)
    for today in (date(2026, 6, 21), date(2026, 6, 28)):
        assert told(owed(*rows, one_trip=one_trip, today=today))[:2] == [
            ("wheel_nuts", None, 50.0, 100.0, 0), ("front_bearing_play", "left", 50.0, 100.0, 0),
        ][::-1]  # fmt: skip
    short = trip(*LEGS, workshop_days=days, shakedown_km=40)
    assert {one.site for one in owed(*rows, one_trip=short, today=date(2026, 6, 21))} == {None}


def test_it_falls_to_a_stop_in_its_km_while_that_has_the_minutes() -> None:
    """The camp of km 300 lies in 280 to 780: taken for play; with 19 minutes it takes neither of the two sides' 20.

    Otherwise the tools would be far away, or a full stop be filled further.
    """
    packed = row(MAY, 1000, "front_wheel_bearings", "repack", 3)
    rows = (packed, row(TODAY, 1220, number=4))
    camp = stop("Camp", 1, date(2026, 7, 1), facility="camp")
    assert [one.site for one in owed(*rows, one_trip=trip(*LEGS, stops=(camp,)))] == [0, 0]
    full = camp.model_copy(update={"minutes": 39.0})
    assert sorted(one.site is None for one in owed(*rows, one_trip=trip(*LEGS, stops=(full,)))) == [False, True]


def test_what_a_plan_looks_at_in_these_km_anyway_is_not_owed_besides() -> None:
    """Nuts owed at a halt from 30 to 80: work that brings them at 50 makes the look, work that brings them at 150 does not.

    Otherwise the same nuts would be drawn up twice within 20 km.
    """
    given = stated(trip(*LEGS), *FRESH, PACKED, row(TODAY, 1020, number=4), catalogue=TABLES)
    nuts = next(index for index, task in enumerate(given.tasks) if task.item.id == "wheel_nuts")
    assert len(owed_left(given, Placing(((),) * len(given.tasks), (), ""))) == 3
    look = next(one.look for one in given.owed if one.look.item == "wheel_nuts")
    home = replace(given.sites[-1], trip_km=0.0)
    for low_km, number in ((50.0, 2), (150.0, 3)):
        task = replace(given.tasks[nuts], again=(replace(look, low_km=low_km, high_km=low_km + 50.0),))
        other = replace(given, sites=(home, given.sites[-1]), tasks=(*given.tasks, replace(task, item=BEARINGS)))
        placing = Placing((*((),) * len(given.tasks), (0,)), (), "")
        assert len(owed_left(replace(other, covered_by=((),) * len(other.tasks)), placing)) == number


def test_its_minutes_are_kept_beforehand() -> None:
    """Play on both sides at a camp of 100 minutes, 10 in the shed each and twice that there: 60 are left, of the road 120 of 160.

    Otherwise the search would fill the stop, and the look would not fit any more.
    """
    rows = (row(MAY, 1000, "front_wheel_bearings", "repack", 3), row(TODAY, 1220, number=4))
    camp = stop("Camp", 1, date(2026, 7, 1), facility="camp", minutes=100)
    given = replace(stated(trip(*LEGS, stops=(camp,)), *FRESH, *rows, catalogue=TABLES), ceilings=Ceilings(None, 160.0))
    assert owed_minutes(given)[0] == 40.0
    _, room = rooms_of(given, ())
    assert (room[0], room[-1]) == (600.0, 1200.0)
    _, room = rooms_of(replace(given, ceilings=Ceilings(None, 30.0)), ())
    assert room[-1] == 0.0


def test_two_rows_that_ask_for_one_look_are_one() -> None:
    """Otherwise both sides packed at once would have the nuts drawn up twice at one halt."""
    rows = (PACKED, row(MAY, 1000, "front_wheel_bearings", "repack", 4, position="right"), row(TODAY, 1020, number=5))
    given = stated(trip(*LEGS), *FRESH, *rows, catalogue=TABLES)
    nothing = Placing(((),) * len(given.tasks), (), "")
    assert [due.item for due in looks_due(given, nothing)].count("wheel_nuts") == 1


def test_the_plan_tells_the_work_and_its_day() -> None:
    """Otherwise nobody would know which wheel the nuts of a halt belong to."""
    camp = stop("Camp", 1, date(2026, 7, 1), facility="camp")
    rows = (*FRESH, PACKED, row(TODAY, 1020, number=4))
    plan = planned(trip(*LEGS, stops=(camp,)), *rows, catalogue=TABLES)
    nuts = next(check for check in plan.rechecks if check.item == "wheel_nuts")
    assert (nuts.act, nuts.follows, nuts.work_day, nuts.work_km) == ("torque", "Front_wheel_bearings", MAY, -20.0)
    assert (nuts.after_slot, nuts.slot, nuts.leg, nuts.minutes) == (None, None, 1, 12.0)
    rows = (*FRESH, PACKED, row(TODAY, 1220, number=4))
    plan = planned(trip(*LEGS, stops=(camp,)), *rows, catalogue=TABLES)
    (job,) = [job for slot in plan.slots for job in slot.jobs if job.kind == "re-check"]
    assert job.why == "follows the work of 10 June on: front_wheel_bearings"
    away = sum(check.minutes for check in plan.rechecks if check.slot is None)
    assert sum(slot.minutes_planned for slot in plan.slots) + away == plan.totals.plan.minutes


def test_a_crossing_made_behind_the_work_counts_as_driven() -> None:
    """At km 250 of leg 1 by noon, work at home of 20 km before: its 50 to 100 km are long over, those of 500 are 230 to go.

    Otherwise a look would be asked for on a road that lies behind the rig.
    """
    ford = crossing(1, 250, 0.1, crossed=date(2026, 7, 1))
    found = owed(PACKED, row(TODAY, 1020, number=4), one_trip=trip(*LEGS, crossings=(ford,)), today=date(2026, 7, 1))
    assert told(found) == [("front_bearing_play", "left", 480.0, 980.0, None)]


def test_a_halt_on_the_day_of_a_stop_takes_of_that_day() -> None:
    """Play at km 200 for 17 minutes in the shed, 34 at the halt, on the day of the camp at km 300: 66 of 100 are left there.

    Otherwise the owner's hours of one day would be given twice.
    """
    rows = (PACKED, row(TODAY, 1300, number=4))
    camp = stop("Camp", 2, date(2026, 7, 4), facility="camp")
    legs = (leg(1, 100), leg(2, 800, date(2026, 7, 4)))
    given = stated(trip(*legs, stops=(camp,)), *FRESH, *rows, catalogue=TABLES)
    assert told(given.owed) == [("front_bearing_play", "left", 200.0, 700.0, None)]
    _, room = rooms_of(replace(given, ceilings=Ceilings(100.0, None)), ())
    assert room[0] == 660.0
