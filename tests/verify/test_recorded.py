"""Looks that work on record asks for: three legs, bearings packed 20 km ago, the plan from the planner and then spoilt."""

from collections.abc import Callable
from datetime import date
from functools import cache

import pytest
from msgspec.structs import replace

from tests.small import TODAY, leg, planned, rig, row, stop, tables, thing, trip, wagon
from tests.verify.small_facts import Json, spoilt
from tripplan.records.facts_in import HistoryRow
from tripplan.sheets.plan_json import plan_dict
from tripplan.verify.facts import Facts
from tripplan.verify.recorded import recorded_rules
from tripplan.verify.whole import verify

DAY = date(2026, 6, 10)
ITEMS = (
    thing("front_wheel_bearings", km=40000, positions="left;right", state="hub off", covers="front_bearing_play",
          follow_ups="front_bearing_play 50-100 km"),
    thing("wheel_nuts", act="torque", km=50000, minutes=6, place="outside"),
    thing("front_bearing_play", act="measure", km=40000, minutes=10, positions="left;right", state="wheel raised"),
)  # fmt: skip
BEFORE = (row(date(2026, 6, 1), 900, "wheel_nuts", "torque"),
          row(date(2026, 5, 1), 100, "front_wheel_bearings", "repack", 2))  # fmt: skip
PACKED = row(DAY, 1000, "front_wheel_bearings", "repack", 3, position="left")
NOW = row(TODAY, 1020, number=9)


@cache
def good() -> Facts:
    """The plan of three legs that end before anything is due, with the nuts and the play at a halt of 30 km."""
    legs = (leg(1, 300), leg(2, 400, date(2026, 7, 4)), leg(3, 500, date(2026, 7, 8)))
    one_trip = trip(*legs, stops=(stop("Camp", 1, date(2026, 7, 1), facility="camp"),))
    history = (*BEFORE, PACKED, NOW)
    plan = planned(one_trip, *history, catalogue=tables(*ITEMS), units=(wagon(),))
    return Facts(plan_dict(plan), rig(wagon()), history, one_trip, tables(*ITEMS))


def broken(change: Callable[[Json], object], *rows: HistoryRow) -> list[tuple[str, str]]:
    """Where and what is said of the spoilt plan, with those rows of history in place of the packing and the reading."""
    facts = spoilt(good(), change)
    found = recorded_rules(replace(facts, history=(*BEFORE, *rows)) if rows else facts)
    return [(one.where, one.says) for one in found]


def without(item: str) -> Callable[[Json], object]:
    """The plan without the looks at an item."""
    return lambda plan: plan.update(rechecks=[one for one in plan["rechecks"] if one["item"] != item])


def test_the_plan_as_made_keeps_every_rule() -> None:
    """Otherwise the planner and the checker would count the km of one row differently."""
    facts = good()
    assert {one["item"] for one in facts.plan["rechecks"]} == {"wheel_nuts", "front_bearing_play"}
    assert verify(facts.plan, facts.rig, facts.history, facts.trip, facts.catalogue) == ()


@pytest.mark.parametrize("item", ["wheel_nuts", "front_bearing_play"])
def test_a_look_that_work_on_record_asks_for_is_missed(item: str) -> None:
    """Otherwise the nuts of a wheel that was off could leave the plan unseen."""
    ((where, says),) = broken(without(item))
    assert where.startswith(item)
    assert says == "the work of 2026-06-10 asks for it after 50 to 100 km, nobody looked since"


@pytest.mark.parametrize(
    "rows",
    [
        (PACKED, row(date(2026, 6, 15), 1060, "wheel_nuts", "torque", 4), row(TODAY, 1070, number=9)),
        (PACKED, row(date(2026, 6, 15), None, "wheel_nuts", "torque", 4), NOW),
        (PACKED, row(TODAY, 1101, number=9)),
        (PACKED, row(TODAY, 1020, None, "odometer replaced", 9, old_odometer_km=1040)),
        (PACKED.model_copy(update={"odometer_km": None}), NOW),
        (PACKED.model_copy(update={"act": "look"}), NOW),
    ],
)
def test_a_look_on_record_or_long_past_or_of_unknown_km_is_not_asked_for(rows: tuple[HistoryRow, ...]) -> None:
    """Otherwise a sound plan would be refused for what nobody can know."""
    assert [where for where, _ in broken(without("wheel_nuts"), *rows) if "wheel_nuts" in where] == []


def test_a_job_of_its_own_is_that_look() -> None:
    """Otherwise nuts that are drawn up anyway would be asked for twice."""

    def change(plan: Json) -> None:
        without("wheel_nuts")(plan)
        for entry in plan["items"]:
            if entry["item"] == "wheel_nuts":
                entry["placed"] = ["stop-1-camp"]

    assert broken(change) == []


@pytest.mark.parametrize("values", [{"work_day": "2026-06-09"}, {"position": "right"}, {"from_km": 20.0}])
def test_a_look_without_such_work_is_told(values: Json) -> None:
    """Otherwise a plan could name work that nobody did, or ask for a look before its km."""

    def change(plan: Json) -> None:
        checks = [one for one in plan["rechecks"] if one["after_slot"] is None]
        next(one for one in checks if one["item"] == "front_bearing_play").update(values)

    assert any(says.startswith("no work of 2026-06-") for _, says in broken(change))
