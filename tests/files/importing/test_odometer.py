"""Readings of a foreign table held against each other and against what can be driven."""

from pathlib import Path

import pytest

from tests.files.importing.reading import asked, read_lines
from tripplan.files.importing.odometer import KM_A_DAY, KM_A_DAY_ON, WEEK, most_km


def test_a_leap_is_asked(tmp_path: Path) -> None:
    """Otherwise a figure left out would pass while it is under 3000 km a day."""
    report = read_lines(
        tmp_path, "Date,Odo", "2010-02-01,24480", "2010-04-17,247500", "2010-09-02,251300", "2011-01-30,255020"
    )
    assert [row.odometer_km for row in report.records] == [247500, 251300, 255020]
    assert "is 2974 km a day: which reading is wrong" in asked(report)[0]


def test_of_two_readings_alone_neither_is_sure(tmp_path: Path) -> None:
    """Otherwise the wrong one of two could be kept."""
    report = read_lines(tmp_path, "Date,Odo", "2010-02-01,24480", "2010-04-17,247500")
    assert report.records == () and report.rows_asked == 2


def test_a_leap_from_the_history_is_asked(tmp_path: Path) -> None:
    """Otherwise a second import could leap where the first could not."""
    first = read_lines(tmp_path, "Date,Odo", "2010-02-01,24480").records
    report = read_lines(tmp_path, "Date,Odo", "2010-04-17,247500", history=first)
    assert report.records == () and "2974 km a day?" in asked(report)[0]


def test_a_row_that_is_asked_is_still_evidence(tmp_path: Path) -> None:
    """Otherwise a slip between two rows with unknown words would pass."""
    lines = ("Date,Odo,Work", "2018-01-06,150200,oil & filter", "2018-07-14,157900,hm", "2018-07-20,152000,greased unis",
             "2018-12-01,158800,did stuff", "2019-07-20,173000,oil & filter")  # fmt: skip
    report = read_lines(tmp_path, *lines)
    assert [row.origin.row for row in report.records] == [2, 6]
    assert "the reading 152000 does not go with the others around it" in asked(report)[1]


@pytest.mark.parametrize("days", [0, 1, 7, 8, 75, 1000])
def test_what_can_be_driven_grows_with_the_days(days: int) -> None:
    """Otherwise a long gap would let any figure through. The rates are judgement: a week alone at the wheel, then a long tour."""
    expected = KM_A_DAY * max(days, 1) if days <= WEEK else KM_A_DAY * WEEK + KM_A_DAY_ON * (days - WEEK)
    assert most_km(days) == expected
    assert most_km(75) < 247_500 - 24_480


def test_a_long_tour_is_believed(tmp_path: Path) -> None:
    """Otherwise an honest year round the country would be asked about: 25 000 km in 60 days."""
    report = read_lines(tmp_path, "Date,Odo", "2010-02-01,100000", "2010-04-02,125000", "2010-04-03,126100")
    assert len(report.records) == 3
