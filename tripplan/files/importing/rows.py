"""One row of a foreign table: a draft of records, a question for its owner, or a stated skip."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date

from tripplan.files.importing.cells import read_day, read_km, shows_day_first
from tripplan.files.importing.columns import Column, Laid, header_cells, plain_header
from tripplan.files.importing.grid import NO_RESULT
from tripplan.files.importing.mapping import AS_ABOVE, ASK, TRUST, USUAL, ColumnMap
from tripplan.files.importing.match import Doubt, Match, ReadText, WordBook, act_of, read_text, side_of
from tripplan.files.importing.report import Question, Skip
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import Rig
from tripplan.records.lookups import SERVICE, WITHOUT_ITEM, item_index

TOTALS = ("total", "sum", "subtotal", "sub total", "average", "grand total")
EVERY = ("both", "all")
ENOUGH_TRUE_DATES = 3
UNNAMED_UNIT = "vehicle"


@dataclass(frozen=True, slots=True, kw_only=True)
class RawRow:
    """The texts of one row by what they are, and what its columns are known to be like."""

    sheet: str
    row: int
    texts: Mapping[str, str]
    notes: tuple[str, ...]
    dated: Column | None
    is_true_date: bool
    may_be_swapped: bool

    @property
    def found(self) -> str:
        """The row as one line for a message."""
        return " | ".join(text for text in (*self.texts.values(), *self.notes) if text)

    def question(self, asked: str, may_mean: tuple[str, ...] = (), found: str = "", is_whole: bool = True) -> Question:
        """A question about this row."""
        texts = {**self.texts, "note": "; ".join(filter(None, (*self.notes,)))}
        return Question(
            sheet=self.sheet, row=self.row, found=found or self.found, asked=asked, may_mean=may_mean,
            is_whole=is_whole, texts=texts,
        )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A row understood: one record for each match, or a bare reading."""

    raw: RawRow
    day: date
    unit: str
    km: float | None
    old_km: float | None
    matches: tuple[Match, ...]
    bare_act: str
    finding: str | None
    remarks: tuple[str, ...]
    doubts: tuple[Doubt, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
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


def known_for(rig: Rig | None, book: WordBook, mapping: ColumnMap, catalogue: Catalogue, today: date) -> Known:
    """All that rows are held against."""
    return Known(rig=rig, book=book, mapping=mapping, catalogue=catalogue, index=item_index(catalogue), today=today)


def raw_rows(laid: Laid) -> Iterator[RawRow | Skip]:
    """Every row of a sheet in order, those that are no entries as skips."""
    name, heads = laid.sheet.name, header_cells(laid)
    dated = next((column for column in laid.columns if column.holds == "date"), None)
    swapped = _may_be_swapped(laid, dated)
    for number, cells in laid.sheet.rows:
        if laid.header_row is not None and number <= laid.header_row:
            why = "the header" if number == laid.header_row else "above the header"
            yield Skip(sheet=name, row=number, why=why)
            continue
        if laid.header_row is not None and _is_header(cells, heads):
            yield Skip(sheet=name, row=number, why="the header again")
            continue
        raw = _raw(laid, number, cells, dated, swapped)
        if not any(raw.texts.values()) and not raw.notes:
            yield Skip(sheet=name, row=number, why="nothing in the columns that are read")
        elif _is_total(raw.texts.get("date", ""), cells):
            yield Skip(sheet=name, row=number, why="a line of totals")
        else:
            yield raw


def _is_header(cells: tuple[str, ...], heads: frozenset[str]) -> bool:
    """True for two names of columns or more and nothing else; most rows are out at their first cell."""
    names = 0
    for cell in cells:
        if cell and (name := plain_header(cell)):
            if name not in heads:
                return False
            names += 1
    return names > 1


def _is_total(dated: str, cells: tuple[str, ...]) -> bool:
    """True for a line of sums: it says so, and has no date, or says so where the date would be."""
    says = [cell for cell in ((dated,) if dated else cells) if plain_header(cell).startswith(TOTALS)]
    return bool(says)


def _raw(laid: Laid, number: int, cells: tuple[str, ...], dated: Column | None, swapped: bool) -> RawRow:
    texts: dict[str, str] = {}
    notes: list[str] = []
    for column in laid.columns:
        text = cells[column.spot] if column.spot < len(cells) else ""
        if not text or column.holds == "leave out":
            continue
        if column.holds == "note":
            notes.append(text if column.header.startswith("note") else f"{column.header}: {text}")
        else:
            texts[column.holds] = f"{texts[column.holds]}; {text}" if column.holds in texts else text
    is_true = dated is not None and (number, dated.spot) in laid.sheet.true_dates
    return RawRow(sheet=laid.sheet.name, row=number, texts=texts, notes=tuple(notes), dated=dated,
                  is_true_date=is_true, may_be_swapped=swapped)  # fmt: skip


def _may_be_swapped(laid: Laid, dated: Column | None) -> bool:
    """True when a spreadsheet seems to have read d/m as m/d wherever it could.

    The sign: texts whose first figure can only be a day stand beside true dates of which
    none is later than the 12th.
    """
    if dated is None:
        return False
    cells = {number: row[dated.spot] for number, row in laid.sheet.rows if dated.spot < len(row)}
    true_days = [text for number, text in cells.items() if (number, dated.spot) in laid.sheet.true_dates]
    texts = [text for number, text in cells.items() if (number, dated.spot) not in laid.sheet.true_dates]
    late = any(int(text[8:10]) > 12 for text in true_days if text[8:10].isdigit())
    return len(true_days) >= ENOUGH_TRUE_DATES and not late and any(shows_day_first(text) for text in texts)


def draft_of(raw: RawRow, above: date | None, known: Known) -> Draft | Question | Skip:
    """What a row says. `above` is the day of the row above it, where that is known."""
    if NO_RESULT in (*raw.texts.values(), *raw.notes):
        return raw.question("a formula was saved without its result; what does it show in the spreadsheet?")
    day = _day(raw, above, known)
    if isinstance(day, Question):
        return day
    unit = _unit(raw, known)
    if unit is None:
        return raw.question("which unit is that?", tuple(u.id for u in known.rig.units) if known.rig else ())
    kms = _kms(raw)
    if isinstance(kms, str):
        return raw.question(kms)
    km, old_km, remarks = kms
    read = _work(raw, unit, known)
    if isinstance(read, Question):
        return read
    finding, doubts = _finding(raw, known.book)
    bare_act = raw.texts.get("act", "").strip().lower() if not read.matches else ""
    bare_act = bare_act if bare_act in WITHOUT_ITEM else "reading"
    if not read.matches and km is None:
        return Skip(sheet=raw.sheet, row=raw.row, why="a date, and neither work nor reading")
    return Draft(raw=raw, day=day, unit=unit, km=km, old_km=old_km, matches=read.matches, bare_act=bare_act,
                 finding=finding, remarks=remarks, doubts=(*read.doubts, *doubts))  # fmt: skip


def _day(raw: RawRow, above: date | None, known: Known) -> date | Question:
    text = raw.texts.get("date", "")
    if not text:
        if known.mapping.blank_date == AS_ABOVE and above:
            return above
        hint = f"; is it {above}, the day of the row above? (then set blank_date to {AS_ABOVE!r})" if above else ""
        return raw.question(f"no date{hint}")
    read = read_day(text, raw.dated.order if raw.dated else None, known.today)
    if read.day is None:
        return raw.question(f"date {text}: {read.why}", tuple(str(day) for day in read.readings))
    asks = known.mapping.true_dates == ASK
    if asks and raw.is_true_date and raw.may_be_swapped and read.day.day != read.day.month:
        other = read.day.replace(month=read.day.day, day=read.day.month)
        asked = f"{read.day} or {other}: the spreadsheet may have swapped day and month where it could "
        asked += f"(if not, set true_dates to {TRUST!r})"
        return raw.question(asked, (str(read.day), str(other)))
    if read.day > known.today:
        return raw.question(f"date {text}: {read.day} is in the future")
    return read.day


def _unit(raw: RawRow, known: Known) -> str | None:
    text = raw.texts.get("unit", "").strip().lower()
    if not text:
        return known.vehicle
    if known.rig is None:
        return text.replace(" ", "_")
    ids = {unit.id.lower(): unit.id for unit in known.rig.units}
    if text in ids:
        return ids[text]
    meant = known.units_of(known.book.units.get(text, ""))
    return meant[0] if len(meant) == 1 else None


def _kms(raw: RawRow) -> tuple[float | None, float | None, tuple[str, ...]] | str:
    """The reading, the last one of an old instrument, and what is rough; or what is asked."""
    found: dict[str, float | None] = {}
    remarks: list[str] = []
    for name in ("odometer_km", "odometer_mi", "old_odometer_km"):
        if text := raw.texts.get(name):
            read = read_km(text, name == "odometer_mi")
            if read.km is None:
                return f"odometer {text}: {read.why}"
            found[name] = read.km
            remarks += [read.remark] if read.remark else []
    km, miles = found.get("odometer_km"), found.get("odometer_mi")
    return (miles if km is None else km), found.get("old_odometer_km"), tuple(remarks)


def _work(raw: RawRow, unit: str, known: Known) -> ReadText | Question:
    """The work a row speaks of: nothing for a bare reading."""
    item_text, act_text = raw.texts.get("item", ""), raw.texts.get("act", "")
    place, work = raw.texts.get("position", ""), raw.texts.get("work", "")
    if not item_text and act_text.strip().lower() in WITHOUT_ITEM:
        return ReadText((), ())
    if item_text and (named := _named(raw, item_text, act_text, place, known)):
        return named
    side = side_of(place, known.book) if place else None
    text = " ; ".join(filter(None, (" ".join(filter(None, ("" if side else place, item_text, act_text))), work)))
    if not text:
        return ReadText((), ())
    read = read_text(text, known.book, known.kind_of(unit) == "trailer", known.mapping.no_act == USUAL)
    if read.is_silent:
        return raw.question("what work was that? No word of it is known", found=text)
    if not read.matches:
        asked = "; ".join(f"{doubt.part}: {doubt.why}" for doubt in read.doubts)
        return raw.question(asked, tuple(dict.fromkeys(name for d in read.doubts for name in d.candidates)), text)
    return replace(read, matches=tuple(_on_side(match, side, known) for match in read.matches))


def _named(raw: RawRow, item_text: str, act_text: str, place: str, known: Known) -> ReadText | Question | None:
    """An item or service sheet given by its id or name; None when the cell holds other words."""
    name = item_text.strip().casefold()
    if name in {sheet.id for sheet in known.catalogue.services}:
        return ReadText((Match(name, SERVICE, None, True),), ())
    item = known.index.get(name)
    if item is None:
        return None
    act = act_of(act_text, known.book) if act_text else item.act
    if act is None or (not act_text and known.mapping.no_act != USUAL):
        return raw.question(f"which act was done to {item.id}? {act_text or 'none'} is written", (item.act,))
    position = place.strip().lower() or None
    if position and position not in (*item.positions, *EVERY):
        position = side_of(place, known.book)
        if position not in (*item.positions, *EVERY) or not item.positions:
            return raw.question(f"{place} is no position of {item.id}", item.positions)
    return ReadText((Match(item.id, act, position if item.positions else None, bool(act_text)),), ())


def _on_side(match: Match, side: str | None, known: Known) -> Match:
    item = known.index.get(match.item)
    return replace(match, position=side) if side and item and item.positions else match


def _finding(raw: RawRow, book: WordBook) -> tuple[str | None, tuple[Doubt, ...]]:
    text = raw.texts.get("finding", "").strip().lower()
    found = book.findings.get(text)
    if not text or found:
        return found, ()
    return None, (Doubt(text, "which finding is that?", tuple(dict.fromkeys(book.findings.values()))),)
