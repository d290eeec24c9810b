"""Any spreadsheet or CSV file as sheets of text, with what only the file itself knows.

That is: which cells are true dates, which cells one merged cell covers, and which formulas
were saved without their result. An unsafe or damaged file is a Problem, nothing is run.
"""

import csv
import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tripplan.files.tables import CSV_ACCEPTED, MOST_COLUMNS, decoded, read_bytes
from tripplan.files.workbooks import Page, column_number, read_pages
from tripplan.records.facts_in import Origin
from tripplan.records.problem_codes import problem
from tripplan.records.problems import Problem

SEPARATORS = (",", ";", "\t")
NO_RESULT = "=formula without a result"
MERGE = re.compile(rb'<(?:\w+:)?mergeCell\s[^>]*?ref="([A-Z]{1,3})(\d{1,7}):([A-Z]{1,3})(\d{1,7})"')
MOST_FILLED = 500_000
Cells = tuple[str, ...]


class Sheet(Struct, frozen=True, kw_only=True):
    """One sheet: its rows that hold anything, numbered as the spreadsheet shows them.

    A sheet that `is_turned` had its days across: row 2 is column B of the file.
    """

    name: str
    rows: tuple[tuple[int, Cells], ...]
    true_dates: frozenset[tuple[int, int]] = frozenset()
    is_turned: bool = False


def read_sheets(path: Path, encoding: str | None = None) -> tuple[tuple[Sheet, ...], tuple[Problem, ...]]:
    """Every sheet with entries; the problems that stop the reading."""
    raw, problems = read_bytes(path, path.name)
    if raw is None:
        return (), problems
    if path.suffix.lower() in (".xlsx", ".xlsm"):
        sheets, problems = _xlsx(raw, path.name)
    else:
        sheets, problems = _csv(raw, path.name, encoding)
    filled = tuple(sheet for sheet in sheets if sheet.rows)
    if not filled and not problems:
        return (), (problem("F04", Origin(file=path.name), None, "an empty file", "entries"),)
    return filled, problems


def _csv(raw: bytes, name: str, encoding: str | None) -> tuple[tuple[Sheet, ...], tuple[Problem, ...]]:
    try:
        text = raw.decode(encoding) if encoding else None
    except (LookupError, ValueError):
        return (), (problem("F03", Origin(file=name), None, f"text that is not {encoding}", "its true encoding"),)
    if text is None:
        text, problems = decoded(raw, name)
        if text is None:
            return (), tuple(_with_encoding(found) for found in problems)
    try:
        grid = list(csv.reader(io.StringIO(text, newline=""), delimiter=_separator(text)))
    except csv.Error:
        found = "a cell without end, perhaps a quotation mark without its partner"
        return (), (problem("F09", Origin(file=name), None, found, CSV_ACCEPTED),)
    return _checked([Sheet(name=name, rows=tuple(_filled(enumerate(grid, 1))))], name)


def _with_encoding(found: Problem) -> Problem:
    """The refusal of another encoding with the way out that an import has."""
    if found.code != "F03":
        return found
    hint = f'{found.hint}; or give --mapping a file that says encoding = "windows-1252", or what it is'
    return replace(found, hint=hint)


def _separator(text: str) -> str:
    """The mark that cuts most of the first rows into the same number of cells."""
    lines = [line for line in text.splitlines()[:20] if line.strip()]

    def agreement(mark: str) -> tuple[int, int]:
        counts = [line.count(mark) for line in lines]
        most = max(set(counts), key=lambda count: (count > 0, counts.count(count)), default=0)
        return (counts.count(most) if most else 0, most)

    return max(SEPARATORS, key=agreement)


def _filled(rows: Any) -> Iterator[tuple[int, Cells]]:
    for number, row in rows:
        cells = tuple(_on_one_line(cell) for cell in row)
        if any(cells):
            yield number, cells


def _on_one_line(cell: str) -> str:
    """The lines of a cell one behind the other; each is a sentence of its own."""
    lines = (" ".join(line.split()) for line in cell.splitlines())
    return "; ".join(line.rstrip(";,") for line in lines if line)


def _checked(sheets: list[Sheet], name: str) -> tuple[tuple[Sheet, ...], tuple[Problem, ...]]:
    for sheet in sheets:
        wide = next((number for number, cells in sheet.rows if len(cells) > MOST_COLUMNS), None)
        if wide:
            found, accepted = f"a row of more than {MOST_COLUMNS} cells", f"up to {MOST_COLUMNS} columns"
            return (), (problem("F13", Origin(file=name, row=wide), None, found, accepted),)
    return tuple(sheets), ()


def _xlsx(raw: bytes, name: str) -> tuple[tuple[Sheet, ...], tuple[Problem, ...]]:
    pages, problems = read_pages(raw, name)
    return ((), problems) if problems else _checked([_sheet(page) for page in pages], name)


def _sheet(page: Page) -> Sheet:
    grid = {number: list(cells) for number, cells in enumerate(page.rows, 1) if any(cells)}
    dates = set(page.true_dates)
    for row, spot in page.unsolved:
        _put(grid, row, spot, NO_RESULT)
    for low, high, spot in _merged_down(page.xml):
        _fill_down(grid, dates, low, high, spot)
    return Sheet(name=page.title, rows=tuple(_filled(sorted(grid.items()))), true_dates=frozenset(dates))


def _merged_down(xml: bytes) -> Iterator[tuple[int, int, int]]:
    """First row, last row and column of each merged cell that covers several rows."""
    for match in MERGE.finditer(xml):
        if int(match[4]) > int(match[2]):
            yield int(match[2]), int(match[4]), column_number(match[1]) - 1


def _fill_down(grid: dict[int, list[str]], dates: set[tuple[int, int]], low: int, high: int, spot: int) -> None:
    """What a merged cell says holds for each row it covers that has anything else in it."""
    top = grid.get(low, [])
    if spot >= len(top) or not top[spot] or len(dates) > MOST_FILLED:
        return
    for row in range(low + 1, min(high, max(grid)) + 1):
        if row in grid:
            _put(grid, row, spot, top[spot])
            if (low, spot) in dates:
                dates.add((row, spot))


def _put(grid: dict[int, list[str]], row: int, spot: int, text: str) -> None:
    cells = grid.setdefault(row, [])
    cells.extend([""] * (spot + 1 - len(cells)))
    cells[spot] = text
