"""What was found bad at an item that the owner leaves out: no plan puts it right, so it is said who does."""

from collections import Counter
from collections.abc import Iterator

from tripplan.due.faults import found_bad
from tripplan.due.standing import Situation
from tripplan.explain.naming import is_one_unit, named, seen_words
from tripplan.records.catalogue import Item
from tripplan.records.facts_in import HistoryRow, Unit
from tripplan.records.grouped import grouped
from tripplan.records.plain_words import day_and_month, sides
from tripplan.records.plan import FOUND_BAD, PlanWarning, Thing

Found = tuple[Unit, Item, str | None, HistoryRow]


def left_to_others(s: Situation) -> list[PlanWarning]:
    """One warning for all of it, with what was found and the owner's word for leaving it out; none where nothing is bad."""
    found = list(_found(s))
    held = Counter((item.id, row.origin) for _, item, _, row in found)
    told = grouped(
        ((item.said, unit.id, _words(item, unit, row, None if held[item.id, row.origin] > 1 else side)), side)
        for unit, item, side, row in found
    )
    alone = is_one_unit(s.rig)
    texts = [f"{named(name, unit, alone, sides(own))}, {what}" for (name, unit, what), own in told.items()]
    about = tuple(Thing(item=item.id, unit=unit.id, position=side) for unit, item, side, _ in found)
    text = f"Found bad and left out of this plan, so not put right by it: {'; '.join(texts)}."
    return [PlanWarning(kind=FOUND_BAD, text=text, about=about)] if found else []


def _words(item: Item, unit: Unit, row: HistoryRow, side: str | None) -> str:
    return f"found {seen_words(row, side)} on {day_and_month(row.date)}, {item.left_out_on(unit)}"


def _found(s: Situation) -> Iterator[Found]:
    """Every bad finding that nothing has put right, at what the owner leaves out."""
    for unit in s.rig.units:
        for item in s.catalogue.items:
            if item.left_out_on(unit) and item.belongs_to(unit):
                for side in item.positions or (None,):
                    bad = found_bad((unit, item, side), s.history, s.catalogue)
                    if bad is not None:
                        yield unit, item, side, bad[0]
