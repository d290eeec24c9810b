"""After fording: what each manual asks for, and the row of `water_rules.csv` that does it.

All manuals were read in part, the page or paragraph named here. Where a manual gives no
time ("as soon as possible") the window is ours and the row must not call itself published.
"""

import pytest

from tripplan.catalogue import WaterRule
from tripplan.edges.data_tables import read_catalogue

SHIPPED, _ = read_catalogue()
# rule in our words, item, act, when, water, source id, paragraph as the row must name it
RULES = [
    ("dry the brakes by light use at the far bank", "brake_pads_front", "exercise", "bank", "any", "tm_9_2320_303_10", "para 2-36"),
    ("dry the brakes by light use at the far bank", "brake_rear_drums", "exercise", "bank", "any", "tm_9_2320_303_10", "para 2-36"),
    ("trailer brakes applied several times", "trailer_brake_test", "exercise", "bank", "any", "tm_9_2330_358", "para 2-27"),
    ("every fluid checked", "engine_oil_filter", "look", "bank", "any", "tm_9_2320_303_10", "para 2-36"),
    ("every fluid checked", "front_diff_oil", "look", "night", "any", "tm_9_2320_303_10", "para 2-36"),
    ("every fluid checked", "rear_diff_oil", "look", "night", "any", "tm_9_2320_303_10", "para 2-36"),
    ("every fluid checked", "gearbox_manual_oil", "look", "night", "any", "tm_9_2320_303_10", "para 2-36"),
    ("every fluid checked", "auto_trans_fluid", "look", "night", "any", "tm_9_2320_303_10", "para 2-36"),
    ("every fluid checked", "transfer_oil", "look", "night", "any", "tm_9_2320_303_10", "para 2-36"),
    ("if water: drain, flush, refill", "front_diff_oil", "drain and refill", "before remote", "any", "tm_9_2320_273_10", ""),
    ("if water: drain, flush, refill", "rear_diff_oil", "drain and refill", "before remote", "any", "tm_9_2320_273_10", ""),
    ("if water: drain, flush, refill", "gearbox_manual_oil", "drain and refill", "before remote", "any", "tm_9_2320_273_10", ""),
    ("if water: drain, flush, refill", "transfer_oil", "drain and refill", "before remote", "any", "tm_9_2320_273_10", ""),
    ("grease every fitting below the water line", "propshaft_ujoints", "grease", "days", "any", "tm_10_3930_675", "WP 0006"),
    ("grease every fitting below the water line", "propshaft_slip_joints", "grease", "days", "any", "tm_10_3930_675", "WP 0006"),
    ("grease every fitting below the water line", "leaf_spring_pins", "grease", "days", "any", "tm_10_3930_675", "WP 0006"),
    ("grease every fitting below the water line", "steering_joints_grease", "grease", "days", "any", "tm_10_3930_675", "WP 0006"),
    ("grease every fitting below the water line", "trailer_spring_pins", "grease", "days", "any", "tm_10_3930_675", "WP 0006"),
    ("drain plug out of the flywheel housing", "bell_housing_drain", "look", "night", "any", "tm_10_3930_675", "WP 0006"),
    ("after mud: low-pressure wash", "radiator_fins_cap", "clean", "night", "muddy", "tm_9_2320_280_10", "mud page"),
    ("after mud: low-pressure wash", "brake_rear_drums", "clean", "days", "muddy", "tm_9_2320_280_10", "mud page"),
    ("after mud: low-pressure wash", "brake_slide_pins", "clean", "days", "muddy", "tm_9_2320_280_10", "mud page"),
    ("after mud: low-pressure wash", "trailer_brakes", "clean", "days", "muddy", "tm_9_2320_280_10", "mud page"),
    ("trailer bearings repacked after each submersion", "trailer_bearings", "repack", "before remote", "any", "tm_9_2330_358", "para 2-27"),
    ("salt: rinse the underside at once", "chassis_rust", "clean", "bank", "salt", "tm_9_2320_303_10", "para 2-36"),
    ("salt: rinse the underside at once", "trailer_springs", "clean", "bank", "salt", "tm_9_2320_303_10", "para 2-36"),
    ("an engine that will not crank is not forced", "air_filter_element", "look", "bank", "any", "tm_9_2320_280_10", "p. 2-146"),
]  # fmt: skip


def rows_of(item: str, when: str) -> list[WaterRule]:
    """The rows of one item in one window."""
    return [rule for rule in SHIPPED.water_rules if (rule.item, rule.when) == (item, when)]


@pytest.mark.parametrize(("said", "item", "act", "when", "water", "source", "place"), RULES)
def test_each_rule_has_its_row(said: str, item: str, act: str, when: str, water: str, source: str, place: str) -> None:
    """Otherwise a thing that a manual asks for after water would be left undone, or cited wrongly."""
    (rule,) = [rule for rule in rows_of(item, when) if rule.source == source and rule.water == water]
    assert rule.act == act, said
    assert place in (rule.locator or ""), said


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
