"""Misspelt words: the known word is proposed in the question, and nothing is taken from it."""

import pytest

from tripplan.files.data_tables import read_catalogue
from tripplan.files.importing.came_to import Doubt, ReadText
from tripplan.files.importing.match import read_text
from tripplan.files.importing.near_words import with_near_words
from tripplan.files.importing.word_book import import_words, word_book

BOOK = word_book(import_words(), read_catalogue()[0], ())


@pytest.mark.parametrize(
    ("said", "word", "known"),
    [
        ("greased tailshafst", "tailshafst", "tailshaft"),
        ("brakse checked", "brakse", "brake"),
        ("gearbx oil", "gearbx", "gearbox"),
    ],
)
def test_the_nearest_known_word_is_proposed(said: str, word: str, known: str) -> None:
    """Otherwise the owner would be told that no word is known, and not see the slip."""
    read = with_near_words(read_text(said, BOOK, False, True), BOOK)
    assert not read.matches
    assert f"{word!r} may be {known!r}" in "; ".join(doubt.why for doubt in read.doubts)


@pytest.mark.parametrize("said", ["leads replaced", "reading", "readings checked", "odometers"])
def test_a_word_of_its_own_is_no_slip(said: str) -> None:
    """Otherwise leads would be told as leaks, and `reading`, which is an act of the history, as greasing."""
    read = with_near_words(read_text(said, BOOK, False, True), BOOK)
    assert "may be" not in "; ".join(doubt.why for doubt in read.doubts)


@pytest.mark.parametrize("said", ["widget", "zzzz", "x" * 300, "oil", ""])
def test_nothing_is_proposed_without_likeness(said: str) -> None:
    """Otherwise every unknown word would be answered with a guess."""
    doubt = Doubt(said, "what work was that?")
    assert with_near_words(ReadText((), (doubt,)), BOOK).doubts == (doubt,)
