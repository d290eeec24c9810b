"""Which rows of the word table a part of a text fits, and which of those fits best."""

from collections.abc import Sequence

from tripplan.files.importing.word_book import WordBook, WordRow, WordRows


def rows_in(tokens: set[str], by_word: WordRows) -> list[WordRow]:
    """Every row all of whose words are there."""
    return [row for token in sorted(tokens) for row in by_word.get(token, ()) if row[0] <= tokens]


def length(rows: Sequence[WordRow], book: WordBook) -> int:
    """How many words for things the longest of the rows has; an act beside them makes no row a better one."""
    return max((len(row[0] - book.acts.keys()) or 1 for row in rows), default=0)


def longest(rows: Sequence[WordRow], book: WordBook) -> list[WordRow]:
    """The rows with most words for things."""
    most = length(rows, book)
    return [row for row in rows if (len(row[0] - book.acts.keys()) or 1) == most]


def beside(odd: Sequence[str], found: Sequence[str], book: WordBook) -> tuple[str, ...]:
    """Of the items found those at the place of every other thing that was recognised: no engine for a gearbox."""
    for token in odd:
        places = {book.known[row[1]].place for rows in book.items.values() for row in rows
                  if token in row[0] and row[1] in book.known}  # fmt: skip
        found = [name for name in found if not places or (name in book.known and book.known[name].place in places)]
    return tuple(found)
