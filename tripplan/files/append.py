"""Adding or changing rows of a table in the trip folder, losing nothing that is there.

Rows that are not touched keep every byte, the file its encoding, line ending and order of
columns; a column that is new comes last. Nothing here writes: the new content is given
back, so that it can be read and checked before the old file is replaced.
"""

import csv
import io
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from msgspec import Struct

from tripplan.files.tables import decoded, read_bytes
from tripplan.files.workbooks import XLSX_ACCEPTED, unsafe_reason
from tripplan.records import cell_values
from tripplan.records.cell_values import FORMULA_MARKS
from tripplan.records.facts_in import Origin
from tripplan.records.problem_codes import problem
from tripplan.records.problems import BadInput, Problem
from tripplan.records.units import KM_PER_MILE

CROSSING_COLUMNS = ("leg", "at_km", "depth_m", "length_m", "minutes", "water", "crossed")
HISTORY_COLUMNS = ("date", "unit", "odometer_km", "item", "position", "act", "finding", "lubricant", "note")
MARKS = {b"\xef\xbb\xbf": "utf-8", b"\xff\xfe": "utf-16-le", b"\xfe\xff": "utf-16-be"}
BY_COUNTRY = "mm-dd-yy"
Row = Mapping[str, str]


class NewTable(Struct, frozen=True, kw_only=True):
    """The content of a table with rows added or changed, and the rows they now stand in."""

    content: bytes
    rows: tuple[int, ...]


def changed_table(
    path: Path,
    added: Sequence[Row] = (),
    changed: Mapping[int, Row] | None = None,
    columns: Sequence[str] = (),
    gone: Collection[int] = (),
) -> NewTable:
    """The file with rows `added` at its end and cells `changed` in rows by spreadsheet number.

    The rows `gone` are taken out; `rows` of the answer are those added, as they then stand.

    A file that is not there is begun with `columns` as its header, and those a row needs. A
    distance in a `_km` column goes into the file's `_mi` column where it has that one.
    Raises BadInput for a file that cannot be read or kept whole.
    """
    if not path.exists():
        header = list(dict.fromkeys([*columns, *(name for row in added for name in row)]))
        return _changed_csv((",".join(header) + "\n").encode(), path.name, added, {}, ())
    raw, problems = read_bytes(path, path.name)
    if raw is None:
        raise BadInput(problems)
    edit = _changed_xlsx if path.suffix.lower() == ".xlsx" else _changed_csv
    return edit(raw, path.name, added, changed or {}, gone)


def harmless(text: str) -> str:
    """The text with a quotation mark in front where a spreadsheet would run it as a formula."""
    is_number = cell_values.PLAIN_NUMBER.fullmatch(text) is not None
    return f"'{text}" if text.startswith(FORMULA_MARKS) and not is_number else text


def _changed_csv(
    raw: bytes, name: str, added: Sequence[Row], changed: Mapping[int, Row], gone: Collection[int]
) -> NewTable:
    text, problems = decoded(raw, name)
    if text is None:
        raise BadInput(problems)
    lines = list(_lines(text))
    start = next(index for index, (_, line) in enumerate(lines) if _filled(line))
    ending = _ending(lines[start][0]) or "\n"
    header = [cell.strip().lower() for cell in lines[start][1]]
    places, new = _places(header, [*added, *changed.values()])
    width = max(len(line) for _, line in lines)
    rest = [""] * (width - len(header))
    out = [_widened(source, line, width, len(new)) if new and index != start else source
           for index, (source, line) in enumerate(lines)]  # fmt: skip
    if new:
        out[start] = _written([*lines[start][1], *rest, *new], ending)
    places |= {column: width + spot for spot, column in enumerate(new)}
    for row, values in changed.items():
        out[row - 1] = _written(_filled_in(lines[row - 1][1], values, places, width + len(new)), ending)
    end = max(index for index, (_, line) in enumerate(lines) if _filled(line)) + 1
    if not out[end - 1].endswith(("\n", "\r")):
        out[end - 1] += ending
    empty = [""] * (width if not new else width + len(new))
    out[end:end] = [_written(_filled_in(empty, row, places, len(empty)), ending) for row in added]
    left = "".join(line for row, line in enumerate(out, 1) if row not in gone)
    return NewTable(content=_encoded(left, raw), rows=_added_rows(end, added, gone))


def _added_rows(end: int, added: Sequence[Row], gone: Collection[int]) -> tuple[int, ...]:
    first = end + 1 - len(gone)
    return tuple(range(first, first + len(added)))


def _lines(text: str) -> Iterator[tuple[str, list[str]]]:
    """Each row as it is written, with its line ending, and its cells."""
    taken: list[str] = []

    def source() -> Iterator[str]:
        for line in io.StringIO(text, newline=""):
            taken.append(line)
            yield line

    for row in csv.reader(source()):
        yield "".join(taken), row
        taken.clear()


def _filled(line: Sequence[str]) -> bool:
    return any(cell.strip() for cell in line)


def _ending(source: str) -> str:
    found = re.search(r"\r\n|\n|\r", source[-2:])
    return found.group() if found else ""


def _places(header: Sequence[str], rows: Sequence[Row]) -> tuple[dict[str, int], list[str]]:
    """Where each column stands, and the columns the file does not have yet."""
    places = {column: spot for spot, column in enumerate(header) if column}
    wanted = dict.fromkeys(column for row in rows for column, value in row.items() if value)
    return places, [column for column in wanted if column not in places and _in_miles(column) not in places]


