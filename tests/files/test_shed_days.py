"""Workshop days found from the owner's calendar, and the public holidays at home.

Public holidays are as governments published them, from memory.
"""

from datetime import date
from pathlib import Path

import pytest

from tests.files.test_bad_input import problems_of
from tests.files.test_busy import calendar, event
from tests.support import TODAY, good_folder, replaced
from tripplan.files.folder import read_folder
from tripplan.files.shed_days import public_holidays
from tripplan.records.facts_in import Origin, Rig, Trip
from tripplan.records.problems import LOOK, STOPS, Problem, stops


def shed_folder(tmp_path: Path, *events: str, keys: str = "workshop_minutes = 300\n", csv: bool = False) -> Path:
    """The good folder with a calendar, and without workshop.csv unless asked."""
    good_folder(tmp_path)
    (tmp_path / "busy.ics").write_text(calendar(*events), encoding="utf-8", newline="")
    replaced(tmp_path, "trip.toml", "rate_per_hour", keys + "rate_per_hour")
    if not csv:
        (tmp_path / "workshop.csv").unlink()
    return tmp_path


def trip_of(folder: Path) -> tuple[Trip, tuple[Problem, ...]]:
    """The trip of a folder that can be read, and what is worth a look."""
    inputs, problems = read_folder(folder, TODAY)
    assert inputs, [each.as_text() for each in problems]
    return inputs.trip, problems


def shed_days_of(folder: Path) -> list[tuple[int, int, float]]:
    """Month, day and minutes of each workshop day of a folder."""
    return [(each.date.month, each.date.day, each.minutes) for each in trip_of(folder)[0].workshop_days]


def test_free_days_become_workshop_days(tmp_path: Path) -> None:
    """Otherwise an owner who keeps a calendar would have to type out their free days.

    20 June 2026 is a Saturday, and departure is Friday 3 July.
    """
    folder = shed_folder(
        tmp_path,
        event("DTSTART:20260621T100000", "DURATION:PT1H"),
        event("DTSTART;VALUE=DATE:20260627"),
        event("DTSTART:20260628T070000", "DTEND:20260628T081500"),
    )
    trip, problems = trip_of(folder)
    assert problems == ()
    assert trip.finds_free_days
    assert {each.origin for each in trip.workshop_days} == {Origin(file="busy.ics")}
    assert shed_days_of(folder) == [(6, 20, 300), (6, 21, 240), (6, 28, 285)]


def test_keys_of_the_trip_choose_the_days(tmp_path: Path) -> None:
    """Otherwise work would be put on days the owner never works on the rig."""
    keys = 'workshop_minutes = 120\nworkshop_weekdays = ["Wednesday"]\nworkshop_from_hour = 18\n'
    folder = shed_folder(tmp_path, event("DTSTART:20260624T170000", "DTEND:20260624T183000"), keys=keys)
    assert shed_days_of(folder) == [(6, 24, 90), (7, 1, 120)]


def test_a_public_holiday_is_a_shed_day(tmp_path: Path) -> None:
    """Otherwise a day off at home would go unused. Territory Day, 1 July, is none: it is a part-day at night."""
    folder = shed_folder(tmp_path, keys="workshop_minutes = 300\nworkshop_weekdays = []\n")
    replaced(folder, "trip.toml", "2026-07-03", "2026-08-05")
    replaced(folder, "trip.toml", "2026-07-20", "2026-08-30")
    for name, old, new in (("legs.csv", "2026-07-", "2026-08-"), ("stops.csv", "2026-07-", "2026-08-")):
        for _ in range(5):
            if old in (folder / name).read_text():
                replaced(folder, name, old, new)
    replaced(folder, "rig.toml", "home_zone", 'country = "au"\nregion = "nt"\nhome_zone')
    assert shed_days_of(folder) == [(8, 3, 300)]  # Picnic Day, first Monday of August


