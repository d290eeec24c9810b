"""Which column of a foreign table is what: by its name, by its content, or as its owner says.

What is found is shown before anything is written.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from msgspec import Struct
from msgspec.structs import replace

from tripplan.files.importing import distance, ticks
from tripplan.files.importing.cells import DAY_FIRST, MONTH_FIRST, order_shown, read_day, read_km
from tripplan.files.importing.grid import Cells, Sheet
from tripplan.files.importing.mapping import ColumnMap
from tripplan.files.tables import MOST_COLUMNS

LEAST_DAYS = 2
CORNER = ("date", "item", "work")
SEVERAL = ("work", "note", "leave out", "ticks")
READINGS = (distance.KM_OPEN, distance.KM, distance.MILES)
NEVER_DATED = re.compile(r"\b(?:due|next|expir\w*|interval|rego|born|bought|built|until)\b")
HEADER_WITHIN = 30
LOOKED_AT = 200
MOST_OF = 0.6
NOTE_NAMES = ("note", "comment", "remark")
UNITS = re.compile(r"\b(?:mi|miles|km|kms|in|at|or)\b")


class Column(Struct, frozen=True, kw_only=True):
    """One column: where it stands, what it holds, how that was found, and its first entry."""

    spot: int
    header: str
    holds: str
    found_by: str
    example: str
    title: str = ""
    order: str | None = None
    contradicts: bool = False
    asks: str = ""


class Laid(Struct, frozen=True, kw_only=True):
    """A sheet with its columns named. `header_row` is None where there is no header."""

    sheet: Sheet
    header_row: int | None
    columns: tuple[Column, ...]


def lay_out(
    sheet: Sheet, mapping: ColumnMap, words: Mapping[str, str], today: date, elsewhere: frozenset[str] = frozenset()
) -> Laid:
    """Name the columns of one sheet; `elsewhere` is what the readings of the file's other sheets are in."""
    header_row = _header_row(sheet, {**words, **mapping.columns})
    titles = _headers(sheet, header_row)
    headers = _unlike([plain_header(text) or f"column {spot + 1}" for spot, text in enumerate(titles)])
    body = [cells for number, cells in sheet.rows if header_row is None or number > header_row][:LOOKED_AT]
    columns: list[Column] = []
    for spot, header in enumerate(headers):
        entries = _entries(body, spot)
        holds, found_by = _by_name(header, mapping, words)
        if header not in mapping.columns and ticks.is_status(titles[spot], entries):
            holds, found_by = "status", "it says whether it was done"
        elif header not in mapping.columns and ticks.is_grid(titles[spot], holds, entries):
            holds, found_by = "ticks", "a tick is work done"
        taken = {column.holds for column in columns}
        if holds and holds not in SEVERAL and holds in taken:
            holds, found_by = "note", "a second column of that kind, kept as note"
        example = entries[0] if entries else ""
        columns.append(
            Column(spot=spot, header=header, holds=holds, found_by=found_by, example=example, title=titles[spot])
        )
    taken = {column.holds for column in columns}
    for spot, column in enumerate(columns):
        if not column.holds:
            columns[spot] = _by_content(column, taken, body, today)
            taken.add(columns[spot].holds)
    said = _signs(sheet, header_row, columns, elsewhere)
    ordered = [_with_order(column, sheet, header_row, mapping) for column in _work_from_notes(columns)]
    said = replace(said, is_month_first=any(column.order == MONTH_FIRST for column in ordered))
    columns = [_in_unit(column, _entries(body, column.spot), said, mapping) for column in ordered]
    return Laid(sheet=sheet, header_row=header_row, columns=tuple(columns))


def _entries(body: Sequence[Cells], spot: int) -> list[str]:
    return [cells[spot] for cells in body if spot < len(cells) and cells[spot]]


def _signs(
    sheet: Sheet, header_row: int | None, columns: Sequence[Column], elsewhere: frozenset[str]
) -> distance.Signs:
    above = [cell for number, cells in sheet.rows if header_row and number < header_row for cell in cells if cell]
    alone = [
        next(filter(None, cells))
        for number, cells in sheet.rows
        if number > (header_row or 0) and sum(map(bool, cells)) == 1
    ]
    headers = tuple(column.header for column in columns if column.holds not in READINGS)
    told = tuple(text.lower() for text in alone if distance.says_miles(text))
    return distance.Signs(titles=(sheet.name, *above), headers=(*headers, *told), elsewhere=elsewhere)


def _in_unit(column: Column, entries: Sequence[str], signs: distance.Signs, mapping: ColumnMap) -> Column:
    """A column of readings with its unit, or with the question that settles it."""
    told = mapping.columns.get(column.header)
    if column.holds not in READINGS or told in (distance.KM, distance.MILES):
        return column
    unit = distance.unit_of(column.holds, column.header, entries, signs)
    return replace(column, holds=unit.holds, found_by=unit.found_by or column.found_by, asks=unit.asks)


def with_shared_order(sheets: Sequence[Laid]) -> tuple[Laid, ...]:
    """Day or month first, where a sheet does not show it and the same column of the others does."""
    shown: dict[str, set[str]] = {}
    for laid in sheets:
        for column in laid.columns:
            if column.order:
                shown.setdefault(column.header, set()).add(column.order)
    found = []
    for laid in sheets:
        columns = tuple(
            replace(column, order=next(iter(shown[column.header])))
            if column.holds == "date" and not column.order and not column.contradicts and len(shown.get(column.header, ())) == 1
            else column
            for column in laid.columns
        )  # fmt: skip
        found.append(replace(laid, columns=columns))
    return tuple(found)


