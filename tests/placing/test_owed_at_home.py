"""Work after water that no place was in time for: owed at home once the rig is back, until it is recorded."""

from datetime import date, timedelta

import pytest

from tests.small import RETURN, crossing, jobs, leg, planned, rig, row, tables, thing, trip, water_rule
from tripplan.records.plan import Plan
from tripplan.records.plan_work import Job
from tripplan.sheets.plan_json import plan_dict
from tripplan.verify.whole import verify

WET, BACK = date(2026, 7, 20), RETURN + timedelta(days=1)
HUBS = thing("hubs", km=90000, points="hub_centre", water="high")
MIRRORS = thing("coupling", act="look", rhythm="walk-round", km=90000, points="hub_centre", water="high")
KNOWN = (row(date(2026, 6, 1), 0, "hubs", "repack"), row(date(2026, 6, 1), 0, "coupling", "look", 3),
         row(date(2026, 6, 20), 10, number=4))  # fmt: skip


def after_water(when: str, today: date, *rows: object, item: str = "hubs", **rule: object) -> Plan:
    """The plan of a trip with deep water on 20 July, on the way back, and no stop behind it."""
    one = trip(leg(1, 300, date(2026, 7, 1)), leg(2, 300, WET), crossings=(crossing(2, 20, 0.5, crossed=WET),))
    rules = (water_rule(item, when, "clean", look_for="silt", **rule),)
    known = tables(HUBS, MIRRORS, water_rules=rules)
    plan = planned(one, *KNOWN, *rows, catalogue=known, today=today)  # type: ignore[arg-type]
    broken = verify(plan_dict(plan), rig(), (*KNOWN, *rows), one, known)  # type: ignore[arg-type]
    assert broken == ()
    return plan


def wet_jobs(plan: Plan) -> list[Job]:
    """The jobs that water calls for."""
    return [job for slot in plan.slots for job in slot.jobs if job.kind == "after water"]


@pytest.mark.parametrize("when", ["night", "days", "before remote"])
def test_what_was_left_undone_waits_at_home_until_it_is_recorded(when: str) -> None:
    """Otherwise it would go from every list when its time is over, with the water still inside."""
    within = {"night": {"within_hours": 24}}.get(when, {"within_days": 2})
    for today in (BACK, BACK + timedelta(days=40)):
        plan = after_water(when, today, **within)
        assert ("after", "hubs", None, "after water") in jobs(plan)
        (job,) = wet_jobs(plan)
        by = "21 July" if when == "night" else "22 July"
        assert job.minutes == 10 and job.why == f"silt (crossing at trip km 320); late: it was to be done by {by}"
        assert [act.slot for one in plan.crossings for act in one.acts] == ["after"]
        assert not [told for told in plan.warnings if told.kind == "water work without a place"]
    done = row(BACK, 700, "hubs", "clean", 5)
    assert wet_jobs(after_water(when, BACK, done, **within)) == []


def test_before_the_return_home_is_no_place_in_time() -> None:
    """Otherwise a plan on the road would leave wet hubs until home, and not warn that a stop is missing."""
    plan = after_water("days", RETURN, within_days=2)
    assert wet_jobs(plan) == []
    assert [told.kind for told in plan.warnings if told.kind == "water work without a place"]


@pytest.mark.parametrize("when", ["bank", "halt", "later"])
def test_what_is_done_at_the_water_or_on_the_road_is_no_work_of_home(when: str) -> None:
    """Otherwise the brakes would be asked to be dried in the shed, weeks later."""
    assert wet_jobs(after_water(when, BACK, within_km=500)) == []


def test_water_calls_for_work_at_what_is_looked_at_every_morning_as_well() -> None:
    """Otherwise the coupling that went through mud would never be cleaned: its morning look takes no place in the plan."""
    (job,) = wet_jobs(after_water("days", BACK, item="coupling", within_days=2))
    assert (job.item, job.act, job.minutes) == ("coupling", "clean", 10)


def test_home_takes_it_however_much_has_to_be_opened() -> None:
    """Otherwise what opens far for little would be priced out, and stay undone for good."""
    deep = thing("hubs", km=90000, points="hub_centre", water="high", state="knuckle open")
    one = trip(leg(1, 300, WET), crossings=(crossing(1, 20, 0.5, crossed=WET),))
    rules = (water_rule("hubs", "days", "look", within_days=2, state="knuckle open", minutes=1),)
    plan = planned(one, KNOWN[0], KNOWN[2], catalogue=tables(deep, water_rules=rules), today=BACK)
    assert [job.kind for job in wet_jobs(plan)] == ["after water"]
