"""Lines of totals: sums are skipped and said, work that only begins like one is read or asked. All rows are invented."""

from pathlib import Path

import pytest

from tests.files.importing.reading import read_lines

HEADER = "Date,Km,Work,Remark,Cost"


@pytest.mark.parametrize(
    "row",
    [
        "summer 2025,100,fuel filter replaced,,",
        ",,sump guard bolts tightened,,",
        ",,front wheel bearings repacked both,Sum paid cash 40,",
        ",,Total flush of the brake fluid,,",
        ",,Summer coolant flushed,,",
        "Sumpf bei Anna 2025,,rear diff oil changed,,",
        ",,Total loss of the brakes,,33",
        ",,Total,fuel filter replaced,2",
    ],
)
def test_a_row_with_words_of_its_own_is_asked(row: str, tmp_path: Path) -> None:
    """Otherwise work would be thrown away as a line of totals because a cell begins with sum or total."""
    report = read_lines(tmp_path, HEADER, "13/1/2021,50,unis greased,,", row)
    assert report.rows_asked == 1
    assert [skip.why for skip in report.skips] == ["the header"]


@pytest.mark.parametrize(
    "row",
    [
        "TOTAL,,,,340", "Total 2025,,,,340", ",,Total,,340", ",,Subtotal:,,33", "Sub-total,,,,33", "Sums,,,,12",
        "Grand total,,,,500", "Total cost for 2024:,,,,33", "Average per month,,,,9", "Carried over,,,,200",
        "Sum carried forward,,,,200", "b/f,,,,200", "Total January,,,,20",
    ],
)  # fmt: skip
def test_a_true_line_of_totals_is_a_stated_skip(row: str, tmp_path: Path) -> None:
    """Otherwise each sum of a page would be asked about as if it were work."""
    report = read_lines(tmp_path, HEADER, "13/1/2021,50,unis greased,,", row)
    assert [skip.why for skip in report.skips] == ["the header", "a line of totals"]
    assert report.questions == ()


def test_a_row_with_a_day_is_no_line_of_totals(tmp_path: Path) -> None:
    """Otherwise what is dated would be skipped though it says when it was."""
    report = read_lines(tmp_path, HEADER, "13/1/2021,50,Total of the oils,,", "14/1/2021,60,unis greased,,")
    assert report.rows_asked == 1
