"""Filled slots: what is opened, which jobs in which order, why, and the re-checks that follow."""

from datetime import date

import pytest

from tests.small import (
    TODAY,
    camper,
    crossing,
    jobs,
    leg,
    looked_at,
    only,
    planned,
    row,
    stop,
    tables,
    thing,
    trip,
    wagon,
    water_rule,
    workshop,
)
from tripplan.explain.slots import openings
from tripplan.placing.problem import Placing
from tripplan.placing.tasks import placement_problem
from tripplan.records.facts_in import Trip
from tripplan.records.plain_words import day_and_month
from tripplan.records.plan import Plan
from tripplan.records.plan_work import Recheck

LEGS = (leg(1, 60), leg(2, 600, date(2026, 7, 4)))
FIRST, SECOND = date(2026, 6, 24), date(2026, 6, 28)
NUTS = thing("nuts", act="torque", km=50000, minutes=5)
PLAY = thing("play", act="measure", km=50000, minutes=10, positions="left;right")
DONE = (
    row(date(2026, 6, 1), 0, "nuts", "torque"),
    row(date(2026, 6, 1), 0, "play", "measure", 3),
    row(TODAY, 10, number=4),
)


def checks(follow_ups: str, one_trip: Trip, minutes: float = 30) -> list[Recheck]:
    """The re-checks that an overdue job on the left brings with it."""
    item = thing(
        "bearings",
        km=5000,
        minutes=minutes,
        positions="left",
        follow_ups=follow_ups,
        harms=True,
        harms_by="brakes",
        act="grease",
    )
    return list(planned(one_trip, *DONE, catalogue=tables(item, NUTS, PLAY)).rechecks)


def home(*days: date, minutes: float = 1000, **changes: object) -> Trip:
    """The two legs with those workshop days."""
    return trip(*LEGS, workshop_days=tuple(workshop(day, minutes) for day in days), **changes)


def test_a_side_that_would_last_is_said_to_go_with_the_other() -> None:
    """If not, a hub packed last week would be said to be far gone, where it is opened because its twin is."""
    hub = thing("hub", km=2000, positions="left;right", act="repack", spread_low=0.99, spread_high=1.01)
    rows = (
        row(date(2026, 6, 1), 0, "hub", "repack", 2),
        row(date(2026, 6, 10), 450, "hub", "repack", 4, position="left"),
        row(TODAY, 1350, number=5),
    )
    plan = planned(home(FIRST), *rows, catalogue=tables(hub))
    told = {job.position: job.why for slot in plan.slots for job in slot.jobs if job.item == "hub"}
    assert "used up" in told["right"]
    assert told["left"] == "last done 10 June 2026; would last the trip, and is done with the other side"


def test_a_look_at_once_is_at_the_work() -> None:
    """If not, the play would be looked at with the wheel back on the ground."""
    (check,) = checks("play 0-0 km", home(FIRST))
    assert (check.item, check.position, check.slot, check.where) == ("play", "left", f"workshop-{FIRST}", "at the work")


def test_after_a_shakedown_it_is_on_a_later_workshop_day() -> None:
    """If not, the drive before departure would go unused."""
    (check,) = checks("play 50-100 km", home(FIRST, SECOND, shakedown_km=80))
    slots = {check.after_slot, check.slot}
    assert slots == {f"workshop-{FIRST}", f"workshop-{SECOND}"} and check.where == "home"


def test_at_a_stop_inside_its_window() -> None:
    """If not, the nuts would be left until the tools are far away."""
    (check,) = checks("nuts 50-100 km", home(FIRST, stops=(stop("Two Wells", 1, date(2026, 7, 2)),)))
    assert (check.slot, check.where, check.position) == ("stop-1-two-wells", "Two Wells", None)
    assert (check.from_km, check.to_km) == (50, 100)


def test_at_a_halt_on_the_road_when_no_stop_is_near() -> None:
    """If not, a re-check without a stop would vanish."""
    (check,) = checks("nuts 100-150 km", home(FIRST, stops=(stop("Two Wells", 1, date(2026, 7, 2)),)))
    assert (check.slot, check.where, check.leg) == (None, "at a halt on the road", 2)  # km 100 is on leg 2


