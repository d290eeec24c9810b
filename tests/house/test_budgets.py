"""Size and docstrings: short modules, short functions, every public name explained."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import tripplan

ROOT = Path(tripplan.__file__).parent
MODULES = sorted(ROOT.rglob("*.py"))
MOST_LINES_OF_MODULE = 450
MOST_LINES_OF_FUNCTION = 50
Function = ast.FunctionDef | ast.AsyncFunctionDef


def label(path: Path) -> str:
    """The module as a person writes it."""
    return str(path.relative_to(ROOT))


def functions(path: Path) -> Iterator[Function]:
    """Every function and method of a file, inner ones too."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, Function):
            yield node


def lines_without_docstring(node: Function) -> int:
    """Lines from def to the end, the docstring not counted."""
    total = (node.end_lineno or node.lineno) - node.lineno + 1
    first = node.body[0]
    if ast.get_docstring(node, clean=False) is not None:
        total -= (first.end_lineno or first.lineno) - first.lineno + 1
    return total


@pytest.mark.parametrize("path", MODULES, ids=label)
def test_a_module_can_be_read_in_one_sitting(path: Path) -> None:
    """Otherwise nobody but its writer would find the rule that decided a plan."""
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MOST_LINES_OF_MODULE


@pytest.mark.parametrize("path", MODULES, ids=label)
def test_a_function_fits_on_a_screen(path: Path) -> None:
    """Otherwise a wrong branch would hide below the fold."""
    long = {
        node.name: lines
        for node in functions(path)
        if (lines := lines_without_docstring(node)) > MOST_LINES_OF_FUNCTION
    }
    assert long == {}


@pytest.mark.parametrize("path", MODULES, ids=label)
def test_every_public_name_is_explained(path: Path) -> None:
    """Otherwise a reader would have to guess what a number means."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    silent = [] if ast.get_docstring(tree) else ["the module"]
    for node in tree.body:
        if isinstance(node, Function | ast.ClassDef) and not node.name.startswith("_"):
            if ast.get_docstring(node) is None:
                silent.append(node.name)
            if isinstance(node, ast.ClassDef):
                silent += [
                    f"{node.name}.{part.name}"
                    for part in node.body
                    if isinstance(part, Function) and not part.name.startswith("_") and ast.get_docstring(part) is None
                ]
    assert silent == []


TESTS = sorted((ROOT.parent / "tests").rglob("test_*.py"))


@pytest.mark.parametrize("path", TESTS, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_every_test_says_what_would_be_wrong(path: Path) -> None:
    """Otherwise a failing test would not tell the owner's loss, and could be deleted as noise."""
    silent = [
        node.name for node in functions(path) if node.name.startswith("test_") and ast.get_docstring(node) is None
    ]
    assert silent == []
