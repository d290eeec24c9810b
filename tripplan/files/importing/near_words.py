"""A misspelt word in a question with the known word it is most like: proposed, never taken."""

import re
from dataclasses import replace
from difflib import get_close_matches

from tripplan.files.importing.match import Doubt, ReadText
from tripplan.files.importing.word_book import WordBook, standard_spelling

WORD = re.compile(r"[a-z]{4,}")
LEAST_LIKE = 0.8
LEAST_LETTERS = 4
MOST_LETTERS = 30


def with_near_words(read: ReadText, book: WordBook) -> ReadText:
    """The same, where a doubt says for each word that is not known which known one it may be."""
    return replace(read, doubts=tuple(_with_near(doubt, book) for doubt in read.doubts)) if read.doubts else read


def _with_near(doubt: Doubt, book: WordBook) -> Doubt:
    meant = []
    for word in dict.fromkeys(WORD.findall(standard_spelling(doubt.part, book))):
        near = (
            ()
            if book.is_word(word) or len(word) > MOST_LETTERS
            else get_close_matches(word, _known(book), 1, LEAST_LIKE)
        )
        meant += [f"{word!r} may be {known!r}" for known in near]
    return replace(doubt, why=f"{doubt.why}; {', '.join(meant)}") if meant else doubt


def _known(book: WordBook) -> tuple[str, ...]:
    """Every single word of the table that a text may hold, in order."""
    key = ("known words", "", False)
    if key not in book.memory:
        single = {word for word in book.spelt if word.isalpha()} | set(book.spelt.values())
        words = {*single, *book.things, *book.acts, *book.sides, *book.findings, *book.wear}
        book.memory[key] = tuple(sorted(word for word in words if word.isalpha() and len(word) >= LEAST_LETTERS))
    found: tuple[str, ...] = book.memory[key]
    return found
