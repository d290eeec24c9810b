"""What the owner's own findings say about how long each item lasts.

A life starts when the item's act is done. Found sound when next opened: it lasts at least
that long. Found worn or failed: it ended since it was last seen sound. The axis is use,
legs driven counting times their wear and ordinary use as it is. Water and dirt found are
no end of life but an accident, and are not counted. Nothing here changes a plan by itself:
`revised_catalogue` does so for the items that their owner switched on.
"""

import re
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct
from pydantic import Field

from tripplan.due.standing import UNIT_OF, Situation, item_positions
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import HistoryRow, Leg, Meter, Origin, Record, Unit, YesNo
from tripplan.records.grouped import grouped
from tripplan.records.lookups import SERVICE
from tripplan.records.words import ENTERED_FINDINGS, GOOD_FINDINGS
from tripplan.trip.timeline import months_between
from tripplan.wear.last_done import History, when

# Words that say it was opened because something looked wrong, which is no neutral look.
BECAUSE = ("because", "hot", "felt", "heard", "loose", "slack", "broke", "broken", "breakdown", "seized")
BECAUSE_STEMS = (
    "nois", "rumbl", "squeal", "squeak", "grind", "clunk", "knock", "leak", "weep", "overheat", "smell", "smok",
    "wobbl", "shimm", "vibrat", "suspect",
)  # fmt: skip
PROMPTED = re.compile(rf"(?<!no )(?<!not )\b({'|'.join(BECAUSE)}|(?:{'|'.join(BECAUSE_STEMS)})\w*)\b", re.I)
SAME = 0.02


class EvidenceSwitch(Record):
    """A row of `evidence.csv`: whether findings may change this item's interval, and why."""

    item: str
    use: YesNo = Field(description="yes or no")
    reason: str | None = None
    origin: Origin


class Opening(Struct, frozen=True, kw_only=True):
    """One thing found at one position: sound at use `low`, and no longer at `high` if that is set.

    `left_out` says why it does not count; `prompted` the word that shows it was no neutral look.
    """

    unit: str
    position: str | None
    row: HistoryRow
    low: float
    high: float | None
    left_out: str = ""
    prompted: str = ""


class ItemLife(Struct, frozen=True, kw_only=True):
    """What the findings of one item come to.

    `alone` is the interval the findings would give, `revised` the same held within the
    bounds, `safe` the value that the true one exceeds 19 times in 20. `chance` is that of
    a part lasting the table's interval.
    """

    item: str
    name: str
    harms: bool
    meter: Meter
    interval: float
    alone: float
    revised: float
    safe: float
    chance: float
    openings: tuple[Opening, ...]

    @property
    def counted(self) -> tuple[Opening, ...]:
        """The openings that count."""
        return tuple(opening for opening in self.openings if not opening.left_out)

    @property
    def moved(self) -> float:
        """Revised over stated interval, less 1: how far the findings move it."""
        return self.revised / self.interval - 1

    @property
    def is_held(self) -> bool:
        """True when a bound holds it back."""
        return self.revised != self.alone


def read_lives(s: Situation) -> tuple[ItemLife, ...]:
    """The life of every item that has at least one finding, in the order of the catalogue."""
    openings = grouped(
        (item.id, one) for unit, item, position in item_positions(s.rig, s.catalogue)
        for one in _openings(unit, item, position, s)
    )  # fmt: skip
    return tuple(item_life(item, found, s.catalogue) for item in s.catalogue.items if (found := openings.get(item.id)))


def axis(item: Item) -> Meter:
    """The meter whose interval findings can revise: the first that counts use, else months."""
    return next((meter for meter, _ in item.intervals if meter != "months"), "months")


