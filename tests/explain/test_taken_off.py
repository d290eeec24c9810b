"""What was taken off the minutes that there are, told among the assumptions."""

from datetime import date

from tests.small import TODAY, leg, planned, row, stop, tables, thing, trip, workshop

ARRIVE, SECOND, LEAVE = date(2026, 7, 5), date(2026, 7, 6), date(2026, 7, 7)
CAMP = stop("Camp", 1, ARRIVE, leave=LEAVE, facility="camp", minutes=400)
ONE = trip(leg(1, 100), leg(2, 100, LEAVE), stops=(CAMP,), workshop_days=(workshop(TODAY, 300),))
TABLES = tables(thing("chain", act="grease", minutes=45, km=1000))
HOW = "It counts what the tables give each act, with its openings; an act they have no minutes for counts nothing."


def told(today: date, *days: date) -> list[str]:
    """The sentences of a plan of that day about minutes, with the chain greased on those days."""
    rows = [row(day, 1000 + at, "chain", "grease", at) for at, day in enumerate(days, 2)]
    plan = planned(ONE, *rows, catalogue=TABLES, today=today)
    return [text for text in plan.assumptions if "taken off" in text or "ahead" in text or "are left" in text]


def test_work_on_record_is_told_with_its_place_and_minutes() -> None:
    """Otherwise a day of 4 h 15 min would stand there where the owner gave five, with no reason."""
    assert told(TODAY) == []
    assert told(TODAY, TODAY) == [
        f"Work on record is taken off the minutes that there are: 45 min at home on 20 June. {HOW}"
    ]


def test_days_of_a_stop_that_are_gone_are_told() -> None:
    """Otherwise the time at a stop would shrink overnight without a word."""
    assert told(SECOND, ARRIVE) == [  # 45 minutes take twice as long at a camp
        "Work on record is taken off the minutes that there are: 1 h 30 min at Camp; "
        f"1 h 30 min of the road's over the trip. {HOW}",
        "Camp: at most 3 h 20 min of its 6 h 40 min are still ahead.",
    ]
    assert told(LEAVE)[-1] == "Camp: the rig leaves in the morning, and no minutes are left there."
