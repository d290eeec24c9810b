"""May this grease go in here: the worst of chart, place and tin, and unknown is never harmless.

Solid lubricant makes fast rollers skid and helps slow sliding joints: a lubricant supplier's page
and trade articles, read. The verdict for each rating is our rule.
"""

from typing import Any

import pytest
from pydantic import ValidationError

from tests.grease.two_greases import mixes
from tripplan.files.data_tables import read_catalogue
from tripplan.grease.mixing import GO, NOT_HERE, PURGE, STRIP, UNKNOWN, may_go_in, suits
from tripplan.records.facts_in import Origin
from tripplan.records.lubricants import Cavity, GreaseGun, OwnLubricant, named_lubricant

CATALOGUE = read_catalogue()[0]
PAIRS = CATALOGUE.thickener_pairs
SHIPPED = {row.id: row for row in CATALOGUE.lubricants}
HERE = Origin(file="lubricants.csv", row=2)


def own(**changes: Any) -> OwnLubricant:
    """A good wheel bearing grease of the owner's, changed as asked; invented."""
    values: dict[str, Any] = {
        "id": "tub", "own_name": "the grey tub", "kind": "grease", "thickener": "lithium complex", "nlgi": "2",
        "solids_percent": 0, "astm_d4950": "GC-LB", "temp_high_c": 140, "water_grade": "1-40", "origin": HERE,
    }  # fmt: skip
    return OwnLubricant.model_validate({**values, **changes})


def place(item: str) -> Cavity:
    """The shipped space of an item."""
    return next(row for row in CATALOGUE.cavities if row.item == item)


HUB, JOINT, SLIDE, KNUCKLE = (
    place(item) for item in ("front_wheel_bearings", "propshaft_ujoints", "propshaft_slip_joints", "cv_joint_live")
)


def test_good_grease_on_its_like_may_go_in() -> None:
    """The owner would wash out a hub that only wanted a top-up."""
    verdict = may_go_in(own(), own(id="tin", own_name="a tin", thickener="lithium"), HUB, PAIRS)
    assert verdict.word == GO and verdict.may
    assert {origin.file for reason in verdict.reasons for origin in reason.origins} >= {"data/thickener_pairs.csv"}


@pytest.mark.parametrize(
    ("new", "there", "word"),
    [("lithium", "calcium", PURGE), ("clay", "clay", PURGE), ("lithium", "polyurea", STRIP),
     ("lithium complex", "calcium complex", STRIP), ("barium", "calcium sulfonate", UNKNOWN),
     ("lithium", None, UNKNOWN), (None, "lithium", UNKNOWN), (None, None, UNKNOWN)],
)  # fmt: skip
def test_thickeners(new: str | None, there: str | None, word: str) -> None:
    """Two greases would meet that no chart lets meet."""
    verdict = mixes(own(thickener=new), own(id="old", own_name="old", thickener=there), PAIRS)
    assert verdict.word == word and verdict.next_step and verdict.reasons


def test_unknown_contents_are_not_harmless() -> None:
    """A hub whose history says nothing would be topped up on a guess."""
    assert may_go_in(own(), None, HUB, PAIRS).word == UNKNOWN


@pytest.mark.parametrize("item", ["front_wheel_bearings", "trailer_bearings", "propshaft_ujoints", "stub_axle_bush"])
def test_no_solids_in_fast_bearings(item: str) -> None:
    """Rollers and needles would skid on solid lubricant."""
    moly = own(solids_percent=3)
    assert suits(moly, place(item)).word == NOT_HERE
    assert suits(own(solids_percent=None, din_code="KPF 2 K-20"), place(item)).word == NOT_HERE
    assert suits(own(solids_percent=None), place(item)).word == UNKNOWN
    assert may_go_in(moly, moly, place(item), PAIRS).word == NOT_HERE


def test_solids_may_go_where_things_slide() -> None:
    """A spline would be denied the grease that suits it best."""
    assert suits(own(solids_percent=3), SLIDE).word == GO
    assert suits(own(solids_percent=12), SLIDE).word == NOT_HERE


def test_joint_grease_is_not_hub_grease() -> None:
    """A driving joint filled with hub grease would wear out on the first sand."""
    assert suits(own(), KNUCKLE).word == NOT_HERE
    assert suits(own(solids_percent=3, astm_d4950="LB"), KNUCKLE).word == GO
    assert suits(own(solids_percent=3, astm_d4950="LB"), HUB).word == NOT_HERE


@pytest.mark.parametrize(
    ("changes", "word"),
    [({"temp_high_c": 100}, NOT_HERE), ({"temp_high_c": None}, UNKNOWN), ({"water_grade": "3-40"}, NOT_HERE),
     ({"water_grade": None}, UNKNOWN), ({"astm_d4950": "LB"}, NOT_HERE), ({"astm_d4950": None}, UNKNOWN),
     ({"astm_d4950": "gc"}, GO), ({"nlgi": "00"}, NOT_HERE), ({"nlgi": None}, UNKNOWN),
     ({"kind": "gear oil"}, NOT_HERE)],
)  # fmt: skip
def test_what_a_hub_asks_for(changes: dict[str, Any], word: str) -> None:
    """A grease that melts, washes out or is made for something else would be packed into a hub."""
    assert suits(own(**changes), HUB).word == word


