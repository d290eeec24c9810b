"""Grams, strokes and litres of one space, by hand from sizes written here; the formulas are checked in `test_grease.py`."""

from typing import Any

import pytest

from tests.small import thing
from tripplan.grease.amounts import LISTED, Amount, amount, laid_out_g, space_faults
from tripplan.records.facts_in import Origin
from tripplan.records.lubricants import Cavity, GreaseGun

HERE = Origin(file="here", row=2)


def space(**changes: Any) -> Cavity:
    """A bore of 60 mm round a shaft of 38, 50 long: 84.67 cm3, 76.2 g full; half of it is filled."""
    values: dict[str, Any] = {
        "item": "bearings", "lubricant": "grease", "cavity": "hub", "kind": "grease", "motion": "slow oscillating", "way": "nipple",
        "washed": "no", "needs": "grease", "bore_mm": 60, "shaft_mm": 38, "length_mm": 50, "fill_share": 0.5,
        "basis": "judgement", "source": "none", "origin": HERE,
    }  # fmt: skip
    return Cavity.model_validate({**values, **changes})


def gun(g_per_stroke: float = 1.0) -> GreaseGun:
    """A gun as weighed."""
    return GreaseGun.model_validate({"g_per_stroke": g_per_stroke, "strokes": 10, "date": "2026-06-01", "origin": HERE})


def of(one: GreaseGun | None = None, /, density_kg_m3: float = 900.0, **changes: Any) -> Amount:
    """The amount of that space."""
    return amount(thing(consumables="grease 35; seal 1"), space(**changes), one, density_kg_m3)


@pytest.mark.parametrize(
    ("changes", "dry_g", "top_up_g"),
    [
        ({}, 38.1, 38.1),
        ({"fill_share": 1}, 76.2, 76.2),
        ({"top_up_share": 0.25}, 38.1, 9.52),
        ({"points": 4}, 152.4, 152.4),
        ({"points": 4, "top_up_share": 0.25}, 152.4, 38.1),
        # two bearings of 73.4 x 19.6 mm: 14.39 g each to purge, 7.19 g each to grease again
        ({"bearings": 2, "bearing_outer_mm": 73.4, "bearing_width_mm": 19.6}, 38.1 + 28.77, 14.39),
        ({"bearings": 2, "bearing_outer_mm": 73.4, "bearing_width_mm": 19.6, "points": 2}, 2 * (38.1 + 28.77), 28.77),
        ({"bearings": 2, "bearing_outer_mm": 73.4}, 38.1, 38.1),  # half a size is none
    ],
)
def test_grams_of_a_space(changes: dict[str, Any], dry_g: float, top_up_g: float) -> None:
    """If not, a hub would be packed to bursting or left dry: pi/4 (60^2 - 38^2) 50 mm3, half full, 0.9 g/cm3."""
    found = of(**changes)
    assert (found.dry_g, found.top_up_g) == (pytest.approx(dry_g, abs=0.02), pytest.approx(top_up_g, abs=0.02))
    assert found.dry_strokes is None and found.most_strokes is None and "measure yours" in found.how


def test_a_denser_grease_weighs_more() -> None:
    """A fifth more of it: 45.72 g for 38.1."""
    assert of(density_kg_m3=1080).dry_g == pytest.approx(45.72, abs=0.02)


@pytest.mark.parametrize(
    ("changes", "g_per_stroke", "strokes"),
    [
        # dry, again, before the bearing, and where it presses on its seal (90 % of 76.2 g)
        ({}, 1.0, (39, 39, None, 68)),
        ({}, 2.43, (16, 16, None, 28)),
        ({"top_up_share": 0.25}, 1.0, (39, 10, None, 68)),
        ({"points": 4}, 1.0, (4 * 39, 4 * 39, None, 68)),
        ({"before_bearing_share": 0.3}, 1.0, (39, 39, 12, 68)),
        ({"fill_share": 1}, 1.0, (77, 77, None, None)),  # filled wholly: nothing to press beyond
    ],
)
def test_strokes_of_the_weighed_gun(
    changes: dict[str, Any], g_per_stroke: float, strokes: tuple[int | None, ...]
) -> None:
    """If not, another gun's strokes would be counted: whole strokes up, the last one down."""
    found = of(gun(g_per_stroke), **changes)
    told = (found.dry_strokes, found.top_up_strokes, found.before_bearing_strokes, found.most_strokes)
    assert told == strokes and found.dry_g is not None


@pytest.mark.parametrize("way", ["brushed", "poured"])
def test_what_is_brushed_or_poured_has_no_strokes(way: str) -> None:
    """If it had, somebody would look for a nipple."""
    assert of(gun(), way=way).dry_strokes is None


def test_without_sizes_the_list_of_the_item_tells() -> None:
    """35 g stand in the item's own materials; where nothing stands nobody knows."""
    found = of(gun(), length_mm=None)
    assert (found.dry_g, found.top_up_g, found.how, found.dry_strokes) == (35.0, 35.0, LISTED, None)
    assert of(length_mm=None, lubricant="oil").dry_g is None


@pytest.mark.parametrize(
    ("changes", "carry"),
    [({"spare_share": 0.5}, 4.5), ({}, 3.0), ({"litres_low": None, "litres_high": None}, None)],
)
def test_litres_and_what_to_carry(changes: dict[str, Any], carry: float | None) -> None:
    """Two to three litres: with half as much again to spare 4.5 ride along."""
    litres = {"kind": "gear oil", "litres_low": 2, "litres_high": 3}
    found = of(gun(), **{**litres, **changes})
    assert found.carry_l == carry and found.dry_g is None and "manual" in found.how
    assert (found.litres_low, found.litres_high) == ((2, 3) if carry else (None, None))


@pytest.mark.parametrize(
    ("grams", "told"), [(0.0, 0), (0.1, 5), (4.9, 5), (5.0, 5), (5.0000000001, 5), (5.1, 10), (38.1, 40), (40.0, 40)]
)
def test_grams_are_laid_out_in_steps_of_five(grams: float, told: float) -> None:
    """The next five grams up, and no step for an error of rounding."""
    assert laid_out_g(grams) == told


def test_sizes_that_no_axle_has_are_found() -> None:
    """A shaft thicker than its bore is named, with the row; oil and rows without sizes are none of it."""
    bad = space(shaft_mm=70)
    rows = (space(), bad, space(kind="gear oil", shaft_mm=70), space(shaft_mm=70, length_mm=None))
    (found,) = space_faults(rows)
    assert found[0] is bad and found[1] == "shaft_mm"
