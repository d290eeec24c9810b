"""Names of units and years around the rows of a sheet. All names are invented."""

from datetime import date
from pathlib import Path

import pytest

from tests.files.importing.reading import asked, read_lines


def test_a_nickname_is_said_once(tmp_path: Path) -> None:
    """Otherwise every row of a second vehicle would be asked about for itself, or counted to the first."""
    lines = ("Vehicle,Date,Km,Work", "Old Girl,2020-08-12,210400,oil & filter", "Old girl,2020-11-25,214900,handbrake adjusted",
             "Shed ute,2020-11-26,99000,oil & filter")  # fmt: skip
    report = read_lines(tmp_path, *lines)
    assert report.records == () and '[units] "old girl" = "wagon" or "leave out"' in asked(report)[0]
    told = read_lines(tmp_path, *lines, units={"old girl": "wagon", "shed ute": "leave out"})
    assert [row.unit for row in told.records] == ["wagon", "wagon"] and told.questions == ()
    assert told.skips[-1].why == "about a unit that is left out"


def test_an_answer_that_is_no_unit_is_told(tmp_path: Path) -> None:
    """Otherwise a slip in the mapping would write records for a unit that is not there."""
    report = read_lines(tmp_path, "Vehicle,Date,Km", "Old girl,2020-08-12,210400", units={"old girl": "waggon"})
    assert report.records == () and "'waggon' is no unit of the rig" in asked(report)[0]


def test_headings_between_rows_name_the_unit(tmp_path: Path) -> None:
    """Otherwise the trailer's nuts would be the wagon's."""
    lines = ("Date,Odo,Work", "Wagon,,", "2019-08-18,157000,wheel nuts torqued", "Camper trailer,,", "2019-08-19,,wheel nuts torqued",
             "Grey one,,", "2019-08-20,81000,wheel nuts torqued")  # fmt: skip
    report = read_lines(tmp_path, *lines)
    assert [(row.unit, row.item) for row in report.records] == [
        ("wagon", "wheel_nuts"),
        ("camper", "trailer_wheel_nuts"),
    ]
    assert [skip.why for skip in report.skips[1:]] == [
        "a heading: Wagon",
        "a heading: Camper trailer",
        "a heading: Grey one",
    ]
    assert "which unit is 'Grey one'?" in asked(report)[0]


@pytest.mark.parametrize(
    ("name", "title", "unit"),
    [("log.csv", "Camper trailer service record", "camper"), ("camper.csv", "Service record", "camper"),
     ("log.csv", "My 4wd service log", "wagon"), ("log.csv", "Our old bus, service log", "wagon")],
)  # fmt: skip
def test_a_title_names_the_unit(tmp_path: Path, name: str, title: str, unit: str) -> None:
    """Otherwise the book of the trailer would be read as the vehicle's."""
    report = read_lines(tmp_path, f'"{title}",', "Date,Work", "2022-10-04,wheel nuts torqued", name=name)
    assert [row.unit for row in report.records] == [unit]


def test_a_title_that_only_speaks_of_a_trailer_is_asked(tmp_path: Path) -> None:
    """Otherwise a vehicle's log of towing would become the trailer's."""
    report = read_lines(tmp_path, "Servicing while towing the caravan,", "Date,Work", "2022-10-04,wheel nuts torqued")
    assert report.records == () and "which unit is" in asked(report)[0]


def test_a_year_above_the_rows_completes_their_dates(tmp_path: Path) -> None:
    """Otherwise a sheet for each year could not be read; without the year the day is asked."""
    lines = ("Date,Odo", "2018,", "12 Mar,140200", "28/9,146900", "2019,", "3/2,151000")
    assert [row.date for row in read_lines(tmp_path, *lines).records] == [
        date(2018, 3, 12),
        date(2018, 9, 28),
        date(2019, 2, 3),
    ]
    alone = read_lines(tmp_path, "Date,Odo", "12 Mar,140200")
    assert asked(alone) == ["date 12 Mar: a day and a month without the year"]


@pytest.mark.parametrize("day", ["01/13/1901", "1901-01-13", "1904-01-13", "1955-01-13"])
def test_a_year_before_any_such_vehicle_is_asked(tmp_path: Path, day: str) -> None:
    """Otherwise a spreadsheet's first day would be a day of work. An old vehicle's owner says the year once."""
    report = read_lines(tmp_path, "Date,Odo km", f"{day},100")
    assert report.records == () and "is 19" in asked(report)[0]
    assert ("set first_year" in asked(report)[0]) == ("1955" in day)
    assert len(read_lines(tmp_path, "Date,Odo km", f"{day},100", first_year=1950).records) == ("1955" in day)


def test_a_question_keeps_the_day_and_the_unit_that_are_known(tmp_path: Path) -> None:
    """Otherwise the answered row of the trailer would come back as the wagon's, or its day be asked again."""
    lines = ("Date,Odo,Work", "2018,,", "25/3,100,oil & filter", "Camper,,", "4/5,,wheel nuts?")
    [question] = read_lines(tmp_path, *lines).questions
    assert (question.texts["date"], question.texts["unit"]) == ("2018-05-04", "Camper")
