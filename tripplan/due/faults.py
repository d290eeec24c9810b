"""What was found bad and is not put right since: here, on the other side of the axle, or where it is seen for this item."""

from collections.abc import Iterator
from typing import TypeAlias

from tripplan.due.remedies import done_by, is_for_both_sides
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import HistoryRow, Unit
from tripplan.records.lookups import SERVICE
from tripplan.records.words import BAD_FINDINGS, ENTERED_FINDINGS
from tripplan.wear.last_done import History, when

ItemAt: TypeAlias = tuple[Unit, Item, str | None]


def found_bad(at: ItemAt, history: History, catalogue: Catalogue) -> tuple[HistoryRow, Item] | None:
    """What was found bad and is to be put right here, and the item at which it was seen.

    Here, on the other side where it counts here too, or at an item whose findings the job of this one puts right.
    """
    unit, item, position = at
    own = _not_put_right(at, history)
    if own is not None:
        return (own, item) if _is_done_here(own, at, catalogue) else None
    last = history.last_finding(item, unit.id, position)
    others = (history.last_finding(item, unit.id, side) for side in item.positions if side != position)
    bad = (row for row in others if row is not None and row.finding in BAD_FINDINGS)
    there = next((row for row in bad if _counts_here(row, last, at, history, catalogue)), None)
    return next(_sent_here(at, history, catalogue), None) if there is None else (there, item)


def _is_done_here(bad: HistoryRow, at: ItemAt, catalogue: Catalogue) -> bool:
    """True where the item itself is what such a finding calls for, and not another."""
    unit, item, _ = at
    return done_by(item, bad.finding or "", unit, catalogue) is item


def _not_put_right(at: ItemAt, history: History) -> HistoryRow | None:
    """The latest bad finding here that no act has put right and no later look has found good."""
    unit, item, position = at
    for row in history.findings(item, unit.id, position):
        if row.finding not in BAD_FINDINGS:
            return None
        if not _cured(row, at, history):
            return row
    return None


def _sent_here(at: ItemAt, history: History, catalogue: Catalogue) -> Iterator[tuple[HistoryRow, Item]]:
    """What was found bad at other items of the unit, and is put right by the job of this one."""
    unit, item, position = at
    for seen_at in catalogue.sending.get(item.id, ()):
        for side in seen_at.positions or (None,):
            is_here = None in (side, position) or side == position
            bad = _not_put_right((unit, seen_at, side), history) if is_here else None
            if bad is None or done_by(seen_at, bad.finding or "", unit, catalogue) is not item:
                continue
            rows = (row for row in history.of_item(item, unit.id, position) if when(row) > when(bad))
            if not any(history.cures(row, item, bad.finding or "") for row in rows):
                yield bad, seen_at


def _counts_here(
    other: HistoryRow, own: HistoryRow | None, at: ItemAt, history: History, catalogue: Catalogue
) -> bool:  # fmt: skip
    """True when what was found bad on another side is to be put right here as well.

    Water or dirt, until this side is opened; what is put right on both sides of an axle, until it was done here too,
    or was settled there by the item's own act, such as adjusting.
    """
    unit, item, _ = at
    if not _is_done_here(other, at, catalogue):
        return False
    if is_for_both_sides(item, other.finding or "", catalogue):
        there = _put_right_since(other, (unit, item, other.position), history)
        return not _put_right_since(other, at, history) and not any(row.act in (item.act, SERVICE) for row in there)
    entered = other.finding in ENTERED_FINDINGS and (own is None or other.date > own.date)
    return entered and not _cured(other, at, history)


def _put_right_since(bad: HistoryRow, at: ItemAt, history: History) -> list[HistoryRow]:
    """Rows of that day or later that put such a finding right here."""
    unit, item, position = at
    rows = history.of_item(item, unit.id, position)
    return [row for row in rows if row.date >= bad.date and history.cures(row, item, bad.finding or "")]


def _cured(bad: HistoryRow, at: ItemAt, history: History) -> bool:
    """True when an act that puts such a finding right was done in the same row or later."""
    unit, item, position = at
    rows = [row for row in history.of_item(item, unit.id, position) if when(row) > when(bad)]
    if history.at(bad, position):
        rows.append(bad)
    return any(history.cures(row, item, bad.finding or "") for row in rows)
