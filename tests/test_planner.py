"""The one pure function, on whole small trips."""

from datetime import date

import pytest

from tests.small import (
    DEPART,
    TODAY,
    camper,
    crossing,
    jobs,
    leg,
    only,
    planned,
    rig,
    row,
    stop,
    tables,
    thing,
    trip,
    wagon,
    water_rule,
    workshop,
)
from tripplan.placing.greedy import place_greedily
from tripplan.planner import make_plan
from tripplan.records.plain_words import day_and_month

LEGS = tuple(leg(number, 1000, date(2026, 7, 1 + 5 * (number - 1))) for number in (1, 2, 3, 4))
STOPS = tuple(stop(f"S{number}", number, date(2026, 7, 4 + 5 * (number - 1))) for number in (1, 2, 3))
LONG = trip(*LEGS, stops=STOPS, workshop_days=(workshop(date(2026, 6, 24)),))
FRESH = (row(date(2026, 6, 19), 0, "bearings", "repack"), row(TODAY, 0, number=3))


def test_the_plan_repeats_what_it_was_made_for() -> None:
    """If not, a worksheet in the door pocket could be of another trip."""
    plan = planned(LONG)
    assert (plan.rig, plan.trip, plan.today, plan.depart, plan.return_) == ("Rig", "Trip", TODAY, DEPART, LONG.return_)
    assert [(one.number, one.from_, one.to, one.trip_km_start) for one in plan.legs] == [
        (1, "P1", "P2", 0), (2, "P2", "P3", 1000), (3, "P3", "P4", 2000), (4, "P4", "P5", 3000),
    ]  # fmt: skip


def test_equal_inputs_give_equal_plans() -> None:
    """If not, nobody could trust a second look."""
    items = tuple(
        thing(f"job{i}", km=700 + 100 * i, minutes=20 + i, state="hub off", positions="left;right") for i in range(5)
    )
    assert planned(LONG, catalogue=tables(*items)) == planned(LONG, catalogue=tables(*items))


def test_a_long_tour_has_several_visits_for_one_item() -> None:
    """If not, the last leg of a long tour would be driven on used-up oil."""
    plan = planned(LONG, *FRESH, catalogue=tables(thing(km=1100)))
    assert [slot for slot in only(plan, "bearings").placed if slot != "after"] == [
        "stop-1-s1",
        "stop-2-s2",
        "stop-3-s3",
    ]
    assert plan.warnings == ()


def test_wear_of_each_leg_is_use_times_multiplier() -> None:
    """If not, the numbers printed would not be the numbers used."""
    dusty = trip(leg(1, 400, dust="heavy"), leg(2, 600, date(2026, 7, 5), hubs=0.5))
    item = thing(km=10000, engaged_km=5000, months=12, dust="high")
    wear = only(planned(dusty, *FRESH, catalogue=tables(item)), "bearings").wear
    assert [(w.leg, w.meter, w.use, w.multiplier) for w in wear] == [
        (1, "km", 400, 2), (2, "km", 600, 1), (2, "engaged_km", 300, 1),
    ]  # fmt: skip
    assert (wear[0].high, [part.grade for part in wear[0].parts]) == (pytest.approx(3), ["heavy"])


def test_use_of_a_leg_is_the_same_however_it_is_cut_by_water() -> None:
    """If not, a ford would lose or add kilometres."""
    wet = trip(leg(1, 400), crossings=(crossing(1, 0.1, 0.5), crossing(1, 123.4, 0.5), crossing(1, 399.9, 0.5)))
    (wear,) = only(planned(wet, *FRESH, catalogue=tables(thing(km=10000))), "bearings").wear
    assert wear.use == pytest.approx(400)


def test_shares_at_departure_and_return() -> None:
    """If not, the owner could not see what is left for the next trip."""
    rows = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 2000, number=3))
    found = only(planned(LONG, *rows, catalogue=tables(thing(km=10000))), "bearings")
    assert (found.share_used_at_departure, found.share_used_at_return) == (0.2, pytest.approx(0.6))


def test_work_recorded_today_is_off_the_list() -> None:
    """If not, logging the work would not change the plan."""
    rows = (row(date(2026, 1, 1), 0, "bearings", "repack"), row(TODAY, 20000, number=3))
    before = planned(LONG, *rows, catalogue=tables(thing(km=10000)))
    after = planned(LONG, *rows, row(TODAY, 20000, "bearings", "repack", 4), catalogue=tables(thing(km=10000)))
    assert only(before, "bearings").verdict == "due before departure"
    assert only(after, "bearings").verdict == "lasts the trip"
    assert jobs(after) == []


