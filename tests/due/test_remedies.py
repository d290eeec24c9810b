"""A bad finding brings the job that puts it right, with its part; once that is logged it is over."""

from datetime import date

import pytest

from tests.small import SOURCED, consumable, jobs, leg, planned, row, stop, tables, thing, trip, workshop
from tripplan.due.remedies import remedied
from tripplan.records.catalogue import Catalogue, Item, Remedy
from tripplan.records.facts_in import HistoryRow

HOME, ROAD = date(2026, 6, 25), date(2026, 7, 5)
REMEDY = Remedy(family="joint", act="renew", minutes=50, facility="camp", parts_lead_days=3, consumable="worn_part",
                words="both cups", **SOURCED)  # fmt: skip
TRIP = trip(leg(1, 1000), leg(2, 1000, ROAD), workshop_days=(workshop(HOME),), stops=(stop("Two Wells", 1, ROAD),))
LAST = row(date(2026, 1, 1), 0, "joint", "grease", 2)
NOW = row(date(2026, 6, 20), 500, number=9)


def with_remedy(*items: Item) -> Catalogue:
    """The small tables with a remedy for joints, and the part it takes."""
    parts = (consumable("grease", "grease"), consumable("worn_part", "part"))
    return tables(*items, remedies=(REMEDY,), consumables=parts)


def joint(**changes: object) -> Item:
    """A greased joint."""
    return thing("joint", **{"act": "grease", "family": "joint", "km": 10000, "minutes": 5, **changes})


def test_due_again_on_the_trip_it_is_the_usual_act_with_its_minutes() -> None:
    """Otherwise a joint renewed at home would be renewed once more at the stop, and fill it."""
    seen = row(date(2026, 6, 1), 400, "joint", "grease", 3, finding="worn")
    plan = planned(TRIP, LAST, seen, NOW, catalogue=with_remedy(joint(km=1000, consumables="grease 1")))
    first, again = ((slot, job) for slot in plan.slots for job in slot.jobs if slot.kind != "after")
    assert [first[0].id, first[1].act, first[1].minutes] == ["workshop-2026-06-25", "renew", 50]
    assert [again[0].id, again[1].act] == ["stop-1-two-wells", "grease"]
    # by hand: 5 minutes of the table, 1.2 times as long in somebody else's workshop; nothing is opened
    assert again[1].minutes == again[0].minutes_planned == 6
    assert "found worn" not in again[1].act_note and "both cups" not in again[1].act_note
    assert again[1].why.startswith("done at home on 25 June, and used up again")
    assert [part.what for part in again[1].materials] == ["grease"]
    assert plan.totals.plan.minutes == sum(slot.minutes_planned for slot in plan.slots)


@pytest.mark.parametrize(
    ("act", "finding", "next_act", "minutes"),
    [
        ("grease", "worn", "renew", 50),
        ("grease", "failed", "renew", 50),
        ("grease", "contaminated", "grease", 5),  # fresh grease brings it out
        ("look", "contaminated", "renew", 50),
        ("repack", "worn", "repack", 5),  # it is opened, and what is worn is seen to
    ],
)
def test_the_act_after_a_finding(act: str, finding: str, next_act: str, minutes: float) -> None:
    """Otherwise a worn joint would be greased again and its wear be forgotten."""
    item = joint(act=act)
    bad = row(date(2026, 6, 1), 400, "joint", act, 3, finding=finding)
    found = remedied(item, bad, with_remedy(item))
    assert (found.act, found.minutes) == (next_act, minutes)
    assert remedied(item, None, with_remedy(item)) is item


def test_a_worn_joint_is_renewed_before_departure_with_its_part() -> None:
    """Otherwise it would be greased after the return, and nothing of it stand on the sheet."""
    seen = row(date(2026, 6, 1), 400, "joint", "grease", 3, finding="worn")
    plan = planned(TRIP, LAST, seen, NOW, catalogue=with_remedy(joint(consumables="grease 1")))
    assert jobs(plan) == [("workshop-2026-06-25", "joint", None, "service")]
    (job,) = plan.slots[0].jobs
    assert (job.act, job.minutes) == ("renew", 50)
    assert "found worn on 1 June 2026: put it right; both cups" in job.act_note
    assert {need.what: [use.act for use in need.uses] for need in plan.shopping} == {
        "grease": ["renew"], "worn_part": ["renew"],
    }  # fmt: skip
    assert plan.warnings[0].text == ("Not put right yet: Joint, found worn on 1 June: renew, home, 25 June.")
    (item,) = plan.items
    assert (item.verdict, item.act, item.found) == ("due before departure", "renew", "worn")


def test_what_is_renewed_is_called_by_its_own_name() -> None:
    """Otherwise a sheet would ask to renew the play of a bearing."""
    play = joint(name="Bearing play", act="measure", mended="Bearings with play", verb="rock")
    seen = row(date(2026, 6, 1), 400, "joint", "measure", 3, finding="worn")
    found = remedied(play, seen, with_remedy(play))
    assert (found.said, found.act, found.verb) == ("Bearings with play", "renew", "")
    assert (play.said, play.verb_of("measure")) == ("Bearing play", "rock")
    assert remedied(play, None, with_remedy(play)).said == "Bearing play"