def test_clashes_are_taken_off_the_days_of_the_table(tmp_path: Path) -> None:
    """Otherwise the plan would fill hours in which the owner is elsewhere, without a word."""
    folder = shed_folder(
        tmp_path,
        event("DTSTART:20260621T090000", "DURATION:PT2H"),
        event("DTSTART:20260627T000000", "DURATION:P1D"),
        keys="", csv=True,
    )  # fmt: skip
    trip, problems = trip_of(folder)
    assert shed_days_of(folder) == [(6, 21, 240)]  # 360 less two hours; the 27th is gone
    assert [(each.code, each.weight, each.row) for each in problems] == [("B14", LOOK, 4), ("B14", LOOK, 8)]
    assert "2026-06-21, 09:00 to 11:00" in problems[0].found
    assert "240 of its 360 minutes" in problems[0].accepted
    assert "not used" in problems[1].accepted
    assert not trip.finds_free_days


def test_workshop_minutes_are_asked_for(tmp_path: Path) -> None:
    """Otherwise the length of a free day would be guessed."""
    found = [each for each in problems_of(shed_folder(tmp_path, keys="")) if each.column == "workshop_minutes"]
    assert [(each.code, each.weight, each.file) for each in found] == [("T01", STOPS, "trip.toml")]


def test_private_words_stay_private(tmp_path: Path) -> None:
    """Otherwise what the owner does elsewhere would be printed on a worksheet others see."""
    folder = shed_folder(
        tmp_path,
        event("SUMMARY:Secret visit", "DTSTART:20260621T090000", "DURATION:PT2H", "RRULE:FREQ=ODD"),
        keys="", csv=True,
    )  # fmt: skip
    text = "\n".join(each.as_text() for each in problems_of(folder))
    assert "B14" in text
    assert "Secret" not in text


def rig(country: str | None, region: str | None) -> Rig:
    """A rig at home somewhere."""
    return Rig(name="Rig", home_zone="UTC", country=country, region=region, units=(), origin=Origin(file="rig.toml"))


@pytest.mark.parametrize(("country", "region", "day"), [
    ("AU", "NT", date(2026, 8, 3)),  # Picnic Day, first Monday of August
    ("AU", "NT", date(2026, 6, 8)),  # King's Birthday, second Monday of June
    ("AU", "SA", date(2026, 10, 5)),  # Labour Day, first Monday of October
    ("AU", "QLD", date(2026, 10, 5)),  # King's Birthday, first Monday of October
    ("AU", "WA", date(2026, 3, 2)),  # Labour Day, first Monday of March
    ("AU", None, date(2026, 4, 3)),  # Good Friday; Easter Sunday is 5 April 2026
    ("NZ", None, date(2026, 7, 10)),  # Matariki, dates in law up to 2052
    ("DE", "BY", date(2026, 6, 4)),  # Corpus Christi, 60 days after Easter Sunday, in Bavaria
    ("US", None, date(2026, 11, 26)),  # Thanksgiving, fourth Thursday of November
    ("GB", "SCT", date(2026, 11, 30)),  # St Andrew's Day
    ("ZA", None, date(2026, 8, 10)),  # Women's Day, 9 August is a Sunday, so the Monday
])  # fmt: skip
def test_published_public_holidays(country: str, region: str | None, day: date) -> None:
    """Otherwise a day off would be missed. Days as each government published them, from memory."""
    found, problems = public_holidays(rig(country, region), {2026})
    assert problems == ()
    assert day in {each.date for each in found}


def test_no_holiday_of_the_neighbours() -> None:
    """Otherwise a working day would be counted as a day off because the next state has one."""
    found, _ = public_holidays(rig("AU", "SA"), {2026})
    assert date(2026, 8, 3) not in {each.date for each in found}


@pytest.mark.parametrize(("country", "region", "code", "said"), [
    ("Australia", None, "R18", "AU (australia)"), ("XX", None, "R18", "two-letter"), ("AU", "NTT", "R19", "NT"),
    (None, "NT", "R19", "country"), ("NZ", "Nowhere", "R19", "NZ"),
])  # fmt: skip
def test_unknown_codes_name_those_that_are_known(country: str | None, region: str | None, code: str, said: str) -> None:
    """Otherwise a slip in a code would leave every public holiday out."""
    _, problems = public_holidays(rig(country, region), {2026})
    assert [each.code for each in problems] == [code]
    assert said in problems[0].accepted
    assert stops(problems)
