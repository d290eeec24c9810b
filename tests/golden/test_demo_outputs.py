"""The committed demo outputs are what the program writes today.

They prove nothing; they show every change of a number or a word as a readable diff. After a
wanted change write them anew: `TRIPPLAN_GOLDEN=write pytest tests/golden`, and say why in
the commit.
"""

import os
from pathlib import Path

import pytest

from tripplan.commands import plan as plan_command
from tripplan.files.demos import DEMOS
from tripplan.sheets.outputs import OUTPUT_FILES

DEMO = Path(__file__).parents[2] / "demo"


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(DEMOS))
def test_demo_outputs_are_up_to_date(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The demo an owner looks at would show another plan than the program makes."""
    target = tmp_path / "outputs"
    status = plan_command.plan(DEMO / name, target, str(DEMOS[name]), False)
    capsys.readouterr()
    assert status in (0, 1)
    if os.environ.get("TRIPPLAN_GOLDEN") == "write":
        for file in OUTPUT_FILES:
            (DEMO / name / "outputs" / file).write_bytes((target / file).read_bytes())
    changed = [
        file for file in OUTPUT_FILES
        if (target / file).read_bytes() != (DEMO / name / "outputs" / file).read_bytes()
    ]  # fmt: skip
    assert not changed
