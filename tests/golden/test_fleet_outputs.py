"""The committed summary of the demo fleet is what the program writes today; see `test_demo_outputs.py` for what that proves."""

import os
from pathlib import Path

import pytest

from tripplan.commands.fleet.run import Wanted, fleet

ROOT = Path(__file__).parents[2]
RIGS, OUTPUTS = Path("demo/fleet/rigs"), ROOT / "demo" / "fleet" / "outputs"
TODAY = "2026-06-01"
WANTED = Wanted(is_plain=True, is_summary_only=True, bays=2, people=1)
FILES = (
    "fleet.txt", "fleet.json", "rigs.csv", "shed_days.csv", "shared_days.csv", "shopping.csv", "calendar.ics",
)  # fmt: skip


@pytest.mark.slow
def test_the_demo_fleet_is_up_to_date(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The yard an owner looks at would show other days and another shopping list than the program makes."""
    monkeypatch.chdir(ROOT)
    assert fleet([RIGS], tmp_path, TODAY, False, WANTED) == 1
    capsys.readouterr()
    assert len(list((tmp_path / "rigs").iterdir())) == 12
    if os.environ.get("TRIPPLAN_GOLDEN") == "write":
        OUTPUTS.mkdir(exist_ok=True)
        for name in FILES:
            (OUTPUTS / name).write_bytes((tmp_path / name).read_bytes())
    assert [name for name in FILES if (tmp_path / name).read_bytes() != (OUTPUTS / name).read_bytes()] == []
