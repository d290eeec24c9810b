"""Which room may import which: one order for all of them, no circle anywhere, and a core that reads nothing."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import tripplan

ROOT = Path(tripplan.__file__).parent
# Imports point only to what stands further left, or within a room.
ROOMS = (
    "records", "trip", "wear", "water", "due", "grease", "placing", "risk", "explain", "verify", "planner", "files",
    "sheets", "commands", "web",
)  # fmt: skip
CORE = ROOMS[: ROOMS.index("planner") + 1]
MOST_ENTRIES_AT_THE_TOP = 18
FORBIDDEN_IN_CORE = {
    "os", "io", "pathlib", "socket", "time", "random", "secrets", "uuid", "shutil", "subprocess", "tempfile", "urllib",
    "http", "locale", "logging", "sys", "requests", "httpx", "pandas", "openpyxl", "icalendar", "jinja2", "typer",
    "rich", "lxml", "fastapi", "holidays", "csv", "json", "tomllib", "zoneinfo", "filelock",
}  # fmt: skip
CLOCK_CALLS = {("datetime", "now"), ("datetime", "utcnow"), ("datetime", "today"), ("date", "today")}
MODEL_MAY = {
    "tripplan.records.problems", "tripplan.records.units", "tripplan.wear.mechanisms", "numpy", "math", "typing",
    "collections", "dataclasses", "msgspec", "functools", "itertools", "enum",
}  # fmt: skip
BOTTOM = ("problems", "units", "cell_values")


def dotted(path: Path) -> str:
    """The module's name as an import says it."""
    parts = ("tripplan", *path.relative_to(ROOT).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {dotted(path): path for path in sorted(ROOT.rglob("*.py"))}
IN_ROOMS = {name: path for name, path in MODULES.items() if name.split(".")[1:2] and name.split(".")[1] in ROOMS}
IN_CORE = {name: path for name, path in IN_ROOMS.items() if name.split(".")[1] in CORE}
MODELS = {name: path for name, path in MODULES.items() if name.startswith("tripplan.wear.mechanisms.")}


def room(name: str) -> str:
    """The room a module stands in."""
    return name.split(".")[1]


def tree(path: Path) -> ast.Module:
    """The file as a syntax tree."""
    return ast.parse(path.read_text(encoding="utf-8"))


def imported(path: Path) -> Iterator[str]:
    """Dotted names of all that a file imports, anywhere in it; of ours the module itself."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            names = [f"{node.module}.{alias.name}" for alias in node.names]
            yield from (name if name in MODULES else node.module for name in names)


OURS = {name: {other for other in imported(path) if other in MODULES} - {name} for name, path in MODULES.items()}


def test_every_module_stands_in_a_room() -> None:
    """A file beside the rooms would have no order, and nobody would know where to look."""
    outside = set(MODULES) - set(IN_ROOMS)
    assert outside == {"tripplan", "tripplan.__main__"}


def test_the_top_of_the_package_can_be_seen_at_a_glance() -> None:
    """A stranger would not name the room for a change."""
    entries = [path.name for path in ROOT.iterdir() if path.name not in ("__pycache__", "py.typed")]
    assert len(entries) <= MOST_ENTRIES_AT_THE_TOP


@pytest.mark.parametrize("name", sorted(IN_ROOMS))
def test_no_import_points_upward(name: str) -> None:
    """A part could not be understood, or changed, without what stands above it."""
    above = ROOMS[ROOMS.index(room(name)) + 1 :]
    assert not [other for other in OURS[name] if other != "tripplan" and room(other) in above]


def test_no_circle_anywhere() -> None:
    """Two files that need each other are one file in two places."""
    done: set[str] = set()
    below = {name: others - {"tripplan"} for name, others in OURS.items() if name != "tripplan"}
    while len(done) < len(below):
        ready = {name for name, needs in below.items() if name not in done and needs <= done}
        assert ready, f"these import each other: {sorted(set(below) - done)}"
        done |= ready


@pytest.mark.parametrize("name", sorted(IN_CORE))
def test_core_reads_nothing(name: str) -> None:
    """Otherwise the same folder could give another plan on another day or another machine."""
    roots = {other.split(".")[0] for other in imported(IN_CORE[name])}
    assert not roots & FORBIDDEN_IN_CORE


@pytest.mark.parametrize("name", sorted(IN_CORE))
def test_no_clock_and_no_open_file(name: str) -> None:
    """Otherwise today would not be what the owner said it is."""
    for node in ast.walk(tree(IN_CORE[name])):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            assert (node.value.id, node.attr) not in CLOCK_CALLS, f"{name}:{node.lineno}"
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id not in ("open", "print", "input", "exec", "eval"), f"{name}:{node.lineno}"


@pytest.mark.parametrize("name", sorted(MODELS))
def test_models_know_only_numbers(name: str) -> None:
    """Otherwise a formula could not be checked against its source without a trip folder."""
    for other in imported(MODELS[name]):
        known = other.rsplit(".", 1)[0] if other.startswith("tripplan.wear.mechanisms.") else other
        assert (known if known.startswith("tripplan") else known.split(".")[0]) in MODEL_MAY, other


@pytest.mark.parametrize("name", BOTTOM)
def test_the_bottom_imports_nothing_of_ours(name: str) -> None:
    """Otherwise the plainest parts would hang on the largest."""
    assert OURS[f"tripplan.records.{name}"] == set()


def test_facts_do_not_know_the_tables_nor_the_plan() -> None:
    """Otherwise a history row could not be read without a catalogue."""
    assert OURS["tripplan.records.facts_in"] <= {
        f"tripplan.records.{name}" for name in ("cell_values", "problems", "units", "words")
    }


@pytest.mark.parametrize(
    "name", sorted(name for name in MODULES if name.count(".") and MODULES[name].name == "__init__.py")
)
def test_every_room_says_what_it_is_for(name: str) -> None:
    """A newcomer would have to read the files to learn what is decided in them."""
    said = ast.get_docstring(tree(MODULES[name])) or ""
    assert ("Comes in" in said and "Decided here" in said) or name.count(".") > 1
    assert said


def test_the_solver_is_imported_only_where_it_is_used() -> None:
    """Otherwise asking for help on the track would load a solver first."""
    for name, path in IN_CORE.items():
        top = {alias.name for node in tree(path).body if isinstance(node, ast.Import) for alias in node.names}
        top |= {node.module or "" for node in tree(path).body if isinstance(node, ast.ImportFrom)}
        assert not any(other.split(".")[0] == "highspy" for other in top), name
