"""The phone says of a crossing what the plan says, in every case: the rules read by both, asked by chance.

`TRIPPLAN_WATER_CASES` asks for more cases than continuous integration has time for.
"""

import json
import os
import shutil
import subprocess
from collections import Counter
from pathlib import Path

import pytest

from tests.sheets.field.crossings_by_chance import case_for_phone, cases, told_by_plan
from tripplan.sheets.field import water_rules

HERE = Path(__file__).parent
SCRIPT = Path(water_rules.__file__).with_name("water.js")
EACH = 14
IN_CI = 140


@pytest.fixture(scope="module")
def node() -> str:
    """The program that runs script without a browser."""
    found = shutil.which("node") or shutil.which("nodejs")
    if found is None:
        pytest.skip("no node on this machine")
    return found


def test_the_phone_says_what_the_plan_says(node: str, tmp_path: Path) -> None:
    """Otherwise somebody at the bank would be told other work than the laptop plans for the same water."""
    wanted = int(os.environ.get("TRIPPLAN_WATER_CASES", IN_CI))
    rigs = list(cases(max(1, wanted // EACH), EACH))
    told = [[told_by_plan(case) for case in asked] for _, asked in rigs]
    given = tmp_path / "cases.json"
    given.write_text(
        json.dumps([{"data": water_rules.water_data(base), "cases": [case_for_phone(case) for case in asked]} for base, asked in rigs])
    )  # fmt: skip
    run = subprocess.run(
        [node, str(HERE / "ask_phone.js"), str(SCRIPT), str(given)], capture_output=True, text=True, check=False, timeout=600
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    answered = json.loads(run.stdout)
    kinds: Counter[str] = Counter()
    for (_, asked), plans, phones in zip(rigs, told, answered, strict=True):
        assert len(asked) == len(plans) == len(phones)
        for plan, phone in zip(plans, phones, strict=True):
            assert phone["grades"] == plan["grades"]
            assert phone["calls"] == plan["calls"]
            kinds.update(_kinds(plan))
    # Every branch is asked: easy to stood, asked for, told and not booked, and booked for want of a look.
    assert all(
        kinds[kind] for kind in ("contingent", "missed", "outright", *(f"grade {number}" for number in range(6)))
    )
    print(f"{sum(len(asked) for _, asked in rigs)} crossings, {kinds}")


def _kinds(plan: dict[str, list[list[object]]]) -> Counter[str]:
    found = Counter(f"grade {grade[2]}" for grade in plan["grades"])
    found.update("contingent" for call in plan["calls"] if call[8])
    found.update("missed" for call in plan["calls"] if call[9])
    found.update(["outright"] * sum(not call[8] for call in plan["calls"]))
    return found
