"""Two invented rigs that a mechanic would know: a thin paper book, and no book at all.

What is asked of the plans is common practice, no source, but for the failures expected:
MIL-T-46780D 3.1.1 gives at least 4184 km between failures that cannot wait (read).
"""

from datetime import date
from functools import cache
from pathlib import Path

import pytest

from tripplan.due.standing import assess, item_positions
from tripplan.files.demos import DEMOS, demo_folder
from tripplan.files.folder import load
from tripplan.placing.problem import teardown_index
from tripplan.placing.tasks import act_prices
from tripplan.placing.waiting import failures_per_10_000_km, rates_of
from tripplan.planner import look_around, make_plan
from tripplan.records.plan import Plan, PlanItem
from tripplan.records.plan_work import Slot

FOLDERS = Path(__file__).parents[1] / "folders"
SEEN_ON = {"thin_book": date(2026, 5, 25), "no_record": date(2026, 6, 1)}


@cache
def plan_of(name: str) -> Plan:
    """The plan of that folder."""
    inputs, catalogue, problems = load(FOLDERS / name, SEEN_ON[name])
    assert inputs is not None, problems
    return make_plan(inputs.rig, inputs.history, inputs.trip, catalogue, SEEN_ON[name], problems)


def home(plan: Plan) -> set[str]:
    """Items done before departure, daily looks left out."""
    return {job.item for slot in plan.slots if slot.kind == "workshop" for job in slot.jobs if job.kind == "service"}


def only(plan: Plan, item: str, side: str | None = None) -> PlanItem:
    """The first line of an item, or that of one side."""
    return next(one for one in plan.items if one.item == item and side in (None, one.position))


def road(plan: Plan) -> list[Slot]:
    """The stops."""
    return [slot for slot in plan.slots if slot.kind == "stop"]


def test_short_time_goes_to_what_stops_a_rig() -> None:
    """If not, the alignment would be measured while the engine oil is a season old."""
    plan = plan_of("thin_book")
    done = home(plan)
    assert {
        "engine_oil_filter",
        "propshaft_ujoints",
        "steering_joints_grease",
        "hoses_coolant",
        "battery",
    } <= done
    assert not done & {"alignment", "tyre_rotation", "swivel_knuckle_reseal"}


@pytest.mark.parametrize("name", SEEN_ON)
def test_an_overhaul_without_a_record_is_a_look_first(name: str) -> None:
    """If not, an owner would strip a sound axle before finding out that it is sound."""
    plan = plan_of(name)
    assert only(plan, "swivel_knuckle_reseal").verdict == "no record"
    assert not home(plan) & {"swivel_knuckle_reseal", "timing_belt", "rear_wheel_bearings", "inner_axle_seal"}
    assert "rear_bearing_play" in home(plan)
    later = [job for slot in plan.slots for job in slot.jobs if job.item == "swivel_knuckle_reseal"]
    assert not later and only(plan, "swivel_knuckle_reseal", "left").left_shut  # nor after the return, unseen


@pytest.mark.parametrize("name", DEMOS)
def test_brakes_go_on_when_the_bearings_behind_them_are_in(name: str) -> None:
    """If not, grease and oil would run over new linings, or shoes that are set would be set again."""
    inputs, catalogue, problems = load(demo_folder(name), DEMOS[name])
    assert inputs is not None
    plan = make_plan(inputs.rig, inputs.history, inputs.trip, catalogue, DEMOS[name], problems)
    days = [slot for slot in plan.slots if slot.kind == "workshop"]
    set_on = {
        (job.unit, job.place): day for day, slot in enumerate(days) for job in slot.jobs
        if "brake" in job.item and job.act in ("renew", "adjust") and job.place.endswith("wheel end")
    }  # fmt: skip
    hubs_off = {
        (step.unit, step.place): day for day, slot in enumerate(days) for step in slot.opened if step.state == "hub off"
    }
    assert all(hubs_off.get(end, -1) <= day for end, day in set_on.items())
    assert name != "outback" or ("wagon", "rear wheel end") in set_on.keys() & hubs_off.keys()


@pytest.mark.parametrize("name", SEEN_ON)
def test_no_day_is_overfull_and_the_road_is_soft(name: str) -> None:
    """If not, the holiday would be spent under the rig: never more than 2.5 hours a day."""
    plan = plan_of(name)
    for slot in plan.slots:
        assert slot.minutes_available is None or slot.minutes_planned <= slot.minutes_available + 1e-6
    for slot in road(plan):
        days = max(1, (slot.leave - slot.arrive).days) if slot.leave and slot.arrive else 1  # type: ignore[operator]
        again = sum(job.minutes for job in slot.jobs if job.kind == "re-check")
        assert slot.minutes_planned - again <= 150 * days + 1e-6
    days_away = (plan.return_ - plan.depart).days + 1
    assert sum(slot.minutes_planned for slot in road(plan)) <= 30 * days_away + 150 + 90


@pytest.mark.parametrize("name", SEEN_ON)
def test_nothing_is_done_again_within_a_short_time_for_its_own_sake(name: str) -> None:
    """If not, the same joint would be greased at every stop."""
    for item in plan_of(name).items:
        assert len(item.placed) <= 4


@pytest.mark.parametrize("name", SEEN_ON)
def test_failures_with_every_interval_kept_lie_where_they_are_published(name: str) -> None:
    """If not, the price of a failure would be out of this world."""
    inputs, catalogue, _ = load(FOLDERS / name, SEEN_ON[name])
    assert inputs is not None
    s = look_around(inputs.rig, inputs.history, inputs.trip, catalogue, SEEN_ON[name])
    standings = [assess(pair, s) for pair in item_positions(s.rig, catalogue)]
    prices = act_prices(standings, teardown_index(catalogue), rates_of(s).home_hour)
    told = failures_per_10_000_km([(x.item, prices[(x.item.id, x.unit.id)]) for x in standings], s)
    assert 0.3 <= told <= 2.4
    assert any(f"{told:.1f} failures that cannot wait" in text for text in plan_of(name).assumptions)


@pytest.mark.parametrize("name", SEEN_ON)
def test_the_same_look_stands_once_at_a_place(name: str) -> None:
    """If it stood twice, it would be done twice, or ticked once and half believed."""
    for slot in plan_of(name).slots:
        keys = [(job.item, job.unit, job.position, job.act) for job in slot.jobs if job.kind != "walk-round"]
        assert len(keys) == len(set(keys))
    if name == "thin_book":
        nuts = next(job for slot in plan_of(name).slots for job in slot.jobs if job.item == "wheel_nuts")
        assert nuts.minutes == 10 and "; it also follows the work on: " in nuts.why