def test_overdue_with_no_workshop_day_is_said_and_done_at_the_first_stop() -> None:
    """If not, due work would either vanish or pretend to be done at home."""
    plan = planned(trip(*LEGS, stops=STOPS), catalogue=tables(thing(km=5000, harms=True, harms_by="brakes")))
    assert only(plan, "bearings").placed[0] == "stop-1-s1"
    assert any("too late" in text for text in (told.text for told in plan.warnings))


def test_work_that_is_due_is_done_though_it_will_not_last() -> None:
    """If not, an item that cannot last the trip anyway would be left at home undone."""
    # no record, interval 2500, two legs of 2000 and no stop: due now, and again on the way
    one = trip(leg(1, 2000), leg(2, 2000, date(2026, 7, 10)), workshop_days=LONG.workshop_days)
    plan = planned(one, catalogue=tables(thing(km=2500, harms=True, harms_by="brakes")))
    assert only(plan, "bearings").placed[0] == "workshop-2026-06-24"
    assert any("Bearings" in text for text in (told.text for told in plan.warnings))


def test_no_record_on_a_long_tour_is_renewed_as_often_as_a_known_one() -> None:
    """If not, the item nobody knows about would be the one that is trusted furthest."""
    known = planned(LONG, *FRESH, catalogue=tables(thing(km=1500)))
    unknown = planned(LONG, row(TODAY, 0), catalogue=tables(thing(km=1500)))
    on_the_road = [slot for slot in only(known, "bearings").placed if slot.startswith("stop")]
    assert on_the_road
    assert only(unknown, "bearings").placed[:1] == ("workshop-2026-06-24",)
    assert len([slot for slot in only(unknown, "bearings").placed if slot.startswith("stop")]) == len(on_the_road)


def test_a_found_fault_is_not_carried_past_the_first_place_that_can_mend_it() -> None:
    """If not, a failed part would be driven round the whole trip because home is cheaper."""
    seen = row(date(2026, 7, 5), 1000, "bearings", "look", 5, finding="failed")
    plan = planned(LONG, *FRESH, seen, catalogue=tables(thing(km=20000)), today=date(2026, 7, 6))
    assert only(plan, "bearings").placed[0] == "stop-2-s2"


def test_a_replan_under_way_counts_driven_legs_and_plans_the_rest() -> None:
    """If not, the answer on the track would be for the trip as it was at home."""
    rows = (*FRESH, row(date(2026, 7, 5), 1000, number=4))
    plan = planned(LONG, *rows, catalogue=tables(thing(km=2500)), today=date(2026, 7, 6))
    assert [one.driven for one in plan.legs] == [True, False, False, False]
    found = only(plan, "bearings")
    assert [limit.used for limit in found.limits] == [1000]
    assert found.runs_out is not None and found.runs_out.trip_km == pytest.approx(2500)
    assert [slot.id for slot in plan.slots] == ["stop-2-s2", "stop-3-s3", "after"]


def test_a_deeper_crossing_is_one_more_record() -> None:
    """If not, the deep ford would need a tool of its own."""
    hub = thing("hub", km=40000, points="hub_centre")
    rules = (water_rule("hub", "before remote", "repack", within_days=5, minutes=40, resets=True),)
    rows = (row(date(2026, 6, 19), 0, "hub", "repack"), row(TODAY, 0, number=3))

    def with_depth(depth_m: float) -> list[tuple[str, str, str | None, str]]:
        wet = trip(*LEGS, stops=STOPS, crossings=(crossing(1, 900, depth_m, crossed=date(2026, 7, 3)),))
        return jobs(planned(wet, *rows, catalogue=tables(hub, water_rules=rules), today=date(2026, 7, 3)))

    assert with_depth(0.2) == []
    assert with_depth(0.6) == [("stop-1-s1", "hub", None, "after water")]