def test_after_return_when_the_trip_is_shorter() -> None:
    """If not, it would be said to fall on a leg that is not driven."""
    (check,) = checks("nuts 1000-2000 km", home(FIRST))
    assert (check.slot, check.where, check.leg) == (None, "after return", None)


def test_a_stop_without_room_leaves_the_look_to_a_halt() -> None:
    """If not, a full stop would be filled further."""
    (check,) = checks("nuts 50-100 km", home(FIRST, stops=(stop("Two Wells", 1, date(2026, 7, 2), minutes=3),)))
    assert (check.slot, check.where) == (None, "at a halt on the road")


def test_a_look_that_ends_a_job_stands_on_the_sheet_with_its_minutes() -> None:
    """If not, the plan would count minutes that no sheet shows, and a hub be closed untried."""
    item = thing("bearings", km=5000, positions="left", follow_ups="play 0-0 km")
    covering = thing("seals", act="renew", km=5000, positions="left", covers="play")
    plan = planned(home(FIRST), *DONE, catalogue=tables(item, covering, NUTS, PLAY))
    assert [(check.item, check.slot) for check in plan.rechecks] == [("play", "workshop-2026-06-24")]
    assert sum(slot.minutes_planned for slot in plan.slots) == plan.totals.plan.minutes


def test_a_look_that_is_a_job_there_is_not_listed_twice() -> None:
    """If not, the same wheel would be rocked twice in one day."""
    item = thing("bearings", km=5000, positions="left", follow_ups="play 0-0 km")
    due = PLAY.model_copy(update={"km": 10.0, "months": None})
    plan = planned(home(FIRST), *DONE, catalogue=tables(item, NUTS, due))
    there = [job for job in plan.slots[0].jobs if (job.item, job.position) == ("play", "left")]
    assert len(there) == 1


def test_a_look_after_water_goes_with_the_greater_job_and_both_say_so() -> None:
    """If not, the hub would be on the list twice, or the crossing would seem to be forgotten."""
    hub = thing("hub", km=700, points="hub_centre", water="high")
    rule = water_rule("hub", "days", "look", within_days=10, within_km=1000, look_for="milky grease")
    one = home(stops=(stop("Two Wells", 1, date(2026, 7, 2)),), crossings=(crossing(1, 20, 0.5),))
    rows = (row(date(2026, 6, 1), 0, "hub", "repack"), row(TODAY, 300, number=3))
    plan = planned(one, *rows, catalogue=tables(hub, water_rules=(rule,)))
    (slot,) = [slot for slot in plan.slots if slot.id == "stop-1-two-wells"]
    (job,) = slot.jobs
    assert (job.act, job.kind) == ("repack", "service")
    assert job.why.endswith("; it is also the look asked for by the water at trip km 20")
    assert rule.origin in job.origins
    (act,) = plan.crossings[0].acts
    assert act.slot == slot.id
    assert "the look that a crossing calls for goes with it" in job.moves


def test_two_sides_ask_for_the_wheel_nuts_once() -> None:
    """If not, the list would name the same nuts for each side."""
    item = thing("bearings", km=5000, positions="left;right", follow_ups="nuts 50-100 km")
    plan = planned(home(FIRST), *DONE, catalogue=tables(item, NUTS, PLAY))
    assert [(check.item, check.position) for check in plan.rechecks] == [("nuts", None)]


def test_opened_states_are_listed_once_and_outermost_first() -> None:
    """If not, the worksheet would take the hub off before the wheel."""
    items = (
        thing("bearings", km=5000, state="hub off", minutes=30, positions="left"),
        thing("brakes", act="look", km=5000, state="wheel off", minutes=10, positions="left"),
    )
    slot = planned(home(FIRST), catalogue=tables(*items)).slots[0]
    assert [(one.state, one.minutes) for one in slot.opened] == [
        ("wheel raised", 7),
        ("wheel off", 10),
        ("hub off", 23),
    ]
    assert slot.minutes_planned == 40 + 30 + 10
    assert [job.item for job in slot.jobs] == [
        "bearings",
        "brakes",
    ]  # at a wheel end from the inside out, as it goes together again


