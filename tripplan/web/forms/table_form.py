"""The tables of a trip as they are edited in the page: text cells in, the changed file out."""

import csv
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from tripplan.files.append import HISTORY_COLUMNS, changed_table
from tripplan.files.folder import HISTORY_FILES, TRIP_TABLES
from tripplan.files.refusals import columns_of, words_of
from tripplan.files.tables import read_cells
from tripplan.records.facts_in import HistoryRow, Record
from tripplan.records.problems import Problem
from tripplan.web.forms.fields import Form, last
from tripplan.web.forms.row_words import row_words
from tripplan.web.forms.slips import Field, Slip, column_words
from tripplan.web.forms.typed import as_files_have_it

TABLES: dict[str, tuple[str, type[Record], str]] = {**TRIP_TABLES, "history": (HISTORY_FILES[0], HistoryRow, "H")}
TITLES = {
    "legs": "Legs", "crossings": "Water crossings", "stops": "Stops on the way", "workshop_days": "Days in the shed",
    "history": "History",
}  # fmt: skip
USUAL = {
    "legs": ("leg", "from", "to", "depart", "distance_km", "speed_kmh", "surface", "corrugation", "dust", "heat_c",
             "load", "towing", "hubs", "low_range_km", "remote", "note"),
    "crossings": ("leg", "at_km", "depth_m", "length_m", "minutes", "water", "crossed"),
    "stops": ("stop", "after_leg", "arrive", "leave", "facility", "minutes"),
    "workshop_days": ("date", "minutes"),
    "history": HISTORY_COLUMNS,
}  # fmt: skip
YES_NO = ("towing", "remote", "stalled", "hubs_hot")
NEW = "new"
MOST_NEW = 400
UNCHANGED = "Nothing was changed, so nothing was saved."


class Row(Struct, frozen=True, kw_only=True):
    """One row of a table: its key is its spreadsheet number, or `new1` and so on."""

    key: str
    cells: Mapping[str, str]
    out: bool = False

    @property
    def is_new(self) -> bool:
        """True for a row that is not in the file yet."""
        return self.key.startswith(NEW)


class Grid(Struct, frozen=True, kw_only=True):
    """One table: its part of the trip, its columns and its rows."""

    part: str
    file: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]

    @property
    def title(self) -> str:
        """What the page calls it."""
        return TITLES[self.part]

    def words(self, column: str) -> tuple[str, ...]:
        """The words a column accepts; empty when it is typed freely."""
        if column in YES_NO:
            return ("yes", "no")
        known = columns_of(TABLES[self.part][1]).get(column)
        return words_of(known.annotation) if known else ()

    def filled(self) -> tuple[Row, ...]:
        """Rows that hold something; a new row with nothing but its number is left out."""
        return tuple(row for row in self.rows if not row.is_new or _holds(row))

    def with_blank(self, count: int = 1) -> "Grid":
        """The table with empty rows at its end, to be filled in."""
        used = [int(row.key[len(NEW) :]) for row in self.rows if row.is_new]
        first = max(used, default=0) + 1
        cells = dict.fromkeys(self.columns, "")
        blank = tuple(Row(key=f"{NEW}{first + n}", cells=cells) for n in range(count))
        return replace(self, rows=(*self.rows, *blank))


def file_of(folder: Path, part: str) -> str:
    """The file a table is kept in; the history may be a spreadsheet."""
    names = HISTORY_FILES if part == "history" else (TABLES[part][0],)
    return next((name for name in names if (folder / name).exists()), names[0])


def read_grid(folder: Path, part: str) -> tuple[Grid, tuple[Problem, ...]]:
    """A table as it stands in the folder; an absent one has its usual columns and no rows."""
    file, usual = file_of(folder, part), USUAL[part]
    if not (folder / file).exists():
        return Grid(part=part, file=file, columns=usual, rows=()), ()
    table, problems = read_cells(folder / file)
    if table is None:
        return Grid(part=part, file=file, columns=usual, rows=()), problems
    rows = tuple(Row(key=str(number), cells=cells) for number, cells in table.rows)
    missing = tuple(column for column in usual if column not in table.header and _is_needed(column, table.header))
    return Grid(part=part, file=file, columns=(*table.header, *missing), rows=rows), ()


def _is_needed(column: str, header: Sequence[str]) -> bool:
    return not (column.endswith("_km") and f"{column[:-3]}_mi" in header)


def from_form(now: Grid, form: Form) -> Grid:
    """The table as a form sends it: fields named part.key.column."""
    part, known = now.part, columns_of(TABLES[now.part][1])
    sent = dict.fromkeys(name.split(".", 2)[2] for name in form if name.startswith(f"{part}.") and name.count(".") > 1)
    columns = (*now.columns, *(column for column in sent if column in known and column not in now.columns))
    keys: dict[str, dict[str, str]] = {}
    for name, values in form.items():
        owner, _, rest = name.partition(".")
        key, _, column = rest.partition(".")
        if owner == part and (key.isdigit() or key[len(NEW) :].isdigit()) and key.isascii():
            keys.setdefault(key, {})[column] = values[-1].strip()
    have = {row.key: row.cells for row in now.rows}
    rows = tuple(
        Row(key=key, cells=_as_typed(cells, columns, have.get(key, {})), out=cells.get("out") == "yes")
        for key, cells in list(keys.items())[: MOST_NEW * 5]
        if key.isdigit() or key.startswith(NEW)
    )
    return replace(now, columns=columns, rows=rows)


