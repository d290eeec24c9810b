"""Looking things up in the records: an item by its name, the history rows that count, fixed words."""

from collections.abc import Iterable

from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import HistoryRow
from tripplan.records.words import WITHOUT_ITEM as WITHOUT_ITEM
from tripplan.records.words import Line

READING, ODOMETER_REPLACED, SERVICE = Line
EVERY_POSITION = "both"
MOST_KM_A_DAY = 3000.0
HALF_TYRE_POINTS = ("hub_centre", "axle_centre")
ROOF = "roof"


def item_index(catalogue: Catalogue) -> dict[str, Item]:
    """Items by id, by plain name, with or without what the name has in brackets, and by short name.

    Keys are in lower case. A name that two items share is left out: it names neither.
    """
    index: dict[str, Item] = {}
    shared: set[str] = set()
    for item in catalogue.items:
        name = item.name.strip().casefold()
        for key in {name, name.partition(" (")[0], item.said.casefold()}:
            if index.setdefault(key, item) is not item:
                shared.add(key)
    plain = {key: item for key, item in index.items() if key not in shared}
    return plain | {item.id: item for item in catalogue.items}


def resolve_item(catalogue: Catalogue, text: str) -> Item | None:
    """The item meant by its id or its plain name, without regard to case; None if unknown."""
    return item_index(catalogue).get(text.strip().casefold())


def without_duplicates(rows: Iterable[HistoryRow]) -> tuple[HistoryRow, ...]:
    """The rows that count: none struck out, none that repeats an earlier one in every fact."""
    first: dict[tuple[object, ...], HistoryRow] = {}
    for row in (row for row in rows if row.undone is None):
        first.setdefault(facts_of(row), row)
    return tuple(first.values())


def facts_of(row: HistoryRow) -> tuple[object, ...]:
    """Everything a row says, without where it stands: two equal ones tell the same."""
    return tuple(value for name, value in row if name != "origin")
