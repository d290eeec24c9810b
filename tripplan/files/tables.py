"""Reading one CSV or spreadsheet file: first to rows of text, then rows to records.

Every function returns what it read and the problems it met. Nothing is guessed: a file
in another encoding, with another separator or with formulas lacking a result is refused
with a Problem that says how to save it.
"""

import csv
import io
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

from msgspec import Struct
from pydantic import ValidationError
from pydantic_core import PydanticCustomError

from tripplan.files.refusals import columns_of, known_names, near_word, required_of, wording, words_of
from tripplan.files.way_in import NOT_PERMITTED, NotRead, read_file
from tripplan.files.workbooks import read_pages
from tripplan.records import cell_values
from tripplan.records.facts_in import Origin, Record
from tripplan.records.problem_codes import nearest, problem
from tripplan.records.problems import LOOK, STOPS, BadInput, Problem, stops
from tripplan.records.units import km_from_miles

MOST_COLUMNS = 500
FILES_KEPT = 12
MOST_BYTES = 50_000_000
CSV_ACCEPTED = "a comma-separated table in UTF-8"
SAVE_AS_CSV = "in the spreadsheet choose: save as, CSV UTF-8"

SomeRecord = TypeVar("SomeRecord", bound=Record)
Grid = list[list[str]]


class Table(Struct, frozen=True, kw_only=True):
    """A table as text: its header in lower case, and each row with its spreadsheet number."""

    file: str
    header: tuple[str, ...]
    rows: tuple[tuple[int, dict[str, str]], ...]


def read_bytes(path: Path, name: str) -> tuple[bytes | None, tuple[Problem, ...]]:
    """All of a file, or the Problem that it is absent, locked, too large or not a file."""
    accepted = f"a file named {name} that can be opened"
    try:
        return read_file(path, MOST_BYTES), ()
    except NotRead as why:
        hint = "close it in other programs, and see who may read it" if why.found == NOT_PERMITTED else ""
        code = "F01" if why.is_absent else "F02"
        return None, (problem(code, Origin(file=name), None, why.found, accepted, hint),)


def decoded(raw: bytes, name: str) -> tuple[str | None, tuple[Problem, ...]]:
    """The text of a UTF-8 file, or of UTF-16 with its mark; other encodings are refused."""
    is_utf16 = raw[:2] in (b"\xff\xfe", b"\xfe\xff")
    try:
        text = raw.decode("utf-16" if is_utf16 else "utf-8-sig")
    except UnicodeDecodeError as error:
        row = raw[: error.start].count(b"\n") + 1
        odd = raw[error.start : error.start + 1]
        found = f"text that is not UTF-8: the byte {odd.hex().upper()} in line {row}"
        western = odd.decode("cp1252", errors="ignore")
        found += f", which would be {western} in Windows-1252" if western and not is_utf16 else ""
        return None, (problem("F03", Origin(file=name), None, found, "text in UTF-8", SAVE_AS_CSV),)
    if "\0" in text:
        row = text[: text.index("\0")].count("\n") + 1
        found = f"a zero byte in line {row}"
        return None, (problem("F07", Origin(file=name), None, found, "a text file in UTF-8", SAVE_AS_CSV),)
    if not text.strip():
        return None, (problem("F04", Origin(file=name), None, "an empty file", "entries"),)
    return text, ()


def read_text(path: Path, name: str) -> tuple[str | None, tuple[Problem, ...]]:
    """The text of a file, or the Problem why there is none."""
    raw, problems = read_bytes(path, name)
    return (None, problems) if raw is None else decoded(raw, name)


def read_cells(path: Path, name: str | None = None) -> tuple[Table | None, tuple[Problem, ...]]:
    """A CSV or XLSX file as a Table of text; `name` is what problems call the file."""
    name = name or path.name
    raw, problems = read_bytes(path, name)
    return (None, problems) if raw is None else _cells_of(raw, name)


def _cells_of(raw: bytes, name: str) -> tuple[Table | None, tuple[Problem, ...]]:
    if not raw:
        return None, (problem("F04", Origin(file=name), None, "an empty file", "entries"),)
    reader = _xlsx_grid if Path(name).suffix.lower() == ".xlsx" else _csv_grid
    grid, problems = reader(raw, name)
    if grid is None:
        return None, problems
    table, more = _table(grid, name)
    return table, problems + more


