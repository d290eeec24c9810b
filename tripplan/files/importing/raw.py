"""The rows of a foreign sheet as texts by what they are; those that are no entries are stated skips."""

from collections.abc import Iterator, Mapping
from datetime import date

from msgspec import Struct, field
from msgspec.structs import replace

from tripplan.files.importing.cells import shows_day_first
from tripplan.files.importing.columns import Column, Laid, header_cells, plain_header
from tripplan.files.importing.report import Question, Skip
from tripplan.files.importing.ticks import HOOKS, said_done

ENOUGH_TRUE_DATES = 3


class RawRow(Struct, frozen=True, kw_only=True):
    """The texts of one row by what they are, and what its columns are known to be like.

    `ticks` are the cells of a grid with the heading of each; `about` is what the rows around
    say of the unit, `year` what they say of the year; `asks` are open questions of its columns.
    `cells` are all that are filled, in their order.
    """

    sheet: str
    row: int
    texts: Mapping[str, str]
    notes: tuple[str, ...]
    cells: tuple[str, ...]
    dated: Column | None
    is_true_date: bool
    may_be_swapped: bool
    ticks: tuple[tuple[str, str], ...] = ()
    is_x_open: bool = False
    asks: Mapping[str, str] = field(default_factory=dict)
    has_status: bool = False
    is_unit_open: bool = False
    about: str = ""
    year: int | None = None
    day: date | None = None

    @property
    def found(self) -> str:
        """The row as one line for a message."""
        ticked = (f"{title}: {cell}" for title, cell in self.ticks)
        return " | ".join(text for text in (*self.texts.values(), *ticked, *self.notes) if text)

    def question(self, asked: str, may_mean: tuple[str, ...] = (), found: str = "", is_whole: bool = True) -> Question:
        """A question about this row; what is known of its day and unit goes with it, for the answer."""
        ticked = [title for title, cell in self.ticks if said_done(cell, self.is_x_open)]
        odd = [f"{title}: {cell}" for title, cell in self.ticks if said_done(cell, self.is_x_open) is None]
        known = {"date": str(self.day) if self.day else "", "unit": "" if self.texts.get("unit") else self.about}
        texts = {
            **self.texts,
            **{name: text for name, text in known.items() if text},
            "note": "; ".join(filter(None, (*self.notes, *odd))),
        }
        if ticked:
            texts["work"] = "; ".join(filter(None, (texts.get("work", ""), *ticked)))
        return Question(
            sheet=self.sheet, row=self.row, found=found or self.found, asked=asked, may_mean=may_mean,
            is_whole=is_whole, texts=texts,
        )  # fmt: skip


def raw_rows(laid: Laid) -> Iterator[RawRow | Skip]:
    """Every row of a sheet in order, those that are no entries as skips."""
    name, heads = laid.sheet.name, header_cells(laid)
    dated = next((column for column in laid.columns if column.holds == "date"), None)
    swapped, is_x_open = _may_be_swapped(laid, dated), _is_x_open(laid)
    for number, cells in laid.sheet.rows:
        if laid.header_row is not None and number <= laid.header_row:
            why = "the header" if number == laid.header_row else "above the header"
            yield Skip(sheet=name, row=number, why=why)
            continue
        if laid.header_row is not None and _is_header(cells, heads):
            yield Skip(sheet=name, row=number, why="the header again")
            continue
        raw = replace(_raw(laid, number, cells, dated, swapped), is_x_open=is_x_open)
        if not any(raw.texts.values()) and not raw.notes and not raw.ticks:
            yield Skip(sheet=name, row=number, why="nothing in the columns that are read")
        else:
            yield raw


def _is_x_open(laid: Laid) -> bool:
    """True for a grid with hooks and crosses: there a cross may mean that it was not done."""
    spots = [column.spot for column in laid.columns if column.holds == "ticks"]
    marks = {cells[spot].strip().casefold() for _, cells in laid.sheet.rows for spot in spots if spot < len(cells)}
    return bool(marks & HOOKS) and bool(marks & {"x", "xx"})


def _is_header(cells: tuple[str, ...], heads: frozenset[str]) -> bool:
    """True for two names of columns or more and nothing else; most rows are out at their first cell."""
    names = 0
    for cell in cells:
        if cell and (name := plain_header(cell)):
            if name not in heads:
                return False
            names += 1
    return names > 1


def _raw(laid: Laid, number: int, cells: tuple[str, ...], dated: Column | None, swapped: bool) -> RawRow:
    texts: dict[str, str] = {}
    notes: list[str] = []
    ticked: list[tuple[str, str]] = []
    for column in laid.columns:
        text = cells[column.spot] if column.spot < len(cells) else ""
        if not text or column.holds == "leave out":
            continue
        if column.holds == "note":
            notes.append(text if column.header.startswith("note") else f"{column.header}: {text}")
        elif column.holds == "ticks":
            ticked.append((column.title, text))
        else:
            texts[column.holds] = f"{texts[column.holds]}; {text}" if column.holds in texts else text
    is_true = dated is not None and (number, dated.spot) in laid.sheet.true_dates
    held = {column.holds for column in laid.columns}
    asks = {column.holds: column.asks for column in laid.columns if column.asks}
    return RawRow(sheet=laid.sheet.name, row=number, texts=texts, notes=tuple(notes),
                  cells=tuple(filter(None, cells)), dated=dated,
                  is_true_date=is_true, may_be_swapped=swapped, ticks=tuple(ticked), asks=asks,
                  has_status="status" in held, is_unit_open=bool(held & {"odometer", "odometer_mi"}))  # fmt: skip


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
