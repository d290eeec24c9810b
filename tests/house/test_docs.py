"""README, DEVELOPERS and CHANGELOG stay in step with the program."""

import ast
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
import typer

from tests.golden.readme_pictures import pictures
from tests.house.test_layering import ROOMS
from tripplan.__main__ import app
from tripplan.files.data_tables import read_catalogue
from tripplan.records.problem_codes import ALL_CODES
from tripplan.sheets.numbers_text import numbers_text

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
MOST_WORDS = 2500


def block(text: str, marker: str) -> list[str]:
    """The lines of the fenced block that follows a marker comment."""
    found = re.search(rf"<!-- {re.escape(marker)} -->\n```\n(.*?)```", text, re.DOTALL)
    assert found, f"no block marked {marker}"
    return found.group(1).splitlines()


def test_top_level_holds_nothing_else() -> None:
    """A stray file at the top would hide the four things an owner looks for."""
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "tripplan",
        "tests",
        "demo",
        "notebooks",
        "LICENSE",
        "CHANGELOG.md",
    }
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False).stdout
    if not tracked:
        pytest.skip("not a git checkout")
    names = {line.split("/")[0] for line in tracked.splitlines()}
    assert {name for name in names if not name.startswith(".")} <= allowed


def test_readme_has_two_set_up_commands() -> None:
    """A newcomer could not start with one line, or not test with another."""
    commands = [line for line in README.splitlines() if line.startswith("    ") and ".venv" in line]
    assert len(commands) == 2
    assert "tripplan demo" in commands[0]
    assert "pytest" in commands[1]


def test_every_command_is_in_the_readme() -> None:
    """A command nobody is told about is not used."""
    names = {command.name or command.callback.__name__ for command in app.registered_commands if command.callback}
    names |= {group.name for group in app.registered_groups if group.name}
    missing = [name for name in sorted(names) if f"`tripplan {name}" not in README]
    assert not missing


def test_the_guide_is_read_in_one_sitting() -> None:
    """Nobody would read it before changing something."""
    assert len(DEVELOPERS.split()) < MOST_WORDS


def test_every_file_that_the_guide_names_is_there() -> None:
    """Otherwise somebody would be sent to a test or table that is gone, and believe that it holds a number."""
    named = set(re.findall(r"`([\w./-]+\.(?:py|csv|toml|ipynb|js|j2|md|txt))`", DEVELOPERS))
    of_a_trip = {"rig.toml", "earlier_legs.csv", "plan.json"}
    there = [
        f"/{path.relative_to(ROOT)}"
        for place in ("tripplan", "tests", "notebooks", ".ci")
        for path in (ROOT / place).rglob("*")
    ]
    assert not {name for name in named - of_a_trip if not any(path.endswith(f"/{name}") for path in there)}


@pytest.mark.parametrize("name", ROOMS)
def test_every_room_is_on_the_map(name: str) -> None:
    """Someone changing the code would not find the room, or read of one that has changed."""
    path = ROOT / "tripplan" / (f"{name}.py" if name == "planner" else f"{name}/__init__.py")
    said = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    first = said.split("\n\n")[0].replace("\n", " ")
    assert f"| `{name}{'.py' if name == 'planner' else '/'}` | {first} |" in DEVELOPERS


def test_every_problem_code_is_listed_by_the_program() -> None:
    """An owner who looks a code up would find nothing."""
    listed = numbers_text(read_catalogue()[0], "problems").splitlines()
    assert listed == [f"{code}  {meaning}" for code, meaning in sorted(ALL_CODES.items())]
    assert "`tripplan numbers problems`" in DEVELOPERS


def test_readme_example_is_real() -> None:
    """The lines in the README would be ones that no run takes; a golden test keeps its pictures true."""
    demo = ROOT / "demo" / "outback"
    legs = block(README, "legs.csv")
    assert len(legs) == 5 and legs == (demo / "legs.csv").read_text(encoding="utf-8").splitlines()[:5]
    shown = re.findall(r"!\[[^]]{20,}\]\(demo/outback/pictures/([^)]+)\)", README)
    assert shown == list(pictures())


def test_the_readme_is_for_the_person_first() -> None:
    """Otherwise somebody who wants to plan a trip would read a table of commands before how to begin."""
    parts = ("# tripplan", "![", "## Run it", "## Your own rig in five steps", "## What the plan can know",
             "## From Python", "## The commands")  # fmt: skip
    places = [README.index(part) for part in parts]
    assert places == sorted(places)
    steps = README.partition("in five steps")[2].partition("## ")[0]
    assert re.findall(r"^(\d)\. \*\*", steps, re.M) == list("12345") and "`tripplan new my-trip`" in steps


@pytest.mark.parametrize(
    "line", sorted(set(re.findall(r"`(tripplan [a-z][^`]*)`", README.partition("## The commands")[0])))
)
def test_what_the_readme_types_can_be_typed(line: str) -> None:
    """Otherwise the first line a newcomer copies would be refused."""
    name, *words = shlex.split(" ".join(line.split()))[1:]
    if name.startswith("--"):
        return
    own = typer.main.get_command(app).commands[name]  # type: ignore[attr-defined]
    needed = [one for one in own.params if one.required and one.param_type_name == "argument"]
    if words or not needed:
        assert own.make_context(name, words)


def test_the_program_starts_without_heavy_packages() -> None:
    """Asking for help would take a second."""
    code = "import sys, tripplan.__main__; print([m for m in ('pandas', 'numpy', 'icalendar', 'jinja2', 'highspy') if m in sys.modules])"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert found.stdout.strip() == "[]"
