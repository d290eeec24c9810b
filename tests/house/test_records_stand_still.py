"""Records of the core are frozen: what a plan was made from cannot be changed under it. What is still being filled is named."""

import ast
from functools import cache
from pathlib import Path

import tripplan

CORE = ("records", "trip", "wear", "water", "due", "grease", "placing", "risk", "explain", "verify")
FILLED = {
    "risk/hours_well_spent.py", "explain/shelf.py", "explain/shopping.py", "wear/multipliers.py", "placing/programme.py",
    "placing/known.py", "placing/so_far.py", "placing/yard.py",
}  # fmt: skip
"""Modules with a record that is filled step by step and leaves them never."""


@cache
def decorated() -> list[tuple[str, str, dict[str, bool]]]:
    """File, name and options of every record of the core, whichever library makes it."""
    found, root = [], Path(tripplan.__file__).parent
    for room in CORE:
        for path in sorted((root / room).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.ClassDef):
                    found += [(path.relative_to(root).as_posix(), node.name, options) for options in _options(node)]
    return found


def _options(node: ast.ClassDef) -> list[dict[str, bool]]:
    """A Struct always has slots; a dataclass says so."""
    own = [
        mark
        for mark in node.decorator_list
        if isinstance(mark, ast.Call) and getattr(mark.func, "id", "") == "dataclass"
    ]
    told = [_words(mark.keywords) for mark in own]
    is_struct = any(getattr(base, "id", "") == "Struct" for base in node.bases)
    return (
        [*told, {"slots": not _words(node.keywords).get("dict", False), **_words(node.keywords)}] if is_struct else told
    )


def _words(keywords: list[ast.keyword]) -> dict[str, bool]:
    return {word.arg or "": bool(ast.literal_eval(word.value)) for word in keywords}


def test_every_record_of_the_core_is_frozen() -> None:
    """If one were not, a plan could differ from what it was made from, and equal plans from each other."""
    loose = {file for file, _, options in decorated() if not options.get("frozen")}
    assert loose == FILLED


def test_no_record_of_the_core_takes_another_name() -> None:
    """If one had no slots, a slip of the pen would make a field that nobody reads."""
    loose = {(file, name) for file, name, options in decorated() if not options.get("slots")}
    assert loose == {("verify/facts.py", "Facts")}  # it keeps what it has looked up
