"""Days across and jobs down: read column by column, or left as it stands."""

from datetime import date

import pytest

from tests.support import TODAY
from tripplan.files.importing.columns import turned
from tripplan.files.importing.grid import Sheet
from tripplan.files.importing.mapping import ColumnMap
from tripplan.files.importing.table import lay_out_all
from tripplan.files.importing.word_book import column_words
from tripplan.sheets.import_text import columns_text

Rows = tuple[tuple[int, tuple[str, ...]], ...]
DAYS = ("", "12/01/2019", "20/07/2019")
JOBS: Rows = ((3, ("Km", "140000", "147500")), (5, ("Oil", "x", "")), (6, ("Wheel nuts torqued", "", "x")))


def sheet(*rows: tuple[int, tuple[str, ...]], **more: frozenset[tuple[int, int]]) -> Sheet:
    """A sheet of those rows."""
    return Sheet(name="book.csv", rows=rows, **more)


def test_each_day_becomes_a_row_and_each_label_a_heading() -> None:
    """Otherwise the table would be refused, though every record of it is plain to see."""
    found = turned(sheet((1, ("Our wagon",)), (2, DAYS), *JOBS), column_words(), TODAY)
    assert found.is_turned
    assert found.rows == (
        (0, ("Our wagon",)),
        (1, ("date", "Km", "Oil", "Wheel nuts torqued")),
        (2, ("12/01/2019", "140000", "x", "")),
        (3, ("20/07/2019", "147500", "", "x")),
    )


def test_true_dates_stay_true_and_rows_may_be_short() -> None:
    """Otherwise a workbook's dates would be asked about as if somebody had typed them."""
    rows = ((2, ("Job", "2019-01-12", "2019-07-20", "2019-08-01")), (4, ("Oil", "x")))
    found = turned(sheet(*rows, true_dates=frozenset({(2, 1), (2, 2)})), column_words(), TODAY)
    assert found.true_dates == {(2, 0), (3, 0)}
    assert found.rows[1:] == ((2, ("2019-01-12", "x")), (3, ("2019-07-20", "")), (4, ("2019-08-01", "")))


@pytest.mark.parametrize(
    "rows",
    [
        ((1, ("Date", "Km", "Oil")), (2, ("12/01/2019", "140000", "x"))),
        ((1, ("Item", "Last done", "Next due")), (2, ("Oil", "12/01/2019", "12/07/2019"))),
        ((1, ("Oil", "12/01/2019", "12/07/2019")), (2, ("Diff", "12/01/2019", "12/07/2019"))),
        ((1, ("", "12/01/2019")), (2, ("Oil", "x"))),
        ((1, ("", "12/01/2019", "soon")), (2, ("Oil", "x", "x"))),
        ((1, ("", "12/01/2019", "20/07/2019")),),
        ((1, ("only a title",)),),
    ],
)
def test_other_tables_stay_as_they_are(rows: Rows) -> None:
    """Otherwise a list of what is due next would be taken for work that was done on those days."""
    assert turned(sheet(*rows), column_words(), TODAY) == sheet(*rows)


def test_the_owner_is_told_how_it_was_read() -> None:
    """Otherwise `row 2` of a question would be looked for in the wrong place."""
    laid = lay_out_all([sheet((2, DAYS), *JOBS)], ColumnMap(), date(2026, 6, 20))
    assert "row 2 is column B" in columns_text(laid)
