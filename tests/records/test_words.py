"""Every word that is a kind stands once, and the tables speak the same words."""

import ast
from enum import StrEnum
from functools import cache
from pathlib import Path

import pytest

from tripplan.files.data_tables import read_catalogue
from tripplan.files.tables import Table
from tripplan.records import words
from tripplan.records.words import BAD_FINDINGS, FACILITY_RANK, GOOD_FINDINGS, Act, Facility, Finding

ROOT = Path(words.__file__).parents[1]
ENUMS = [
    kind
    for kind in vars(words).values()
    if isinstance(kind, type) and issubclass(kind, StrEnum) and kind is not StrEnum
]


def test_acts_are_the_rows_of_their_table() -> None:
    """Otherwise code would know an act that no row explains, or miss one that an item asks for."""
    catalogue, _ = read_catalogue()
    assert {rule.act for rule in catalogue.acts} == set(Act)
    assert {item.act for item in catalogue.items} <= set(Act)
    assert {rule.act for rule in catalogue.water_rules} <= set(Act)


def test_every_bad_finding_is_put_right_by_some_act_and_no_good_one_is() -> None:
    """Otherwise something found would stay due for ever, whatever is done."""
    catalogue, _ = read_catalogue()
    righted = {finding for rule in catalogue.acts for finding in rule.puts_right or ()}
    assert righted == BAD_FINDINGS
    assert set(Finding) == BAD_FINDINGS | GOOD_FINDINGS
    by_act = {rule.act: rule.puts_right or () for rule in catalogue.acts}
    # a look, a reading and a movement change nothing (common practice, no source)
    assert [by_act[act] for act in (Act.LOOK, Act.MEASURE, Act.EXERCISE)] == [(), (), ()]


def test_facilities_rank_as_they_stand() -> None:
    """Otherwise a camp would be taken for a workshop."""
    assert FACILITY_RANK == {"camp": 1, "town": 2, "workshop": 3}
    assert list(Facility) == sorted(Facility, key=lambda one: FACILITY_RANK[one])


def test_an_override_of_an_act_that_says_nothing_keeps_what_the_act_puts_right() -> None:
    """Otherwise an owner's older copy of the table would make a renewal put nothing right."""
    header = ("act", "words", "done_by", "basis", "source", "locator")
    cells = ("renew", "new part", "renew", "judgement", "none", "my words")
    table = Table(file="overrides/acts.csv", header=header, rows=((2, dict(zip(header, cells, strict=True))),))
    catalogue, problems = read_catalogue({"acts.csv": table})
    assert problems == ()
    assert {rule.act: rule.puts_right for rule in catalogue.acts}["renew"] == (
        "worn",
        "failed",
        "water",
        "contaminated",
    )


@cache
def _tuples(path: Path) -> list[tuple[str, ...]]:
    """Every literal collection of words in a module."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    types = {id(node.slice) for node in ast.walk(tree) if isinstance(node, ast.Subscript)}  # words of one column
    found = []
    for node in ast.walk(tree):
        if isinstance(node, (ast.Tuple, ast.List, ast.Set)) and id(node) not in types:
            parts = [part.value for part in node.elts if isinstance(part, ast.Constant) and isinstance(part.value, str)]
            if len(parts) == len(node.elts):
                found.append(tuple(parts))
    return found


@pytest.mark.parametrize("kind", ENUMS, ids=lambda kind: kind.__name__)
def test_no_second_list_of_the_same_words(kind: type[StrEnum]) -> None:
    """Otherwise two lists of one kind drift apart, as those of the acts that put right once did."""
    members = set(kind)
    twins = [
        (str(path.relative_to(ROOT)), words)
        for path in sorted(ROOT.rglob("*.py"))
        for words in _tuples(path)
        if len(words) > 2 and set(words) <= members
    ]
    assert twins == []