def test_the_trailer_is_its_own_unit() -> None:
    """If not, the camper would be judged by the wagon's odometer."""
    legs = (leg(1, 1000, towing=True), leg(2, 1000, date(2026, 7, 6)))
    item = thing("hubs", unit_kind="trailer", km=1500)
    rows = (row(date(2026, 6, 1), 0, "hubs", "repack", unit="camper"),)
    plan = planned(trip(*legs), *rows, catalogue=tables(item), units=(wagon(), camper()))
    found = only(plan, "hubs")
    assert (found.unit, found.verdict) == ("camper", "lasts the trip")
    assert [(w.leg, w.use) for w in found.wear] == [(1, 1000)]


def test_totals_compare_this_plan_with_three_others() -> None:
    """If not, nobody could tell whether planning was worth it."""
    items = (
        thing("bearings", km=100, state="hub off", minutes=30, positions="left"),
        thing("brakes", act="look", km=100, state="wheel off", minutes=10, positions="left"),
    )
    totals = planned(trip(leg(1, 50), workshop_days=LONG.workshop_days), catalogue=tables(*items)).totals
    # together 40 + 30 + 10 = 80 minutes; each alone 70 and 27
    assert (totals.plan.minutes, totals.each_alone.minutes) == (80, 97)
    assert totals.plan.cost <= totals.greedy.cost + 1e-6
    assert totals.all_before.minutes == 80


def test_the_morning_round_is_listed_once() -> None:
    """If not, what is looked at every day would be on no list."""
    tyres = thing("tyres", act="adjust", km=500, rhythm="walk-round")
    assert planned(LONG, catalogue=tables(tyres)).walkround == ("Tyres (wagon): adjust",)


def test_the_morning_round_takes_the_owner_s_minutes() -> None:
    """If not, a changed number would be accepted and do nothing."""
    assert planned(LONG, catalogue=tables(thing(km=500), assumed={"walk_round_minutes": 35.0})).walkround_minutes == 35


ONE_LEG = trip(leg(1, 2000), workshop_days=LONG.workshop_days)
WORN = (row(date(2026, 6, 20), 0, "bearings", "repack"), row(TODAY, 0, number=3))


def test_what_waits_by_price_is_no_limit_broken() -> None:
    """If not, the owner would be warned of what the plan itself thinks cheaper, and stop reading warnings."""
    plan = planned(ONE_LEG, *WORN, catalogue=tables(thing(km=1500, act="grease", harms=False)))
    found = only(plan, "bearings")
    assert [(wait.slot, round(wait.share, 2)) for wait in found.waits] == [("after", round(2000 / 1500, 2))]
    assert found.can_wait and not found.unmet and plan.warnings == ()
    told = [reason.text for reason in found.reasons if reason.kind == "waits"]
    assert told == [
        f"Left until home, {day_and_month(plan.slots[-1].date)}, with 133% of its interval used by then: "
        "doing it sooner costs more than waiting."
    ]


def test_what_is_done_before_and_waits_again_is_counted_from_there() -> None:
    """Otherwise `why` would say of what it does before departure that it is left until home."""
    # no record: renewed on the workshop day, and 2000 of 1500 km gone when it comes home
    plan = planned(ONE_LEG, catalogue=tables(thing(km=1500, act="grease", harms=False)))
    found = only(plan, "bearings")
    assert len(found.placed) == 2 and [wait.slot for wait in found.waits] == ["after"]
    first, last = (next(slot.date for slot in plan.slots if slot.id == name) for name in found.placed)
    assert [reason.text for reason in found.reasons if reason.kind == "waits"] == [
        f"Done again at home, {day_and_month(last)}, with 133% of its interval used since {day_and_month(first)}: "
        "doing it again sooner costs more than waiting."
    ]


def test_what_was_found_bad_waits_without_a_share() -> None:
    """Otherwise `why` would make a percentage of a thing found worn, which is due whatever its interval says."""
    rows = (*WORN, row(TODAY, 0, "bearings", "look", number=4, finding="worn"))
    plan = planned(trip(leg(1, 2000)), *rows, catalogue=tables(thing(km=1500, act="grease", harms=False)))
    found = only(plan, "bearings")
    assert (found.found, found.found_on) == ("worn", TODAY)
    assert [reason.text for reason in found.reasons if reason.kind == "waits"] == [
        f"Left until home, {day_and_month(plan.slots[-1].date)}, though found worn: doing it sooner costs more than waiting."
    ]


