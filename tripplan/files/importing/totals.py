"""Lines of totals among the rows: their first cell is a label of a sum, and nothing in them is work."""

import re

from tripplan.files.importing.columns import plain_header
from tripplan.files.importing.headings import GENERAL, words_in
from tripplan.files.importing.known import Known
from tripplan.files.importing.match import read_text
from tripplan.files.importing.raw import RawRow
from tripplan.files.importing.word_book import heading_words

LABEL = re.compile(
    r"(?:(?:grand |sub ?)?totals?|subtotals?|sums?|averages?|(?:carried|brought) (?:over|forward)|[bc] f)\b"
)
OF_SUMS = frozenset(("far", "last", "month", "previous", "so", "spent", "this"))


def is_total(raw: RawRow, known: Known) -> bool:
    """True for a line of sums, or of what is carried over: no date, or said where the date would be, and no work read.

    What only begins like one, such as `Total flush of the brake fluid`, is a row like any other.
    """
    first, dated = raw.cells[0], raw.texts.get("date", "")
    plain = plain_header(first)
    label = LABEL.match(plain)
    if not label or dated not in ("", first):
        return False
    is_alone = OF_SUMS | GENERAL | heading_words() >= set(words_in(LABEL.sub(" ", plain)))
    return is_alone and not any(_names_work(cell, known) for cell in raw.cells[1:])


def _names_work(cell: str, known: Known) -> bool:
    read = read_text(cell, known.book)
    return bool(read.matches) or any(doubt.candidates for doubt in read.doubts)