def test_planned_minutes_are_jobs_and_openings_and_no_more_than_there_are() -> None:
    """If not, the day on the worksheet would be longer than the day."""
    items = tuple(
        thing(f"job{i}", km=1000, minutes=20, place="engine sump", state="drained", act="grease") for i in range(3)
    )
    plan = planned(home(FIRST, SECOND, minutes=60), catalogue=tables(*items))
    for slot in plan.slots:
        total = sum(job.minutes for job in slot.jobs) + sum(one.minutes for one in slot.opened)
        assert slot.minutes_planned == total
        assert slot.minutes_available is None or slot.minutes_planned <= slot.minutes_available
    # 15 to open and close, so two jobs of 20 fit in 60 and the third is on the other day
    assert sorted(len(slot.jobs) for slot in plan.slots[:2]) == [1, 2]


def test_a_job_that_water_calls_for_carries_its_crossing_as_a_number() -> None:
    """If not, whoever tells the crossing once for many jobs would have to cut it out of a sentence."""
    hub = thing("hub", km=90000, points="hub_centre", water="high")
    rule = water_rule("hub", "days", "look", within_days=10, within_km=1000, look_for="milky grease (or foam)")
    one = home(stops=(stop("Two Wells", 1, date(2026, 7, 2)),), crossings=(crossing(1, 20, 0.5),))
    rows = (row(date(2026, 6, 1), 0, "hub", "repack"), row(TODAY, 300, number=3))
    plan = planned(one, *rows, catalogue=tables(hub, water_rules=(rule,)))
    (job,) = (job for slot in plan.slots for job in slot.jobs)
    assert (job.kind, job.crossing_km, job.cause) == ("after water", 20, "milky grease (or foam)")
    assert job.why == "milky grease (or foam) (crossing at trip km 20)"
    (act,) = plan.crossings[0].acts
    assert (act.window_kind, act.within_days) == ("days", 10)


def test_a_look_again_knows_whether_it_is_at_the_work() -> None:
    """Otherwise a sheet could not tell play measured when the hub is shut from a look days later at the same place."""
    wheel = thing(
        "hub", act="repack", place="front wheel end", state="knuckle open", km=5000, follow_ups="play 0-0 km; nuts 50-100 km",
    )  # fmt: skip
    plan = planned(home(FIRST), catalogue=tables(wheel, NUTS, PLAY))
    again = [job for slot in plan.slots for job in slot.jobs if job.kind == "re-check"]
    assert again and {job.at_work for job in again if job.item == "play"} == {True}
    assert not any(job.at_work for job in again if job.item == "nuts")
    steps = [step for slot in plan.slots for step in slot.opened if step.state == "knuckle open"]
    assert steps and {step.parent for step in steps} == {"hub off"}


def test_each_job_says_why() -> None:
    """If not, the owner could not tell habit from need."""
    items = (
        thing("new", km=5000), thing("old", act="renew", km=5000), thing("bad", act="grease", km=90000),
        thing("soon", act="adjust", km=1000),
    )  # fmt: skip
    rows = (
        row(date(2026, 1, 1), 0, "old", "renew"),
        row(date(2026, 6, 1), 9400, "bad", "look", 3, finding="water"),
        row(date(2026, 6, 2), 9450, "soon", "adjust", 4),
        row(TODAY, 10000, number=5),
    )
    plan = planned(home(FIRST), *rows, catalogue=tables(*items))
    why = {job.item: job.why for slot in plan.slots for job in slot.jobs}
    ends = only(plan, "soon").runs_out_reserve
    assert ends is not None and ends.leg == 2
    assert why["new"] == "no record of it, so it counts as due"
    assert why["old"] == "last done 1 January 2026; used up before departure"
    assert why["bad"] == "found water on 1 June 2026"
    # 550 used, 450 left: 60 on leg 1, 390 on leg 2
    assert (
        why["soon"] == f"last done 2 June 2026; used up on {day_and_month(ends.date)}, leg 2, km 390, also with reserve"
    )
    assert only(plan, "bad").verdict == "due before departure"


