"""The sheets of a spreadsheet file as text, and before that whether it may be opened at all, found without opening it.

A few bytes can name a cell in the last row and column, or merge the whole sheet, and the
libraries then make room for every cell between; and an archive can unpack to any size.
"""

import io
import re
import zipfile
from collections.abc import Iterator
from datetime import date, datetime
from functools import reduce
from itertools import zip_longest
from typing import Any

from msgspec import Struct

from tripplan.records.facts_in import Origin
from tripplan.records.problem_codes import problem
from tripplan.records.problems import Problem

XLSX_ACCEPTED = "a spreadsheet saved as .xlsx, without a password"

MOST_UNPACKED_BYTES = 300_000_000
MOST_CELLS = 3_000_000
MOST_PARTS = 2_000
LETTERS = 26
CELL = re.compile(rb"<(?:\w+:)?c\s[^>]*?\br=[\"']([A-Z]{1,9})(\d{1,9})[\"']")
ROW = re.compile(rb"<(?:\w+:)?row\s[^>]*?\br=[\"'](\d{1,9})[\"']")
MERGED = re.compile(rb"<(?:\w+:)?mergeCell\s[^>]*?\bref=[\"']([A-Z]{1,9})(\d{1,9}):([A-Z]{1,9})(\d{1,9})[\"']")
CELL_START = re.compile(rb'<(?:\w+:)?c\s[^>]*?\br="([A-Z]{1,3})(\d{1,7})"[^>]*>')
FORMULA_ALONE = re.compile(
    rb"\s*<(?:\w+:)?f[ >/](?:(?!</?(?:\w+:)?c[ >]).)*?(?:</(?:\w+:)?f>|/>)\s*"
    rb"(?:<v\s*/>|<v></v>)?\s*</(?:\w+:)?c>",
    re.S,
)
DECLARED = (b"<!DOCTYPE", b"<!ENTITY")
OLD_FORM = b"\xd0\xcf\x11\xe0"


class Page(Struct, frozen=True):
    """One sheet: its rows of texts from the first on, and by row and column what is a date or a formula unsolved."""

    title: str
    rows: tuple[tuple[str, ...], ...]
    true_dates: frozenset[tuple[int, int]]
    unsolved: tuple[tuple[int, int], ...]
    xml: bytes


def read_pages(raw: bytes, name: str) -> tuple[tuple[Page, ...], tuple[Problem, ...]]:
    """Every sheet of a workbook, or the Problem F10 that it is unsafe or damaged; nothing of it is run."""
    found = unsafe_reason(raw)
    if not found:
        import openpyxl

        try:
            sheets: list[Any] = openpyxl.load_workbook(io.BytesIO(raw), read_only=True, data_only=True).worksheets
            with zipfile.ZipFile(io.BytesIO(raw)) as archive:
                return tuple(_page(sheet, archive.read(sheet._worksheet_path)) for sheet in sheets), ()
        except Exception:  # the library raises any kind of error on a damaged file
            found = "a damaged spreadsheet file"
    return (), (problem("F10", Origin(file=name), None, found, XLSX_ACCEPTED),)


def _page(sheet: Any, xml: bytes) -> Page:
    import pandas as pd

    sheet.reset_dimensions()
    table = pd.DataFrame(dict(enumerate(zip_longest(*sheet.iter_rows(values_only=True)))), dtype=object)
    rows, columns = table.map(lambda value: isinstance(value, date)).to_numpy(bool).nonzero()
    return Page(
        title=str(sheet.title), rows=tuple(map(tuple, table.map(_spoken).to_numpy(object).tolist())),
        true_dates=frozenset(zip((rows + 1).tolist(), columns.tolist(), strict=True)),
        unsolved=tuple(_formulas_alone(xml)), xml=xml,
    )  # fmt: skip


def _spoken(value: Any) -> str:
    """A spreadsheet value as the text a CSV would hold."""
    if isinstance(value, datetime):
        is_day = value.hour == value.minute == value.second == 0
        return value.isoformat()[:10] if is_day else value.isoformat(sep=" ", timespec="seconds")
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return "" if value is None else str(value).replace("\0", "")


def _formulas_alone(xml: bytes) -> Iterator[tuple[int, int]]:
    """Row and column of each formula that was saved without its result."""
    if not re.search(rb"<(?:\w+:)?f[ >/]", xml):
        return
    for match in CELL_START.finditer(xml):
        if not match.group().endswith(b"/>") and FORMULA_ALONE.match(xml, match.end()):
            yield int(match[2]), column_number(match[1]) - 1


def unsafe_reason(raw: bytes) -> str:
    """Why a spreadsheet file must not be opened: empty when nothing speaks against it."""
    if raw.startswith(OLD_FORM):
        return "a spreadsheet of the old form, or one locked by a password"
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            members = archive.infolist()
            if len(members) > MOST_PARTS or sum(member.file_size for member in members) > MOST_UNPACKED_BYTES:
                return "a file that unpacks to more than 300 MB"
            return next((why for member in members if (why := _unsafe_part(archive, member))), "")
    except Exception:  # a damaged archive fails in many ways
        return "not a spreadsheet file, or a damaged one"


def _unsafe_part(archive: zipfile.ZipFile, member: zipfile.ZipInfo) -> str:
    content = archive.read(member).replace(b"\0", b"")
    if any(mark in content.upper() for mark in DECLARED):
        return f"declarations inside {member.filename} that no spreadsheet program writes"
    return _too_wide(content)


def _too_wide(part: bytes) -> str:
    """Cells so far out, or merged so widely, that the room between would fill the memory."""
    cells = CELL.findall(part)
    width = max((column_number(column) for column in {column for column, _ in cells}), default=1)
    last = max((int(row) for row in (*(row for _, row in cells), *ROW.findall(part))), default=1)
    if width * last > MOST_CELLS:
        return f"a cell so far out that the sheet has {width} columns and {last} rows"
    merged = sum(_area(*corners) for corners in MERGED.findall(part))
    return f"{merged} cells merged into others" if merged > MOST_CELLS else ""


def _area(left: bytes, top: bytes, right: bytes, bottom: bytes) -> int:
    return (abs(column_number(right) - column_number(left)) + 1) * (abs(int(bottom) - int(top)) + 1)


def column_number(column: bytes) -> int:
    """The number of a column from its letters: A is 1, Z 26, AA 27."""
    return reduce(lambda number, letter: number * LETTERS + letter - ord("A") + 1, column, 0)
