"""Rows put into a table of the trip folder: everything else stays as it was, byte for byte."""

from datetime import date, datetime
from pathlib import Path

import openpyxl
import pytest

from tripplan.files.append import changed_table, harmless
from tripplan.files.tables import read_cells
from tripplan.records.problems import BadInput

TABLE = 'date,unit,Owner,item,note\n2026-01-02,wagon,me,winch,"a, b"\n\n2026-02-03,wagon,,  winch ,6" drop\n'


def written(path: Path, text: str, encoding: str = "utf-8") -> Path:
    """A file with that text, its line endings as they are."""
    path.write_bytes(text.encode(encoding))
    return path


def test_an_added_row_leaves_every_other_byte_alone(tmp_path: Path) -> None:
    """Otherwise the owner's own columns, blanks or quotes would be gone after one entry."""
    path = written(tmp_path / "history.csv", TABLE)
    new = changed_table(path, [{"date": "2026-03-04", "unit": "wagon", "item": "winch", "note": "x, y"}])
    assert new.content.decode() == TABLE + '2026-03-04,wagon,,winch,"x, y"\n'
    assert new.rows == (5,)
    assert path.read_bytes().decode() == TABLE


def test_the_row_number_is_the_one_the_reader_gives(tmp_path: Path) -> None:
    """Otherwise a problem about the new row would point at another one."""
    path = written(tmp_path / "history.csv", 'date,note\n2026-01-01,"two\nlines"\n')
    new = changed_table(path, [{"date": "2026-01-02"}])
    path.write_bytes(new.content)
    table, _ = read_cells(path)
    assert table is not None and dict(table.rows)[new.rows[0]]["date"] == "2026-01-02"


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("last", [True, False])
def test_line_endings_are_kept(tmp_path: Path, ending: str, last: bool) -> None:
    """Otherwise the file would be half of one kind and half of the other, or two rows run together."""
    text = f"leg,note{ending}1,a" + (ending if last else "")
    new = changed_table(written(tmp_path / "t.csv", text), [{"leg": "2", "note": "b"}])
    assert new.content.decode() == f"leg,note{ending}1,a{ending}2,b{ending}"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_the_encoding_is_kept(tmp_path: Path, encoding: str) -> None:
    """Otherwise the spreadsheet that wrote the file would show broken letters."""
    path = written(tmp_path / "t.csv", "leg,note\n1,Öl ✓\n", encoding)
    start = path.read_bytes()
    new = changed_table(path, [{"leg": "2", "note": "für später"}])
    assert new.content.startswith(start)
    assert new.content.decode(encoding).endswith("2,für später\n")


def test_utf_16_the_other_way_round_is_kept(tmp_path: Path) -> None:
    """Otherwise such a file would come back with its bytes swapped."""
    path = tmp_path / "t.csv"
    path.write_bytes(b"\xfe\xff" + "leg\n1\n".encode("utf-16-be"))
    assert changed_table(path, [{"leg": "2"}]).content == b"\xfe\xff" + "leg\n1\n2\n".encode("utf-16-be")


def test_a_new_column_comes_last_in_every_row(tmp_path: Path) -> None:
    """Otherwise cells would slide under the wrong header."""
    path = written(tmp_path / "t.csv", "leg,note\n1,a\n2\n\n3,c\n")
    new = changed_table(path, changed={4 + 1: {"stalled": "yes"}})
    assert new.content.decode() == "leg,note,stalled\n1,a,\n2,,\n\n3,c,yes\n"


def test_a_changed_row_keeps_its_other_cells(tmp_path: Path) -> None:
    """Otherwise filling in a crossing would lose the note made when it was planned."""
    path = written(tmp_path / "t.csv", 'leg,depth_m,crossed,note\n3,0.2,,"stony, slow"\n4,0.3,,\n')
    new = changed_table(path, changed={2: {"depth_m": "0.55", "crossed": "2026-07-06"}})
    assert new.content.decode() == 'leg,depth_m,crossed,note\n3,0.55,2026-07-06,"stony, slow"\n4,0.3,,\n'


