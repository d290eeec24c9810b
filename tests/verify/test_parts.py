"""The checker and the shelf: a job before its parts stands if there is enough for all, and a fault passed by is told."""

from datetime import date, timedelta

import pytest

from tests.small import TODAY, consumable, leg, planned, rig, row, stop, tables, thing, trip, wagon, workshop
from tests.verify.small_facts import told
from tripplan.records.facts_in import Origin
from tripplan.records.shelf import ShelfRow
from tripplan.sheets.plan_json import plan_dict
from tripplan.verify.facts import Facts
from tripplan.verify.found import found_rules
from tripplan.verify.parts import parts_rules

SEAL = (consumable("seal", "seal"),)
SOON = TODAY + timedelta(days=2)
HOME = trip(leg(1, 1000), workshop_days=(workshop(SOON), workshop(TODAY + timedelta(days=9))))
QUICK = tables(
    thing("pads", act="renew", km=500, consumables="seal 2", harms=True, harms_by="brakes"), consumables=SEAL
)
SLOW = tables(
    thing("pads", act="renew", km=500, consumables="seal 2", parts_lead_days=7, harms=True, harms_by="brakes"), consumables=SEAL
)  # fmt: skip
WORN = (
    row(date(2026, 6, 1), 0, "pads", "renew"), row(TODAY, 100, "pads", "look", 5, finding="worn"), row(TODAY, 100, number=9)
)  # fmt: skip


def shelf(quantity: float, arrives: date | None = None) -> ShelfRow:
    """A line of seals."""
    return ShelfRow(
        what="seal", quantity=quantity, unit_of_measure="piece", arrives=arrives, origin=Origin(file="shelf.csv", row=2)
    )


CASES = [
    ((), True), ((shelf(2),), False), ((shelf(1),), True), ((shelf(2, SOON),), False),
    ((shelf(2, SOON + timedelta(days=1)),), True), ((shelf(1), shelf(1, TODAY)), False),
]  # fmt: skip
NAMES = ["nothing", "enough", "too little", "comes that day", "comes the day after", "in two lines"]


@pytest.mark.parametrize(("rows", "is_short"), CASES, ids=NAMES)
def test_a_job_before_its_parts_needs_them_on_the_shelf(rows: tuple[ShelfRow, ...], is_short: bool) -> None:
    """Otherwise a plan made with the shelf would be called wrong, or one that has work with nothing to put in be called right.

    Worked out with parts that any shop has, so that it is done in two days, and held against parts that take seven.
    """
    plan = {**plan_dict(planned(HOME, *WORN, catalogue=QUICK)), "warnings": []}
    says = told(parts_rules(Facts(plan, rig(wagon()), WORN, HOME, SLOW, rows)), "parts arrive")
    assert bool(says) is is_short


@pytest.mark.parametrize(
    ("facility", "days", "is_short"), [("camp", 14, True), ("town", 14, False), ("camp", 5, False), ("town", 20, True)]
)
def test_a_job_on_the_way_needs_its_parts_aboard(facility: str, days: float, is_short: bool) -> None:
    """Otherwise a plan would pass with work at a camp while its parts lie at home.

    Departure in eleven days, the stop in seventeen; parts take five, fourteen or twenty.
    """
    away = trip(
        leg(1, 1000), leg(2, 1000, date(2026, 7, 10)), stops=(stop("Port", 1, date(2026, 7, 7), facility=facility),)
    )
    due = row(date(2026, 6, 1), 0, "pads", "renew"), row(TODAY, 9200, number=3)
    quick, slow = (
        tables(
            thing("pads", act="renew", km=10000, consumables="seal 2", parts_lead_days=lead, harms=True, harms_by="brakes", life_shape=4),
            consumables=SEAL,
        )
        for lead in (0, days)
    )  # fmt: skip
    plan = {**plan_dict(planned(away, *due, catalogue=quick)), "warnings": []}
    assert [slot["place"] for slot in plan["slots"] if slot["jobs"]] == ["Port"]
    assert bool(told(parts_rules(Facts(plan, rig(wagon()), due, away, slow)), "parts arrive")) is is_short


@pytest.mark.parametrize(("rows", "is_passed_by"), [((), False), ((shelf(2),), True), ((shelf(1),), False)])
def test_a_fault_whose_parts_are_there_is_not_passed_by(rows: tuple[ShelfRow, ...], is_passed_by: bool) -> None:
    """Otherwise brakes could wait for home with the parts in the shed, and every check pass.

    The only day at home comes in two days, parts take seven.
    """
    one = trip(leg(1, 1000), workshop_days=(workshop(SOON),))
    plan = plan_dict(planned(one, *WORN, catalogue=SLOW))
    (entry,) = plan["items"]
    assert entry["placed"][0] == "after"
    assert bool(told(found_rules(Facts(plan, rig(wagon()), WORN, one, SLOW, rows)), "fault known")) is is_passed_by
