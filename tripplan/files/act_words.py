"""Which act a word means at an item: one rule for `log`, for the table of the history and for an import."""

from collections.abc import Iterable, Sequence

from tripplan.files.importing.match import act_of, read_text
from tripplan.files.importing.word_book import import_words, word_book
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import HistoryRow, Unit
from tripplan.records.lookups import SERVICE, WITHOUT_ITEM, resolve_item


def act_meant(text: str, name: str, units: Sequence[Unit], catalogue: Catalogue) -> str:
    """The act that a word means at an item: greased is grease, rotate at the tyres is adjust; else the text as it is.

    A word is taken as an old table's would be, and only where it can mean one act of that item.
    """
    word, item = text.strip().lower(), resolve_item(catalogue, name)
    if item is None or word in _acts(catalogue):
        return text
    if word == item.verb:
        return item.act
    book = word_book(import_words(), catalogue, units)
    matches = read_text(f"{word} {item.said}", book).matches
    read = {match.act for match in matches if match.item == item.id}
    return next(iter(read)) if len(matches) == len(read) == 1 else act_of(word, book) or text


def with_acts_meant(
    rows: Iterable[HistoryRow], units: Sequence[Unit], catalogue: Catalogue
) -> tuple[HistoryRow, ...]:  # fmt: skip
    """The rows of a table with the acts that their words mean; a word that means none stays, and is refused later."""
    every, known = tuple(rows), _acts(catalogue)
    open_ = {(row.act, row.item) for row in every if row.item and row.act not in known}
    meant = {(act, item): act_meant(act, item, units, catalogue) for act, item in open_}
    return tuple(_with_act(row, meant.get((row.act, row.item or ""), row.act)) for row in every)


def _with_act(row: HistoryRow, act: str) -> HistoryRow:
    return row if row.act == act else row.model_copy(update={"act": act})


def _acts(catalogue: Catalogue) -> frozenset[str]:
    return frozenset((*(rule.act for rule in catalogue.acts), *WITHOUT_ITEM, SERVICE))
