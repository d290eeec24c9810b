"""What may go on top of what, demand by demand: one grease, one place, one thing changed."""

from typing import Any

import pytest

from tests.grease.test_amounts import HERE, space
from tests.grease.two_greases import mixes
from tripplan.grease.mixing import GO, NOT_HERE, STRIP, UNKNOWN, may_go_in, suits
from tripplan.records.lubricants import LubricantRow, OwnLubricant, PairRating


def tin(**changes: Any) -> OwnLubricant:
    """A grease of the owner's that says everything."""
    values: dict[str, Any] = {
        "id": "tub", "own_name": "grey tub", "kind": "grease", "thickener": "lithium", "base_oil": "mineral", "nlgi": "2",
        "solids_percent": 0, "astm_d4950": "GC-LB", "temp_high_c": 140, "water_grade": "1-40", "origin": HERE,
    }  # fmt: skip
    return OwnLubricant.model_validate({**values, **changes})


OTHER = {"id": "other", "own_name": "other tub"}


def pair(one: str, other: str, rating: str, chart: str = "A") -> PairRating:
    """What one chart says of two thickeners."""
    values = {"family_a": one, "family_b": other, "chart": chart, "rating": rating, "origin": HERE}
    return PairRating.model_validate({**values, "basis": "published", "source": "none"})


@pytest.mark.parametrize(
    ("place", "grease", "word"),
    [
        ({}, {}, GO),
        ({}, {"kind": "gear oil"}, NOT_HERE),
        ({"base_oil": "silicone"}, {}, NOT_HERE),
        ({"base_oil": "silicone"}, {"base_oil": None}, UNKNOWN),
        ({"base_oil": "silicone; mineral"}, {}, GO),
        ({"solids_max_percent": 0}, {"solids_percent": 3}, NOT_HERE),
        ({"solids_max_percent": 0}, {"solids_percent": None}, GO),
        ({"motion": "fast rolling"}, {"solids_percent": None}, UNKNOWN),
        ({"motion": "fast rolling", "solids_max_percent": 0}, {"solids_percent": 3}, NOT_HERE),
        ({"solids_max_percent": 5}, {"solids_percent": 5}, GO),
        ({"solids_max_percent": 5}, {"solids_percent": 6}, NOT_HERE),
        ({"solids_min_percent": 3}, {"solids_percent": 3}, GO),
        ({"solids_min_percent": 3}, {"solids_percent": 2}, NOT_HERE),
        ({"solids_min_percent": 3}, {"solids_percent": None}, UNKNOWN),
        ({"astm_d4950": "GC"}, {}, GO),
        ({"astm_d4950": "GC"}, {"astm_d4950": "LB"}, NOT_HERE),
        ({"astm_d4950": "GC; LB"}, {"astm_d4950": "LB"}, GO),
        ({"astm_d4950": "GC"}, {"astm_d4950": None}, UNKNOWN),
        ({"nlgi": "1; 2"}, {}, GO),
        ({"nlgi": "0; 1"}, {}, NOT_HERE),
        ({"nlgi": "2"}, {"nlgi": None}, UNKNOWN),
        ({"temp_high_c": 140}, {}, GO),
        ({"temp_high_c": 141}, {}, NOT_HERE),
        ({"temp_high_c": 120}, {"temp_high_c": None}, UNKNOWN),
        ({"water": True}, {}, GO),
        ({"water": True}, {"water_grade": None}, UNKNOWN),
        ({"water": True}, {"water_grade": "3-40"}, NOT_HERE),
        ({"water": False}, {"water_grade": "3-40"}, GO),
    ],
)
def test_each_demand_of_a_place(place: dict[str, Any], grease: dict[str, Any], word: str) -> None:
    """If not, a grease that skids, runs or washes out would be told to suit; unknown is never harmless."""
    found = suits(tin(**grease), space(**place))
    assert found.word == word and found.may == (word == GO)


@pytest.mark.parametrize(
    ("new", "there", "word"),
    [
        ({}, {"base_oil": "ester"}, GO),
        ({"base_oil": "silicone"}, {}, STRIP),
        ({}, {"base_oil": "silicone"}, STRIP),
        ({"base_oil": "silicone"}, {"base_oil": "silicone"}, GO),
        ({"base_oil": "silicone"}, {"base_oil": None}, STRIP),
        ({"kind": "gear oil", "sae": "80W-90"}, {}, STRIP),
        ({"thickener": None}, {}, UNKNOWN),
        ({}, {"thickener": None}, UNKNOWN),
        ({"thickener": "polyurea"}, {}, UNKNOWN),  # no chart held rates it
        ({"thickener": "clay"}, {}, STRIP),
        ({}, {"thickener": "clay"}, STRIP),
    ],
)
def test_two_greases_meet(new: dict[str, Any], there: dict[str, Any], word: str) -> None:
    """If not, silicone on mineral would be told to go ahead, or lithium on clay. The order does not matter."""
    pairs = (pair("lithium", "lithium", "compatible"), pair("lithium", "clay", "incompatible"))
    one, other = tin(**new), tin(**{**OTHER, **there})
    assert mixes(one, other, pairs).word == mixes(other, one, pairs).word == word


def test_the_worst_of_several_charts_counts() -> None:
    """One chart finds it good and one does not: not told to go ahead."""
    charts = (pair("lithium", "lithium", "compatible"), pair("lithium", "lithium", "incompatible", "B"))
    assert mixes(tin(), tin(**OTHER), charts).word == STRIP
    assert mixes(tin(), tin(**OTHER), charts[:1]).word == GO


def test_the_tub_that_is_in_there_already_goes_on_top_of_itself() -> None:
    """Without a chart that rates it; a class of the tables that is only called alike does not."""
    assert mixes(tin(), tin(), ()).word == GO
    listed = LubricantRow.model_validate({**tin().model_dump(exclude={"own_name"}), "name": "a class"})
    assert mixes(listed, listed, ()).word == UNKNOWN
    assert may_go_in(tin(), None, space(), ()).word == UNKNOWN


@pytest.mark.parametrize(
    ("new", "there", "word"),
    [
        ({"sae": "80W-90", "api": "GL-5"}, {"sae": "80W-90", "api": "GL-5"}, GO),
        ({"sae": "80W-90", "api": "GL-5"}, {"sae": "80W-90", "api": "GL-4"}, UNKNOWN),
        ({"sae": "80W-90"}, {"sae": "80W-90"}, UNKNOWN),
    ],
)
def test_oils_are_alike_when_both_tins_say_so(new: dict[str, Any], there: dict[str, Any], word: str) -> None:
    """If not, an oil of another service class would be poured on top."""
    assert mixes(tin(kind="gear oil", **new), tin(**{**OTHER, "kind": "gear oil", **there}), ()).word == word
    assert suits(tin(kind="gear oil", **new), space(kind="gear oil")).word == GO
    assert suits(tin(kind="gear oil"), space(kind="gear oil")).word == UNKNOWN


def test_brake_fluids_of_one_base_mix() -> None:
    """Glycol on glycol; the class on the cap rules. Glycol and silicone never."""
    glycol, silicone = (tin(kind="brake fluid", base_oil=base, boil_dry_c=230) for base in ("glycol ether", "silicone"))
    other = tin(kind="brake fluid", base_oil="glycol ether", boil_dry_c=260, **OTHER)
    assert mixes(glycol, other, ()).word == GO
    assert mixes(glycol, silicone, ()).word == STRIP
    assert suits(glycol, space(kind="brake fluid")).word == GO