def item_life(item: Item, openings: Sequence[Opening], catalogue: Catalogue) -> ItemLife:
    """The prior of the table, the likelihood of the openings, and the interval they come to."""
    from tripplan.due import life_law

    meter = axis(item)
    interval = dict(item.intervals)[meter]
    prior = life_law.Prior(
        life=interval, share=catalogue.assumed("interval_percentile_of_life").value,
        error_factor=catalogue.assumed("life_error_factor").value, shape=item.life_shape,
        shape_error_factor=catalogue.assumed("life_shape_error_factor").value,
    )  # fmt: skip
    looks = [life_law.Look(one.low, one.high) for one in openings if not one.left_out]
    found = life_law.posterior(prior, looks)
    alone = _three_figures(life_law.life_quantile(found, 0.5)) if looks else interval
    low, high = bounds(item, catalogue)
    return ItemLife(
        item=item.id, name=item.name, harms=item.harms, meter=meter, interval=interval, alone=alone,
        revised=min(max(alone, low * interval), high * interval), safe=life_law.life_quantile(found, 0.05),
        chance=life_law.survival(found, 0.0, interval), openings=tuple(openings),
    )  # fmt: skip


def bounds(item: Item, catalogue: Catalogue) -> tuple[float, float]:
    """How far findings may move an interval, as factors; tighter upwards where a failure harms."""
    high = "evidence_bound_high_safety" if item.harms else "evidence_bound_high"
    return catalogue.assumed("evidence_bound_low").value, catalogue.assumed(high).value


def revised_catalogue(catalogue: Catalogue, lives: Iterable[ItemLife], switches: Iterable[EvidenceSwitch]) -> Catalogue:
    """The catalogue with the intervals of the items that their owner switched on.

    An item whose failure harms needs a reason beside the yes. The row says that it is derived, and from what.
    """
    on = {switch.item: switch for switch in switches if switch.use}
    by_item = {life.item: life for life in lives if life.counted}
    items = tuple(
        _revised(item, by_item[item.id], on[item.id])
        if item.id in by_item and item.id in on and may_use(item, on[item.id])
        else item
        for item in catalogue.items
    )
    return catalogue.model_copy(update={"items": items})


def may_use(item: Item, switch: EvidenceSwitch) -> bool:
    """True when this switch lets findings change this item."""
    return switch.use and (bool(switch.reason) or not item.harms)


def sentences(life: ItemLife, unit_of_measure: str) -> tuple[str, ...]:
    """What a mechanic would say of these findings, each sentence by itself."""
    said = [_support(life, unit_of_measure)]
    if life.is_held:
        bound = "most" if life.alone > life.revised else "least"
        said.append(
            f"The findings alone would give {_round(life.alone)} {unit_of_measure}; "
            f"{_round(life.revised)} is the {bound} they may make it."
        )
    prompted = [one for one in life.counted if one.prompted]
    if prompted:
        words = ", ".join(dict.fromkeys(one.prompted for one in prompted))
        said.append(
            f"{_many(len(prompted), 'opening was', 'openings were')} made because something looked wrong ({words}): "
            "such looks find more wear than looks made at random, so this is not neutral."
        )
    for why in dict.fromkeys(one.left_out for one in life.openings if one.left_out):
        count = sum(1 for one in life.openings if one.left_out == why)
        said.append(f"{_many(count, 'finding is', 'findings are')} not counted: {why}.")
    return tuple(said)


def _support(life: ItemLife, unit_of_measure: str) -> str:
    good = [one.low for one in life.counted if one.high is None]
    worn = [one for one in life.counted if one.high is not None]
    parts = []
    if good:
        parts.append(f"{_many(len(good), 'opening', 'openings')} found good at {_span(good)} {unit_of_measure}")
    if worn:
        ends = [one.high or 0.0 for one in worn]
        parts.append(f"{_many(len(worn), 'opening', 'openings')} found worn by {_span(ends)} {unit_of_measure}")
    if not parts:
        return f"No finding counts; the table says {_round(life.interval)} {unit_of_measure}."
    table = f"the table says {_round(life.interval)}"
    if abs(life.moved) < SAME:
        say = "says" if len(good) + len(worn) == 1 else "say"
        return f"{' and '.join(parts)} {say} the same as the table: {_round(life.interval)} {unit_of_measure}."
    way = "support a longer interval" if life.moved > 0 else "call for a shorter interval"
    if len(good) + len(worn) == 1:
        way = way.replace("support", "supports", 1).replace("call ", "calls ", 1)
    percent = f"{abs(life.moved) * 100:.0f}% {'more' if life.moved > 0 else 'less'}"
    return f"{' and '.join(parts)} {way}: {_round(life.revised)} {unit_of_measure}, {percent}; {table}."


