"""The checker's own reckoning of what the history leaves of the minutes: by hand, and beside the planner's."""

from datetime import date

import pytest

from tests.small import DEPART, TODAY, leg, planned, rig, row, stop, tables, thing, trip, workshop
from tests.verify.small_facts import Json, names, spoilt
from tripplan.records.facts_in import HistoryRow
from tripplan.sheets.plan_json import plan_dict
from tripplan.verify.facts import Facts
from tripplan.verify.spent import left_at_stop, left_in_shed, road_spent_in_all, spent_rules
from tripplan.verify.trade import trade_rules
from tripplan.verify.whole import verify

ARRIVE, SECOND = date(2026, 7, 5), date(2026, 7, 6)
CAMP = stop("Camp", 1, ARRIVE, leave=date(2026, 7, 7), facility="camp", minutes=400)
ONE = trip(leg(1, 100, DEPART), leg(2, 100, date(2026, 7, 7)), stops=(CAMP,), workshop_days=(workshop(TODAY, 300),),
           road_daily_minutes=0, road_long_spell_minutes=300)  # fmt: skip
TABLES = tables(thing("hubs", state="hub off", positions="left;right", minutes=30, km=90000),
                thing("chain", act="grease", minutes=20, km=1000))  # fmt: skip
DONE = row(TODAY, 1000, "hubs", "repack", position="left")
LOOKED = row(ARRIVE, 1100, "hubs", "repack", 3, position="left")


def seen(today: date, *rows: HistoryRow) -> Facts:
    """The plan of that day with that work on record, as the checker reads it."""
    plan = planned(ONE, *rows, catalogue=TABLES, today=today)
    return Facts(plan_dict(plan), rig(), rows, ONE, TABLES)


@pytest.mark.parametrize("today", [TODAY, DEPART, ARRIVE, SECOND, date(2026, 7, 7), date(2026, 7, 8)])
def test_planner_and_checker_agree_on_every_day_of_the_trip(today: date) -> None:
    """Otherwise a plan made on the way would be told to break a rule that it keeps."""
    rows = [one for one in (DONE, LOOKED) if one.date <= today]
    facts = seen(today, *rows)
    assert verify(facts.plan, facts.rig, facts.history, facts.trip, facts.catalogue) == ()


def test_what_is_left_by_hand() -> None:
    """Otherwise planner and checker could be wrong alike: 30 and 7 + 10 + 23 to open and close, at a camp twice as much."""
    assert left_in_shed(seen(TODAY, DONE), ONE.workshop_days[0]) == 300 - 70
    assert left_at_stop(seen(ARRIVE, LOOKED), CAMP) == 400 - 140
    assert left_at_stop(seen(SECOND, LOOKED), CAMP) == 200
    assert road_spent_in_all(seen(SECOND, LOOKED)) == 140


@pytest.mark.parametrize(("slot", "said"), [(0, 300), (0, 229), (0, None), (1, 401), (2, 60)])
def test_minutes_that_are_spent_are_no_minutes_available(slot: int, said: float | None) -> None:
    """Otherwise a plan could fill a day that the history says is full."""

    def other(plan: Json) -> None:
        plan["slots"][slot]["minutes_available"] = said

    assert names(spent_rules(seen(TODAY, DONE))) == set()
    assert names(spent_rules(spoilt(seen(TODAY, DONE), other))) == {"minutes left"}


def test_the_ceiling_of_the_trip_is_less_what_was_worked() -> None:
    """Otherwise eight hours over the trip would be eight hours more after each day."""

    def more(plan: Json) -> None:
        plan["slots"][0]["minutes_planned"] = 200

    assert names(trade_rules(spoilt(seen(ARRIVE), more))) == set()  # 200 of 300
    assert names(trade_rules(spoilt(seen(ARRIVE, LOOKED), more))) == {"ceiling of the trip"}  # of 300 - 140
