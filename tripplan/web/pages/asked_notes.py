"""Words of wear in a note that has no finding beside it: one question each, with the finding they propose."""

from collections.abc import Iterable, Mapping

from tripplan.files.importing.findings import proposed_finding
from tripplan.files.importing.word_book import import_words, word_book
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import HistoryRow
from tripplan.web.pages.day_work import MARK
from tripplan.web.saves.memory import Tick


def asked_of_ticks(ticks: Mapping[str, Tick], catalogue: Catalogue) -> tuple[str, ...]:
    """Questions about the notes of what is ticked off, each about its own job."""
    notes = [
        (key.split(MARK)[1], tick.note) for key, tick in ticks.items() if tick.done and tick.note and not tick.finding
    ]
    return _asked(notes, catalogue)


def asked_of_rows(rows: Iterable[HistoryRow], catalogue: Catalogue) -> tuple[str, ...]:
    """Questions about the notes of rows of the history."""
    return _asked([(row.item, row.note) for row in rows if row.item and row.note and not row.finding], catalogue)


def _asked(notes: Iterable[tuple[str, str]], catalogue: Catalogue) -> tuple[str, ...]:
    book = word_book(import_words(), catalogue, ())
    found = []
    for name, note in notes:
        item, (word, proposed) = catalogue.find(name), proposed_finding(note, book)
        if proposed:
            thing = item.name if item else name
            found.append(
                f"{thing}: the note says {word!r}; was the finding {proposed}? If so, put it into the row's finding."
            )
    return tuple(dict.fromkeys(found))
