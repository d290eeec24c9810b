"""What puts a bad finding right where the item's own act does not.

Grease does not mend a worn joint, and a look mends nothing: then the job is that of `remedies.csv`, with its own minutes and
the parts on the list, on both sides of the axle where the row says so. What is seen at one item may be put right by the job
of another: milky oil at a level plug by the oil change, play of a wheel by opening the hub.
"""

from collections.abc import Iterable

from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import FACILITY_RANK, HistoryRow, Unit
from tripplan.records.item_cells import Amount
from tripplan.records.mending import Remedy

IN_A_SLOT = "service"


def remedied(item: Item, bad: HistoryRow | None, seen_at: Item, catalogue: Catalogue) -> Item:
    """The item as it is next to be done: as its remedy says, after a finding `seen_at` it or at what sends it here."""
    if bad is None:
        return item
    finding = bad.finding or ""
    sent = None if seen_at is item else catalogue.remedy(seen_at, finding)
    remedy = catalogue.remedy(item, finding)
    own = remedy if remedy is not None and remedy.act else None
    if sent is None and own is None:
        return item
    notes = (*(row.words for row in (sent, own) if row is not None), item.act_note)
    told = item.model_copy(update={"act_note": "; ".join(filter(None, notes)), "rhythm": IN_A_SLOT})
    return told if own is None else _with(told, own)


def _with(item: Item, remedy: Remedy) -> Item:
    """The item with the act of its remedy, and all that this takes."""
    act = remedy.act
    is_other = act != item.act
    return item.model_copy(
        update={
            "act": act,
            "verb": "" if is_other else item.verb,
            "short": (act == "renew" and item.mended) or item.short,
            "minutes": remedy.minutes or item.minutes,
            "state": remedy.state or item.state,
            "facility": max(item.facility, remedy.facility or item.facility, key=lambda name: FACILITY_RANK[name]),
            "consumables": _together(item.consumables, remedy.consumables),
            "follow_ups": tuple(dict.fromkeys((*item.follow_ups, *remedy.follow_ups))),
            "parts_lead_days": max(item.parts_lead_days, remedy.parts_lead_days),
        }
    )


def done_by(seen_at: Item, finding: str, unit: Unit, catalogue: Catalogue) -> Item:
    """The item whose job puts such a finding right on this unit."""
    remedy = catalogue.remedy(seen_at, finding)
    known = (catalogue.find(name) for name in (remedy.by if remedy else ()))
    return next((item for item in known if item is not None and item.fits(unit)), seen_at)


def is_for_both_sides(item: Item, finding: str, catalogue: Catalogue) -> bool:
    """True when such a finding on one side is put right on both, as at brakes (common practice, no source)."""
    remedy = catalogue.remedy(item, finding)
    return remedy is not None and remedy.sides == "both"


def _together(own: Iterable[Amount], more: Iterable[Amount]) -> tuple[Amount, ...]:
    """What the item uses up itself and what its remedy does; of the same thing what the remedy says."""
    return tuple({amount.what: amount for amount in (*own, *more)}.values())