def test_blank_rows_at_the_end_stay_at_the_end(tmp_path: Path) -> None:
    """Otherwise the new row would stand far below the table and look lost."""
    path = written(tmp_path / "t.csv", "leg,note\n1,a\n,\n\n")
    assert changed_table(path, [{"leg": "2"}]).content.decode() == "leg,note\n1,a\n2,\n,\n\n"


def test_a_distance_goes_into_a_column_of_miles(tmp_path: Path) -> None:
    """Otherwise the file would hold the distance twice and be refused. 160.9344 km = 100 mi exactly."""
    path = written(tmp_path / "t.csv", "date,odometer_mi\n2026-01-01,90\n")
    new = changed_table(path, [{"date": "2026-01-02", "odometer_km": "160.9344"}])
    assert new.content.decode().endswith("2026-01-02,100\n")


@pytest.mark.parametrize(("text", "kept"), [
    ("=1+1", "'=1+1"), ("@cmd", "'@cmd"), ("+cmd", "'+cmd"), ("-x", "'-x"), ("-3", "-3"), ("+5", "+5"), ("a=b", "a=b"),
])  # fmt: skip
def test_text_that_a_spreadsheet_would_run_is_made_harmless(text: str, kept: str) -> None:
    """Otherwise a note could run as a formula when the history is opened."""
    assert harmless(text) == kept


def test_a_table_that_is_not_there_is_begun(tmp_path: Path) -> None:
    """Otherwise the first crossing of a trip planned dry could not be recorded."""
    new = changed_table(tmp_path / "t.csv", [{"leg": "2", "stalled": "yes"}], columns=("leg", "at_km"))
    assert new.content.decode() == "leg,at_km,stalled\n2,,yes\n"


def book(path: Path) -> Path:
    """A small spreadsheet history with real dates, a second column order and a wide column."""
    made = openpyxl.Workbook()
    sheet = made.active
    sheet.append(["unit", "date", "odometer_km", "item", "colour"])
    sheet.append(["wagon", datetime(2026, 1, 2), 184300, "winch", "red"])
    sheet["B2"].number_format = "dd/mm/yyyy"
    sheet.column_dimensions["E"].width = 42
    made.save(path)
    return path


def test_a_spreadsheet_gets_its_row_and_keeps_the_rest(tmp_path: Path) -> None:
    """Otherwise an owner who keeps the history in a spreadsheet would lose what is in it."""
    path = book(tmp_path / "history.xlsx")
    row = {"date": "2026-03-04", "unit": "wagon", "odometer_km": "185000", "item": "winch", "note": "=1+1"}
    new = changed_table(path, [row])
    path.write_bytes(new.content)
    sheet = openpyxl.load_workbook(path).active
    assert new.rows == (3,)
    assert [cell.value for cell in sheet[1]] == ["unit", "date", "odometer_km", "item", "colour", "note"]
    assert [cell.value for cell in sheet[2]] == ["wagon", datetime(2026, 1, 2), 184300, "winch", "red", None]
    assert sheet["B3"].value.date() == date(2026, 3, 4) and sheet["B3"].number_format == "dd/mm/yyyy"
    assert sheet["C3"].value == 185000 and sheet["F3"].value == "'=1+1" and sheet["F3"].data_type == "s"
    assert sheet.column_dimensions["E"].width == 42
    table, problems = read_cells(path)
    assert table is not None and not problems and dict(table.rows)[3]["date"] == "2026-03-04"


def test_a_spreadsheet_with_formulas_is_left_alone(tmp_path: Path) -> None:
    """Otherwise the results of its formulas would be lost and the folder could not be read again."""
    path = book(tmp_path / "history.xlsx")
    made = openpyxl.load_workbook(path)
    made.active["C2"] = "=184000+300"
    made.save(path)
    with pytest.raises(BadInput) as refused:
        changed_table(path, [{"unit": "wagon"}])
    assert refused.value.problems[0].code == "K04"


def test_a_file_in_another_encoding_is_refused(tmp_path: Path) -> None:
    """Otherwise its letters would be guessed and written back wrong."""
    path = tmp_path / "t.csv"
    path.write_bytes("leg,note\n1,Öl\n".encode("cp1252"))
    with pytest.raises(BadInput) as refused:
        changed_table(path, [{"leg": "2"}])
    assert refused.value.problems[0].code == "F03"
