"""Parts on the shelf or on their way: the days an item waits for its own, and who gets what several want."""

from datetime import date, timedelta

import pytest

from tests.small import SOURCED, TODAY, consumable, leg, looked_at, rig, row, tables, thing, trip, workshop
from tripplan.due.parts import with_shelf
from tripplan.explain.shelf import Kit
from tripplan.placing.greedy import place_greedily
from tripplan.planner import make_plan
from tripplan.records.facts_in import Origin
from tripplan.records.mending import Remedy
from tripplan.records.plan import Plan
from tripplan.records.shelf import ShelfRow

DAY = timedelta(days=1)
HOME = trip(leg(1, 1000), workshop_days=(workshop(TODAY + DAY), workshop(TODAY + 8 * DAY)))
REMEDIES = tuple(
    Remedy(at=family, found=("worn", "failed", "contaminated"), act="renew", minutes=45, facility="camp", parts_lead_days=days, consumables="worn_part 1", **SOURCED)
    for family, days in (("brake", 7), ("spring", 14))
)  # fmt: skip
ITEMS = (
    thing("springs", act="look", family="spring", km=10000, minutes=5, harms=True, harms_by="steering"),
    thing("pads", act="look", family="brake", km=10000, minutes=5, harms=True, harms_by="brakes"),
)
TABLES = tables(*ITEMS, remedies=REMEDIES, consumables=(consumable("worn_part", "part"),))
WORN = tuple(row(TODAY, 100, item.id, "look", number, finding="worn") for number, item in enumerate(ITEMS, 2))


def shelf(quantity: float, arrives: date | None = None, what: str = "worn_part") -> ShelfRow:
    """A line of the shelf."""
    return ShelfRow(
        what=what, quantity=quantity, unit_of_measure="piece", arrives=arrives, origin=Origin(file="shelf.csv", row=2)
    )


def days(*rows: ShelfRow) -> dict[str, tuple[float, bool]]:
    """The days until the parts of each item are there, and whether the shelf gives them."""
    _, standings = looked_at(HOME, *WORN, catalogue=TABLES)
    return {x.item.id: (x.lead_days, x.is_held) for x in with_shelf(standings, rows, TABLES, TODAY)}


@pytest.mark.parametrize(
    ("rows", "springs", "pads"),
    [
        ((), (14, False), (7, False)),
        ((shelf(2),), (0, True), (0, True)),
        ((shelf(1),), (14, False), (0, True)),
        ((shelf(0.5),), (14, False), (7, False)),
        ((shelf(1), shelf(1, TODAY + 3 * DAY)), (3, True), (0, True)),
        ((shelf(2, TODAY + 20 * DAY),), (20, True), (20, True)),
        ((shelf(2, TODAY - DAY),), (0, True), (0, True)),
        ((shelf(9, what="seal"),), (14, False), (7, False)),
    ],
    ids=["nothing", "both", "one: to what comes soonest", "half of one", "one there, one on its way", "late", "come already", "another thing"],
)  # fmt: skip
def test_the_shelf_takes_the_days_off(
    rows: tuple[ShelfRow, ...], springs: tuple[float, bool], pads: tuple[float, bool]
) -> None:
    """Otherwise parts that lie in the shed would be waited for as if they had to be ordered today, or one part serve two jobs."""
    assert days(*rows) == {"springs": springs, "pads": pads}


def test_what_is_found_bad_has_the_part_before_what_lasts() -> None:
    """Otherwise the part would be kept for a look that is far from due, and the worn one be driven on."""
    sound = thing("belts", act="renew", km=90000, consumables="worn_part 1", parts_lead_days=2)
    known = tables(sound, *ITEMS, remedies=REMEDIES, consumables=(consumable("worn_part", "part"),))
    rows = (*WORN, row(date(2026, 6, 1), 0, "belts", "renew", 8), row(TODAY, 200, number=9))
    _, standings = looked_at(HOME, *rows, catalogue=known)
    given = {x.item.id for x in with_shelf(standings, (shelf(2),), known, TODAY) if x.is_held}
    assert given == {"springs", "pads"}


def plan(*rows: ShelfRow) -> Plan:
    """The plan of both found worn, with that shelf."""
    return make_plan(rig(), WORN, HOME, TABLES, TODAY, place=place_greedily, kit=Kit(shelf=rows))


def where(made: Plan) -> dict[str, str]:
    """Where each is put right."""
    return {job.item: slot.date.isoformat() for slot in made.slots for job in slot.jobs if job.act == "renew"}


def test_planning_again_with_the_parts_there_does_not_move_the_work() -> None:
    """Otherwise springs ordered in time would move from home to after the return, as their fortnight begins anew each day.

    By hand: from 20 June pads take until 27 June and springs until 4 July, when the rig is gone; days at home are 21 and 28 June, and the day after the return 1 August.
    """
    assert where(plan()) == {"pads": "2026-06-28", "springs": "2026-08-01"}
    there = plan(shelf(2))
    assert where(there) == {"pads": "2026-06-21", "springs": "2026-06-21"}
    assert there.orders == () and [one.what for one in there.shopping] == []


def test_what_is_on_its_way_is_waited_for_and_not_ordered_again() -> None:
    """Otherwise an owner who has ordered would be told to order, or have a day of work without the part."""
    made = plan(shelf(2, TODAY + 8 * DAY))
    assert where(made) == {"pads": "2026-06-28", "springs": "2026-06-28"}
    assert made.orders == () and made.shopping == ()
