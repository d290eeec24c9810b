"""Whatever a foreign table holds: no exception, and every row accounted for."""

import csv
import io
import platform
import subprocess
import sys
import tempfile
from datetime import date, timedelta
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from tests.small import camper, rig, wagon
from tests.support import TODAY
from tripplan.files.data_tables import read_catalogue
from tripplan.files.importing.cells import DAY_FIRST, MONTH_FIRST, read_day, read_km
from tripplan.files.importing.grid import Sheet, read_sheets
from tripplan.files.importing.mapping import ColumnMap
from tripplan.files.importing.match import read_text
from tripplan.files.importing.report import questions_csv
from tripplan.files.importing.table import import_rows, lay_out_all
from tripplan.files.importing.word_book import import_words, word_book
from tripplan.sheets.import_text import report_text

ROOT = Path(__file__).parents[2]
SHIPPED, _ = read_catalogue()
RIG = rig(wagon(), camper())
BOOK = word_book(import_words(), SHIPPED, RIG.units)
WORDS = sorted({word.words for word in import_words()})
ANY = st.text(st.characters(exclude_categories=["Cs"]), max_size=15)
FORMS = st.sampled_from(("%Y-%m-%d", "%d/%m/%Y", "%m/%d/%y", "%d %b %Y", "serial"))
DATES = st.builds(
    lambda day, form: f"{day.toordinal() - 693594}" if form == "serial" else day.strftime(form),
    st.dates(date(1980, 1, 1), date(2030, 1, 1)), FORMS,
)  # fmt: skip
KMS = st.builds(
    lambda km, form: form.format(km, km // 1000), st.integers(0, 400_000),
    st.sampled_from(("{0}", "{0:,}", "{1}k", "{0} mi", "{0}?")),
)  # fmt: skip
WORK = st.lists(st.sampled_from([*WORDS, ",", "+", "and", "&"]), max_size=6).map(" ".join)
HEADERS = st.sampled_from(
    ["Date", "Odo", "Miles", "Work done", "Notes", "Item", "Act", "Position", "Finding", "Unit", "Cost", "", "x", "km"]
)
PLAIN = st.sampled_from(["wagon", "camper", "odometer replaced", "both", "worn", "=1+1"])
CELL = st.one_of(ANY, DATES, KMS, WORK, PLAIN)
GRIDS = st.tuples(st.lists(HEADERS, min_size=1, max_size=6), st.lists(st.lists(CELL, max_size=7), max_size=8))
ANSWERS = st.builds(
    ColumnMap, blank_date=st.sampled_from(("ask", "as above")), no_act=st.sampled_from(("ask", "usual act")),
    true_dates=st.sampled_from(("ask", "trust")),
)  # fmt: skip


def accounted_for(sheets: tuple[Sheet, ...], answers: ColumnMap) -> None:
    """The import ends, its sum is right, and both reports can be written."""
    for one_rig in (RIG, None):
        report = import_rows("log.csv", lay_out_all(sheets, answers, TODAY), one_rig, (), SHIPPED, answers, TODAY)
        assert report.adds_up
        assert all(row.date <= TODAY for row in report.records)
        assert report_text(report) and questions_csv(report)


@settings(max_examples=80, deadline=None)
@given(grid=GRIDS, answers=ANSWERS)
def test_any_table_is_accounted_for(grid: tuple[list[str], list[list[str]]], answers: ColumnMap) -> None:
    """Otherwise a row of the owner's old book could be lost, or end the import with a traceback."""
    header, rows = grid
    lines = [tuple(" ".join(cell.split()) for cell in line) for line in (header, *rows)]
    filled = tuple((number, line) for number, line in enumerate(lines, 1) if any(line))
    if filled:
        accounted_for((Sheet(name="log", rows=filled),), answers)


@settings(max_examples=60, deadline=None)
@given(raw=st.binary(max_size=300) | ANY.map(str.encode), suffix=st.sampled_from((".csv", ".xlsx")))
def test_any_bytes_are_a_table_or_a_problem(raw: bytes, suffix: str) -> None:
    """Otherwise a damaged file would end in a traceback instead of a message."""
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / f"log{suffix}"
        path.write_bytes(raw)
        sheets, problems = read_sheets(path)
        assert bool(sheets) != bool(problems)
        if sheets:
            accounted_for(sheets, ColumnMap())


@settings(max_examples=30, deadline=None)
@given(grid=GRIDS)
def test_questions_are_themselves_a_table(grid: tuple[list[str], list[list[str]]]) -> None:
    """Otherwise the owner could not answer in the file that asks."""
    header, rows = grid
    filled = tuple((number, tuple(line)) for number, line in enumerate((header, *rows), 1) if any(map(str.strip, line)))
    if filled:
        laid = lay_out_all((Sheet(name="log", rows=filled),), ColumnMap(), TODAY)
        report = import_rows("log.csv", laid, RIG, (), SHIPPED, ColumnMap(), TODAY)
        found = list(csv.DictReader(io.StringIO(questions_csv(report), newline="")))
        assert len(found) == len(report.questions)


DAY_FORMS = ("%d/%m/%Y", "%d.%m.%Y", "%d-%m-%Y", "%d %B %Y", "%Y-%m-%d")


@given(day=st.dates(date(1970, 1, 1), TODAY), form=st.sampled_from(DAY_FORMS))
def test_a_day_is_never_swapped(day: date, form: str) -> None:
    """Otherwise a service would count half a year early or late."""
    assert read_day(day.strftime(form), DAY_FIRST, TODAY).day == day
    found = read_day(day.strftime(form), None, TODAY)
    assert found.day in (day, None) and (found.day or day in found.readings)
    american = read_day(day.strftime("%m/%d/%Y"), MONTH_FIRST, TODAY)
    assert american.day == day


@given(text=ANY | KMS | DATES)
def test_any_cell_is_a_value_or_a_reason(text: str) -> None:
    """Otherwise a cell would be dropped without a word."""
    for order in (None, DAY_FIRST, MONTH_FIRST):
        day = read_day(text, order, TODAY)
        assert (day.day is None) == bool(day.why)
    km = read_km(text, False)
    assert (km.km is None) == bool(km.why)
    assert km.km is None or 0 <= km.km < 5_000_000


@settings(max_examples=150, deadline=None)
@given(text=WORK | ANY, of_trailer=st.booleans(), usual=st.booleans())
def test_a_match_is_always_an_item_of_the_rig(text: str, of_trailer: bool, usual: bool) -> None:
    """Otherwise work would be written for a part that the rig does not have."""
    read = read_text(text, BOOK, of_trailer, usual)
    for match in read.matches:
        assert match.item in BOOK.known or match.item in BOOK.sheets
        if match.item in BOOK.known:
            assert match.position in (None, "both", *BOOK.known[match.item].positions)
        assert usual or match.is_act_said or match.item in BOOK.sheets
    assert all(doubt.why for doubt in read.doubts)


def test_the_first_serial_day() -> None:
    """Otherwise dates kept as day numbers would be a day off: 44197 is 2021-01-01 in the 1900 date system."""
    assert read_day("44197", None, TODAY).day == date(1899, 12, 30) + timedelta(days=44197) == date(2021, 1, 1)


SHEET_CELL = st.one_of(
    CELL.map(lambda text: ILLEGAL_CHARACTERS_RE.sub("", text)), st.dates(date(1980, 1, 1), date(2030, 1, 1)),
    st.integers(-5, 400_000), st.floats(-1e6, 1e6), st.booleans(), st.none(), st.just("=A1&B1"),
)  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(
    pages=st.lists(st.tuples(st.lists(HEADERS, min_size=1, max_size=6), st.lists(st.lists(SHEET_CELL, max_size=7), max_size=6)),
                   min_size=1, max_size=2),
    merges=st.lists(st.tuples(st.integers(1, 6), st.integers(1, 6), st.integers(0, 3), st.integers(0, 2)), max_size=2),
)  # fmt: skip
def test_any_spreadsheet_is_accounted_for(
    pages: list[tuple[list[str], list[list[object]]]], merges: list[tuple[int, ...]]
) -> None:
    """Otherwise merged cells, formulas or odd values in a real workbook could lose a row or end in a traceback."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for number, (header, rows) in enumerate(pages):
        page = book.create_sheet(f"page {number}")
        for line in (header, *rows):
            page.append(line)
        for row, column, down, right in merges:
            page.merge_cells(start_row=row, start_column=column, end_row=row + down, end_column=column + right)
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "log.xlsx"
        book.save(path)
        sheets, problems = read_sheets(path)
    assert bool(sheets) != bool(problems)
    if sheets:
        accounted_for(sheets, ColumnMap())


FUZZED = sys.platform == "linux" and platform.machine() == "x86_64" and sys.version_info < (3, 14)


@pytest.mark.skipif(not FUZZED, reason="the fuzzer is built for other machines only")
def test_a_fuzzer_that_follows_the_branches_finds_nothing(tmp_path: Path) -> None:
    """Otherwise a table that only few would think of could end the import with a traceback."""
    command = [
        sys.executable,
        "-m",
        "tests.properties.fuzz_import",
        "-runs=800",
        "-seed=1",
        f"-artifact_prefix={tmp_path}/",
    ]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr[-2000:]
    assert "Done 800 runs" in done.stderr