def test_once_renewed_it_is_over() -> None:
    """Otherwise a spring found worn would be asked for at every stop for ever."""
    seen = row(date(2026, 6, 1), 400, "joint", "grease", 3, finding="worn")
    done = row(date(2026, 6, 2), 410, "joint", "renew", 4)
    plan = planned(TRIP, LAST, seen, done, NOW, catalogue=with_remedy(joint()))
    assert jobs(plan) == []
    assert plan.warnings == ()
    assert (plan.items[0].act, plan.items[0].found) == ("grease", None)


def test_on_a_long_trip_the_remedy_comes_once_and_then_the_usual_act() -> None:
    """Otherwise a joint found worn would be renewed at every greasing of a long tour."""
    seen = row(date(2026, 6, 1), 400, "joint", "grease", 3, finding="worn")
    plan = planned(TRIP, LAST, seen, NOW, catalogue=with_remedy(joint(km=1100, consumables="grease 1")))
    acts = [(slot.place, job.act) for slot in plan.slots for job in slot.jobs if slot.kind != "after"]
    assert acts == [("home", "renew"), ("Two Wells", "grease")]
    parts = [need.quantity for need in (*plan.shopping, *plan.carry) if need.what == "worn_part"]
    assert parts == [1]


def pads(family: str = "brake") -> Catalogue:
    """Brakes with two sides that are only looked at, and the remedy of their family, on both sides of the axle."""
    item = thing("pads", act="look", family=family, km=10000, positions="left;right", minutes=5)
    remedy = REMEDY.model_copy(update={"family": family, "sides": "both" if family == "brake" else ""})
    return tables(item, remedies=(remedy,), consumables=(consumable("worn_part", "part"),))


NEW = row(date(2026, 1, 1), 0, "pads", "renew", 2)
LEFT_WORN = row(date(2026, 6, 1), 400, "pads", "look", 3, finding="worn", position="left")
RIGHT_GOOD = row(date(2026, 6, 1), 400, "pads", "look", 4, finding="serviceable", position="right")


@pytest.mark.parametrize(
    ("more", "due"),
    [
        ((), {"left", "right"}),
        ((RIGHT_GOOD,), {"left", "right"}),
        ((row(date(2026, 6, 1), 400, "pads", "renew", 2, position="right"),), {"left"}),
        ((row(date(2026, 6, 3), 400, "pads", "renew", 5, position="left"),), {"right"}),
        ((row(date(2026, 6, 3), 400, "pads", "renew", 5),), set()),
    ],
    ids=["nobody looked right", "right looks good", "right was renewed that day", "left alone is renewed", "both are"],
)
def test_brakes_worn_on_one_side_are_renewed_on_both(more: tuple[HistoryRow, ...], due: set[str]) -> None:
    """Otherwise the rig would leave with new linings on one wheel of an axle, and pull to that side."""
    plan = planned(TRIP, NEW, LEFT_WORN, *more, NOW, catalogue=pads())
    assert {item.position for item in plan.items if item.found == "worn"} == due
    assert {position for _, _, position, _ in jobs(plan)} == due
    assert {slot for slot, *_ in jobs(plan)} <= {"workshop-2026-06-25"}


def test_a_side_that_adjusting_put_right_leaves_the_other_to_its_own_record() -> None:
    """Otherwise taking up slack on one side would have the other taken apart."""
    drums = pads().items[0].model_copy(update={"act": "adjust"})
    catalogue = tables(drums, remedies=pads().remedies, consumables=pads().consumables)
    adjusted = row(date(2026, 6, 1), 400, "pads", "adjust", 3, finding="worn", position="left")
    renewed = row(date(2026, 6, 3), 400, "pads", "renew", 4, position="left")
    found = [{item.position for item in planned(TRIP, NEW, *rows, NOW, catalogue=catalogue).items if item.found}
             for rows in ((LEFT_WORN,), (adjusted,), (LEFT_WORN, renewed))]  # fmt: skip
    assert found == [{"left", "right"}, set(), {"right"}]


def test_it_is_told_on_which_side_it_was_found() -> None:
    """Otherwise somebody would look for worn linings on the side where there are none."""
    plan = planned(TRIP, NEW, LEFT_WORN, RIGHT_GOOD, NOW, catalogue=pads())
    assert plan.warnings[0].text == (
        "Not put right yet: Pads (left and right), found worn on the left on 1 June: renew, home, 25 June."
    )
    notes = [job.act_note for slot in plan.slots for job in slot.jobs]
    assert len(notes) == 2 and all(note.startswith("found worn on the left on 1 June 2026: put it") for note in notes)


def test_what_has_no_other_side_to_match_is_renewed_where_it_is_worn() -> None:
    """Otherwise one worn joint would have every other renewed."""
    plan = planned(TRIP, NEW, LEFT_WORN, RIGHT_GOOD, NOW, catalogue=pads("joint"))
    assert {item.position for item in plan.items if item.found == "worn"} == {"left"}


def test_every_family_of_the_tables_has_its_remedy() -> None:
    """Otherwise a finding at some item would bring back the act that left it as it was."""
    from typing import get_args

    from tripplan.files.data_tables import read_catalogue
    from tripplan.records.catalogue import Family

    catalogue, _ = read_catalogue()
    rights = {rule.act: rule.puts_right for rule in catalogue.acts}
    assert {row.family for row in catalogue.remedies} == set(get_args(Family))
    known = {row.id for row in catalogue.consumables}
    for remedy in catalogue.remedies:
        assert rights[remedy.act] == ("worn", "failed", "water", "contaminated")
        assert remedy.consumable in known
