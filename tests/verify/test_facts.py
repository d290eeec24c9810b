"""The look-ups that every rule needs: a short invented trip, each answer read off it."""

from datetime import date

import pytest

from tests.small import leg, stop, tables, thing, trip
from tests.verify.small_facts import Json, facts
from tripplan.verify.facts import covering, day, key_of, named, rank

DAYS = ("2026-06-22", "2026-06-23", "2026-06-25")


def home(*days: str, shakedown_km: float = 0) -> list[bool]:
    """Whether each of these days at home may leave something open, with a stop behind them."""
    slots = [{"id": text, "kind": "workshop", "date": text, "after_leg": 0} for text in days]
    slots.append({"id": "stop", "kind": "stop", "date": "2026-07-01", "after_leg": 1})
    at = facts({"slots": slots}, trip(leg(1, 100), shakedown_km=shakedown_km))
    return [at.may_stay_open(index) for index in range(len(slots))]


def test_only_two_days_in_a_row_at_home_leave_something_open() -> None:
    """If not, a rig would stand in pieces where it has to be driven."""
    assert home(*DAYS) == [True, False, False, False]
    assert home("2026-06-30") == [False, False]


def test_nothing_stays_open_over_the_shakedown_drive() -> None:
    """The drive comes before the last day at home: if it were forgotten, the rig would be driven with its hubs off."""
    assert home("2026-06-22", "2026-06-23", "2026-06-24", shakedown_km=80) == [True, False, False, False]
    assert home("2026-06-22", "2026-06-23", "2026-06-24") == [True, True, False, False]


@pytest.mark.parametrize(
    ("slots", "today", "chances"),
    [
        ([("workshop", "2026-06-22"), ("workshop", "2026-06-24"), ("stop", "2026-07-03")], "2026-06-20", 2),
        ([("stop", "2026-07-03"), ("after", "2026-08-01")], "2026-07-02", 0),
        ([("stop", "2026-07-03"), ("after", "2026-08-01")], "2026-07-03", 1),
        ([("after", "2026-08-01")], "2026-08-02", 0),
    ],
)
def test_the_chances_before_the_rig_goes_on(slots: list[tuple[str, str]], today: str, chances: int) -> None:
    """If not, what is due where the rig stands would be told as left undone."""
    listed = [{"id": f"{kind} {on}", "kind": kind, "date": on, "after_leg": 1} for kind, on in slots]
    assert facts({"slots": listed, "today": today}).chances() == chances


def test_a_stop_at_home_between_two_parts_of_a_trip_is_not_the_road() -> None:
    """If it were, a week in the own shed would count the minutes of a camp."""
    legs = (
        leg(2, 100, date(2026, 7, 5), **{"from": "Away", "to": "Home"}),
        leg(1, 100, **{"from": "Home", "to": "Away"}),
        leg(3, 100, date(2026, 7, 12), **{"from": "Home", "to": "Far"}),
        leg(4, 100, date(2026, 7, 15), **{"from": "Far", "to": "Home"}),
    )
    at = facts({}, trip(*legs, stops=(stop("Home", 2, date(2026, 7, 6)),)))
    kinds = [("stop", 1), ("stop", 2), ("stop", 3), ("stop", 4), ("workshop", 0), ("after", 4)]
    on_the_road = [at.is_on_the_road({"kind": kind, "after_leg": after}) for kind, after in kinds]
    assert on_the_road == [True, False, True, True, False, False]


def test_what_was_found_is_no_warning_that_excuses() -> None:
    """If it were, a worn bearing would excuse its own neglect."""
    left = {"item": "bearings", "unit": "wagon", "position": "left"}
    warnings: list[Json] = [{"kind": "parts late", "about": [left]}]
    at = facts({"warnings": warnings})
    assert at.is_warned(left) and not at.is_warned({**left, "position": "right"})
    assert not facts({"warnings": [{"kind": "found bad", "about": [left]}]}).is_warned(left)


def test_an_act_done_on_the_way_of_another_on_the_way_of_a_third() -> None:
    """If covering did not go through, a full overhaul would leave the nipple it greases to be greased again."""
    items = (thing("overhaul", covers="hub"), thing("hub", covers="nipple"), thing("nipple"), thing("oil"))
    found = covering(tables(*items))
    assert found == {
        "overhaul": {"overhaul"},
        "hub": {"hub", "overhaul"},
        "nipple": {"nipple", "hub", "overhaul"},
        "oil": {"oil"},
    }


def test_words_and_days() -> None:
    """If not, a broken rule would be told of the wrong thing."""
    entry = {"item": "bearings", "unit": "wagon", "position": "left"}
    assert key_of(entry) == ("bearings", "wagon", "left")
    assert named(entry) == "bearings left (wagon)"
    assert named({**entry, "position": None}) == "bearings (wagon)"
    assert day("2026-07-03T08:30:00+09:30") == date(2026, 7, 3)
    assert [rank(name) for name in ("camp", "town", "workshop")] == [1, 2, 3]


def test_the_start_is_today_once_the_trip_has_begun() -> None:
    """If not, months would be counted to a departure long past."""
    assert facts({"today": "2026-07-05"}).start == date(2026, 7, 5)
    assert facts({"today": "2026-06-05"}).start == date(2026, 7, 1)
