"""Which column of a foreign table is what: by its name, by its content, or as its owner says.

What is found is shown before anything is written.
"""

import csv
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from tripplan.files.data_tables import DATA
from tripplan.files.importing.cells import DAY_FIRST, order_shown, read_day, read_km
from tripplan.files.importing.grid import Cells, Sheet
from tripplan.files.importing.mapping import ColumnMap
from tripplan.files.importing.match import ImportWord

SEVERAL = ("work", "note", "leave out")
HEADER_WITHIN = 30
LOOKED_AT = 200
MOST_OF = 0.6
NOTE_NAMES = ("note", "comment", "remark")
MILES = re.compile(r"\b(?:mi|miles)\b")


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: where it stands, what it holds, how that was found, and its first entry."""

    spot: int
    header: str
    holds: str
    found_by: str
    example: str
    order: str | None = None
    contradicts: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A sheet with its columns named. `header_row` is None where there is no header."""

    sheet: Sheet
    header_row: int | None
    columns: tuple[Column, ...]


def column_words() -> dict[str, str]:
    """Header words and the field each means."""
    with (DATA / "column_words.csv").open(encoding="utf-8", newline="") as lines:
        return {row["words"]: row["field"] for row in csv.DictReader(lines)}


def import_words() -> tuple[ImportWord, ...]:
    """The table of words for free text."""
    with (DATA / "item_words.csv").open(encoding="utf-8", newline="") as lines:
        return tuple(
            ImportWord.model_validate({("with_" if name == "with" else name): text for name, text in row.items()})
            for row in csv.DictReader(lines)
        )


def lay_out(sheet: Sheet, mapping: ColumnMap, words: Mapping[str, str], today: date) -> Laid:
    """Name the columns of one sheet."""
    header_row = _header_row(sheet, {**words, **mapping.columns})
    headers = _headers(sheet, header_row)
    body = [cells for number, cells in sheet.rows if header_row is None or number > header_row][:LOOKED_AT]
    columns: list[Column] = []
    for spot, header in enumerate(headers):
        entries = [cells[spot] for cells in body if spot < len(cells) and cells[spot]]
        holds, found_by = _by_name(header, mapping, words)
        if holds and holds not in SEVERAL and holds in {column.holds for column in columns}:
            holds, found_by = "note", "a second column of that kind, kept as note"
        example = entries[0] if entries else ""
        columns.append(Column(spot=spot, header=header, holds=holds, found_by=found_by, example=example))
    taken = {column.holds for column in columns}
    for spot, column in enumerate(columns):
        if not column.holds:
            columns[spot] = _by_content(column, taken, body, today)
            taken.add(columns[spot].holds)
    ordered = tuple(_with_order(column, sheet, header_row, mapping) for column in _work_from_notes(columns))
    return Laid(sheet=sheet, header_row=header_row, columns=ordered)


def _header_row(sheet: Sheet, words: Mapping[str, str]) -> int | None:
    """The row among the first ones with most column names; at least two, or all it has."""
    scores = []
    for number, cells in sheet.rows[:HEADER_WITHIN]:
        filled = [plain_header(cell) for cell in cells if cell]
        known = {cell for cell in filled if cell in words}
        if len(known) >= 2 or (known and len(known) == len(filled)):
            scores.append((len(known), -number))
    return _second_line(sheet, -max(scores)[1], words) if scores else None


def _second_line(sheet: Sheet, first: int, words: Mapping[str, str]) -> int:
    """The row below a header where that goes on in it, such as km and miles under one heading."""
    below = [plain_header(cell) for number, cells in sheet.rows if number == first + 1 for cell in cells]
    filled = [name for name in below if name]
    return first + 1 if filled and all(name in words for name in filled) else first


