"""Spaces, grams and strokes, each worked by hand first.

Common practice, no source: ten strokes on a kitchen scale; 30 to 40 lever strokes for a dry
front stub axle, 10 to 15 of them before grease reaches the bearing. Read: 1 to 3 g a stroke,
0.86 cm3 for a pistol gun, 2.5 to 2.7 cm3 for a large lever gun.
"""

import math

import pytest

from tests.published.printed import agrees
from tripplan.files.data_tables import read_catalogue
from tripplan.grease.amounts import amount, space_faults
from tripplan.records.facts_in import Origin
from tripplan.records.lubricants import Cavity, GreaseGun
from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms import grease

CATALOGUE = read_catalogue()[0]


def gun(g_per_stroke: float) -> GreaseGun:
    """A gun as weighed on an invented day."""
    return GreaseGun.model_validate(
        {"g_per_stroke": g_per_stroke, "strokes": 10, "date": "2026-06-01", "origin": Origin(file="grease_gun.toml")}
    )


def space(item: str, lubricant: str = "wheel_bearing_grease") -> Cavity:
    """The shipped row of one space."""
    return next(row for row in CATALOGUE.cavities if (row.item, row.lubricant) == (item, lubricant))


def test_hub_by_hand() -> None:
    """pi/4 (60^2 - 38^2) 50 = 84.67 cm3, 76.2 g full, 38.1 g half: a hub over- or underfilled else."""
    volume_cm3 = grease.cavity_cm3(60, 38, 50)
    assert agrees("84.67", volume_cm3)
    assert agrees("76.2", grease.fill_g(volume_cm3, 1, 900)) and agrees("38.1", grease.fill_g(volume_cm3, 0.5, 900))


@pytest.mark.parametrize(("cm3_per_stroke", "printed_g", "strokes"), [(0.86, "0.774", 10), (2.7, "2.43", 3)])
def test_the_wrong_gun_is_out_by_three(cm3_per_stroke: float, printed_g: str, strokes: int) -> None:
    """Strokes counted for another gun: 7.19 g is 10 strokes of a pistol gun and 3 of a large lever gun."""
    output_g = cm3_per_stroke * 0.9
    assert agrees(printed_g, output_g) and grease.strokes_for(7.19, output_g) == strokes


def test_whole_strokes_stay_whole() -> None:
    """Ten grams from a gun of one gram would be eleven strokes by a rounding error."""
    assert grease.strokes_for(10 * 1.1, 1.1) == 10 and grease.strokes_for(0, 1.1) == 0
    assert grease.strokes_for(11.01, 1.1) == 11


@pytest.mark.parametrize(
    ("sizes", "name"),
    [((38, 60, 50), "shaft_mm"), ((0, 0, 50), "bore_mm"), ((400, 10, 50), "bore_mm"), ((60, 38, 900), "length_mm"),
     ((290, 0, 490), "space_cm3"), ((60, -1, 50), "shaft_mm"), ((math.nan, 38, 50), "bore_mm")],
)  # fmt: skip
def test_spaces_that_cannot_be(sizes: tuple[float, float, float], name: str) -> None:
    """Two sizes swapped would give less grease than none; a slip of a digit would fill an axle."""
    with pytest.raises(OutOfRange) as caught:
        grease.cavity_cm3(*sizes)
    assert caught.value.name == name


@pytest.mark.parametrize("g_per_stroke", [1.0, 1.05])
def test_a_dry_stub_axle_in_common_practice(g_per_stroke: float) -> None:
    """Common practice, no source: 30 to 40 strokes dry, the first 10 to 15 before the bearing."""
    found = amount(CATALOGUE.item("stub_axle_bush"), space("stub_axle_bush"), gun(g_per_stroke))
    assert found.dry_strokes is not None and 30 <= found.dry_strokes <= 40
    assert found.before_bearing_strokes is not None and 10 <= found.before_bearing_strokes <= 15
    assert found.most_strokes is not None and found.dry_strokes <= found.most_strokes


def test_most_strokes_never_fill_the_space() -> None:
    """The last stroke would press the seal out of its seat."""
    for g_per_stroke in (0.2, 0.77, 1.3, 2.43, 5):
        assert grease.most_strokes(84.67, g_per_stroke) * g_per_stroke <= 0.9 * 84.67 + 1e-6


def test_oil_with_a_spare_share() -> None:
    """A flush after water would run out of oil half way: 3 L and 15 % is 3.45 L by hand."""
    assert agrees("3.45", grease.oil_to_carry_l(3, 0.15))
    with pytest.raises(OutOfRange):
        grease.oil_to_carry_l(61, 0.15)


def test_no_gun_no_strokes() -> None:
    """An assumed gun would be out by three."""
    found = amount(CATALOGUE.item("front_wheel_bearings"), space("front_wheel_bearings"), None)
    assert found.dry_g and found.dry_strokes is None and found.top_up_strokes is None and found.most_strokes is None


def test_shipped_spaces_can_be_and_agree_with_the_shopping_list() -> None:
    """The owner would buy for one amount and be told to press in another (judgement: within 1.6 times)."""
    assert space_faults(CATALOGUE.cavities) == ()
    for row in CATALOGUE.cavities:
        item = CATALOGUE.item(row.item)
        listed = {amount.what: amount.quantity for amount in item.consumables}
        assert row.lubricant in listed, row.item
        found = amount(item, row, None)
        if row.has_sizes:
            used = (found.dry_g if row.washed else found.top_up_g) or 0
            assert 1 / 1.6 <= used / listed[row.lubricant] <= 1.6, row.item
        elif found.litres_low is not None and found.litres_high is not None:
            assert found.litres_low <= listed[row.lubricant] <= found.litres_high * 1.01, row.item


def test_a_thicker_shaft_is_a_fault() -> None:
    """An override with bore and shaft swapped would pass unseen."""
    wrong = space("front_wheel_bearings").model_copy(update={"shaft_mm": 90.0})
    [(row, name, error)] = space_faults([wrong])
    assert row is wrong and name == "shaft_mm" and error.high == wrong.bore_mm
