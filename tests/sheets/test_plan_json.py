"""plan.json against the contract of its field names, and against what JSON allows."""

import json
from datetime import date
from typing import Any

import pytest
from msgspec.structs import replace

from tests.sample_plan import items, sample_plan
from tripplan.sheets.plan_json import plan_dict, plan_json

# Field names as the contract of version 1 lists them; more may stand beside them.
TOP = [
    "schema",
    "rig",
    "trip",
    "today",
    "depart",
    "return",
    "legs",
    "items",
    "slots",
    "crossings",
    "shopping",
    "carry",
    "warnings",
    "totals",
]
LEG = ["number", "from", "to", "date", "distance_km", "trip_km_start", "remote"]
ITEM = [
    "item",
    "unit",
    "position",
    "act",
    "verdict",
    "limits",
    "wear",
    "runs_out",
    "runs_out_reserve",
    "placed",
    "reasons",
]
SLOT = ["id", "kind", "date", "place", "minutes_available", "minutes_planned", "opened", "jobs"]


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    """The sample as a reader of the file sees it."""
    found: dict[str, Any] = json.loads(plan_json(sample_plan()))
    return found


def test_every_contract_field_is_there(document: dict[str, Any]) -> None:
    """Otherwise a program written to the contract would not find the owner's plan in the file."""
    assert set(TOP) <= set(document)
    assert all(set(LEG) <= set(leg) for leg in document["legs"])
    assert all(set(ITEM) <= set(item) for item in document["items"])
    assert all(set(SLOT) <= set(slot) for slot in document["slots"])
    item = document["items"][0]
    assert set(["meter", "interval", "used", "left"]) <= set(item["limits"][0])
    assert set(["leg", "meter", "use", "multiplier", "low", "high", "parts"]) <= set(item["wear"][0])
    assert set(["condition", "grade", "multiplier", "source"]) <= set(item["wear"][0]["parts"][0])
    assert set(["leg", "leg_km", "trip_km", "date", "meter"]) <= set(item["runs_out"])
    assert set(["item", "unit", "position", "act", "minutes"]) <= set(document["slots"][0]["jobs"][0])
    assert {"immersed", "acts"} <= set(document["crossings"][0])
    assert all(not key.endswith("_") for key in (*document, *document["legs"][0]))


def test_totals_and_reasons_have_their_form(document: dict[str, Any]) -> None:
    """Otherwise the comparison of plans, or the rows behind a line, could not be read."""
    totals = document["totals"]
    assert set(totals) == {"plan", "greedy", "each_alone", "all_before", "gap", "method"}
    assert totals["plan"] == {"minutes": 580, "cost": 612.5}
    reason = document["items"][0]["reasons"][0]
    assert reason["origins"] == [{"file": "history.csv", "row": 7}, {"file": "items.csv", "row": 31}]
    assert document["items"][0]["reasons"][1]["origins"] == [{"file": "legs.csv", "row": None}]


def test_dates_are_iso_and_unknown_is_null(document: dict[str, Any]) -> None:
    """Otherwise a date could be read as another day, or an unknown as zero."""
    assert date.fromisoformat(document["depart"]) == date(2026, 7, 4)
    assert document["slots"][3]["arrive"] == "2026-07-12T15:20:00"
    assert document["items"][2]["runs_out"] is None
    transfer = next(item for item in document["items"] if item["item"] == "transfer_oil")
    assert transfer["limits"][0]["used"] is None


def test_numbers_keep_six_decimals_and_no_minus_zero() -> None:
    """Otherwise the noise of arithmetic would make two equal plans differ."""
    wear = replace(items()[0].wear[0], use=1 / 3, multiplier=-0.0, low=2.0)
    text = plan_json(replace(sample_plan(), items=(replace(items()[0], wear=(wear,)),)))
    assert '"use": 0.333333, "multiplier": 0, "low": 2,' in text


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_a_number_that_is_none_never_gets_out(bad: float) -> None:
    """Otherwise the file would not be JSON, and the owner's next program would refuse it."""
    wear = replace(items()[0].wear[0], use=bad)
    with pytest.raises(ValueError, match="finite"):
        plan_json(replace(sample_plan(), items=(replace(items()[0], wear=(wear,)),)))


def test_equal_plans_give_equal_text() -> None:
    """Otherwise a plan made twice would look changed."""
    assert plan_json(sample_plan()) == plan_json(sample_plan())
    assert plan_dict(sample_plan()) == json.loads(plan_json(sample_plan()))


def test_names_in_any_script_survive() -> None:
    """Otherwise a place name with marks would come back wrong."""
    plan = replace(sample_plan(), trip='Käfer "Bore"\n\\ end \u2028 \U0001f697')
    assert json.loads(plan_json(plan))["trip"] == plan.trip
