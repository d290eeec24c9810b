"""Misspelt words: a question says which known word one may be; nothing is taken from it."""

import re
from collections.abc import Iterator
from difflib import get_close_matches

from msgspec.structs import replace

from tripplan.files.importing.came_to import Doubt, ReadText
from tripplan.files.importing.word_book import WordBook, as_written, heading_words
from tripplan.records.lookups import SERVICE, WITHOUT_ITEM

WORD = re.compile(r"[a-z][a-z'-]*")
LEAST_LIKE = 0.81  # of five letters one exchanged is 0.8: leads and leaks, bolts and belts are two words
LETTERS = range(4, 31)


def with_near_words(read: ReadText, book: WordBook) -> ReadText:
    """The same, where a doubt says for each word that is not known which known one it may be."""
    return replace(read, doubts=tuple(_with_near(doubt, book) for doubt in read.doubts)) if read.doubts else read


def _with_near(doubt: Doubt, book: WordBook) -> Doubt:
    meant = [
        f"{word!r} may be {known!r}"
        for word in dict.fromkeys(_unknown(doubt.part, book))
        for known in get_close_matches(word, _known(book), 1, LEAST_LIKE)
    ]
    return replace(doubt, why=f"{doubt.why}; {', '.join(meant)}") if meant else doubt


def _unknown(text: str, book: WordBook) -> Iterator[str]:
    """The words that stand in the text as they are and say nothing to anybody here."""
    said = as_written(text, book)
    for match in WORD.finditer(said.plain):
        word = match.group()
        is_own = said.own(*match.span()).lower() == word
        if is_own and len(word) in LETTERS and not book.is_word(word) and word not in _no_slips(book):
            yield word


def _no_slips(book: WordBook) -> frozenset[str]:
    """Words that are known elsewhere: acts of the history and names of columns."""
    return heading_words() | {word for act in (*book.does, *WITHOUT_ITEM, SERVICE) for word in act.split()}


def _known(book: WordBook) -> tuple[str, ...]:
    """Every single word of the table that a text may hold, in order."""
    key = ("known words", "", False)
    if key not in book.memory:
        single = {word for word in book.spelt if word.isalpha()}
        words = {*single, *book.things, *book.acts, *book.sides, *book.findings, *book.wear}
        book.memory[key] = tuple(sorted(word for word in words if word.isalpha() and len(word) in LETTERS))
    found: tuple[str, ...] = book.memory[key]
    return found
