"""After fording: what each manual asks for, and the row of `water_rules.csv` that does it.

All manuals were read in part, the page or paragraph named here. Where a manual gives no
time ("as soon as possible") the window is ours and the row must not call itself published.
"""

import pytest

from tripplan.files.data_tables import read_catalogue
from tripplan.records.catalogue import WaterRule

SHIPPED, _ = read_catalogue()
HEAVY = "tm_9_2320_303_10"
SEMITRAILER, HANDLER, LIGHT = "tm_9_2330_358", "tm_10_3930_675", "tm_9_2320_280_10"
FLUIDS = ("front_diff_oil", "rear_diff_oil", "gearbox_manual_oil", "transfer_oil")
GREASED = (
    "propshaft_ujoints",
    "propshaft_slip_joints",
    "leaf_spring_pins",
    "steering_joints_grease",
    "trailer_spring_pins",
)
# rule in our words, act, when, water, source id, the paragraph the row must name, items
GROUPS: tuple[tuple[str, str, str, str, str, str, tuple[str, ...]], ...] = (
    (
        "dry the brakes at the far bank",
        "exercise",
        "bank",
        "any",
        HEAVY,
        "para 2-36",
        ("brake_pads_front", "brake_rear_drums"),
    ),
    (
        "trailer brakes applied several times",
        "exercise",
        "bank",
        "any",
        SEMITRAILER,
        "para 2-27",
        ("trailer_brake_test",),
    ),
    ("every fluid checked", "look", "bank", "any", HEAVY, "para 2-36", ("engine_oil_filter",)),
    ("every fluid checked", "look", "night", "any", HEAVY, "para 2-36", (*FLUIDS, "auto_trans_fluid")),
    ("grease every fitting below the line", "grease", "days", "any", HANDLER, "WP 0006", GREASED),
    ("plug out of the flywheel housing", "look", "night", "any", HANDLER, "WP 0006", ("bell_housing_drain",)),
    ("after mud: low-pressure wash", "clean", "night", "muddy", LIGHT, "mud page", ("radiator_fins_cap",)),
    (
        "after mud: wash",
        "clean",
        "days",
        "muddy",
        LIGHT,
        "mud page",
        ("brake_rear_drums", "brake_slide_pins", "trailer_brakes"),
    ),
    ("repack after each submersion", "repack", "before remote", "any", SEMITRAILER, "para 2-27", ("trailer_bearings",)),
    ("salt: rinse at once", "clean", "bank", "salt", HEAVY, "para 2-36", ("chassis_rust", "trailer_springs")),
    ("will not crank: not forced", "look", "bank", "any", LIGHT, "p. 2-146", ("air_filter_element",)),
)
RULES = [
    (said, item, act, when, water, source, place)
    for said, act, when, water, source, place, items in GROUPS
    for item in items
]


def rows_of(item: str, when: str) -> list[WaterRule]:
    """The rows of one item in one window."""
    return [rule for rule in SHIPPED.water_rules if (rule.item, rule.when) == (item, when)]


@pytest.mark.parametrize(("said", "item", "act", "when", "water", "source", "place"), RULES)
def test_each_rule_has_its_row(said: str, item: str, act: str, when: str, water: str, source: str, place: str) -> None:
    """Otherwise a thing that a manual asks for after water would be left undone, or cited wrongly."""
    (rule,) = [rule for rule in rows_of(item, when) if rule.source == source and rule.water == water]
    assert rule.act == act, said
    assert place in (rule.locator or ""), said


@pytest.mark.parametrize("item", FLUIDS)
def test_a_fluid_with_water_in_it_is_drained_flushed_and_refilled(item: str) -> None:
    """Otherwise milky oil would be topped up and driven on. TM 9-2320-273-10: if water, drain, flush, refill."""
    for when in ("night", "later"):
        (rule,) = rows_of(item, when)
        assert all(word in rule.if_found for word in ("drain", "flush", "refill")), when
        assert "milky" in rule.look_for


def test_the_five_days_of_the_quarterly_service_are_the_longest_window() -> None:
    """Otherwise a wet hub could wait longer than the one limit in days that any manual prints.

    TM 5-3825-229-14&P para 2-31: the quarterly service within 5 days of fording.
    """
    assert {rule.within_days for rule in SHIPPED.water_rules if rule.when == "before remote"} == {5}
    assert all(rule.within_days <= 5 for rule in SHIPPED.water_rules if rule.within_days is not None)
    source = next(source for source in SHIPPED.sources if source.id == "tm_5_3825_229")
    assert "5 days" in source.note and "2-31" in source.note


def test_only_the_trailer_bearing_rule_is_published() -> None:
    """Otherwise an analogy of ours would stand in the plan as a rule of a manual."""
    assert [rule.item for rule in SHIPPED.water_rules if rule.basis == "published"] == ["trailer_bearings"]
    front = rows_of("front_wheel_bearings", "before remote")
    assert [rule.basis for rule in front] == ["judgement"]
    assert "analogy" in (front[0].locator or "")


def test_the_often_quoted_day_for_deep_water_is_not_given_a_source() -> None:
    """Otherwise a figure nobody could verify would pass for print: windows of hours are ours."""
    for rule in SHIPPED.water_rules:
        if rule.within_hours is not None and rule.source != "none":
            assert "our window" in (rule.locator or ""), rule.item


def test_salt_is_rinsed_before_driving_on() -> None:
    """Otherwise salt would sit on the brakes until the evening.

    TM 9-2320-303-10, TM 10-3930-675-10 and TM 9-2320-280-10 all say at once.
    """
    at_once = [rule for rule in SHIPPED.water_rules if rule.water == "salt" and rule.when == "bank"]
    assert {rule.act for rule in at_once} == {"clean"}
    assert {"chassis_rust", "trailer_springs"} <= {rule.item for rule in at_once}


def test_every_trailer_hub_that_was_under_is_repacked() -> None:
    """Otherwise one side would be opened as a sample, against TM 9-2330-358-14&P para 2-27."""
    item = SHIPPED.item("trailer_bearings")
    (rule,) = rows_of("trailer_bearings", "before remote")
    assert item.positions == ("left", "right")
    assert (rule.act, rule.resets, rule.water) == ("repack", True, "any")
