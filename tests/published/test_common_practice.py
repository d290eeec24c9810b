"""Facts of the trade that the tables lean on. Common practice, no source, every one of them.

They are checked so that a change is deliberate, not because a document says so.
"""

from datetime import date

import pytest

from tests.small import leg, wagon
from tripplan.files.data_tables import read_catalogue
from tripplan.placing.problem import ladder, teardown_index
from tripplan.records.catalogue import Item
from tripplan.wear.last_done import covering
from tripplan.wear.odometer_line import per_km

SHIPPED, _ = read_catalogue()
ITEMS = {item.id: item for item in SHIPPED.items}
NEEDLES = ("stub_axle_bush", "propshaft_ujoints")
FREE, LOCKED = leg(1, 100, date(2026, 7, 1), hubs=0.0), leg(1, 100, date(2026, 7, 1), hubs=1.0)


def windows(item: Item) -> set[tuple[str, float, float]]:
    """Follow-ups of an item: what, from km, to km."""
    return {(follow.item, follow.low_km, follow.high_km) for follow in item.follow_ups}


def test_a_knuckle_is_rebuilt_about_every_hundred_thousand_km() -> None:
    """Otherwise knuckles would be opened far too often or left to seize. Common practice, no source."""
    item = ITEMS["swivel_knuckle_reseal"]
    assert (item.km, item.basis) == (100_000, "common practice")


def test_bearing_play_is_looked_at_ten_to_fifteen_thousand_km_after_a_rebuild() -> None:
    """Otherwise preload lost in bedding in would go unseen. Common practice, no source."""
    km = ITEMS["front_bearing_play"].km
    assert km is not None and 10_000 <= km <= 15_000
    done_by = {item.id for item in covering(SHIPPED.items)["front_bearing_play"]}
    assert {"front_wheel_bearings", "swivel_knuckle_reseal"} <= done_by  # so the km start at the rebuild


def test_a_front_wheel_off_the_ground_brings_the_play_check() -> None:
    """Otherwise the cheapest look of all would be missed while the wheel hangs free.

    Common practice, no source. An act that measures play itself, or renews what carries it, has it.
    """
    states = teardown_index(SHIPPED)
    raised = [
        item
        for item in SHIPPED.items
        if item.place == "front wheel end" and (item.place, "wheel raised") in ladder(states, item.place, item.state)
        and item.unit_kind == "vehicle" and item.rhythm == "service" and item.id != "front_bearing_play"
        and (item.place, "wheel off") in ladder(states, item.place, item.state)
    ]  # fmt: skip
    assert raised
    for item in raised:
        at_once = ("front_bearing_play", 0, 0) in windows(item)
        assert at_once or "front_bearing_play" in item.covers, item.id


def test_a_lock_nut_off_brings_the_preload_check_again() -> None:
    """Otherwise a freshly set bearing would run loose unseen. Common practice, no source: 50 to 100 km."""
    states = teardown_index(SHIPPED)
    opened = [
        item
        for item in SHIPPED.items
        if item.place == "front wheel end" and (item.place, "hub off") in ladder(states, item.place, item.state)
    ]
    assert {"front_wheel_bearings", "hub_seals", "stub_axle_bush", "swivel_knuckle_reseal"} <= {i.id for i in opened}
    for item in opened:
        assert ("front_bearing_play", 50, 100) in windows(item), item.id


def test_a_wheel_off_brings_the_nuts_again() -> None:
    """Otherwise a wheel could work loose on the first gravel. Common practice, no source: 50 to 100 km."""
    states = teardown_index(SHIPPED)
    for item in SHIPPED.items:
        if item.place.endswith("wheel end") and (item.place, "wheel off") in ladder(states, item.place, item.state):
            nuts = "trailer_wheel_nuts" if item.unit_kind == "trailer" else "wheel_nuts"
            assert (nuts, 50, 100) in windows(item), item.id


def test_unlocked_hubs_rest_the_shafts_and_not_the_wheels() -> None:
    """Otherwise stub axles and joints would be opened for km they stood still. Mechanically certain."""
    part, full = wagon(), wagon(drive="full-time", hubs="fixed")
    assert [per_km(part, "engaged_km", one, 50) for one in (FREE, LOCKED)] == [0, 1]
    assert [per_km(full, "engaged_km", one, 50) for one in (FREE, LOCKED)] == [1, 1]
    assert [per_km(part, "km", one, 50) for one in (FREE, LOCKED)] == [1, 1]


@pytest.mark.parametrize(
    ("item", "meter"),
    [
        ("stub_axle_bush", "engaged_km"), ("cv_joint_live", "engaged_km"), ("front_diff_oil", "engaged_km"),
        ("knuckle_grease_topup", "engaged_km"), ("front_wheel_bearings", "km"), ("hub_seals", "km"),
    ],
)  # fmt: skip
def test_each_front_end_item_has_the_meter_that_turns_it(item: str, meter: str) -> None:
    """Otherwise the right km would wear the wrong part. Mechanically certain."""
    meters = {name for name, _ in ITEMS[item].intervals}
    assert meter in meters
    assert ("km" in meters) == (meter == "km")


@pytest.mark.parametrize("item", NEEDLES)
def test_solid_lubricant_stays_out_of_needle_bearings(item: str) -> None:
    """Otherwise particles could pack a fine needle bearing and stop its rollers. Common practice, no source."""
    rows = {row.id: row for row in SHIPPED.consumables}
    greases = [row for amount in ITEMS[item].consumables if (row := rows[amount.what]).kind == "grease"]
    assert greases
    assert all("no solid lubricant" in grease.open_class for grease in greases)


def test_joint_grease_is_not_hub_grease() -> None:
    """Otherwise a tub with solids would go into fast rollers. Common practice, no source."""
    rows = {row.id: row for row in SHIPPED.consumables}
    assert "solid lubricant allowed" in rows["cv_joint_grease"].open_class
    assert "no solid lubricant" in rows["wheel_bearing_grease"].open_class
