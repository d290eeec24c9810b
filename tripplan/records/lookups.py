"""Looking things up in the records: an item by its name, the history rows that count, fixed words."""

from collections.abc import Collection, Iterable, Mapping

from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import HistoryRow
from tripplan.records.words import LOOKS, Line
from tripplan.records.words import WITHOUT_ITEM as WITHOUT_ITEM

READING, ODOMETER_REPLACED, SERVICE = Line
EVERY_POSITION = "both"
MOST_KM_A_DAY = 3000.0
HUB_CENTRE, INTAKE_MOUTH = "hub_centre", "intake_mouth"
HALF_TYRE_POINTS = (HUB_CENTRE, "axle_centre")
ROOF = "roof"
MOST_LIKE = 4


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


def items_like(items: Iterable[Item], text: str, act: str, does: Mapping[str, Collection[str]]) -> tuple[str, ...]:
    """Ids and names of items with every word of the text in them, first those whose own act this is, or is done by it.

    Who renewed something meant no look at it, though a look is done on the way.
    """
    words = _words(text)
    found = [item for item in items if words and words <= _words(f"{item.id} {item.name}")]
    found.sort(key=lambda item: (
        act not in does.get(item.act, ()), (item.act in LOOKS) != (act in LOOKS), len(item.name), item.id,
    ))  # fmt: skip
    return tuple(f"{item.id} ({item.name})" for item in found[:MOST_LIKE])


def _words(text: str) -> frozenset[str]:
    return frozenset("".join(mark if mark.isalnum() else " " for mark in text.casefold()).split())


def without_duplicates(rows: Iterable[HistoryRow]) -> tuple[HistoryRow, ...]:
    """The rows that count: none struck out, none that repeats an earlier one in every fact."""
    first: dict[tuple[object, ...], HistoryRow] = {}
    for row in (row for row in rows if row.undone is None):
        first.setdefault(facts_of(row), row)
    return tuple(first.values())


def facts_of(row: HistoryRow) -> tuple[object, ...]:
    """Everything a row says, without where it stands: two equal ones tell the same."""
    return tuple(value for name, value in row if name != "origin")
