"""One day to order each thing by: each use's own day less its own days to come, and every list by the same."""

from datetime import date

from tests.small import SOURCED, TODAY, consumable, leg, planned, row, stop, tables, thing, trip, workshop
from tripplan.explain.orders import Ask, with_order_days
from tripplan.records.mending import Remedy
from tripplan.records.plan import Need

BEFORE, CARRY, LATER = "before departure", "carry", "after return"
FIRST, SECOND = "workshop-2026-06-06", "workshop-2026-06-13"
SEEN = date(2026, 5, 25)
PART = {"part": consumable("part", "part")}
LEGS = (leg(1, 1000), leg(2, 1000, date(2026, 7, 10)))


def need(when: str, quantity: float, **more: float) -> Need:
    """A line of a list, of the part alone."""
    return Need(
        what="part", name="part", kind="part", quantity=quantity, unit_of_measure="piece", uses=(), when=when, **more
    )  # type: ignore[arg-type]


def test_each_use_counts_from_its_own_day_with_its_own_days() -> None:
    """Otherwise brakes wanted on 6 June would be ordered as late as springs take, in the past, though both have time.

    By hand: 6 June less 7 days is 30 May, 13 June less 14 days is 30 May; 6 June less 14 days would be 23 May.
    """
    asks = (Ask(BEFORE, "part", 2, date(2026, 6, 6), 7, FIRST), Ask(BEFORE, "part", 1, date(2026, 6, 13), 14, SECOND))
    (line,), _, orders = with_order_days([need(BEFORE, 3)], [], asks, PART, SEEN)
    assert line.order_by == date(2026, 5, 30)
    assert [(one.slot, one.order_by, one.lead_days) for one in orders] == [
        (FIRST, date(2026, 5, 30), 7),
        (SECOND, date(2026, 5, 30), 14),
    ]


def test_no_day_to_order_lies_in_the_past() -> None:
    """Otherwise a table would ask for an order on a day that is over, where the sheet says today."""
    asks = (Ask(BEFORE, "part", 1, date(2026, 6, 6), 30, FIRST),)
    (line,), _, (order,) = with_order_days([need(BEFORE, 1)], [], asks, PART, SEEN)
    assert line.order_by == order.order_by == SEEN


def test_a_thing_for_work_and_for_the_box_is_ordered_once() -> None:
    """Otherwise the sheet would order all on one day and the table a part of it on another."""
    asks = (Ask(BEFORE, "part", 1, date(2026, 6, 6), 7, FIRST), Ask(CARRY, "part", 1, date(2026, 6, 13), 0, SECOND))
    (bought,), (carried,), orders = with_order_days([need(BEFORE, 1)], [need(CARRY, 1)], asks, PART, SEEN)
    assert {bought.order_by, carried.order_by, *(one.order_by for one in orders)} == {date(2026, 5, 30)}
    assert [(one.slot, one.when) for one in orders] == [(FIRST, BEFORE), (SECOND, CARRY)]


def test_what_the_shelf_gives_is_not_ordered() -> None:
    """Otherwise the calendar would order the seal that lies in the shed."""
    asks = (Ask(CARRY, "part", 1, date(2026, 6, 13), 7, SECOND),)
    _, (carried,), orders = with_order_days([], [need(CARRY, 1, on_shelf=1)], asks, PART, SEEN)
    assert carried.order_by is None and orders == ()


def test_what_is_used_after_the_return_has_a_day_only_if_it_takes_days_to_come() -> None:
    """Otherwise a seal that any shop has would be an errand of the last day of the holiday."""
    asks = [Ask(LATER, "part", 1, date(2026, 7, 1), days, "after") for days in (0, 14)]
    found = [with_order_days([need(LATER, 1)], [], [ask], PART, SEEN)[2] for ask in asks]
    assert [[one.order_by for one in orders] for orders in found] == [[], [date(2026, 6, 17)]]


def test_parts_to_carry_are_ordered_too() -> None:
    """Otherwise the calendar would be silent on the seal that the stop needs, and it would not be in the car.

    By hand: the last day of work at home is 28 June; a seal that any shop has is there if ordered the day before.
    """
    away = trip(*LEGS, workshop_days=(workshop(date(2026, 6, 28), 5),), stops=(stop("Two Wells", 1, date(2026, 7, 5)),))
    rows = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 9200, number=3))
    hub = thing(km=10000, consumables="seal 1", harms=True, harms_by="brakes", life_shape=4)
    plan = planned(away, *rows, catalogue=tables(hub))
    day = date(2026, 6, 27)
    assert [(one.what, one.when, one.order_by) for one in plan.carry] == [("seal", CARRY, day)]
    assert [(one.slot, one.order_by, one.what, one.when) for one in plan.orders] == [
        ("workshop-2026-06-28", day, ("seal",), CARRY)
    ]


def test_without_a_day_of_work_at_home_the_box_is_packed_by_departure() -> None:
    """Otherwise a folder without workshop days would have no day to order by, and the part would come after the rig has left.

    By hand: departure 1 July less 7 days.
    """
    away = trip(*LEGS, stops=(stop("Two Wells", 1, date(2026, 7, 5)),))
    rows = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 9200, number=3))
    hub = thing(km=10000, consumables="seal 1", harms=True, harms_by="brakes", life_shape=4, parts_lead_days=7)
    plan = planned(away, *rows, catalogue=tables(hub))
    assert [one.order_by for one in (*plan.carry, *plan.orders)] == [date(2026, 6, 24)] * 2


def test_a_look_after_the_part_was_put_in_orders_none() -> None:
    """Otherwise a part would be ordered for every later look at what was put right before departure."""
    pads = thing("pads", act="look", family="brake", km=500, minutes=5, harms=True, harms_by="brakes")
    remedy = Remedy(at="brake", found=("worn",), act="renew", minutes=45, facility="camp", parts_lead_days=0, consumables="worn_part 1",
                    **SOURCED)  # fmt: skip
    catalogue = tables(pads, remedies=(remedy,), consumables=(consumable("worn_part", "part"),))
    worn = row(date(2026, 6, 2), 100, "pads", "look", finding="worn")
    at = trip(*LEGS, workshop_days=(workshop(date(2026, 6, 28)),), stops=(stop("Two Wells", 1, date(2026, 7, 5)),))
    plan = planned(at, worn, row(TODAY, 200, number=3), catalogue=catalogue)
    assert [(slot.id, job.act) for slot in plan.slots for job in slot.jobs][:2] == [
        ("workshop-2026-06-28", "renew"),
        ("stop-1-two-wells", "look"),
    ]
    assert [(one.slot, one.order_by) for one in plan.orders] == [("workshop-2026-06-28", date(2026, 6, 27))]
