"""Findings in the words people use: sure where the words are the trade's own, else proposed."""

import re

from tripplan.files.importing.clauses import AMOUNT
from tripplan.files.importing.word_book import WordBook, standard_spelling

WORD = re.compile(r"[a-z][a-z'-]*")
NOT = frozenset(("no", "not", "never", "without", "nothing", "none", "isn't", "wasn't", "aren't"))
BEFORE = 2
BENIGN = ("as new", "serviceable")


def finding_of(text: str, book: WordBook) -> tuple[str | None, str]:
    """The finding a cell of findings holds, and the one it only proposes; neither where no word of it is known."""
    plain = text.strip().casefold()
    if not plain:
        return None, ""
    if plain in book.findings:
        return book.findings[plain], ""
    tokens = WORD.findall(AMOUNT.sub(" ", standard_spelling(plain, book)))
    found = {book.findings[token] for token in tokens if token in book.findings}
    rest = [
        token
        for token in tokens
        if token not in book.findings and token not in book.fillers and token not in book.sides
    ]
    is_share = any(map(str.isdigit, plain))  # `50 % worn`, `2 were loose`
    if len(found) == 1 and not rest:
        only = next(iter(found))
        return (only, "") if only in BENIGN or not is_share else (None, only)
    return None, proposed_finding(text, book)[1]


def proposed_finding(text: str, book: WordBook) -> tuple[str, str]:
    """The first word of wear in a note, and the finding it proposes; empty where there is none.

    `not worn` and `no play` propose nothing.
    """
    tokens = WORD.findall(standard_spelling(text, book))
    for spot, token in enumerate(tokens):
        if token in book.noted and not NOT & set(tokens[max(spot - BEFORE, 0) : spot]):
            return _as_written(token, book), book.noted[token]
    return "", ""


def _as_written(token: str, book: WordBook) -> str:
    """The word of the table with its spaces, where it has several."""
    return next((words for words in book.noted if " " in words and words.replace(" ", "") == token), token)
