"""Reading the service history: when was this act last done here, and what was found.

Acts nest. A greater act of the same item does the lesser one (a repack is also a look), a
service sheet does the acts of its items, and an item that covers another does it on the way
(a knuckle rebuild is also a bearing play check). A row for one side never counts for the other.
"""

from collections.abc import Iterator, Sequence
from datetime import date

from msgspec import Struct

from tripplan.records.catalogue import Catalogue, Item, ServiceSheet
from tripplan.records.facts_in import HistoryRow
from tripplan.records.grouped import grouped
from tripplan.records.lookups import SERVICE, item_index
from tripplan.records.words import BAD_FINDINGS, WITHOUT_ITEM

BOTH = ("both", "all")


class Done(Struct, frozen=True):
    """The last time an act was done: day, row, and the item whose act did it."""

    day: date
    row: HistoryRow
    by: Item


class History(Struct, frozen=True):
    """All work rows, indexed by unit and item, and which items do which others; none is of a later day than `until`.

    `ends` are the acts that put a finding right at an item, by item and finding.
    """

    rows: dict[tuple[str, str], tuple[HistoryRow, ...]]
    covered_by: dict[str, tuple[Item, ...]]
    done_by: dict[str, frozenset[str]]
    ends: dict[tuple[str, str], frozenset[str]]
    until: date

    def last_done(self, item: Item, unit_id: str, position: str | None) -> Done | None:
        """The latest row that does this item's act at this position; None = no record."""
        bearing = self._bearing(item, unit_id, position)
        found = [Done(row.date, row, by) for row, by in bearing if self.does(row.act, by.act)]
        return max(found, key=lambda done: when(done.row), default=None)

    def does(self, act_done: str, act_wanted: str) -> bool:
        """True when the act done is the wanted one, does it on the way, or is a service sheet's."""
        return act_done in (act_wanted, SERVICE) or act_done in self.done_by.get(act_wanted, frozenset())

    def cures(self, row: HistoryRow, item: Item, finding: str) -> bool:
        """True when what a row did puts such a finding right; a service sheet does the item's own act."""
        act = item.act if row.act == SERVICE else row.act
        return act in self.ends.get((item.id, finding), frozenset())

    def findings(self, item: Item, unit_id: str, position: str | None) -> list[HistoryRow]:
        """The rows of this item here that say what was found, the latest first."""
        own = self.rows.get((unit_id, item.id), ())
        rows = [row for row in own if row.finding and _meets(row.position, position, item.positions)]
        return sorted(rows, key=when, reverse=True)

    def last_finding(self, item: Item, unit_id: str, position: str | None) -> HistoryRow | None:
        """The latest row of this item here that says what was found."""
        return next(iter(self.findings(item, unit_id, position)), None)

    @staticmethod
    def at(row: HistoryRow, position: str | None) -> bool:
        """True when a row speaks of this position, or of all."""
        return row.position is None or row.position in BOTH or row.position == position

    def of_item(self, item: Item, unit_id: str, position: str | None) -> tuple[HistoryRow, ...]:
        """All rows that bear on this item position, its own and those covering it, as they happened."""
        rows = [row for row, _ in self._bearing(item, unit_id, position)]
        return tuple(sorted(rows, key=when))

    def _bearing(self, item: Item, unit_id: str, position: str | None) -> Iterator[tuple[HistoryRow, Item]]:
        """Rows of the item and of what covers it, with the item whose row it is."""
        for by in (item, *self.covered_by.get(item.id, ())):
            for row in self.rows.get((unit_id, by.id), ()):
                if _meets(row.position, position, by.positions):
                    yield row, by


def when(row: HistoryRow) -> tuple[date, int]:
    """Sorts rows as they happened: by day, and on one day as they stand in the book, the row further down the later.

    The odometer has no say in it: rows of one day often carry none, and one that does would pass for later
    than all that do not.
    """
    return (row.date, row.origin.row or 0)


def read_history(rows: Sequence[HistoryRow], catalogue: Catalogue) -> History:
    """Index the history once, so that each item finds its rows at once."""
    meant: dict[str, tuple[str, ...]] = {name: (item.id,) for name, item in item_index(catalogue).items()}
    meant |= {sheet.id: sheet_items(sheet, catalogue) for sheet in catalogue.services}
    work = [row for row in rows if row.item is not None and row.act not in WITHOUT_ITEM]
    indexed = grouped(
        ((row.unit, item), row) for row in work for item in meant.get((row.item or "").strip().casefold(), ())
    )
    return History(
        rows={key: tuple(found) for key, found in indexed.items()},
        covered_by=covering(catalogue.items),
        done_by={rule.act: frozenset(rule.done_by) for rule in catalogue.acts},
        ends={
            (item.id, finding): _ending(item, finding, catalogue)
            for item in catalogue.items
            for finding in sorted(BAD_FINDINGS)
        },
        until=max((row.date for row in rows), default=date.min),
    )


def _ending(item: Item, finding: str, catalogue: Catalogue) -> frozenset[str]:
    """The acts that put such a finding right at this item: its remedy's and greater ones; without a remedy those of `acts.csv`."""
    remedy = catalogue.remedy(item, finding)
    if remedy is None or not remedy.act:
        return catalogue.puts_right(finding)
    return catalogue.acts_doing.get(remedy.act, frozenset((remedy.act,)))


def sheet_items(sheet: ServiceSheet, catalogue: Catalogue) -> tuple[str, ...]:
    """Ids of all items a service sheet does, those of the sheets it includes among them.

    An annual service includes the semi-annual, a biennial both (TM 9-2320-387-24-1, para 2-9).
    """
    by_id = {known.id: known for known in catalogue.services}
    nested = [sheet_items(by_id[name], catalogue) for name in sheet.includes]
    return tuple(dict.fromkeys([*sheet.items, *(item for items in nested for item in items)]))


def covering(items: Sequence[Item]) -> dict[str, tuple[Item, ...]]:
    """For each item, the items whose act does it on the way, at any depth of nesting."""
    by_id = {item.id: item for item in items}
    found: dict[str, list[Item]] = {}
    for item in items:
        seen: set[str] = {item.id}
        queue = list(item.covers)
        while queue:
            name = queue.pop()
            if name not in seen and name in by_id:
                seen.add(name)
                found.setdefault(name, []).append(item)
                queue += by_id[name].covers
    return {name: tuple(sorted(given, key=lambda item: item.id)) for name, given in found.items()}


def _meets(row_position: str | None, wanted: str | None, by: Sequence[str]) -> bool:
    """A row without a side counts for all; a one-sided row never for a whole-unit item."""
    if row_position is None or row_position in BOTH:
        return True
    if wanted is None:
        return not by
    return row_position == wanted
