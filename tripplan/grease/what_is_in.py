"""What each cavity holds now: read from the `lubricant` column of the history.

The last row that put grease or oil into a space tells. A row that names nothing, or a name
nobody knows, leaves it unknown, and unknown is a value: nothing is topped up on a guess.
"""

from collections.abc import Iterable, Sequence

from msgspec import Struct

from tripplan.grease.mixing import suits
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import HistoryRow
from tripplan.records.lookups import SERVICE, item_index
from tripplan.records.lubricants import Cavity, LubricantRow, OwnLubricant, PairRating, named_lubricant
from tripplan.records.plain_words import day_and_year
from tripplan.records.words import Act
from tripplan.wear.last_done import History, read_history, when

PUT_IN = (Act.GREASE, Act.REPACK, Act.RENEW, Act.DRAIN_AND_REFILL)


class Holds(Struct, frozen=True, kw_only=True):
    """What is in one space: the lubricant, None when unknown, and the row that put it in."""

    lubricant: LubricantRow | None = None
    said: str = ""
    row: HistoryRow | None = None

    @property
    def words(self) -> str:
        """What is in there, in one phrase with its date."""
        if self.row is None:
            return "not known: no record of anything put in"
        when = f"put in on {day_and_year(self.row.date)} ({self.row.origin})"
        if self.lubricant is None:
            called = f"{self.said!r}, a name not known" if self.said else "the row names no lubricant"
            return f"not known: {called}, {when}"
        kin = f", {self.lubricant.thickener}" if self.lubricant.thickener else ""
        unsaid = "" if kin or self.lubricant.kind != "grease" else ", thickener not known"
        return f"{self.lubricant.label}{kin}{unsaid}, {when}"


class Contents(Struct, frozen=True, kw_only=True):
    """The history and every lubricant known, the owner's own first; asked cavity by cavity."""

    history: History
    catalogue: Catalogue
    lubricants: tuple[LubricantRow, ...]
    index: dict[str, Item]

    @property
    def pairs(self) -> tuple[PairRating, ...]:
        """Every chart rating held."""
        return self.catalogue.thickener_pairs

    @property
    def own(self) -> tuple[OwnLubricant, ...]:
        """The owner's own lubricants."""
        return tuple(row for row in self.lubricants if isinstance(row, OwnLubricant))

    def cavities(self, item_id: str) -> tuple[Cavity, ...]:
        """The spaces of one item; empty when it takes neither grease nor oil."""
        return tuple(row for row in self.catalogue.cavities if row.item == item_id)

    def holds(self, cavity: Cavity, unit_id: str, position: str | None) -> Holds:
        """What is in that space of that unit now."""
        found = [
            (row, doer)
            for shared in self.catalogue.cavities
            if shared.cavity == cavity.cavity
            for row in self.history.of_item(self.catalogue.item(shared.item), unit_id, position)
            if (doer := self._doer(row, shared)) is not None
        ]
        if not found:
            return Holds()
        row, doer = max(found, key=lambda pair: when(pair[0]))
        return Holds(lubricant=self._named(row, cavity, doer), said=row.lubricant or "", row=row)

    def _doer(self, row: HistoryRow, shared: Cavity) -> Item | None:
        """The item whose work put lubricant into the shared space; None when the row did not.

        Work on a greater item counts when it uses the same kind of grease or oil.
        """
        own = self.catalogue.item(shared.item)
        doer = own if row.act == SERVICE else self.index.get((row.item or "").strip().casefold(), own)
        uses = {used.lubricant for used in self.cavities(doer.id)}
        return doer if _puts_in(row, doer) and shared.lubricant in uses else None

    def _named(self, row: HistoryRow, cavity: Cavity, item: Item) -> LubricantRow | None:
        """The lubricant the row names for this space; with several names, the one that suits it."""
        found = [named_lubricant(name, self.lubricants) for name in names_in(row)]
        if None in found:
            return None
        known = [one for one in found if one is not None]
        if len(known) == 1 and len(self.cavities(item.id)) == 1 and row.act != SERVICE:
            return known[0]
        fitting = [one for one in known if suits(one, cavity).may or one.id == cavity.lubricant]
        return fitting[0] if len(fitting) == 1 else None


def read_contents(history: Sequence[HistoryRow], catalogue: Catalogue, own: Iterable[OwnLubricant] = ()) -> Contents:
    """The ledger of all cavities; the owner's own names win over the shipped open classes."""
    return Contents(
        history=read_history(history, catalogue), catalogue=catalogue,
        lubricants=(*own, *catalogue.lubricants), index=item_index(catalogue),
    )  # fmt: skip


def names_in(row: HistoryRow) -> tuple[str, ...]:
    """The lubricants a history row names; several are separated by semicolons."""
    return tuple(name.strip() for name in (row.lubricant or "").split(";") if name.strip())


def _puts_in(row: HistoryRow, item: Item) -> bool:
    """True for an act that brings lubricant in, and for any row that names one."""
    if row.act == SERVICE:
        return item.act in PUT_IN
    return row.act in PUT_IN or bool(row.lubricant)
