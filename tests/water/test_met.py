"""A greater act at hand makes the look needless that would open the same hub."""

from datetime import date, datetime
from typing import Any

import pytest
from msgspec.structs import replace

from tests.small import crossing, leg, planned, row, stop, tables, thing, trip, wagon, water_rule
from tripplan.trip.timeline import build_timeline
from tripplan.water.crossing import Call, calls
from tripplan.water.lines import BowWave
from tripplan.water.met import without_met_looks
from tripplan.wear.last_done import History, read_history

WAVE = BowWave(0.10, 0.25, 0.0, 0.15)
HUB = thing("hub", positions="left;right", points="hub_centre", place="front wheel end", state="hub off", km=40000)
LOOK = water_rule("hub", "days", "look", within_days=2, within_km=500, state="hub off", minutes=15, from_grade=3)
REPACK = water_rule(
    "hub", "before remote", "repack", within_days=5, state="hub off", minutes=40, from_grade=5, resets=True
)  # fmt: skip
RULES = (LOOK, REPACK)


def asked(rules: tuple[Any, ...] = RULES, **ford: Any) -> tuple[tuple[Call, ...], History]:
    """What one or two fords at hub height call for, and the history it was seen with."""
    known = tables(HUB, water_rules=rules)
    fords = ford.pop("fords", None) or (crossing(1, 100, 0.45, minutes=3, crossed=date(2026, 7, 1), **ford),)
    line = build_timeline(trip(leg(1, 300), leg(2, 400, date(2026, 7, 5)), crossings=fords), 8)
    history = read_history((), known)
    return calls([(wagon(), HUB, side) for side in HUB.positions], line, known, history, WAVE), history


def acts(found: tuple[Call, ...]) -> list[tuple[str | None, str]]:
    """Side and act of each call."""
    return [(call.position, call.rule.act) for call in found]


def test_who_packs_a_hub_has_looked_into_it() -> None:
    """If not, a hub would be opened for fifteen minutes in the evening and packed two days later."""
    found, history = asked(water="salt")
    assert acts(found) == [("left", "look"), ("left", "repack"), ("right", "look"), ("right", "repack")]
    assert acts(without_met_looks(found, history, lambda _: True)) == [("left", "repack"), ("right", "repack")]


def test_the_look_stays_where_the_greater_act_has_no_place() -> None:
    """If not, salt water would stand in a hub because no town lies within five days."""
    found, history = asked(water="salt")
    assert without_met_looks(found, history, lambda _: False) == found


def test_the_look_stays_where_the_greater_act_is_left_to_it() -> None:
    """If not, nobody would look, and what the look decides would never come."""
    found, history = asked(water="salt")
    told = tuple(replace(call, contingent=call.rule.act == "repack") for call in found)
    assert without_met_looks(told, history, lambda _: True) == told


@pytest.mark.parametrize("changed", [{"state": "closed"}, {"state": "wheel raised"}])
def test_a_quicker_look_stays(changed: dict[str, Any]) -> None:
    """If not, the hand on the hub this evening would wait for the day it is packed."""
    found, history = asked((LOOK.model_copy(update=changed), REPACK), water="salt")
    assert without_met_looks(found, history, lambda _: True) == found


def test_a_later_ford_meets_a_look_only_in_its_time() -> None:
    """If not, packing a week later would stand for a look that was due in two days, or before the water came."""
    first = crossing(1, 100, 0.45, minutes=9, crossed=datetime(2026, 7, 1, 9))
    salt = [crossing(2, km, 0.45, minutes=3, water="salt", crossed=datetime(2026, 7, day, 9)) for km, day in
            ((10, 3), (300, 7))]  # fmt: skip
    for made, left in zip(salt, (0, 2), strict=True):
        found, history = asked(fords=(first, made))
        kept = [call for call in without_met_looks(found, history, lambda _: True) if call.rule.act == "look"]
        assert [call.crossing for call in kept] == [0] * left


def test_the_plan_packs_and_does_not_look(capsys: pytest.CaptureFixture[str]) -> None:
    """If not, the rule would hold for the calls and not for what is on the sheet."""
    legs = (leg(1, 300), leg(2, 300, date(2026, 7, 4)))
    salt = crossing(1, 100, 0.45, minutes=3, water="salt", crossed=date(2026, 7, 1))
    rows = (row(date(2026, 6, 1), 0, "hub", "repack", position="both"), row(date(2026, 7, 2), 300, number=3))
    for facility, want in (("town", {"repack"}), ("camp", {"look", "repack"})):
        one = trip(*legs, crossings=(salt,), stops=(stop("Two Wells", 1, date(2026, 7, 2), facility=facility),))
        rules = (LOOK, REPACK.model_copy(update={"facility": "town"}))
        plan = planned(one, *rows, catalogue=tables(HUB, water_rules=rules), today=date(2026, 7, 2))
        assert {act.act for act in plan.crossings[0].acts} == want
