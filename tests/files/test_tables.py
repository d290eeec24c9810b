"""Files as tables of text, and rows as records: what a spreadsheet program may save."""

import csv
import io
import re
import zipfile
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pandas
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.files.test_bad_input import spreadsheet
from tripplan.files import tables
from tripplan.files.tables import read_cells, read_records
from tripplan.records.facts_in import Crossing, HistoryRow, Leg, WorkshopDay
from tripplan.records.problems import LOOK
from tripplan.records.units import KM_PER_MILE

GOOD = "date,minutes\n2026-06-21,360\n2026-06-27,300\n"


def saved(tmp_path: Path, content: str | bytes, name: str = "workshop.csv") -> Path:
    """A file with that content."""
    path = tmp_path / name
    path.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
    return path


@pytest.mark.parametrize(
    "content",
    [
        GOOD,
        GOOD.replace("\n", "\r\n"),
        GOOD.replace("\n", "\r"),
        "\ufeff" + GOOD,
        GOOD.encode("utf-16"),
        GOOD.upper(),
        GOOD.replace(",", " , "),
        'date,minutes\n"2026-06-21","360"\n2026-06-27,300',
        "date,minutes,,\n2026-06-21,360,,\n2026-06-27,300,,\n",
        "minutes,date\n360,2026-06-21\n300,2026-06-27\n",
    ],
)
def test_ways_of_saving_the_same_table(tmp_path: Path, content: str | bytes) -> None:
    """Otherwise the same days would be lost when another program saves the file."""
    days, problems = read_records(saved(tmp_path, content), WorkshopDay, "W")
    assert problems == ()
    assert [(day.date, day.minutes) for day in days] == [(date(2026, 6, 21), 360), (date(2026, 6, 27), 300)]


def test_rows_are_numbered_as_the_spreadsheet_shows(tmp_path: Path) -> None:
    """Otherwise the owner would look for a mistake in the wrong row."""
    content = 'date,minutes\n\n2026-06-21,360\n,,\n"2026-06-27",300\n   \n2026-06-28,x\n'
    days, problems = read_records(saved(tmp_path, content), WorkshopDay, "W")
    assert [day.origin.row for day in days] == [3, 5]
    assert [(problem.row, problem.column, problem.found) for problem in problems] == [(7, "minutes", "x")]


def test_a_cell_of_two_lines_is_one_row(tmp_path: Path) -> None:
    """Otherwise a note with a line break would shift every row number after it."""
    content = 'date,unit,act,note\n2026-06-01,wagon,reading,"two\nlines, and a comma"\nbad,wagon,reading,\n'
    rows, problems = read_records(saved(tmp_path, content), HistoryRow, "H")
    assert [row.note for row in rows] == ["two\nlines, and a comma"]
    assert [(problem.code, problem.row) for problem in problems] == [("H04", 3)]


@pytest.mark.parametrize("content", [GOOD, 'a,b\n"x ""y""",1\n5" pipe,2\n', "a,b,c\n1\n1,2\n"])
def test_text_agrees_with_the_standard_reader(tmp_path: Path, content: str) -> None:
    """Otherwise quotation marks and short rows would be read differently here (RFC 4180, from memory)."""
    table, _ = read_cells(saved(tmp_path, content))
    assert table
    expected = [row for row in csv.reader(io.StringIO(content))][1:]
    assert [[text for text in texts.values() if text] for _, texts in table.rows] == expected


def test_words_that_look_empty_are_kept(tmp_path: Path) -> None:
    """Otherwise a place called Null or a note saying NA would vanish."""
    table, _ = read_cells(saved(tmp_path, "a,b\nNA,null\nnan,None\n"))
    assert table
    assert [tuple(texts.values()) for _, texts in table.rows] == [("NA", "null"), ("nan", "None")]


def test_leading_zeros_and_long_figures_are_kept_as_text(tmp_path: Path) -> None:
    """Otherwise a part number in a note would be rounded."""
    table, _ = read_cells(saved(tmp_path, "a,b\n00123,12345678901234567890\n"))
    assert table
    assert table.rows == ((2, {"a": "00123", "b": "12345678901234567890"}),)


def test_spreadsheet_cells_read_like_csv(tmp_path: Path) -> None:
    """Otherwise the history would read differently from a spreadsheet file than from CSV."""
    rows: list[list[Any]] = [
        ["date", "unit", "odometer_km", "act", "note"],
        [datetime(2026, 5, 1), "wagon", 184300, "reading", None],
        [],
        [date(2026, 5, 2), "wagon", 184400.0, "reading", datetime(2026, 5, 1, 15, 20)],
        ["2026-05-03", "wagon", 184500.5, "reading", True],
        ["2026-05-04", "wagon", "18460O", "reading", "NA"],
    ]
    path = saved(tmp_path, spreadsheet({"history": rows, "spare": []}), "history.xlsx")
    found, problems = read_records(path, HistoryRow, "H")
    assert [(p.code, p.row, p.found) for p in problems] == [("H03", 6, "18460O")]
    assert [(row.date.day, row.odometer_km, row.note, row.origin.row) for row in found] == [
        (1, 184300, None, 2),
        (2, 184400, "2026-05-01 15:20:00", 4),
        (3, 184500.5, "True", 5),
    ]


