"""Crossings in the plan: what is under water, what to do in which window, and where it is done."""

from datetime import date

from tests.small import (
    SOURCED,
    TODAY,
    camper,
    crossing,
    leg,
    planned,
    row,
    stop,
    tables,
    thing,
    trip,
    wagon,
    water_rule,
)
from tripplan.records.catalogue import Consumable
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


def wet(*rows: object, there: date = date(2026, 7, 1), **changes: object) -> Plan:
    """The plan of a trip with one deep ford on leg 1 at km 100, driven on 1 July to the stop."""
    ford = crossing(1, 100, 0.5, **changes)
    one = trip(*LEGS, crossings=(ford,), stops=(stop("Two Wells", 1, there),))
    return planned(one, *DONE, *rows, catalogue=tables(HUB, water_rules=RULES))  # type: ignore[arg-type]


def test_acts_stand_in_the_order_of_their_windows() -> None:
    """If not, the list at the bank would begin with next week."""
    found = [act.window for act in wet().crossings[0].acts if act.position == "left"]
    assert found == [
        "at the bank, before driving on",
        "the same night",
        "within 2 days (3 July) or 500 km",
        "before the next remote leg, at the latest 5 days (6 July)",
        "again after about 500 km",
    ]


def test_acts_that_have_a_place_name_it() -> None:
    """If not, the crossing and the stop would tell two stories."""
    acts = {act.act: act.slot for act in wet().crossings[0].acts if act.position == "left"}
    stop_id = "stop-1-two-wells"
    assert acts == {"exercise": None, "clean": stop_id, "measure": stop_id, "repack": stop_id, "look": None}
    slot = next(slot for slot in wet().slots if slot.id == stop_id)
    assert {job.act for job in slot.jobs if job.kind == "after water"} == {"clean", "measure", "repack"}


def test_the_same_night_is_not_the_next_evening() -> None:
    """If it were, the sheet would promise a look before the hubs stand a night, and book it a night too late."""
    plan = wet(there=date(2026, 7, 2))
    acts = {act.act: act.slot for act in plan.crossings[0].acts if act.position == "left"}
    assert acts == {**acts, "clean": None, "measure": "stop-1-two-wells"}


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
        "Height not given" in text and "wagon: airbox seam" in text for text in (told.text for told in plan.warnings)
    )


def test_an_opening_without_a_stop_is_said() -> None:
    """If not, five days would pass without a word."""
    one = trip(*LEGS, crossings=(crossing(1, 100, 0.5),))
    plan = planned(one, *DONE, catalogue=tables(HUB, water_rules=RULES))
    (text,) = [text for text in (told.text for told in plan.warnings) if text.startswith("Crossing on leg 1")]
    assert "Hub left" in text and "Hub right" in text


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


TOLD = water_rule(
    "hub", "before remote", "repack", within_days=5, from_grade=5, told_from=2, decided_by="hub look", resets=True,
    minutes=40, parts="kit 1", look_for="milk", if_found="repack it",
)  # fmt: skip
GREASED = thing(
    "hub", km=40000, positions="left;right", points="hub_centre", family="bearing", consumables="grease 120"
)
KITS = (
    Consumable(id="grease", name="grease", kind="grease", unit_of_measure="g", **SOURCED),
    Consumable(id="kit", name="bearing kit", kind="part", unit_of_measure="set", **SOURCED),
)


def told(*rows: object, **changes: object) -> Plan:
    """The plan of a trip whose ford only a look can judge."""
    ford = crossing(1, 100, 0.5, minutes=3, **changes)
    one = trip(*LEGS, crossings=(ford,), stops=(stop("Two Wells", 1, date(2026, 7, 2)),))
    return planned(one, *DONE, *rows, catalogue=tables(GREASED, water_rules=(TOLD,), consumables=KITS))  # type: ignore[arg-type]


def test_what_a_look_decides_takes_no_minute_of_its_slot() -> None:
    """If not, a day would be full of work that nobody may have to do."""
    plan = told()
    slot = next(slot for slot in plan.slots if slot.kind == "stop")
    assert [(one.item, one.position, one.act, one.minutes) for one in slot.contingent] == [
        ("hub", "left", "repack", 40), ("hub", "right", "repack", 40),
    ]  # fmt: skip
    assert slot.jobs == () and slot.minutes_planned == 0
    assert plan.crossings[0].acts == () and plan.crossings[0].contingent == slot.contingent


def test_what_a_look_decides_tells_all_it_would_take() -> None:
    """If not, the owner would stand at the open hub without grease, or not know what to look for."""
    one = told().crossings[0].contingent[0]
    assert (one.look_for, one.if_found, one.crossing, one.slot) == ("milk", "repack it", 0, "stop-1-two-wells")
    assert [(m.name, m.quantity, m.measure) for m in one.materials] == [("grease", 120, "g"), ("bearing kit", 1, "set")]
    assert one.decided_by == ("look hub",)
    assert one.opening_minutes == 0  # the act is done closed


def test_the_likelihood_is_in_the_words_of_its_document() -> None:
    """If not, a figure of ours would pass for print. TM 9-2330-331-14&P WP 0022 notes 1 to 5, read in part."""
    cool, hot = (told(hubs_hot=is_hot).crossings[0].contingent[0] for is_hot in (False, True))
    assert "should be all right" in cool.likelihood and "a good chance" in hot.likelihood
    assert cool.likelihood_source.startswith("TM 9-2330-331") and not any(c.isdigit() for c in hot.likelihood)


def test_one_set_is_carried_where_the_trip_is_remote() -> None:
    """If not, a hub found wet a day from help would stay wet, or the car carry grease for every hub."""
    carried = {need.what: need.quantity for need in told().carry}
    assert carried == {"grease": 120, "kit": 1}


def test_a_finding_has_it_planned_and_a_clean_look_strikes_it() -> None:
    """If not, milk in a hub would be known and nothing done, or a clean hub be opened."""
    made = date(2026, 7, 1)
    wet_hub = row(made, None, "hub", "look", 9, position="left", finding="water")
    clean = row(made, None, "hub", "look", 10, position="right", finding="as new")
    (ford,) = told(wet_hub, clean, crossed=made).crossings
    assert [(act.position, act.act) for act in ford.acts] == [("left", "repack")]
    assert ford.contingent == ()


def test_the_crossing_tells_its_grade_and_why() -> None:
    """If not, nobody could hold the rule against what happened in the water."""
    (ford,) = told(water="muddy").crossings
    assert (ford.grade, ford.grade_words, ford.because) == (3, "hubs, hard", ("silt in the water",))


def test_what_a_trailer_adds_is_told_only_where_one_is_behind() -> None:
    """If not, the note on wet brakes would speak of a trailer that the rig has not, or forget the one it has."""
    rule = water_rule(
        "hub", "bank", "exercise", from_grade=0, own_point=False, within_hours=1, once=True,
        look_for="brakes that pull", look_for_towed="the trailer by its lever",
    )  # fmt: skip
    for units, towing, said in (
        ((wagon(),), False, "brakes that pull"),
        ((wagon(), camper()), False, "brakes that pull"),
        ((wagon(), camper()), True, "brakes that pull; the trailer by its lever"),
    ):
        one = trip(leg(1, 400, towing=towing), *LEGS[1:], crossings=(crossing(1, 100, 0.5),))
        plan = planned(one, *DONE, units=units, catalogue=tables(GREASED, water_rules=(rule,), consumables=KITS))
        assert [act.look_for for act in plan.crossings[0].acts] == [said]
