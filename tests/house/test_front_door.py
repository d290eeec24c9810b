"""What `import tripplan` gives is chosen on purpose, costs nothing until used, and the README's example runs."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

import tripplan

ROOT = Path(__file__).parents[2]
PUBLIC = {
    "make_plan", "read_folder", "read_catalogue", "write_outputs", "Rig", "Unit", "HistoryRow", "Trip", "Leg", "Stop",
    "Crossing", "Catalogue", "Plan", "Problem", "BadInput", "OutOfRange",
}  # fmt: skip


def test_the_public_names_are_these() -> None:
    """A name added or lost by accident would break somebody's notebook."""
    assert set(tripplan.__all__) == PUBLIC
    assert all(getattr(tripplan, name).__name__ in (name, "read") for name in PUBLIC)
    assert set(dir(tripplan)) >= PUBLIC


def test_an_unknown_name_tells_the_known_ones() -> None:
    """Somebody who misremembers a name would have to open the code."""
    with pytest.raises(AttributeError, match="make_plan"):
        tripplan.plan_it  # noqa: B018


def test_nothing_is_loaded_before_it_is_asked_for() -> None:
    """A script that only wants the version would wait for tables and solvers."""
    code = "import sys, tripplan; print([name for name in sys.modules if name.startswith('tripplan.')])"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert found.stdout.strip() == "[]"


def test_the_readme_example_runs() -> None:
    """The first lines somebody types would fail."""
    found = re.search(r"```python\n(.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.DOTALL)
    assert found
    code = found.group(1)
    assert len([line for line in code.splitlines() if line.strip()]) == 6
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=ROOT)
    assert ran.returncode == 0, ran.stderr
    assert "leg" in ran.stdout
