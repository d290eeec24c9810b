"""After fording: what each manual asks for, and the row of `water_rules.csv` that does it.

All manuals were read in part, the page or paragraph named here. Where a manual gives no
time ("as soon as possible") the window is ours and the row must not call itself published.
"""

import pytest

from tripplan.files.data_tables import read_catalogue
from tripplan.records.catalogue import WaterRule

SHIPPED, _ = read_catalogue()
HEAVY, TRACTOR, NEWER = "tm_9_2320_303_10", "tm_9_2320_273_10", "tm_9_2330_331"
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
    ("dry the brakes at the far bank", "exercise", "bank", "any", HEAVY, "para 2-36", ("brake_pads_front",)),
    ("every fluid looked at", "look", "night", "any", HEAVY, "para 2-36", (*FLUIDS, "auto_trans_fluid")),
    ("every fluid looked at", "look", "night", "any", TRACTOR, "para 2-25", ("engine_oil_level",)),
    ("water found: drained, flushed, refilled", "drain and refill", "days", "any", TRACTOR, "para 2-25", FLUIDS),
    ("grease every fitting below the line", "grease", "days", "any", HANDLER, "WP 0006", GREASED),
    ("plug out of the flywheel housing", "look", "days", "any", HANDLER, "WP 0006", ("bell_housing_drain",)),
    ("after mud: low-pressure wash", "clean", "days", "muddy", LIGHT, "mud page", ("suspension_bushes",)),
    ("park-brake linkage after mud", "grease", "days", "muddy", LIGHT, "p. 2-146", ("park_brake",)),
    ("hub caps off to look", "measure", "night", "any", NEWER, "WP 0022", ("trailer_bearing_play",)),
    ("repack after each submersion", "repack", "before remote", "any", SEMITRAILER, "para 2-27", ("trailer_bearings",)),
    ("salt: rinse at once", "clean", "bank", "salt", HEAVY, "para 2-36", ("chassis_rust",)),
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
def test_a_fluid_is_drained_only_where_water_was_found(item: str) -> None:
    """Otherwise good oil would be thrown away beside the track, or milky oil topped up and driven on.

    TM 9-2320-273-10, page before para 2-25: each fluid is looked at; if water, drain, flush, refill.
    """
    (drained,) = rows_of(item, "days")
    (look,) = rows_of(item, "night")
    assert drained.told_from == look.from_grade == 2
    assert (item, "look") in drained.deciding and "milky" in drained.look_for
    assert drained.from_grade == 5  # only where the rig stood in it is every one of them drained


def test_the_five_days_of_the_quarterly_service_are_the_longest_window() -> None:
    """Otherwise a wet hub could wait longer than the one limit in days that any manual prints.

    TM 5-3825-229-14&P para 2-31: the quarterly service within 5 days of fording.
    """
    assert {rule.within_days for rule in SHIPPED.water_rules if rule.when == "before remote"} == {5}
    assert all(rule.within_days <= 5 for rule in SHIPPED.water_rules if rule.within_days is not None)
    source = next(source for source in SHIPPED.sources if source.id == "tm_5_3825_229")
    assert "5 days" in source.note and "2-31" in source.note


def test_an_analogy_is_not_called_published() -> None:
    """Otherwise a rule for trailers would stand in the plan as a manual's rule for front hubs."""
    for item in ("front_wheel_bearings", "front_wheel_bearings_ifs", "rear_wheel_bearings"):
        (rule,) = rows_of(item, "before remote")
        assert rule.basis == "judgement" and "analogy" in (rule.locator or "")
    for rule in SHIPPED.water_rules:
        if rule.basis == "published":
            assert "analogy" not in (rule.locator or "") and rule.source != "none", rule.item


def test_no_window_of_a_bearing_is_called_published() -> None:
    """Otherwise our five days would pass for print: no document gives a bearing km or days.

    The windows that documents do give: brakes before normal speed and salt at once, TM 9-2320-303-10 para 2-36.
    """
    told = {(rule.item, rule.when) for rule in SHIPPED.water_rules if rule.window_basis == "published"}
    assert told == {("brake_pads_front", "bank"), ("chassis_rust", "bank")}
    assert {rule.window_basis for rule in SHIPPED.water_rules} == {"published", "judgement"}


def test_rows_that_no_document_stands_behind() -> None:
    """Otherwise trade habit would grow unseen. 42 of the 86 rows of 2026 had no document: ours, a count."""
    assert sum(rule.source == "none" for rule in SHIPPED.water_rules) <= 42


def test_the_often_quoted_day_for_deep_water_is_not_given_a_source() -> None:
    """Otherwise a figure nobody could verify would pass for print: windows of hours are ours."""
    for rule in SHIPPED.water_rules:
        if rule.within_hours is not None and rule.source != "none" and rule.window_basis != "published":
            assert "our window" in (rule.locator or ""), rule.item


def test_salt_is_rinsed_before_driving_on() -> None:
    """Otherwise salt would sit on the brakes until the evening.

    TM 9-2320-303-10, TM 10-3930-675-10 and TM 9-2320-280-10 all say at once.
    """
    at_once = [rule for rule in SHIPPED.water_rules if rule.water == "salt" and rule.when == "bank"]
    assert {rule.act for rule in at_once} == {"clean"}
    assert [(rule.item, rule.once, rule.from_grade) for rule in at_once] == [("chassis_rust", True, 0)]


def test_every_trailer_hub_that_was_under_is_repacked() -> None:
    """Otherwise one side would be opened as a sample, against TM 9-2330-358-14&P para 2-27."""
    item = SHIPPED.item("trailer_bearings")
    (rule,) = rows_of("trailer_bearings", "before remote")
    assert item.positions == ("left", "right")
    assert (rule.act, rule.resets, rule.water, rule.sample) == ("repack", True, "any", False)


def test_where_documents_disagree_on_trailer_hubs_the_owner_chooses() -> None:
    """Otherwise one of two published rules would be passed over in silence.

    Each submersion: TM 9-2330-358-14&P para 2-27. Look, and open where hot or leaking: TM 9-2330-331-14&P
    WP 0022. No need: TM 9-2330-326-14&P para 1-4. All read in part.
    """
    (rule,) = rows_of("trailer_bearings", "before remote")
    assert (rule.told_from, rule.owner_from, rule.from_grade) == (2, 2, 3)
    assert all(number in (rule.locator or "") for number in ("9-2330-331", "9-2330-326"))
