"""Nothing is read back out of a sentence: whoever needs a fact finds a kind, a number or an id in the record."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "tripplan"
ROOMS = ("explain", "sheets", "verify", "web/pages")
TAKEN_APART_BY = {
    "startswith", "endswith", "partition", "rpartition", "split", "rsplit", "removeprefix", "removesuffix",
}  # fmt: skip
# Fields of the plan's records that are sentences, for people alone.
SENTENCES = {
    "why", "cause", "text", "window", "moves", "lubrication", "reason", "reasons", "because_of", "early_signs",
    "act_note", "look_for", "if_found", "if_clean", "words", "likelihood", "what", "where", "told",
}  # fmt: skip
# Module and function where text is taken apart all the same, and why that reads no fact of a plan.
ALLOWED = {
    ("sheets/calendar/file.py", "<module>"): "re: what calendar readers escape differently leaves the name",
    ("sheets/calendar/file.py", "_read_entries"): "a calendar file as it was left, whose summary is all there is",
    ("sheets/field_text.py", "brief"): "a long list cut off for a terminal; nothing hangs on it",
    ("sheets/import_text.py", "_asked"): "the owner's own words are not said twice in a question",
    ("sheets/lists.py", "neutral"): "a cell that a spreadsheet would take for a formula",
    ("sheets/numbers_text.py", "numbers_rows"): "the name of a table as the owner typed it",
    ("sheets/route_text.py", "merged_text"): "columns of the owner's table in miles",
    ("verify/shares.py", "is_overhaul"): "the name of a place in the table of teardowns",
    ("verify/slots.py", "needed_open"): "the name of a place in the table of teardowns",
    ("web/pages/asked_notes.py", "asked_of_ticks"): "keys in a form, made by the page itself",
    ("web/pages/day_work.py", "_own"): "names in a form, made by the page itself",
    ("web/pages/day_work.py", "jobs_for_log"): "keys in a form, made by the page itself",
    ("web/pages/day_work.py", "notes_for_log"): "keys in a form, made by the page itself",
    ("web/pages/day_work.py", "with_form"): "keys in a form, made by the page itself",
    ("web/pages/json_pages.py", "_file"): "the name of a file",
    ("web/pages/record_pages.py", "save_history"): "keys in a form, made by the page itself",
    ("web/pages/trip_pages.py", "answer"): "the path of a page",
}


def readings(source: str) -> Iterator[tuple[str, str]]:
    """Where a module takes text apart, as function and what it does there."""
    tree = ast.parse(source)
    for node, function in _with_function(tree, "<module>"):
        if isinstance(node, ast.Import | ast.ImportFrom) and "re" in _imported(node):
            yield "<module>", "imports re"
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in TAKEN_APART_BY:
            if not _is_folding(node):
                yield function, f".{node.func.attr}() of {ast.unparse(node.func.value)}"
        elif isinstance(node, ast.Compare) and any(map(_looks_into, node.ops, node.comparators)):
            yield function, ast.unparse(node)


def _with_function(node: ast.AST, function: str) -> Iterator[tuple[ast.AST, str]]:
    for child in ast.iter_child_nodes(node):
        inner = child.name if isinstance(child, ast.FunctionDef) else function
        yield child, inner
        yield from _with_function(child, inner)


def _imported(node: ast.Import | ast.ImportFrom) -> tuple[str | None, ...]:
    return (node.module,) if isinstance(node, ast.ImportFrom) else tuple(alias.name for alias in node.names)


def _is_folding(call: ast.Call) -> bool:
    """Splitting at white space alone, as before joining with single spaces."""
    return isinstance(call.func, ast.Attribute) and call.func.attr == "split" and not call.args and not call.keywords


def _looks_into(op: ast.cmpop, right: ast.expr) -> bool:
    """Asking whether a sentence of a record contains something: `"x" in job.why`, `"x" in job["why"]`."""
    name = right.attr if isinstance(right, ast.Attribute) else None
    if isinstance(right, ast.Subscript) and isinstance(right.slice, ast.Constant):
        name = str(right.slice.value)
    return isinstance(op, ast.In | ast.NotIn) and name in SENTENCES


def modules() -> tuple[Path, ...]:
    """Every module that tells, checks or shows a plan."""
    return tuple(sorted(path for room in ROOMS for path in (PACKAGE / room).rglob("*.py")))


@pytest.mark.parametrize("path", modules(), ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_no_fact_is_read_out_of_a_sentence(path: Path) -> None:
    """Otherwise a sentence worded anew would change what a sheet shows or the checker finds."""
    name = path.relative_to(PACKAGE).as_posix()
    found = [(where, what) for where, what in readings(path.read_text("utf-8")) if (name, where) not in ALLOWED]
    assert not found, f"{name}: give the record a kind or a number instead, or say in ALLOWED why not: {found}"


def test_every_exception_is_still_one() -> None:
    """Otherwise the list would go on excusing what somebody writes into the same function later."""
    there = {
        (path.relative_to(PACKAGE).as_posix(), where)
        for path in modules() for where, _ in readings(path.read_text("utf-8"))
    }  # fmt: skip
    assert set(ALLOWED) - there == set()


@pytest.mark.parametrize(
    "line",
    [
        "import re",
        "from re import compile",
        "job.why.removesuffix(' (there)')",
        "act.window.startswith(('within', 'before'))",
        "name.partition(', ')",
        "position.split(' and ')",
        "'crossing at' in job.why",
        "'Found ' not in reason['text']",
    ],
)
def test_the_rule_bites(line: str) -> None:
    """Otherwise it would hold nothing."""
    assert list(readings(f"def told(job):\n    {line}\n"))


@pytest.mark.parametrize(
    "line", ["' '.join(text.split())", "job.kind in KINDS", "'; '.join(texts)", "key in row['about']"]
)
def test_the_rule_leaves_the_rest_alone(line: str) -> None:
    """Otherwise it would be switched off for being in the way."""
    assert not list(readings(f"def told(job):\n    {line}\n"))