def _in_miles(column: str) -> str:
    return f"{column[:-3]}_mi" if column.endswith("_km") else column


def _filled_in(line: Sequence[str], values: Row, places: Mapping[str, int], width: int) -> list[str]:
    found = [*line, *[""] * (width - len(line))]
    for column, value in values.items():
        if column in places:
            found[places[column]] = harmless(value)
        elif (miles := _in_miles(column)) in places:
            found[places[miles]] = _miles(value)
    return found


def _miles(value: str) -> str:
    if not cell_values.PLAIN_NUMBER.fullmatch(value):
        return harmless(value)
    return f"{float(value) / KM_PER_MILE:.6f}".rstrip("0").rstrip(".")


def _widened(source: str, line: Sequence[str], width: int, more: int) -> str:
    if not line:
        return source
    ending = _ending(source)
    return source.removesuffix(ending) + "," * (width - len(line) + more) + ending


def _written(line: Sequence[str], ending: str) -> str:
    """One line of the file; a lone carriage return inside a cell is quoted as a line feed is."""
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerow(line)
    return out.getvalue().removesuffix("\r\n") + ending


def _encoded(text: str, raw: bytes) -> bytes:
    for mark, encoding in MARKS.items():
        if raw.startswith(mark):
            return mark + text.encode(encoding, "replace")
    return text.encode("utf-8", "replace")


def _changed_xlsx(
    raw: bytes, name: str, added: Sequence[Row], changed: Mapping[int, Row], gone: Collection[int]
) -> NewTable:
    if unsafe_reason(raw):
        raise BadInput([_damaged(name)])
    import openpyxl

    try:
        book = openpyxl.load_workbook(io.BytesIO(raw))
        sheet: Any = book.worksheets[0]
        if any(cell.data_type == "f" for each in book.worksheets for row in each.iter_rows() for cell in row):
            raise BadInput([_has_formulas(name)])
        filled = [row[0].row for row in sheet.iter_rows() if _filled([_text(cell.value) for cell in row])]
        header_row, end = filled[0], filled[-1]
    except BadInput:
        raise
    except Exception as error:  # the library raises any kind of error on a damaged file
        raise BadInput([_damaged(name)]) from error
    header = [_text(cell.value).strip().lower() for cell in sheet[header_row]]
    places, new = _places(header, [*added, *changed.values()])
    for spot, column in enumerate(new, len(header)):
        sheet.cell(header_row, spot + 1, column)
        places[column] = spot
    shown_as = _date_format(sheet, header_row + 1, places)
    for row, values in (*changed.items(), *enumerate(added, end + 1)):
        for column, value in values.items():
            _fill_cell(sheet, row, column, value, places, shown_as)
    for row in sorted(gone, reverse=True):
        sheet.delete_rows(row)
    out = io.BytesIO()
    book.save(out)
    return NewTable(content=out.getvalue(), rows=_added_rows(end, added, gone))


def _text(value: Any) -> str:
    return "" if value is None else str(value)


def _date_format(sheet: Any, row: int, places: Mapping[str, int]) -> str:
    """How the sheet shows its dates, or ISO when it holds them as text."""
    spot = places.get("date")
    cell = sheet.cell(row, spot + 1) if spot is not None else None
    return str(cell.number_format) if cell is not None and cell.is_date else "yyyy-mm-dd"


def shown_date_format(path: Path) -> str:
    """How a spreadsheet shows the dates of its column `date`; empty where it says nothing of it.

    A format that every spreadsheet shows in the way of its own country says nothing.
    """
    raw, _ = read_bytes(path, path.name)
    if raw is None or unsafe_reason(raw):
        return ""
    import openpyxl

    try:
        sheet: Any = openpyxl.load_workbook(io.BytesIO(raw)).worksheets[0]
        lines = [row for row in sheet.iter_rows() if _filled([_text(cell.value) for cell in row])]
        header = [_text(cell.value).strip().lower() for cell in lines[0]]
        cell = lines[1][header.index("date")]
    except Exception:  # the library raises any kind of error on a damaged file, which its reader tells of
        return ""
    return str(cell.number_format) if cell.is_date and cell.number_format != BY_COUNTRY else ""


def _fill_cell(sheet: Any, row: int, column: str, value: str, places: Mapping[str, int], date_format: str) -> None:
    if column not in places:
        column, value = _in_miles(column), _miles(value)
    cell = sheet.cell(row, places[column] + 1) if column in places else None
    if cell is None or (not value and cell.value is None):
        return
    if cell_values.PLAIN_NUMBER.fullmatch(value):
        cell.value = int(value) if value.isascii() and value.isdigit() else float(value)
    elif cell_values.ISO_DAY.fullmatch(value):
        cell.value, cell.number_format = date.fromisoformat(value[:10]), date_format
    else:
        cell.value = harmless(value) or None
        cell.data_type = "s" if value else "n"


def _has_formulas(name: str) -> Problem:
    accepted = "a spreadsheet of values, or the same table as CSV"
    hint = "the results of formulas would be lost; save a copy with values only, or write the row by hand"
    return problem("K04", Origin(file=name), None, "a spreadsheet with formulas", accepted, hint)


def _damaged(name: str) -> Problem:
    return problem("F10", Origin(file=name), None, "a damaged or locked spreadsheet file", XLSX_ACCEPTED)
