"""Grease thickeners against each other, cell by cell.

Read: US Bureau of Reclamation, FIST 2-4, November 1990, Table 2 (public domain), all 81 cells.
The wider chart of the trade is from memory and only checked for what makes it differ.
"""

from itertools import product

import pytest

from tripplan.files.data_tables import read_catalogue
from tripplan.grease.mixing import OF_RATING, PURGE, STRIP, VERDICTS
from tripplan.records.lubricants import RATINGS, THICKENERS, PairRating, ratings_of

NAMES = {
    "Na": "sodium", "AlX": "aluminium complex", "Ba": "barium", "Ca": "calcium", "CaX": "calcium complex",
    "Clay": "clay", "Li": "lithium", "LiX": "lithium complex", "PU": "polyurea",
}  # fmt: skip
LETTERS = {"C": "compatible", "B": "borderline", "I": "incompatible"}
PRINTED = """
        Na AlX Ba Ca CaX Clay Li LiX PU
Na      C  I   I  I  I   I    I  I   I
AlX     I  C   I  I  I   I    B  C   I
Ba      I  I   C  I  I   I    I  I   I
Ca      I  I   I  C  I   I    B  C   I
CaX     I  I   I  I  C   I    I  I   I
Clay    I  I   I  I  I   B    I  I   I
Li      I  B   I  B  I   I    C  C   I
LiX     I  C   I  C  I   I    C  C   I
PU      I  I   I  I  I   I    I  I   C
"""
HEAD, *BODY = [line.split() for line in PRINTED.strip().splitlines()]
CELLS = [(row[0], column, letter) for row in BODY for column, letter in zip(HEAD, row[1:], strict=True)]
PAIRS = read_catalogue()[0].thickener_pairs


def of_chart(one: str, other: str, chart: str) -> list[PairRating]:
    """What one chart holds on two thickeners."""
    return [row for row in ratings_of(one, other, PAIRS) if row.chart == chart]


@pytest.mark.parametrize(("row", "column", "letter"), CELLS)
def test_each_cell(row: str, column: str, letter: str) -> None:
    """A wrong cell would let two greases meet that turn to soup, or strip a hub for nothing."""
    [held] = of_chart(NAMES[row], NAMES[column], "fist_2_4")
    assert held.rating == LETTERS[letter] and held.basis == "published" and held.source == "fist_2_4"


def test_the_chart_is_whole() -> None:
    """A row too many or too few would be a rating that nobody printed."""
    assert len(CELLS) == 81
    assert len([row for row in PAIRS if row.chart == "fist_2_4"]) == 45


def test_clay_with_clay_is_only_borderline() -> None:
    """The same word on two tins would pass for the same grease."""
    assert [row.rating for row in of_chart("clay", "clay", "fist_2_4")] == ["borderline"]


@pytest.mark.parametrize(
    ("one", "other", "worst"),
    [("aluminium complex", "lithium", STRIP), ("calcium", "clay", STRIP), ("calcium complex", "lithium complex", STRIP),
     ("calcium", "lithium", PURGE), ("calcium sulfonate", "lithium", PURGE)],
)  # fmt: skip
def test_charts_that_differ(one: str, other: str, worst: str) -> None:
    """Taking the kinder of two charts would bet the hub on whichever maker printed it."""
    words = [OF_RATING[row.rating] for row in ratings_of(one, other, PAIRS)]
    assert max(words, key=VERDICTS.index) == worst


def test_symmetric_for_every_pair() -> None:
    """The answer would hang on which grease was named first."""
    for one, other in product(THICKENERS, repeat=2):
        assert ratings_of(one, other, PAIRS) == ratings_of(other, one, PAIRS)


def test_pairs_are_in_order_and_rated_with_known_words() -> None:
    """A pair written the other way round could be there twice with two ratings."""
    for row in PAIRS:
        assert row.family_a <= row.family_b and row.rating in RATINGS