def _as_typed(cells: Mapping[str, str], columns: Sequence[str], have: Mapping[str, str]) -> dict[str, str]:
    """A row as it was typed, with figures and days as the files have them; what was not touched stays to the letter."""
    typed = {column: cells.get(column, "") for column in columns}
    return {
        column: text if text == have.get(column) else as_files_have_it(column, text) for column, text in typed.items()
    }


def new_content(folder: Path, now: Grid, wanted: Grid) -> tuple[bytes | None, dict[int, str]]:
    """The file as wanted, None when nothing changes; and which form row each row of it is."""
    path = folder / now.file
    have = {row.key: row.cells for row in now.rows}
    kept = [row for row in wanted.filled() if not row.out and (row.is_new or row.key in have)]
    added = [row for row in kept if row.is_new]
    changed = {
        int(row.key): {column: value for column, value in row.cells.items() if value != have[row.key].get(column, "")}
        for row in kept
        if not row.is_new
    }
    changed = {number: cells for number, cells in changed.items() if cells}
    gone = {int(row.key) for row in wanted.rows if row.out and row.key in have}
    if not (added or changed or gone):
        return None, {int(key): key for key in have}
    new = changed_table(path, [row.cells for row in added], changed, wanted.columns, gone)
    left = (int(key) for key in have if int(key) not in gone)
    places = {number - sum(row < number for row in gone): str(number) for number in left}
    return new.content, places | dict(zip(new.rows, (row.key for row in added), strict=True))


def _holds(row: Row) -> bool:
    return any(value for column, value in row.cells.items() if column != "leg")


def pasted(text: str, grid: Grid) -> Grid:
    """The table with rows from a spreadsheet at its end; nothing is saved by it.

    Tabs, else semicolons, else commas part the cells; a first line of column names is used as such.
    """
    lines = [line for line in text.splitlines() if line.strip()]
    if not lines:
        return grid
    mark = next((mark for mark in ("\t", ";") if mark in lines[0]), ",")
    rows = [[cell.strip() for cell in cells] for cells in csv.reader(lines, delimiter=mark)]
    header = [cell.lower() for cell in rows[0]]
    is_header = len(set(header) & set(grid.columns)) * 2 > len(header)
    columns = header if is_header else list(grid.columns)
    body = rows[1:] if is_header else rows
    grown = replace(grid, rows=grid.filled()).with_blank(min(len(body), MOST_NEW))
    fresh = [row for row in grown.rows if row.is_new][-len(body) :] if body else []
    filled = {
        row.key: replace(row, cells={**row.cells, **dict(zip(columns, cells, strict=False))})
        for row, cells in zip(fresh, body, strict=False)
    }
    return replace(grown, rows=tuple(filled.get(row.key, row) for row in grown.rows))


def longer(grid: Grid, form: Form) -> tuple[Grid, str]:
    """The table with one more empty row, or with rows from a spreadsheet, nothing saved yet; and what to say of them."""
    if not last(form, "do").startswith("paste"):
        return grid.with_blank(), ""
    grown = pasted(last(form, "pasted"), replace(grid, rows=grid.filled()))
    count = len(grown.rows) - len(grid.filled())
    return grown, f"{count} rows from the paste are in the table below. They are not saved yet: look, then save."


def differences(one: Grid, other: Grid) -> list[tuple[str, str, str, str]]:
    """Cells in which two forms of a table differ: row, column, in the one, in the other."""
    left = {row.key: row.cells for row in one.filled() if not row.out}
    right = {row.key: row.cells for row in other.filled() if not row.out}
    if other.part == "history":  # its form shows a part of the rows
        left = {key: cells for key, cells in left.items() if key in right}
    found = []
    for key in dict.fromkeys((*left, *right)):
        for column in one.columns:
            was, now = (side.get(key, {}).get(column, "") for side in (left, right))
            if was != now:
                found.append((f"{other.file} row {key}", column, was, now))
    return found


def field_in(grid: Grid, problem: Problem, places: Mapping[int, str], names: Mapping[str, str]) -> Field | None:
    """The cell, the row or the table of the form that a problem is about; None for a problem of another file."""
    if problem.file != grid.file:
        return None
    key = places.get(problem.row, "") if problem.row is not None else ""
    row = next((row for row in grid.rows if row.key == key), None)
    if row is None:
        return Field(place=grid.part, label=grid.title) if problem.row is None else None
    head, _, _ = row_words(grid.part, row.cells, names)
    if problem.column not in grid.columns:
        return Field(place=f"{grid.part}-{key}", label=head)
    place = f"{grid.part}.{key}.{problem.column}-wrong"
    return Field(place=place, label=f"{head}: {column_words(problem.column)}")


def own_places(grid: Grid) -> dict[int, str]:
    """Rows of the file as they stand, each with the form row it is."""
    return {int(row.key): row.key for row in grid.rows if row.key.isdigit()}


def bad_rows(grid: Grid, slips: Iterable[Slip]) -> set[tuple[str, str]]:
    """The rows of the form in which something was refused."""
    places = {slip.place for slip in slips}
    return {
        (grid.part, row.key)
        for row in grid.rows
        if f"{grid.part}-{row.key}" in places
        or any(f"{grid.part}.{row.key}.{column}-wrong" in places for column in grid.columns)
    }