def _csv_grid(raw: bytes, name: str) -> tuple[Grid | None, tuple[Problem, ...]]:
    text, problems = decoded(raw, name)
    if text is None:
        return None, problems
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    except csv.Error:
        return None, (_open_quote(text, name),)
    width = max(map(len, rows))
    if width > MOST_COLUMNS:
        accepted = f"up to {MOST_COLUMNS} columns"
        return None, (problem("F13", Origin(file=name), None, f"a row of {width} cells", accepted),)
    return [row + [""] * (width - len(row)) for row in rows], ()


def _open_quote(text: str, name: str) -> Problem:
    lines = text.splitlines()
    odd = (row for row, line in enumerate(lines, 1) if line.count('"') % 2)
    found = f"a quotation mark without its partner, perhaps in line {next(odd, len(lines))}"
    hint = "write an inch mark in words, or double it inside a quoted cell"
    return problem("F09", Origin(file=name), None, found, "quotation marks in pairs around a cell", hint)


def _xlsx_grid(raw: bytes, name: str) -> tuple[Grid | None, tuple[Problem, ...]]:
    pages, problems = read_pages(raw, name)
    if not pages:
        return None, problems
    first, *others = pages
    if first.unsolved:
        return None, tuple(_unsolved(row, spot, name) for row, spot in first.unsolved)
    filled = [page.title for page in others if any(map(any, page.rows))]
    accepted = f"one sheet; {first.title} is read"
    several = problem("F16", Origin(file=name), None, f"entries also in {', '.join(filled)}", accepted)
    return [list(row) for row in first.rows], (several,) if filled else ()


def _unsolved(row: int, spot: int, name: str) -> Problem:
    from openpyxl.utils import get_column_letter

    hint = "open it in the spreadsheet, let it calculate, and save again"
    found = f"a formula in cell {get_column_letter(spot + 1)}{row} without its result"
    return problem("F11", Origin(file=name, row=row), None, found, "a value, or a formula with its result", hint)


def _table(grid: Grid, name: str) -> tuple[Table | None, tuple[Problem, ...]]:
    numbered = [(row, [cell.strip() for cell in line]) for row, line in enumerate(grid, 1)]
    numbered = [(row, line) for row, line in numbered if any(line)]
    if not numbered:
        return None, (problem("F04", Origin(file=name), None, "an empty file", "entries"),)
    (header_row, header_cells), *body = numbered
    header = [cell.lower() for cell in header_cells]
    problems = tuple(_header_problems(header, Origin(file=name, row=header_row)))
    unnamed = [spot for spot, column in enumerate(header) if not column]
    if not stops(problems):
        problems += tuple(_overflow(body, unnamed, header, name))
    if stops(problems):
        return None, problems
    if not body:
        hint = "nothing is read from it"
        problems += (problem("F05", Origin(file=name), None, "a header only", "rows below the header", hint),)
    rows = tuple((row, dict(zip(header, line, strict=True))) for row, line in body)
    return Table(file=name, header=tuple(column for column in header if column), rows=rows), problems


def _header_problems(header: list[str], origin: Origin) -> Iterator[Problem]:
    named = [column for column in header if column]
    if len(named) == 1 and (";" in named[0] or "\t" in named[0]):
        mark = "semicolons" if ";" in named[0] else "tabs"
        found = f"columns separated by {mark}"
        yield problem("F08", Origin(file=origin.file), None, found, CSV_ACCEPTED, SAVE_AS_CSV)
    for column in dict.fromkeys(named):
        if named.count(column) > 1:
            found = f"{named.count(column)} columns of that name"
            yield problem("F12", origin, column, found, "each column name once")


def _overflow(body: list[tuple[int, list[str]]], unnamed: list[int], header: list[str], name: str) -> Iterator[Problem]:
    if not unnamed:
        return
    for row, line in body:
        extra = [line[spot] for spot in unnamed if line[spot]]
        if extra:
            accepted = f"cells only under the {len(header) - len(unnamed)} named columns"
            hint = "put a cell that holds a comma between quotation marks"
            found = f"{extra[0]!r} under no column name"
            yield problem("F13", Origin(file=name, row=row), None, found, accepted, hint)


