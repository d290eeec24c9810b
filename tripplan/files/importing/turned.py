"""A table with its days across and a job in each row, turned so that each day is a row.

A row of the turned table is a column of the file: row 2 is column B. What stands above the row of days
stays above the header.
"""

from collections.abc import Mapping
from datetime import date

from tripplan.files.importing.columns import HEADER_WITHIN, is_dated, plain_header
from tripplan.files.importing.grid import Cells, Sheet
from tripplan.files.tables import MOST_COLUMNS

LEAST_DAYS = 2
CORNER = ("date", "item", "work")


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
