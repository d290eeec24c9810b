"""What puts a bad finding right where the item's own act does not.

Grease does not mend a worn joint, and a look mends nothing: then the job is that of the item's
family in `remedies.csv`, with its own minutes and the part on the list, at the same place, and on
both sides of the axle where the row says so.
"""

from tripplan.records.catalogue import Catalogue, Item, Remedy
from tripplan.records.facts_in import FACILITY_RANK, HistoryRow
from tripplan.records.item_cells import Amount


def remedied(item: Item, bad: HistoryRow | None, catalogue: Catalogue) -> Item:
    """The item as it is next to be done: with the act of its remedy after a finding its own act leaves as it is."""
    if bad is None or bad.finding in _rights(item.act, catalogue):
        return item
    remedy = _remedy_of(item, catalogue)
    if remedy is None:
        return item
    return item.model_copy(
        update={
            "act": remedy.act,
            "verb": "",
            "short": item.mended or item.short,
            "act_note": "; ".join(text for text in (remedy.words, item.act_note) if text),
            "minutes": remedy.minutes,
            "facility": max(item.facility, remedy.facility, key=lambda name: FACILITY_RANK[name]),
            "consumables": (*item.consumables, Amount(remedy.consumable, 1.0)),
            "parts_lead_days": max(item.parts_lead_days, remedy.parts_lead_days),
        }
    )


def is_for_both_sides(item: Item, catalogue: Catalogue) -> bool:
    """True when what is found on one side is put right on both, as at brakes (common practice, no source)."""
    remedy = _remedy_of(item, catalogue)
    return remedy is not None and remedy.sides == "both"


def _remedy_of(item: Item, catalogue: Catalogue) -> Remedy | None:
    return next((row for row in catalogue.remedies if row.family == item.family), None)


def _rights(act: str, catalogue: Catalogue) -> tuple[str, ...]:
    return next((rule.puts_right or () for rule in catalogue.acts if rule.act == act), ())
