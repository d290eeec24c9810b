"""What was found bad and is not put right since: here, on the other side of the axle, or where it is seen for this item."""

from collections.abc import Iterator, Sequence
from itertools import takewhile
from typing import TypeAlias

from tripplan.due.remedies import done_by, is_for_both_sides, remedied
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import HistoryRow, Unit
from tripplan.records.lookups import SERVICE
from tripplan.records.words import BAD_FINDINGS, ENTERED_FINDINGS
from tripplan.wear.last_done import History, when

ItemAt: TypeAlias = tuple[Unit, Item, str | None]


def found_bad(at: ItemAt, history: History, catalogue: Catalogue) -> tuple[HistoryRow, Item] | None:
    """What was found bad and is to be put right here, and the item at which it was seen.

    Here, on the other side where it counts here too, or at an item whose findings the job of this one puts right. Of several
    the latest here, or what asks for a greater act that does its job too.
    """
    item, own = at[1], list(_not_put_right(at, history))
    here = [row for row in own if _is_done_here(row, at, catalogue)]
    rows = [*here, *_on_other_sides(at, history, catalogue, bool(own))]
    if rows:
        return _asking_most(rows, item, catalogue), item
    return None if own else next(_sent_here(at, history, catalogue), None)


def _on_other_sides(at: ItemAt, history: History, catalogue: Catalogue, is_bad_here: bool) -> Iterator[HistoryRow]:
    """What was found on another side and is to be put right here too; where this side is bad itself, only what is for both."""
    unit, item, position = at
    last = history.last_finding(item, unit.id, position)
    for side in item.positions:
        for row in () if side == position else _bad((unit, item, side), history):
            is_asked = not is_bad_here or is_for_both_sides(item, row.finding or "", catalogue)
            if is_asked and _counts_here(row, last, at, history, catalogue):
                yield row


def _asking_most(rows: Sequence[HistoryRow], item: Item, catalogue: Catalogue) -> HistoryRow:
    """The first of these, or a later one whose act does that of the first as well."""
    found = rows[0]
    for row in rows[1:]:
        now, more = (remedied(item, one, item, catalogue).act for one in (found, row))
        if more != now and more in catalogue.acts_doing.get(now, ()):
            found = row
    return found


def _is_done_here(bad: HistoryRow, at: ItemAt, catalogue: Catalogue) -> bool:
    """True where the item itself is what such a finding calls for, and not another."""
    unit, item, _ = at
    return done_by(item, bad.finding or "", unit, catalogue) is item


def _bad(at: ItemAt, history: History) -> Iterator[HistoryRow]:
    """The bad findings here, the latest first, that no later look has found good."""
    unit, item, position = at
    return takewhile(lambda row: row.finding in BAD_FINDINGS, history.findings(item, unit.id, position))


def _not_put_right(at: ItemAt, history: History) -> Iterator[HistoryRow]:
    """Of those the ones that no act has put right."""
    return (row for row in _bad(at, history) if not _cured(row, at, history))


def _sent_here(at: ItemAt, history: History, catalogue: Catalogue) -> Iterator[tuple[HistoryRow, Item]]:
    """What was found bad at other items of the unit, and is put right by the job of this one."""
    unit, item, position = at
    for seen_at in catalogue.sending.get(item.id, ()):
        for side in seen_at.positions or (None,):
            is_here = None in (side, position) or side == position
            bad = next(_not_put_right((unit, seen_at, side), history), None) if is_here else None
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
