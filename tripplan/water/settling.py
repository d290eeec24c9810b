"""What history says of a crossing that was made: what is done since, what was seen, which seal leaks."""

from collections.abc import Collection, Iterable, Sequence

from tripplan.records.catalogue import Catalogue, Item, WaterRule
from tripplan.records.facts_in import Crossing, HistoryRow, Unit, as_day
from tripplan.records.words import BAD_FINDINGS, ENTERED_FINDINGS, GOOD_FINDINGS, LOOKS
from tripplan.water.grades import HUB_POINTS
from tripplan.wear.last_done import History, when

CLEAN, FOUND = "clean", "found"
TELLING_FAMILY = "fluid"
TELL_OF_LEAKS = {"seal": BAD_FINDINGS, "bearing": ENTERED_FINDINGS}


def since(item: Item, unit: Unit, position: str | None, crossing: Crossing, history: History) -> list[HistoryRow]:
    """The rows about an item position from the day of the crossing on; none while it is still ahead."""
    if crossing.crossed is None:
        return []
    made = as_day(crossing.crossed)
    if made > history.until:
        return []
    return [row for row in history.of_item(item, unit.id, position) if row.date >= made]


def is_done(
    item: Item, unit: Unit, position: str | None, rule: WaterRule, crossing: Crossing, history: History, relaxes: bool
) -> bool:
    """True when the act was done since the crossing, or a clean look relaxes it where that holds.

    A look is done whatever it found: what it found calls for work of its own.
    """
    rows = since(item, unit, position, crossing, history)
    if any(history.does(row.act, rule.act) for row in rows):
        bad = [row for row in rows if row.finding in BAD_FINDINGS and not _cured(row, rows, item, history)]
        return rule.act in LOOKS or not bad
    tells = crossing.water == "fresh" or item.family == TELLING_FAMILY
    return relaxes and tells and is_clean(rows)


def looked_again(
    item: Item, unit: Unit, position: str | None, rule: WaterRule, crossing: Crossing, history: History
) -> bool:
    """True when the act was done on a later day than the doubtful look that asks for it."""
    rows = since(item, unit, position, crossing, history)
    doubtful = [row.date for row in rows if row.finding in BAD_FINDINGS]
    return any(history.does(row.act, rule.act) and row.date > min(doubtful, default=row.date) for row in rows)


def _cured(bad: HistoryRow, rows: Sequence[HistoryRow], item: Item, history: History) -> bool:
    """A bad finding is dealt with by an act that puts it right, in the same row or a later one."""
    later = [row for row in rows if when(row) >= when(bad)]
    return any(history.cures(row, item, bad.finding or "") for row in later)


def is_clean(rows: Sequence[HistoryRow]) -> bool:
    """True when something was found, and all of it good."""
    findings = [row.finding for row in rows if row.finding]
    return bool(findings) and all(finding in GOOD_FINDINGS for finding in findings)


def seen(
    rule: WaterRule, unit: Unit, position: str | None, crossing: Crossing, history: History, catalogue: Catalogue,
    tells: Collection[str],
) -> str | None:  # fmt: skip
    """What the looks that decide a rule have found since the crossing: clean, found, or nothing yet.

    Found is what `tells` of it. One such finding outweighs every clean one. Clean counts only from an act as great as the one
    named: a hand on the hub does not clear it, the cap off does.
    """
    clean, is_past = False, crossing.crossed is not None and as_day(crossing.crossed) <= history.until
    for item_id, act in rule.deciding if is_past else ():
        item = catalogue.find(item_id)
        if item is None or not item.fits(unit):
            continue
        rows = since(item, unit, position if item.positions else None, crossing, history)
        if any(row.finding in tells and not _cured(row, rows, item, history) for row in rows):
            return FOUND
        clean = clean or is_clean([row for row in rows if history.does(row.act, act)])
    return CLEAN if clean else None


def seal_leaks(items: Iterable[Item], unit: Unit, crossing: Crossing, history: History) -> bool:
    """True when the last word before the crossing was a bad hub seal, or water in a hub bearing.

    A finding counts for the item it was written at, and until the act that renews it.
    """
    tell = [item for item in items if item.family in TELL_OF_LEAKS]
    return any(_leaks(item, unit, side, crossing, history) for item in tell for side in item.positions or (None,))


def _leaks(item: Item, unit: Unit, side: str | None, crossing: Crossing, history: History) -> bool:
    bad = TELL_OF_LEAKS.get(item.family)
    if bad is None or not any(point in HUB_POINTS for point in item.points):
        return False
    own = history.last_finding(item, unit.id, side)
    if own is None or own.finding not in bad or _cured(own, (own,), item, history):
        return False
    if crossing.crossed is not None and own.date >= as_day(crossing.crossed):
        return False
    done = history.last_done(item, unit.id, side)
    return done is None or done.day <= own.date


def worst_side(item: Item, unit: Unit, crossing: Crossing, history: History, catalogue: Catalogue) -> str | None:
    """The side to open where one tells for both: found bad since, else leaking before, else the first."""
    beside = [other for other in catalogue.items if other.place == item.place and other.fits(unit)]

    def is_bad(side: str) -> bool:
        return any(
            row.finding in BAD_FINDINGS for other in beside for row in since(other, unit, side, crossing, history)
        )  # fmt: skip

    def leaks(side: str) -> bool:
        return any(_leaks(other, unit, side, crossing, history) for other in beside)

    ranked = sorted(item.positions, key=lambda side: (not is_bad(side), not leaks(side)))
    return ranked[0] if ranked else None