def test_formulas_with_results_are_read(tmp_path: Path) -> None:
    """Otherwise a history that adds up its distances could not be used at all."""
    raw = spreadsheet({"s": [["date", "minutes"], ["2026-06-21", "=300+60"]]})
    with_result = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as old, zipfile.ZipFile(with_result, "w") as new:
        for name in old.namelist():
            new.writestr(name, re.sub(rb"<v></v>|<v ?/>", b"<v>360</v>", old.read(name)))
    assert [p.code for p in read_records(saved(tmp_path, raw, "w.xlsx"), WorkshopDay, "W")[1]] == ["F11"]
    days, problems = read_records(saved(tmp_path, with_result.getvalue(), "w.xlsx"), WorkshopDay, "W")
    assert problems == ()
    assert [day.minutes for day in days] == [360]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16-le", "utf-16-be"])
def test_declared_entities_are_refused_in_any_encoding(tmp_path: Path, encoding: str) -> None:
    """Otherwise a file made to fill the memory would be opened."""
    bomb = '<?xml version="1.0"?><!DocType x [<!ENTITY a "aaaa">]><x>&a;</x>'.encode(encoding)
    raw = io.BytesIO()
    with zipfile.ZipFile(raw, "w") as archive:
        archive.writestr("xl/worksheets/sheet1.xml", bomb)
    table, problems = read_cells(saved(tmp_path, raw.getvalue(), "history.xlsx"))
    assert table is None
    assert [problem.code for problem in problems] == ["F10"]
    assert "declarations" in problems[0].found


def test_miles_are_converted_exactly(tmp_path: Path) -> None:
    """Otherwise an instrument in miles would be read as km (mile of 1609.344 m, NIST SP 811, from memory)."""
    content = "date,unit,odometer_mi,act\n2026-06-01,wagon,100,reading\n2026-06-02,wagon,1OO,reading\n"
    rows, problems = read_records(saved(tmp_path, content), HistoryRow, "H")
    assert [row.odometer_km for row in rows] == [pytest.approx(160.9344)]
    assert KM_PER_MILE == 1.609344
    assert [(p.code, p.column, p.found) for p in problems] == [("H03", "odometer_mi", "1OO")]


def test_required_column_may_be_in_miles(tmp_path: Path) -> None:
    """Otherwise a crossing measured from a trip meter in miles could not be entered."""
    crossings, problems = read_records(saved(tmp_path, "leg,at_mi,depth_m,water\n1,10,0.4,fresh\n"), Crossing, "C")
    assert problems == ()
    assert [row.at_km for row in crossings] == [pytest.approx(16.09344)]


def test_every_problem_of_a_row_is_told(tmp_path: Path) -> None:
    """Otherwise each run would show one more mistake of the same row."""
    content = (
        "leg,from,to,depart,distance_km,speed_kmh,surface,corrugation,dust,heat_c,load,towing,hubs,low_range_km,remote\n"
        "one,,Red Pan,3/7/26,-5,fast,dirt,some,much,99,full,maybe,half,,perhaps\n"
    )
    legs, problems = read_records(saved(tmp_path, content), Leg, "L")
    assert legs == ()
    right = {"to"}
    columns = set(content.partition("\n")[0].split(",")) - right
    assert sorted(problem.column or "" for problem in problems) == sorted(columns)
    assert {problem.row for problem in problems} == {2}


def test_missing_columns_are_told_once(tmp_path: Path) -> None:
    """Otherwise a missing column would be repeated for each of a thousand rows."""
    found, problems = read_records(saved(tmp_path, "day,minutes\n" + "2026-06-21,10\n" * 50), WorkshopDay, "W")
    assert found == ()
    assert [(p.code, p.column, p.weight == LOOK) for p in problems] == [
        ("W07", "day", True),
        ("W01", "date", False),
    ]


@pytest.mark.slow
def test_a_hundred_thousand_rows_in_seconds(tmp_path: Path) -> None:
    """Otherwise the history of a whole fleet could not be read between two stops."""
    header = "date,unit,odometer_km,item,position,act,finding,lubricant,note\n"
    row = "2026-01-{:02d},wagon,{},front_wheel_bearings,left,repack,serviceable,wheel bearing grease,\n"
    rows_text = "".join(row.format(n % 28 + 1, 100_000 + n) for n in range(100_000))
    path = saved(tmp_path, header + rows_text, "history.csv")
    rows, problems = read_records(path, HistoryRow, "H")
    assert len(rows) == 100_000
    assert problems == ()
    assert rows[-1].origin.row == 100_001


@given(st.lists(st.sampled_from(["a", "b ", " ", ",", ",", '"', '""', '"q,\n"', "\n", "\r\n", "NA", "1.0", "é"])))
def test_cells_are_those_another_reader_gives(parts: list[str]) -> None:
    """Reference: pandas.read_csv with every cell as text (pandas user guide, IO tools, CSV)."""
    text = "head,more\n" + "".join(parts)
    grid, problems = tables._csv_grid(text.encode(), "x.csv")
    if grid is None:
        assert [problem.code for problem in problems] == ["F09"]
        return
    frame = pandas.read_csv(
        io.StringIO(text, newline=""), dtype=str, header=None, names=range(len(grid[0])), index_col=False,
        keep_default_na=False, na_filter=False, skip_blank_lines=False,
    )  # fmt: skip
    assert [[cell.strip() for cell in row] for row in grid] == [
        [cell.strip() for cell in row] for row in frame.to_numpy(dtype=object).tolist()
    ]
