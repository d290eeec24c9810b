"""When the parts of an item can be there: what lies on the shelf or is ordered takes no days of its own.

The shelf is shared out among the items whose parts take days to come. First come those found bad, then those due, then the rest; of these
those whose parts come soonest, then in the order of the tables. An item gets all the parts of its next act or nothing:
with one of them still to be ordered it waits as long as for all. What is ordered counts from the day it comes.
"""

from collections.abc import Mapping, Sequence
from datetime import date

from msgspec.structs import replace

from tripplan.due.standing import Standing
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.shelf import Batch, ShelfRow, batches, take


def with_shelf(
    standings: Sequence[Standing], shelf: Sequence[ShelfRow], catalogue: Catalogue, today: date
) -> tuple[Standing, ...]:
    """The standings, those that the shelf holds the parts of with the days until these are there."""
    left = batches(shelf, catalogue.consumables)
    found: dict[int, Standing] = {}
    turns = sorted(range(len(standings)), key=lambda index: _turn(standings[index]))
    for index in turns if left else ():
        standing = standings[index]
        wanted = ordered_parts(standing.item, catalogue)
        if standing.lead_days > 0 and all(_held(left, what) >= amount for what, amount in wanted.items()):
            last = max(take(left[what], amount, None)[1] for what, amount in wanted.items())
            found[index] = replace(standing, lead_days=max(0.0, float((last - today).days)), is_held=True)
    return tuple(found.get(index, standing) for index, standing in enumerate(standings))


def ordered_parts(item: Item, catalogue: Catalogue) -> dict[str, float]:
    """The parts of one act at one position that have to be ordered, by id."""
    found: dict[str, float] = {}
    for one in item.consumables:
        if one.what in catalogue.stock and catalogue.stock[one.what].is_ordered:
            found[one.what] = found.get(one.what, 0.0) + one.quantity
    return found


def _turn(standing: Standing) -> tuple[bool, bool, float]:
    return standing.bad is None, not standing.overdue, standing.lead_days


def _held(left: Mapping[str, Sequence[Batch]], what: str) -> float:
    return sum(batch.quantity for batch in left.get(what, ()))
