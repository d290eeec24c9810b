"""Kilometres or miles. 1 mile = 1.609344 km (international mile of 1959)."""

from pathlib import Path

import pytest

from tests.files.importing.reading import asked, read_lines
from tripplan.files.importing.distance import Signs, unit_of
from tripplan.files.importing.report import questions_csv

NOTHING = Signs(titles=(), headers=())


def kms(place: Path, *lines: str, **answers: object) -> list[float | None]:
    """The readings that were taken."""
    return [row.odometer_km for row in read_lines(place, *lines, **answers).records]


def test_bare_cells_beside_miles_are_asked_once(tmp_path: Path) -> None:
    """Otherwise half of a column of miles would count as kilometres."""
    lines = ("Date,Odo", "2014-01-10,121340", "2014-07-02,124900", "2014-12-20,128115 mi", "2015-06-11,133020 mi")
    report = read_lines(tmp_path, *lines)
    assert [row.odometer_km for row in report.records] == pytest.approx([206181.1, 214074.9], abs=0.1)
    assert len(set(asked(report))) == 1 and "kilometres or miles?" in asked(report)[0]
    assert '[columns] "odo" = "odometer_mi"' in asked(report)[0]
    told = kms(tmp_path, *lines, columns={"odo": "odometer_mi"})
    assert told == pytest.approx([195277.8, 201007.1, 206181.1, 214074.9], abs=0.1)


@pytest.mark.parametrize(
    ("header", "cells", "expected"),
    [
        ("Date,Mileage,MPG", "2014-01-10,1000,14", 1609.3), ("Date,Mileage,Gallons,$", "2014-01-10,1000,14,61", 1609.3),
        ("Date,Mileage (km)", "2014-01-10,1000", 1000), ("Date,Mileage,Next service km", "2014-01-10,1000,9000", 1000),
        ("Date,Mileage miles", "2014-01-10,1000", 1609.3), ("Date,Odo", "2014-01-10,1000", 1000),
        ("Date,Mileage", "2014-01-10,1000 km", 1000), ("Date,Odometer (mi)", "2014-01-10,1000", 1609.3),
    ],
)  # fmt: skip
def test_a_column_is_read_in_the_unit_that_the_table_shows(
    tmp_path: Path, header: str, cells: str, expected: float
) -> None:
    """Otherwise every interval would be stretched or cut by 1.6."""
    assert kms(tmp_path, header, cells) == [pytest.approx(expected, abs=0.1)]


@pytest.mark.parametrize(
    ("header", "cells"),
    [
        ("Date,Mileage", "2014-01-10,1000"), ("Date,Odo,MPG", "2014-01-10,1000,14"), ("Date,Mileage,MPG,Next km", "2014-01-10,1000,14,9000"),
        ("Date,Odo,Trip miles", "2014-01-10,1000,200"), ("Date,Odo (km/miles)", "2014-01-10,1000"), ("Date,Odometer", "01/25/2014,1000"),
    ],
)  # fmt: skip
def test_a_unit_in_doubt_is_asked(tmp_path: Path, header: str, cells: str) -> None:
    """Otherwise a guess would be in the history for good."""
    report = read_lines(tmp_path, header, cells)
    assert report.records == () and "kilometres or miles?" in asked(report)[0]


@pytest.mark.parametrize("title", ["Service book, all readings in miles", "Odometer in miles", "(miles)", "Miles"])
def test_a_title_that_says_miles_is_heard(tmp_path: Path, title: str) -> None:
    """Otherwise the one line that says it would be skipped as being above the header."""
    assert kms(tmp_path, f'"{title}",', "Date,Odometer", "2014-01-10,1000") == [pytest.approx(1609.3, abs=0.1)]
    against = read_lines(tmp_path, f'"{title}",', "Date,Odometer km", "2014-01-10,1000")
    assert against.records == () and "other" in asked(against)[0]


def test_a_line_among_the_rows_that_says_miles_is_asked_about(tmp_path: Path) -> None:
    """Otherwise a change of the owner's habit half way down would be read as a heading, and miles as kilometres."""
    report = read_lines(
        tmp_path,
        "Date,Odo,Work",
        "2014-01-10,1000,oil & filter",
        "From here all readings in miles,,",
        "2014-07-02,2900,",
    )
    assert report.records == () and "kilometres or miles?" in asked(report)[0]


def test_miles_of_a_trip_are_no_unit_of_the_clock(tmp_path: Path) -> None:
    """Otherwise a title that tells of a journey would turn kilometres into miles."""
    assert kms(tmp_path, '"Log of the 3000 miles west",', "Date,Odometer", "2014-01-10,1000") == [1000]


def test_an_answer_in_the_mapping_is_kept_open_or_settled() -> None:
    """Otherwise the mapping file that an import wrote would settle by itself what was asked."""
    assert unit_of("odometer", "mileage", ["1000"], NOTHING).holds == "odometer"
    assert unit_of(
        "odometer_km", "odo", ["1000"], Signs(titles=(), headers=(), elsewhere=frozenset(("odometer_mi",)))
    ).asks
    assert unit_of("odometer_km", "odo", ["1000"], NOTHING).asks == ""


def test_the_questions_file_keeps_the_unit_open(tmp_path: Path) -> None:
    """Otherwise the answered questions would come back as kilometres that nobody said."""
    report = read_lines(tmp_path, "Date,Mileage,Work", "2014-01-10,1000,oil & filter")
    again = read_lines(tmp_path, *questions_csv(report).splitlines())
    assert again.records == () and "kilometres or miles?" in asked(again)[0]
    told = questions_csv(report).replace("2014-01-10,,,1000", "2014-01-10,,,,1000").splitlines()
    filled = [told[0], told[1].replace("2014-01-10,,,,1000", "2014-01-10,,,1000,")]
    assert kms(tmp_path, *filled) == [pytest.approx(1609.3, abs=0.1)]