def _header_row(sheet: Sheet, words: Mapping[str, str]) -> int | None:
    """The row among the first ones with most column names; at least two, or all it has."""
    scores = []
    for number, cells in sheet.rows[:HEADER_WITHIN]:
        filled = [plain_header(cell) for cell in cells if cell]
        known = {cell for cell in filled if _by_word(cell, words)}
        jobs = (
            [cell for cell in cells if ticks.names_work(cell)]
            if any(_by_word(name, words) == "date" for name in known)
            else []
        )
        if len(known) + len(jobs) >= 2 or (known and len(known) == len(filled)):
            scores.append((len(known) + len(jobs), -number))
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
    """Names of all columns as written; a blank one takes the cell above it, as under a merged heading."""
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
        found.append(text)
    return found


def _unlike(found: Sequence[str]) -> list[str]:
    """The names with a number at each that stands twice."""
    return [name if found.index(name) == spot else f"{name} ({spot + 1})" for spot, name in enumerate(found)]


def plain_header(text: str) -> str:
    """A header in small letters without line breaks, underscores and punctuation."""
    return " ".join(re.sub(r"[^a-z0-9 ]", " ", text.lower()).split())


def _by_name(header: str, mapping: ColumnMap, words: Mapping[str, str]) -> tuple[str, str]:
    if header in mapping.columns:
        return mapping.columns[header], "by the mapping file"
    holds = _by_word(header, words)
    if NEVER_DATED.search(header) and holds not in ("note", "work"):
        return "note", "by its name"
    return holds, "by its name" if holds else ""


def _by_word(header: str, words: Mapping[str, str]) -> str:
    """What a name of the word table holds, with a number or a unit of distance beside it; empty for another."""
    holds = words.get(header) or words.get(re.sub(r" \d+$", "", header), "")
    without = " ".join(UNITS.sub(" ", header).split())
    if holds or without == header:
        return holds
    holds = words.get(without, "")
    if holds not in READINGS:
        return holds if not distance.SAYS_MILES.search(header) else ""
    has_miles, has_km = distance.SAYS_MILES.search(header), distance.SAYS_KM.search(header)
    return (
        distance.KM_OPEN if has_miles and has_km else distance.MILES if has_miles else distance.KM if has_km else holds
    )


def _by_content(column: Column, taken: set[str], body: Sequence[Cells], today: date) -> Column:
    """A column without a known name: a date, a reading or text where its entries agree, else a note."""
    entries = [cells[column.spot] for cells in body if column.spot < len(cells) and cells[column.spot]]

    def most(fits: Iterable[bool]) -> bool:
        return sum(fits) > MOST_OF * len(entries)

    holds = "note"
    if column.header == "column" or NEVER_DATED.search(column.header):
        return replace(column, holds=holds, found_by="not known by name, kept as note")
    if entries and "date" not in taken and most(is_dated(text, today) for text in entries):
        holds = "date"
    elif entries and not taken & set(READINGS) and most(_is_reading(text) for text in entries):
        holds = "odometer_km"
    elif entries and not taken & {"work", "item", "ticks"} and most(sum(map(str.isalpha, t)) > 3 for t in entries):
        holds = "work"
    found_by = "not known by name, kept as note" if holds == "note" else "by its content"
    return replace(column, holds=holds, found_by=found_by)


def is_dated(text: str, today: date) -> bool:
    """True for a cell that is a day, or could be one of several."""
    read = read_day(text, DAY_FIRST, today)
    return read.day is not None or bool(read.readings) or read.why.endswith("without the year")


def _is_reading(text: str) -> bool:
    km = read_km(text, False).km
    return km is not None and km >= 100


def _work_from_notes(columns: list[Column]) -> list[Column]:
    """Where no column holds work or items, the first column of notes is read as work."""
    if any(column.holds in ("work", "item", "ticks") for column in columns):
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


def turned(sheet: Sheet, words: Mapping[str, str], today: date) -> Sheet:
    """The sheet, or where its first full row is one of days, the sheet turned."""
    spot = next((spot for spot, (_, cells) in enumerate(sheet.rows) if sum(map(bool, cells)) > 1), None)
    if spot is None or spot >= HEADER_WITHIN or len(sheet.rows) - spot > MOST_COLUMNS:
        return sheet
    number, days = sheet.rows[spot]
    below = sheet.rows[spot + 1 :]
    if not _is_row_of_days(days, words, today) or not any(cells and cells[0] for _, cells in below):
        return sheet
    width = max(len(cells) for _, cells in sheet.rows[spot:])
    across = [tuple(_at(cells, column) for _, cells in sheet.rows[spot:]) for column in range(width)]
    head = (
        days[0] if plain_header(days[0]) in words and words[plain_header(days[0])] == "date" else "date",
        *across[0][1:],
    )
    above = [(row - spot, cells) for row, (_, cells) in enumerate(sheet.rows[:spot], 1)]
    true_dates = frozenset((column + 1, 0) for column in range(width) if (number, column) in sheet.true_dates)
    rows = (*above, (1, head), *((column, cells) for column, cells in enumerate(across[1:], 2) if any(cells)))
    return Sheet(name=sheet.name, rows=rows, true_dates=true_dates, is_turned=True)


def _is_row_of_days(cells: Cells, words: Mapping[str, str], today: date) -> bool:
    """Days alone, but for the corner, which is empty or says what stands below or beside it."""
    corner = plain_header(cells[0])
    days = [cell for cell in cells[1:] if cell]
    is_corner = not corner or words.get(corner) in CORNER
    return is_corner and len(days) >= LEAST_DAYS and all(is_dated(cell, today) for cell in days)


def _at(cells: Cells, spot: int) -> str:
    return cells[spot] if spot < len(cells) else ""
