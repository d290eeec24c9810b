"""Water known to be in something and a place with the time passed by: the checker says so, from the plan alone."""

from datetime import date

import pytest

from tests.small import (
    SOURCED,
    TODAY,
    consumable,
    leg,
    planned,
    rig,
    row,
    stop,
    tables,
    thing,
    trip,
    wagon,
    workshop,
)  # fmt: skip
from tests.verify.small_facts import told
from tripplan.records.facts_in import HistoryRow, Trip
from tripplan.records.mending import Remedy
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


PADS = thing("pads", act="look", family="brake", km=10000, positions="left;right", minutes=5)
REMEDY = Remedy(at="brake", found=("worn",), act="renew", minutes=50, facility="camp", parts_lead_days=0, consumables="worn_part 1",
                sides="both", **SOURCED)  # fmt: skip
WORN = row(TODAY, 200, "pads", "look", number=5, finding="worn", position="left")


def axle(*more: HistoryRow, sides: str = "both", **right: object) -> list[str]:
    """What is said of brakes worn on the left: the plan of them, with its entry of the right side changed."""
    rows = (row(date(2026, 6, 1), 0, "pads", "renew"), WORN, *more, row(TODAY, 200, number=9))
    one = trip(leg(1, 500), workshop_days=(workshop(date(2026, 6, 25)), workshop(date(2026, 6, 26))))
    catalogue = tables(PADS, remedies=(REMEDY,), consumables=(consumable("worn_part", "part"),))
    plan = plan_dict(planned(one, *rows, catalogue=catalogue))
    plan["items"] = [{**entry, **right} if entry["position"] == "right" else entry for entry in plan["items"]]
    told_of = tables(PADS, remedies=(REMEDY.model_copy(update={"sides": sides}),))
    return told(found_rules(Facts(plan, rig(wagon()), rows, one, told_of)), "fault of an axle")


@pytest.mark.parametrize(
    ("right", "is_said"),
    [
        ({}, False), ({"placed": ["after"]}, True), ({"placed": ["workshop-2026-06-26"]}, False),
        ({"act": "look"}, True), ({"found": None, "act": "look", "placed": []}, True),
    ],
    ids=["as planned", "right waits for home", "two days at home are one place", "right is only looked at", "right is left"],
)  # fmt: skip
def test_brakes_of_an_axle_are_put_right_together(right: dict[str, object], is_said: bool) -> None:
    """If they were not, new linings on one wheel would pull the rig to that side, and every check pass."""
    assert bool(axle(**right)) is is_said


def test_a_side_that_was_renewed_since_may_be_left() -> None:
    """If not, the side done at the roadside would be asked for again."""
    assert axle(row(TODAY, 200, "pads", "renew", 6, position="right")) == []


def test_what_is_not_put_right_in_pairs_may_be_done_on_one_side() -> None:
    """If not, one joint would have the other renewed."""
    assert axle(sides="", placed=["after"]) == []