def read_records(
    path: Path, record: type[SomeRecord], letter: str
) -> tuple[tuple[SomeRecord, ...], tuple[Problem, ...]]:
    """The rows of a file as records; every problem of every row in one go.

    The last files read are known again by their bytes, so that a folder of which one file
    changed is read again in the time that one takes.
    """
    raw, problems = read_bytes(path, path.name)
    return ((), problems) if raw is None else records_in(raw, path.name, record, letter)


def sound_records(path: Path, record: type[SomeRecord], letter: str) -> tuple[SomeRecord, ...]:
    """The records of a file, none where it is not there. Raises BadInput where one of them stops the plan."""
    rows, problems = read_records(path, record, letter) if path.exists() else ((), ())
    if stops(problems):
        raise BadInput(problems)
    return rows


@lru_cache(maxsize=FILES_KEPT)
def records_in(
    raw: bytes, name: str, record: type[SomeRecord], letter: str
) -> tuple[tuple[SomeRecord, ...], tuple[Problem, ...]]:
    """The same of the content of a file of that name."""
    table, problems = _cells_of(raw, name)
    if table is None:
        return (), problems
    records, more = records_of(table, record, letter)
    return records, problems + more


def records_of(
    table: Table, record: type[SomeRecord], letter: str
) -> tuple[tuple[SomeRecord, ...], tuple[Problem, ...]]:
    """The rows of a table as records; a row with a problem gives its problems instead."""
    column_of, problems = _match_columns(table, record, letter)
    if stops(problems):
        return (), problems
    required = required_of(record)
    plan = [(field, column, field in required, field != column) for field, column in column_of.items()]
    records: list[SomeRecord] = []
    found: list[Problem] = list(problems)
    for row, texts in table.rows:
        values: dict[str, Any] = {}
        for field, column, is_required, in_miles in plan:
            text = texts[column]
            if text:
                values[field] = _in_km(text) if in_miles else text
            elif is_required:
                values[field] = None
        origin = Origin(file=table.file, row=row)
        values["origin"] = origin
        try:
            records.append(record.model_validate(values))
        except ValidationError as error:
            typed = {field: texts[column] for field, column in column_of.items()}
            found.extend(wording(error, record, letter, origin, typed, column_of))
    return tuple(records), tuple(found)


def _in_km(text: str) -> Any:
    """Kilometres of a cell in miles; text that is no number is left for the record to refuse."""
    try:
        return km_from_miles(cell_values.number(text))
    except PydanticCustomError:
        return text


def _match_columns(table: Table, record: type[Record], letter: str) -> tuple[dict[str, str], tuple[Problem, ...]]:
    """Which column fills which field, and what is missing, unknown or there twice."""
    known = columns_of(record)
    in_miles = {f"{field[:-3]}_mi": field for field in known if field.endswith("_km")}
    origin = Origin(file=table.file)
    column_of: dict[str, str] = {}
    problems: list[Problem] = []
    for column in table.header:
        field = column if column in known else in_miles.get(column)
        if field is None:
            problems.append(_unknown_column(column, known, letter, origin))
        elif field in column_of:
            found = f"both {column_of[field]} and {column}"
            problems.append(problem("F12", origin, column, found, "the distance in one unit only"))
        else:
            column_of[field] = column
    meant = {near_word(column, known) for column in table.header if column not in column_of.values()}
    for field in known:
        if field in required_of(record) and field not in column_of and field not in meant:
            words = nearest("", words_of(known[field].annotation))
            accepted = known[field].description or words or "a column of that name"
            problems.append(problem(f"{letter}01", origin, field, "no such column", accepted))
    return column_of, tuple(problems)


def _unknown_column(column: str, known: Any, letter: str, origin: Origin) -> Problem:
    """An extra column is worth a look; one that nearly has a known name stops the plan."""
    near = near_word(column, known)
    hint = f"perhaps {near} is meant" if near else "it is not read"
    weight = STOPS if near else LOOK
    return problem(f"{letter}07", origin, column, column, known_names(column, known), hint, weight)