def test_what_nobody_knows_waits_without_a_share() -> None:
    """Otherwise a percentage would be made of what has no record."""
    away = trip(leg(1, 2000))
    plan = planned(away, catalogue=tables(thing(km=1500, act="grease", harms=False)))
    texts = [reason.text for reason in only(plan, "bearings").reasons if reason.kind == "waits"]
    assert texts == [
        f"Left until home, {day_and_month(plan.slots[-1].date)}, with no record of it: doing it sooner costs more than waiting."
    ]


@pytest.mark.parametrize(("lead_days", "used_km", "day"), [(7, 1600, date(2026, 6, 27)), (7, 0, None), (0, 1600, None)])
def test_what_waits_for_its_parts_has_the_day_on_which_they_are_there(
    lead_days: int, used_km: float, day: date | None
) -> None:
    """If not, the sheet would say that waiting costs less, of work that is due and whose parts come a week too late for the only day at home.

    By hand: today 20 June, the day at home is 24 June; parts that take seven days are there on 27 June. What is not due by
    the departure would not be done at home with its parts there either.
    """
    at = ONE_LEG.model_copy(update={"rate_per_hour": 60 if lead_days else 6000})
    item = thing(km=1500, act="grease", harms=False, strands=0, consumables="seal 1", parts_lead_days=lead_days)
    rows = (row(date(2026, 6, 19), 0, "bearings", "repack"), row(TODAY, used_km, number=3))
    plan = planned(at, *rows, catalogue=tables(item))
    found = only(plan, "bearings")
    if lead_days:
        assert [(wait.slot, wait.parts_from) for wait in found.waits] == [("after", day)]
        told = (
            "its parts, which shelf.csv does not hold, can be there on 27 June at the soonest"
            if day
            else "doing it sooner costs more than waiting"
        )
        assert told in next(one.text for one in found.reasons if one.kind == "waits")
    else:
        assert all(wait.parts_from is None for wait in found.waits)


def test_a_limit_that_the_road_has_no_minutes_for_is_told_apart() -> None:
    """If not, brakes driven past their limit for want of minutes would stand as a saving among what is merely cheaper.

    By hand: 30 minutes in a camp are more than 20. Fresh at departure, the limit of 1500 km stands at 67 % at the stop and
    at 133 % after the second leg, past the tenth that is allowed.
    """
    legs = (leg(1, 1000, date(2026, 7, 1)), leg(2, 1000, date(2026, 7, 6)))
    at = trip(*legs, stops=(stop("S1", 1, date(2026, 7, 4), minutes=600),), road_day_limit_minutes=20)
    rows = (row(DEPART, 0, "bearings", "renew"),)
    for harms in (True, False):
        item = thing(km=1500, act="renew", harms=harms, harms_by="brakes" if harms else None)
        told = planned(at, *rows, catalogue=tables(item), today=DEPART).beyond_road_time
        assert [one.keeps_limit for one in told] == ([True] if harms else [False] * len(told))


def test_ways_out_are_looked_for_where_the_plan_is_solved() -> None:
    """If the plain rule looked for them, the page would search before its first answer, and offer what solving finds."""
    short = ONE_LEG.model_copy(update={"workshop_days": (workshop(DEPART, 60),)})
    items = (thing("bearings", km=1500, act="renew", harms=True, minutes=50), thing("hoses", km=1500, minutes=50))
    arguments = (rig(), (*WORN,), short, tables(*items), TODAY)
    assert make_plan(*arguments).ways_out and make_plan(*arguments, (), place_greedily).ways_out == ()


def test_a_limit_that_cannot_be_kept_does_not_wait() -> None:
    """If it were told as waiting, nobody would see that a wheel bearing is run past its end."""
    plan = planned(ONE_LEG, *WORN, catalogue=tables(thing(km=1500, act="renew", harms=True)))
    found = only(plan, "bearings")
    assert found.unmet and found.waits == ()
    assert [warning.kind for warning in plan.warnings] == ["no place in time"]
    assert [reason.kind for reason in found.reasons].count("no place") == 1


def test_nothing_waits_for_the_next_chance() -> None:
    """If it did, all that is overdue on a workshop day would be told as waiting for it."""
    rows = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 5000, number=3))
    found = only(planned(LONG, *rows, catalogue=tables(thing(km=4500, harms=False))), "bearings")
    assert found.placed[0].startswith("workshop") and found.waits == ()