def header_cells(laid: Laid) -> frozenset[str]:
    """Every name that stands in the header or in the line above it."""
    last = laid.header_row or 0
    near = (cells for number, cells in laid.sheet.rows if last - 1 <= number <= last)
    names = {plain_header(cell) for cells in near for cell in cells} | {column.header for column in laid.columns}
    return frozenset(names - {""})


def _headers(sheet: Sheet, header_row: int | None) -> list[str]:
    """Names of all columns; a blank one takes the cell above it, as under a merged heading."""
    width = max(len(cells) for _, cells in sheet.rows)
    above: Cells = ()
    own: Cells = ()
    for number, cells in sheet.rows:
        if header_row is not None and number == header_row:
            own = cells
            break
        above = cells
    found = []
    for spot in range(width):
        text = own[spot] if spot < len(own) else ""
        if not text and header_row is not None:
            text = above[spot] if spot < len(above) else ""
        found.append(plain_header(text) or f"column {spot + 1}")
    return [name if found.index(name) == spot else f"{name} ({spot + 1})" for spot, name in enumerate(found)]


def plain_header(text: str) -> str:
    """A header in small letters without line breaks, underscores and punctuation."""
    return " ".join(re.sub(r"[^a-z0-9 ]", " ", text.lower()).split())


def _by_name(header: str, mapping: ColumnMap, words: Mapping[str, str]) -> tuple[str, str]:
    if header in mapping.columns:
        return mapping.columns[header], "by the mapping file"
    bare = re.sub(r" \d+$", "", header)
    holds = words.get(header) or words.get(bare, "")
    if not holds and MILES.search(header):
        holds = "odometer_mi" if words.get(MILES.sub("", header).strip()) == "odometer_km" else ""
    if not holds:
        without = re.sub(r"\b(?:km|kms|in|at)\b", "", header).strip()
        holds = words.get(" ".join(without.split()), "")
    return holds, "by its name" if holds else ""


def _by_content(column: Column, taken: set[str], body: Sequence[Cells], today: date) -> Column:
    """A column without a known name: a date, a reading or text where its entries agree, else a note."""
    entries = [cells[column.spot] for cells in body if column.spot < len(cells) and cells[column.spot]]

    def most(fits: Iterable[bool]) -> bool:
        return sum(fits) > MOST_OF * len(entries)

    holds = "note"
    if entries and "date" not in taken and most(_is_dated(text, today) for text in entries):
        holds = "date"
    elif entries and not taken & {"odometer_km", "odometer_mi"} and most(_is_reading(text) for text in entries):
        holds = "odometer_km"
    elif entries and not taken & {"work", "item"} and most(sum(map(str.isalpha, t)) > 3 for t in entries):
        holds = "work"
    found_by = "not known by name, kept as note" if holds == "note" else "by its content"
    return replace(column, holds=holds, found_by=found_by)


def _is_dated(text: str, today: date) -> bool:
    read = read_day(text, DAY_FIRST, today)
    return read.day is not None or bool(read.readings)


def _is_reading(text: str) -> bool:
    km = read_km(text, False).km
    return km is not None and km >= 100


def _work_from_notes(columns: list[Column]) -> list[Column]:
    """Where no column holds work or items, the first column of notes is read as work."""
    if any(column.holds in ("work", "item") for column in columns):
        return columns
    named = [column for column in columns if column.holds == "note" and column.header.startswith(NOTE_NAMES)]
    if not named:
        return columns
    work = replace(named[0], holds="work", found_by=f"{named[0].found_by}, as no column is named for work")
    return [work if column is named[0] else column for column in columns]


def _with_order(column: Column, sheet: Sheet, header_row: int | None, mapping: ColumnMap) -> Column:
    if column.holds != "date":
        return column
    told = mapping.date_order.get(column.header)
    texts = [cells[column.spot] for number, cells in sheet.rows
             if (header_row is None or number > header_row) and column.spot < len(cells)]  # fmt: skip
    shown, contradicts = order_shown(texts)
    return replace(column, order=told or shown, contradicts=contradicts and not told)
