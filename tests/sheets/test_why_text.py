"""What `why` tells of wear: the rule with its numbers, and every row behind them."""

import json
import re

import pytest

from tripplan.files.demos import DEMOS, demo_folder
from tripplan.files.folder import Inputs, load
from tripplan.files.plan_folder import quick_plan
from tripplan.records.catalogue import Catalogue
from tripplan.records.plan import Plan
from tripplan.sheets.why_text import rows_behind, sum_words, why_json, why_text

NAME = "outback"
LEG = re.compile(r"^  leg (\d+) (\w+): .* x ([\d.]+) \(low .*?; (1 .*?)(?:; crossings add|$)")


@pytest.fixture(scope="module")
def outback() -> tuple[Plan, Inputs, Catalogue]:
    """The demo with dust, washboard, fords and a trailer, work placed by the plain rule."""
    inputs, catalogue, problems = load(demo_folder(NAME), DEMOS[NAME])
    assert inputs is not None
    plan = quick_plan(inputs, catalogue, DEMOS[NAME], problems)
    return plan, inputs, catalogue


def worked_out(sum_told: str) -> float:
    """The sum as a reader works it out: groups in brackets, their factors multiplied, less one each."""
    groups = re.findall(r"\((?=\d)(.*?) - 1\)", sum_told)
    total = 1.0
    for group in groups:
        product = 1.0
        for part in group.split(" x "):
            product *= float(part.split()[0])
        total += product - 1
    return total


def test_the_sum_told_is_the_multiplier(outback: tuple[Plan, Inputs, Catalogue]) -> None:
    """If not, an owner who adds it up would find another number than the plan uses."""
    plan, inputs, catalogue = outback
    lines = [
        found
        for name in ("front_wheel_bearings", "propshaft_ujoints", "air_filter_element", "trailer_bearings")
        for line in why_text(plan, catalogue.item(name), inputs, catalogue).splitlines()
        if (found := LEG.match(line))
    ]
    assert len(lines) > 20
    for found in lines:
        assert worked_out(found[4]) == pytest.approx(float(found[3]), abs=0.02), found[0]


def test_work_that_water_calls_for_is_told_with_its_rows(outback: tuple[Plan, Inputs, Catalogue]) -> None:
    """Otherwise a look that stands on the sheet of a stop would be in nobody's account: `why` said it lasts the trip."""
    plan, inputs, catalogue = outback
    item = catalogue.item("free_wheel_hubs")
    acts = [(crossing, act) for crossing in plan.crossings for act in crossing.acts if act.item == item.id]
    assert acts
    text, told = why_text(plan, item, inputs, catalogue), json.loads(why_json(plan, item, inputs, catalogue))
    asked, behind = text.split("Asked for by water")[1].split("Rows behind this")
    for crossing, act in acts:
        slot = next(slot for slot in plan.slots if slot.id == act.slot)
        line = next(
            x for x in asked.splitlines() if f"trip km {crossing.trip_km:.0f}" in x and f", {act.position}: look" in x
        )
        assert slot.place in line and act.window in line
        assert all(str(origin) in line and f"  {origin}: " in behind for origin in (*act.origins, crossing.origin))
    assert [(one["trip_km"], one["position"], one["slot"]) for one in told["water"]] == [
        (crossing.trip_km, act.position, act.slot) for crossing, act in acts
    ]


def test_every_number_of_wear_is_traced_to_a_row(outback: tuple[Plan, Inputs, Catalogue]) -> None:
    """If not, the owner could not find the row to argue with."""
    plan, inputs, catalogue = outback
    origins = {p.origin for item in plan.items for wear in item.wear for p in (*wear.parts, *wear.water)}
    origins |= {origin for item in plan.items for reason in item.reasons for origin in reason.origins}
    told = rows_behind(origins, inputs, catalogue)
    bare = [line for line in told if ": " not in line and "rig.toml" not in line]
    assert bare == []
    assert any("interval_spread_share" in line for line in told)
    assert any("water_affected_km" in line for line in told)
    water = [wear for item in plan.items for wear in item.wear if wear.water]
    assert water and all(wear.water_use > 0 for wear in water)


def test_one_factor_alone_stands_by_itself(outback: tuple[Plan, Inputs, Catalogue]) -> None:
    """If not, a plain dusty leg would be told as more than one."""
    plan, _, _ = outback
    one = next(wear for item in plan.items for wear in item.wear if len(wear.parts) == 1)
    part = one.parts[0]
    assert sum_words(one.parts) == f"1 + ({part.multiplier:.2f} {part.condition} {part.grade} ({part.basis}) - 1)"
    assert sum_words(()) == "1"
