"""Crossings in the plan: what is under water, what to do in which window, and where it is done."""

from datetime import date

from tests.small import TODAY, crossing, leg, planned, row, stop, tables, thing, trip, wagon, water_rule
from tripplan.records.plan import Plan

HUB = thing("hub", km=40000, positions="left;right", points="hub_centre")
RULES = (
    water_rule("hub", "later", "look", within_km=500),
    water_rule("hub", "before remote", "repack", within_days=5),
    water_rule("hub", "bank", "exercise", within_hours=1),
    water_rule("hub", "days", "measure", within_days=2, within_km=500),
    water_rule("hub", "night", "clean", within_hours=24),
)
LEGS = (leg(1, 300), leg(2, 300, date(2026, 7, 3), remote=True))
DONE = (row(date(2026, 6, 1), 0, "hub", "repack"), row(TODAY, 100, number=3))


def wet(*rows: object, **changes: object) -> Plan:
    """The plan of a trip with one deep ford on leg 1 at km 100."""
    ford = crossing(1, 100, 0.5, **changes)
    one = trip(*LEGS, crossings=(ford,), stops=(stop("Two Wells", 1, date(2026, 7, 2)),))
    return planned(one, *DONE, *rows, catalogue=tables(HUB, water_rules=RULES))  # type: ignore[arg-type]


def test_acts_stand_in_the_order_of_their_windows() -> None:
    """If not, the list at the bank would begin with next week."""
    found = [act.window for act in wet().crossings[0].acts if act.position == "left"]
    assert found == [
        "at the bank, before driving on",
        "the same night",
        "within 2 days (2026-07-03) or 500 km",
        "before the next remote leg, at the latest 5 days (2026-07-06)",
        "again after about 500 km",
    ]


def test_acts_that_have_a_place_name_it() -> None:
    """If not, the crossing and the stop would tell two stories."""
    acts = {act.act: act.slot for act in wet().crossings[0].acts if act.position == "left"}
    stop_id = "stop-1-two-wells"
    assert acts == {"exercise": None, "clean": stop_id, "measure": stop_id, "repack": stop_id, "look": None}
    slot = next(slot for slot in wet().slots if slot.id == stop_id)
    assert {job.act for job in slot.jobs if job.kind == "after water"} == {"clean", "measure", "repack"}


def test_the_crossing_says_what_was_reached_and_by_how_much() -> None:
    """If not, nobody could check the rule against the tide mark on the wheel."""
    (found,) = wet().crossings
    assert (found.leg, found.at_km, found.trip_km, found.depth_m) == (1, 100, 100, 0.5)
    assert [(one.position, one.point, one.height_m, one.water_line_m) for one in found.immersed] == [
        ("left", "hub_centre", 0.4, 0.6), ("right", "hub_centre", 0.4, 0.6),
    ]  # fmt: skip


def test_points_nobody_measured_are_named() -> None:
    """If not, an unknown height would read as dry."""
    item = thing("box", km=40000, points="airbox_seam")
    ford = trip(*LEGS, crossings=(crossing(1, 100, 0.5),))
    plan = planned(ford, catalogue=tables(item, water_rules=RULES), units=(wagon(),))
    assert plan.crossings[0].unknown_points == ("wagon: airbox_seam",)
    assert any(
        "Height not given" in text and "wagon: airbox_seam" in text for text in (told.text for told in plan.warnings)
    )


def test_an_opening_without_a_stop_is_said() -> None:
    """If not, five days would pass without a word."""
    one = trip(*LEGS, crossings=(crossing(1, 100, 0.5),))
    plan = planned(one, *DONE, catalogue=tables(HUB, water_rules=RULES))
    (text,) = [text for text in (told.text for told in plan.warnings) if text.startswith("Crossing on leg 1")]
    assert "Hub left (wagon)" in text and "Hub right (wagon)" in text


def test_a_crossing_made_is_one_more_record() -> None:
    """If not, a re-plan after the ford would be another machine than the plan before it."""
    planned_first, made = wet(), wet(crossed=date(2026, 7, 1))
    assert [act.act for act in made.crossings[0].acts] == [act.act for act in planned_first.crossings[0].acts]
    done = wet(row(date(2026, 7, 1), None, "hub", "repack", 9), crossed=date(2026, 7, 1))
    assert "repack" not in {act.act for act in done.crossings[0].acts}


def test_nothing_says_that_a_crossing_is_safe() -> None:
    """If not, a person could drive into water on our word."""
    text = repr(wet()).lower()
    assert "safe to" not in text and "is safe" not in text and "can be crossed" not in text