def _openings(unit: Unit, item: Item, position: str | None, s: Situation) -> Iterator[Opening]:
    """The findings at one position as ages since the item's act was last done.

    Of a life the last look that found it good counts, or its end; what does not count takes nothing from what was seen before.
    """
    start: HistoryRow | None = None
    seen_good: Opening | None = None
    ruler = _Ruler(unit, item, s)
    for row, is_own, restores in _rows(unit, item, position, s.history):
        finding = row.finding if is_own and row.act != SERVICE else None
        if finding:
            opening = _opening(unit, position, row, start, seen_good, ruler)
            if opening.left_out:
                yield opening
            elif opening.high is not None:
                yield opening
                seen_good, start = None, None
            else:
                seen_good = opening
        if restores:
            if seen_good:
                yield seen_good
            start, seen_good = row, None
    if seen_good:
        yield seen_good


def _opening(
    unit: Unit, position: str | None, row: HistoryRow, start: HistoryRow | None, before: Opening | None, ruler: "_Ruler"
) -> Opening:
    match = PROMPTED.search(row.note or "")
    prompted = match.group(1).lower() if match else ""

    def made(low: float, high: float | None, left_out: str = "") -> Opening:
        return Opening(
            unit=unit.id, position=position, row=row, low=low, high=high, left_out=left_out, prompted=prompted
        )

    if row.finding in ENTERED_FINDINGS:
        return made(0.0, None, f"{row.finding} found, which is no end of life by use")
    if start is None:
        return made(0.0, None, "no record of when it was last done before")
    age = ruler.between(start, row)
    if age is None or age <= 0:
        return made(0.0, None, "the use up to then is not known")
    if row.finding in GOOD_FINDINGS:
        return made(age, None)
    low = before.low if before else 0.0
    return made(low if low < age else 0.0, age)


def _rows(unit: Unit, item: Item, position: str | None, history: History) -> list[tuple[HistoryRow, bool, bool]]:
    """Rows that bear on a position as they happened: the row, whether it is the item's own, whether it restores."""
    found = [
        (row, by.id == item.id, history.does(row.act, by.act))
        for by in (item, *history.covered_by.get(item.id, ()))
        for row in history.rows.get((unit.id, by.id), ())
        if history.at(row, position) or (position is None and not by.positions)
    ]
    return sorted(found, key=lambda entry: when(entry[0]))


class _Ruler(Struct, frozen=True):
    """Measures use between two rows of one unit for one item, by the meter that findings can revise."""

    unit: Unit
    item: Item
    s: Situation

    def between(self, first: HistoryRow, last: HistoryRow) -> float | None:
        """Use from one row to the other, driven legs times their wear; None when not known."""
        meter = axis(self.item)
        if meter == "months":
            return float(months_between(first.date, last.date))
        ledger = self.s.ledgers[self.unit.id]
        start_km, end_km = ledger.true_km_of(first), ledger.true_km_of(last)
        if start_km is None or end_km is None:
            return None

        def wear(leg: Leg) -> float:
            found, spot = self.s.driven_wear(self.item, self.unit, leg)
            return float(found.typical[spot])

        return ledger.used_since(start_km, meter, wear) - ledger.used_since(end_km, meter, wear)


def _revised(item: Item, life: ItemLife, switch: EvidenceSwitch) -> Item:
    rows = ", ".join(dict.fromkeys(str(one.row.origin) for one in life.counted))
    because = f", {switch.reason}" if switch.reason else ""
    said = f"{_support(life, UNIT_OF[life.meter]).removesuffix('.')} ({rows}{because})"
    update = {life.meter: life.revised, "basis": "derived", "locator": said, "origin": switch.origin}
    return item.model_copy(update=update)


def _span(values: Sequence[float]) -> str:
    low, high = _round(min(values)), _round(max(values))
    return low if low == high else f"{low} to {high}"


def _three_figures(value: float) -> float:
    """As exactly as such a number can be known, and as it is then said."""
    return float(f"{value:.3g}")


def _round(value: float) -> str:
    """Three figures, as a person would say the number."""
    return f"{_three_figures(value):g}" if value < 1e5 else f"{_three_figures(value):.0f}"


def _many(number: int, one: str, many: str) -> str:
    words = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten")
    said = words[number] if number < len(words) else f"{number}"
    return f"{said} {one if number == 1 else many}"
