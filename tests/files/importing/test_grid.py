"""What a foreign file itself may be: its letters and the way out where they are not UTF-8."""

from pathlib import Path

import pytest

from tests.files.importing.reading import read_lines
from tripplan.files.importing.grid import read_sheets

LINES = "Date,Km,Work\n13/02/2021,200400,oil & filter (café)\n"


def test_the_refusal_of_windows_letters_names_the_way_out(tmp_path: Path) -> None:
    """Otherwise the owner of an old export would be sent to a spreadsheet, though the mapping file can say it."""
    path = tmp_path / "log.csv"
    path.write_bytes(LINES.encode("cp1252"))
    sheets, (problem,) = read_sheets(path)
    assert sheets == () and problem.code == "F03"
    assert 'encoding = "windows-1252"' in problem.hint and "--mapping" in problem.hint
    [sheet], problems = read_sheets(path, "windows-1252")
    assert problems == () and "café" in sheet.rows[1][1][2]


@pytest.mark.parametrize("encoding", ["undefined", "no such", "ascii", "idna", "hex", ""])
def test_an_encoding_that_does_not_fit_is_a_problem(tmp_path: Path, encoding: str) -> None:
    """Otherwise a word in the mapping file would end in our own fault."""
    path = tmp_path / "log.csv"
    path.write_bytes(LINES.encode("cp1252"))
    sheets, (problem,) = read_sheets(path, encoding)
    assert sheets == () and problem.code == "F03"


def test_the_lines_of_a_cell_stay_apart(tmp_path: Path) -> None:
    """Otherwise the jobs of a visit written one below the other would run into each other."""
    report = read_lines(tmp_path, "Date,Work", '2021-02-13,"oil & filter,\ngreased unis\n\nwheel nuts torqued"')
    assert [row.item for row in report.records] == ["engine_oil_filter", "propshaft_ujoints", "wheel_nuts"]
    alone = read_lines(tmp_path, "Date,Work", "2021-02-13,oil & filter greased unis")
    assert alone.records == () and alone.questions[0].may_mean == ("engine_oil_filter", "propshaft_ujoints")
