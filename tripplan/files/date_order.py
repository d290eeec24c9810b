"""Whether the dates of a trip folder are written with the day first, as far as its own files show it."""

from pathlib import Path

from tripplan.files.append import shown_date_format
from tripplan.files.folder import HISTORY_FILES
from tripplan.files.importing.cells import DAY_FIRST
from tripplan.files.importing.mapping import read_mapping
from tripplan.files.tables import read_cells
from tripplan.records.cell_values import NAMED_DAY
from tripplan.records.problems import BadInput

MAPPING_FILE = "import_mapping.toml"


def is_day_first(folder: Path) -> bool | None:
    """True for 24/05/2026, False for 05/24/2026, None where nothing in the folder shows it or two things disagree.

    It is shown by what was answered when an old table was imported, by how the spreadsheet shows its dates, and
    by days written as 24 May 2026.
    """
    shown = {
        *_as_imported(folder),
        *_in_the_spreadsheet(folder / HISTORY_FILES[1]),
        *_as_named(folder / HISTORY_FILES[0]),
    }
    return shown.pop() if len(shown) == 1 else None


def _as_imported(folder: Path) -> set[bool]:
    path = folder / MAPPING_FILE
    try:
        orders = read_mapping(path).date_order.values() if path.is_file() else ()
    except BadInput:
        return set()
    return {order == DAY_FIRST for order in orders}


def _in_the_spreadsheet(path: Path) -> set[bool]:
    form = shown_date_format(path).lower() if path.is_file() else ""
    day, month, year = (form.find(mark) for mark in "dmy")
    return {day < month} if min(day, month, year) >= 0 and year > min(day, month) else set()


def _as_named(path: Path) -> set[bool]:
    table, _ = read_cells(path) if path.is_file() else (None, ())
    days = [row.get("date", "") for _, row in table.rows] if table else []
    return {True} if any(NAMED_DAY.fullmatch(day) for day in days) else set()
