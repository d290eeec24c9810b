"""What the rows of a foreign table are held against: the rig, the words, the owner's answers."""

from collections.abc import Mapping
from datetime import date

from msgspec import Struct

from tripplan.files.importing.mapping import ColumnMap
from tripplan.files.importing.word_book import WordBook
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import Rig

UNNAMED_UNIT = "vehicle"


class Known(Struct, frozen=True, kw_only=True):
    """What rows are held against: the rig if there is one, the words, the owner's answers."""

    rig: Rig | None
    book: WordBook
    mapping: ColumnMap
    catalogue: Catalogue
    index: Mapping[str, Item]
    today: date

    @property
    def vehicle(self) -> str:
        """The unit that a row without unit is about."""
        if self.mapping.unit:
            return self.mapping.unit
        return next(iter(self.units_of("vehicle")), UNNAMED_UNIT)

    def units_of(self, kind: str) -> list[str]:
        """Ids of the rig's units of a kind."""
        return [unit.id for unit in self.rig.units if unit.kind == kind] if self.rig else []

    def kind_of(self, unit: str) -> str:
        """Vehicle or trailer; a unit nobody described is taken for what it was called."""
        kinds = {one.id: one.kind for one in self.rig.units} if self.rig else {}
        return kinds.get(unit) or self.book.units.get(unit, "vehicle")

    def unit_named(self, text: str) -> str | None:
        """The unit that a name means: by the owner's word, its id, or a word for its kind."""
        plain = " ".join(text.casefold().split())
        if plain in self.mapping.units:
            return self.mapping.units[plain]
        if self.rig is None:
            return None
        ids = {unit.id.casefold(): unit.id for unit in self.rig.units}
        if plain in ids or plain.replace(" ", "_") in ids:
            return ids.get(plain) or ids[plain.replace(" ", "_")]
        meant = self.units_of(self.book.units.get(plain, ""))
        return meant[0] if len(meant) == 1 else None