@pytest.mark.parametrize(
    ("km", "ends"),
    [
        # heavy dust on leg 1 counts 2, up to 3: 1000 km wear 2000, or 3000 with reserve; at 50 km/h from 8 o'clock
        # km 750 is passed at 23, km 833 after midnight
        (10500, "typically used up on 2 July, leg 1, km 750; with reserve on 2 July, leg 1, km 500"),
        (11500, "typically lasts the trip, with reserve used up on 3 July, leg 1, km 833"),
    ],
)
def test_the_reserve_is_never_told_as_the_day_it_happens(km: int, ends: str) -> None:
    """Otherwise a job would say used up on a day, beside a sheet that says it typically lasts longer."""
    dusty = trip(leg(1, 1000, dust="heavy"), workshop_days=(workshop(date(2026, 6, 24)),))
    rows = (row(date(2026, 6, 1), 0, "soon", "repack"), row(TODAY, 9000, number=3))
    plan = planned(dusty, *rows, catalogue=tables(thing("soon", km=km, dust="high")))
    (job,) = (job for slot in plan.slots for job in slot.jobs if slot.kind == "workshop")
    assert job.why == f"last done 1 June 2026; {ends}"


def test_under_way_what_is_used_up_is_so_by_now() -> None:
    """If not, what ran out on the road would be told as left undone in the shed."""
    one = home(stops=(stop("Two Wells", 1, date(2026, 7, 2)),))
    rows = (row(date(2026, 1, 1), 0, "old", "renew"), row(TODAY, 10000, number=2))
    tables_of = tables(thing("old", act="renew", km=5000))
    last = "last done 1 January 2026; used up "
    assert job_why(planned(one, *rows, catalogue=tables_of)) == last + "before departure"
    assert job_why(planned(one, *rows, catalogue=tables_of, today=date(2026, 7, 2))) == last + "by now"


def job_why(plan: Plan) -> str:
    """Why the only job of the plan is on the list."""
    (job,) = (job for slot in plan.slots for job in slot.jobs)
    return job.why


def test_materials_and_cautions_go_with_the_job() -> None:
    """If not, the worksheet would leave out what keeps hands and eyes safe."""
    item = thing("bearings", km=5000, consumables="seal 2; grease 1", cautions="stands, not jacks")
    (slot,) = [slot for slot in planned(home(FIRST), catalogue=tables(item)).slots if slot.jobs]
    (job,) = slot.jobs
    assert [(one.what, one.quantity, one.measure) for one in job.materials] == [
        ("seal", 2, "piece"),
        ("grease", 1, "piece"),
    ]
    assert job.cautions == ("stands, not jacks",)
    assert jobs(planned(home(FIRST), catalogue=tables(item))) == [(f"workshop-{FIRST}", "bearings", None, "service")]


def test_what_was_left_open_is_told_on_both_days() -> None:
    """If not, the second morning's sheet would open what stands open: 10 on the first day, 13 on the second."""
    item = thing("bearings", state="hub off", place="trailer wheel end", unit_kind="trailer", minutes=30)
    s, standings = looked_at(home(FIRST, date(2026, 6, 25), SECOND), catalogue=tables(item), units=(wagon(), camper()))
    problem = placement_problem(standings, (), s)
    key = ("camper", "trailer wheel end", None)
    kept = Placing(((0, 1),), (), "by hand", None, frozenset({(0, key, "hub off")}))
    told = [openings(problem, {(key, "hub off"): ("trailer wheel end",)}, site, kept) for site in (0, 1, 2)]
    assert [(one.minutes, one.kept_open, one.was_open) for (one,) in told] == [
        (10.0, True, False), (12.0, False, True), (22.0, False, False)
    ]  # fmt: skip