def test_the_worst_of_all_reasons_comes_first() -> None:
    """The owner would read a kind reason and miss the one that decides."""
    verdict = may_go_in(own(solids_percent=3), own(id="b", own_name="b", thickener="clay"), HUB, PAIRS)
    assert verdict.word == NOT_HERE and "solid lubricant" in verdict.reasons[0].text
    assert any("incompatible" in reason.text for reason in verdict.reasons)


def test_base_fluids_that_do_not_mix() -> None:
    """Silicone would meet mineral grease because their soaps are alike."""
    assert mixes(own(base_oil="silicone"), own(id="b", own_name="b", base_oil="mineral"), PAIRS).word == STRIP
    dot_5, dot_4 = SHIPPED["brake_fluid_dot_5"], SHIPPED["brake_fluid_dot_4"]
    assert mixes(dot_5, dot_4, PAIRS).word == STRIP
    assert mixes(SHIPPED["brake_fluid_dot_5_1"], dot_4, PAIRS).word == GO


def test_brake_pins_take_no_mineral_grease() -> None:
    """Brake rubber would swell and the caliper stick."""
    pins = place("brake_slide_pins")
    assert suits(own(base_oil="mineral"), pins).word == NOT_HERE
    assert suits(own(base_oil=None), pins).word == UNKNOWN
    assert suits(own(base_oil="silicone"), pins).word == GO


def test_oils_are_alike_only_when_both_say_so() -> None:
    """An axle would be topped up with an oil of another class."""
    axle = place("rear_diff_oil")
    oil = {"kind": "gear oil", "thickener": None, "sae": "80W-90", "api": "GL-5"}
    assert may_go_in(own(**oil), own(**oil, id="b", own_name="b"), axle, PAIRS).word == GO
    assert may_go_in(own(**oil), own(**oil | {"api": "GL-4"}, id="b", own_name="b"), axle, PAIRS).word == UNKNOWN
    assert suits(SHIPPED["axle_oil"], axle).word == UNKNOWN
    assert mixes(own(**oil), own(), PAIRS).word == STRIP


def test_a_class_name_is_not_a_thickener() -> None:
    """`Wheel bearing grease` in the book would pass for a known grease."""
    named = named_lubricant(" Wheel Bearing Grease ", CATALOGUE.lubricants)
    assert named is SHIPPED["wheel_bearing_grease"] and named.thickener is None
    assert mixes(named, named, PAIRS).word == UNKNOWN


def test_the_owners_own_grease_on_itself() -> None:
    """Clay grease from the very tin that filled the hub would be called doubtful."""
    tin = own(thickener="clay")
    assert mixes(tin, tin, PAIRS).word == GO


def test_no_row_says_safe() -> None:
    """Advice on grease would be read as a promise."""
    verdicts = [may_go_in(row, other, HUB, PAIRS) for row in SHIPPED.values() for other in SHIPPED.values()]
    assert not [v for v in verdicts if "safe" in " ".join([v.word, v.next_step, *(r.text for r in v.reasons)]).split()]


def test_every_greased_item_has_its_place() -> None:
    """A grease job without its row would come with no word on what to use."""
    held = {(row.item, row.lubricant) for row in CATALOGUE.cavities}
    kinds = {row.id: row.kind for row in CATALOGUE.consumables}
    without = {"electrical_grease", "silicone_film", "fresh_water", "washer_fluid", "power_steering_fluid"}
    used = {
        (item.id, amount.what) for item in CATALOGUE.items for amount in item.consumables
        if kinds[amount.what] in ("grease", "oil", "fluid")
    }  # fmt: skip
    assert {pair for pair in used if pair[1] not in without} == held
    assert {row.lubricant for row in CATALOGUE.cavities} <= set(SHIPPED)


def test_greasing_behind_a_lock_nut_brings_its_rechecks() -> None:
    """Fresh grease beds in, the bearing goes slack, nobody looks. Common practice, no source."""
    play = {"front wheel end": "front_bearing_play", "rear wheel end": "rear_bearing_play",
            "trailer wheel end": "trailer_bearing_play"}  # fmt: skip
    packed = {row.item for row in CATALOGUE.cavities if "hub" in row.cavity or row.cavity == "stub axle"}
    found = [
        item for item in map(CATALOGUE.item, sorted(packed))
        if item.id == "stub_axle_bush" or "lock_washer" in {one.what for one in item.consumables}
    ]  # fmt: skip
    assert {"front_wheel_bearings", "rear_wheel_bearings"} <= {item.id for item in found}
    for item in found:
        assert f"{play[item.place]} 50-100 km" in map(str, item.follow_ups), item.id


@pytest.mark.parametrize(
    ("values", "is_refused"),
    [
        ({"g_per_stroke": 0.774, "strokes": 1}, False),  # a small pistol gun gives less than a gram
        ({"g_per_stroke": 0, "strokes": 10}, True),
        ({"g_per_stroke": 1.2, "strokes": 0}, True),
        ({"g_per_stroke": 1.2, "strokes": 200}, False),
        ({"g_per_stroke": 1.2, "strokes": 201}, True),
    ],
)
def test_a_gun_as_somebody_may_have_weighed_it(values: dict[str, float], is_refused: bool) -> None:
    """If not, the owner of a small gun could not enter it, or nought strokes would be divided by."""
    row = {**values, "date": "2026-06-01", "origin": Origin(file="grease_gun.toml")}
    if is_refused:
        with pytest.raises(ValidationError):
            GreaseGun.model_validate(row)
    else:
        assert GreaseGun.model_validate(row).g_per_stroke == values["g_per_stroke"]
