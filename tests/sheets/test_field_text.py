"""How the items just worked on stand now: those that stand alike are told together."""

from datetime import date

from tests.small import TODAY, leg, planned, row, tables, thing, trip
from tripplan.records.plan import Plan
from tripplan.sheets.field_text import items_text


def plan() -> Plan:
    """Belts and hoses looked at on one day, bolts that run out; 500 km and home."""
    catalogue = tables(
        thing("belts", name="Drive belts", act="look", km=20000), thing("hoses", name="Hoses", act="look", km=20000),
        thing("bolts", name="Tow bar bolts", act="torque", km=300),
    )  # fmt: skip
    done = (
        row(date(2026, 6, 10), 100, name, act)
        for name, act in (("belts", "look"), ("hoses", "look"), ("bolts", "torque"))
    )
    return planned(trip(leg(1, 500)), *done, row(TODAY, 150, number=9), catalogue=catalogue)


def test_items_that_stand_alike_are_one_line_with_one_reason() -> None:
    """If not, a day with two dozen jobs would end in fifty lines that say the same of each."""
    told = items_text(plan(), plan().items)
    assert "Lasts the trip: Drive belts; Hoses" in told
    assert told.count("ast done 10 June 2026 at 100 km") == 2  # once for both, once for the bolts
    assert "Each: last done 10 June 2026" in told and "  Tow bar bolts: " in told


def test_one_item_is_told_by_its_name_first() -> None:
    """If not, whoever wrote down one job would have to look for it behind the verdict."""
    (belts,) = [one for one in plan().items if one.item == "belts"]
    lines = [line.strip() for line in items_text(plan(), [belts]).splitlines()]
    assert lines == [
        "Where it stands now",
        "Drive belts: lasts the trip",
        "Last done 10 June 2026 at 100 km on the odometer.",
    ]
    assert items_text(plan(), []) == ""
