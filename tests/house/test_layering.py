"""Which module may import which: the core reads nothing, the models know nothing of it, the edges are thin."""

import ast
from pathlib import Path

import pytest

import tripplan

ROOT = Path(tripplan.__file__).parent
# Files that are edges though they lie beside the core: the command line and its entry.
THIN = ("cli.py", "__main__.py", "__init__.py")
OUTER = ("edges", "web")
CORE = sorted(path for path in ROOT.glob("*.py") if path.name not in THIN)
MECHANISMS = sorted((ROOT / "mechanisms").glob("*.py"))
FORBIDDEN_IN_CORE = {
    "os",
    "io",
    "pathlib",
    "socket",
    "time",
    "random",
    "secrets",
    "uuid",
    "shutil",
    "subprocess",
    "tempfile",
    "urllib",
    "http",
    "locale",
    "logging",
    "sys",
    "requests",
    "httpx",
    "pandas",
    "openpyxl",
    "icalendar",
    "jinja2",
    "typer",
    "rich",
    "lxml",
    "fastapi",
    "holidays",
    "csv",
    "json",
    "tomllib",
    "zoneinfo",
}
CLOCK_CALLS = {("datetime", "now"), ("datetime", "utcnow"), ("datetime", "today"), ("date", "today")}
MECHANISM_MAY = {
    "tripplan.problems",
    "tripplan.units",
    "tripplan.mechanisms",
    "numpy",
    "math",
    "typing",
    "collections",
    "dataclasses",
    "functools",
    "itertools",
    "enum",
}
BOTTOM = ("problems", "units", "cells")


def trees(path: Path) -> ast.Module:
    """The file as a syntax tree."""
    return ast.parse(path.read_text(encoding="utf-8"))


def imported(path: Path) -> set[str]:
    """Dotted names of all modules a file imports, anywhere in it."""
    found: set[str] = set()
    for node in ast.walk(trees(path)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
            found |= {f"{node.module}.{alias.name}" for alias in node.names if node.module == "tripplan"}
    return found


def inner(path: Path) -> set[str]:
    """Names of the core modules a core file imports."""
    names = {name.split(".")[1] for name in imported(path) if name.startswith("tripplan.")}
    return names & {other.stem for other in CORE} - {path.stem}


@pytest.mark.parametrize("path", CORE, ids=lambda path: path.name)
def test_core_reads_nothing(path: Path) -> None:
    """Otherwise the same folder could give another plan on another day or another machine."""
    roots = {name.split(".")[0] for name in imported(path)}
    assert not roots & FORBIDDEN_IN_CORE
    assert not {name for name in imported(path) if name.split(".")[:2] in (["tripplan", outer] for outer in OUTER)}
    assert "tripplan.cli" not in imported(path)


@pytest.mark.parametrize("path", [*CORE, *MECHANISMS], ids=lambda path: path.name)
def test_no_clock_and_no_open_file(path: Path) -> None:
    """Otherwise today would not be what the owner said it is."""
    for node in ast.walk(trees(path)):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            assert (node.value.id, node.attr) not in CLOCK_CALLS, f"{path.name}:{node.lineno}"
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id not in ("open", "print", "input", "exec", "eval"), f"{path.name}:{node.lineno}"


@pytest.mark.parametrize("path", MECHANISMS, ids=lambda path: path.name)
def test_models_know_only_numbers(path: Path) -> None:
    """Otherwise a formula could not be checked against its source without a trip folder."""
    for name in imported(path):
        root = ".".join(name.split(".")[:2]) if name.startswith("tripplan") else name.split(".")[0]
        assert root in MECHANISM_MAY, name


def test_layers_have_no_cycle() -> None:
    """Otherwise no part could be understood, or changed, without all the others."""
    below = {path.stem: inner(path) for path in CORE}
    done: list[str] = []
    while len(done) < len(below):
        ready = sorted(name for name, needs in below.items() if name not in done and needs <= set(done))
        assert ready, f"these import each other: {sorted(set(below) - set(done))}"
        done += ready


@pytest.mark.parametrize("name", BOTTOM)
def test_the_bottom_imports_nothing_of_ours(name: str) -> None:
    """Otherwise the plainest parts would hang on the largest."""
    assert inner(ROOT / f"{name}.py") == set()


def test_records_do_not_know_the_tables_nor_the_plan() -> None:
    """Otherwise a history row could not be read without a catalogue."""
    assert inner(ROOT / "records.py") <= {"cells", "problems", "units"}


def test_the_solver_is_imported_only_where_it_is_used() -> None:
    """Otherwise asking for help on the track would load a solver first."""
    for path in CORE:
        top = {alias.name for node in trees(path).body if isinstance(node, ast.Import) for alias in node.names}
        top |= {node.module or "" for node in trees(path).body if isinstance(node, ast.ImportFrom)}
        assert not any(name.split(".")[0] == "highspy" for name in top), path.name
