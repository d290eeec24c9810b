"""Water known to be in something and a place with the time passed by: the checker says so, from the plan alone."""

from datetime import date

import pytest

from tests.small import TODAY, leg, planned, rig, row, stop, tables, thing, trip, wagon
from tests.verify.small_facts import told
from tripplan.records.facts_in import Trip
from tripplan.sheets.plan_json import plan_dict
from tripplan.verify.facts import Facts
from tripplan.verify.found import found_rules

OIL = thing("oil", act="drain and refill", place="engine sump", state="drained", km=10000, minutes=20)


def facts(minutes: float, finding: str = "water", **changes: object) -> Facts:
    """Oil found so on the day of planning; a stop after 500 km, home after 500 more. The plan puts it right at the stop."""
    rows = (
        row(date(2026, 6, 1), 0, "oil", "drain and refill"), row(TODAY, 200, "oil", "look", number=5, finding=finding),
        row(TODAY, 200, number=9),
    )  # fmt: skip
    legs = (leg(1, 500), leg(2, 500, date(2026, 7, 6)))
    one: Trip = trip(*legs, stops=(stop("Gums", 1, date(2026, 7, 2), minutes=minutes),), **changes)
    catalogue = tables(OIL)
    plan = plan_dict(planned(one, *rows, catalogue=catalogue))
    return Facts(plan, rig(wagon()), rows, one, catalogue)


def left_for_home(given: Facts) -> Facts:
    """The same with the work moved from the stop to the day after return."""
    plan = {**given.plan, "items": [{**entry, "placed": ["after"]} for entry in given.plan["items"]]}
    plan["slots"] = [{**slot, "jobs": [], "opened": [], "minutes_planned": 0.0} for slot in given.plan["slots"]]
    return Facts(plan, given.rig, given.history, given.trip, given.catalogue)


def test_what_the_planner_makes_is_in_time() -> None:
    """If not, the rule would call a good plan broken."""
    assert told(found_rules(facts(240.0)), "fault known") == []


@pytest.mark.parametrize(
    ("given", "is_said"),
    [
        (facts(240.0), True), (facts(20.0), False), (facts(240.0, finding="worn"), True),
        (facts(240.0, road_day_limit_minutes=20), False), (facts(240.0, road_daily_minutes=0, road_long_spell_minutes=0), False),
    ],
    ids=["time enough", "too short a stop", "worn, and able to stop the rig", "more than the owner gives a day", "more than the trip gives"],
)  # fmt: skip
def test_a_place_with_the_time_is_not_passed_by(given: Facts, is_said: bool) -> None:
    """If it could be, water would stay in an axle until home, and every check would pass."""
    says = told(found_rules(left_for_home(given)), "fault known")
    assert says == (["found on 2026-06-20, and stop-1-gums has the time for it before after"] if is_said else [])
