"""One cell at a time: what is taken, what is refused, and what the owner is told."""

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

import pytest
from dateutil import parser
from pydantic_core import PydanticCustomError

from tripplan.records import cell_values


def refusal(read: Callable[[Any], Any], text: str) -> dict[str, Any]:
    """What a cell function says when it refuses the text."""
    with pytest.raises(PydanticCustomError) as caught:
        read(text)
    return caught.value.context or {}


@pytest.mark.parametrize(
    ("text", "value"),
    [("184300", 184300), (" 184300 ", 184300), ("0.5", 0.5), (".5", 0.5), ("5.", 5), ("-3", -3), ("+7", 7)],
)
def test_plain_numbers_are_read(text: str, value: float) -> None:
    """Otherwise a distance typed in the ordinary way would be refused or changed."""
    assert cell_values.number(text) == value


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("18430O", "the sixth mark is the letter O, not the digit 0"),
        ("l84300", "the first mark is the letter l, not the digit 1"),
        ("1,234", "leave out the separators; if 1234 is meant, write 1234"),
        ("0,55", "a point begins the decimals; if 0.55 is meant, write it so"),
        ("12,5", "a point begins the decimals; if 12.5 is meant, write it so"),
        ("0,550", "a point begins the decimals; if 0.550 is meant, write it so"),
        ("1,23,456", "leave out the separators; if 123456 is meant, write 123456"),
        ("196 000", "leave out the separators; if 196000 is meant, write 196000"),
        ("1 234", "leave out the separators; if 1234 is meant, write 1234"),
        ("315k", "write the figure alone, without 'k'"),
        ("1,234 km", "write the figure alone, without 'km'"),
        ("about 300", ""),
        ("1e5", ""),
        ("nan", ""),
        ("inf", ""),
        ("0x10", ""),
        ("1_000", "leave out the separators; if 1000 is meant, write 1000"),
        ("9" * 60, ""),
    ],
)
def test_other_numbers_are_refused_with_a_hint(text: str, hint: str) -> None:
    """Otherwise a comma or a letter O would turn one distance into another."""
    context = refusal(cell_values.number, text)
    assert context["accepted"] == cell_values.NUMBER_ACCEPTED
    assert context["hint"] == hint


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("2026-05-06", date(2026, 5, 6)),
        ("2026-05-06 00:00:00", date(2026, 5, 6)),
        ("6 May 2026", date(2026, 5, 6)),
        ("06 may 2026", date(2026, 5, 6)),
        ("29 February 2024", date(2024, 2, 29)),
    ],
)
def test_dates_with_one_reading_are_read(text: str, value: date) -> None:
    """Otherwise work done on the sixth of May would be dated the fifth of June."""
    assert cell_values.day(text) == value
    assert parser.parse(text).date() == value


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("03/04/2026", "write 2026-04-03 or 2026-03-04, whichever is meant"),
        ("3.4.26", "write 2026-04-03 or 2026-03-04, whichever is meant"),
        ("31/02/2026", "no such day"),
        ("2026-02-29", "no such day in the calendar"),
        ("315", ""),
        ("10", ""),
        ("46000", ""),
        ("May 2026", ""),
        ("6 Ma 2026", ""),
        ("2026-05-06 15:20", ""),
    ],
)
def test_dates_with_several_readings_are_refused(text: str, hint: str) -> None:
    """Otherwise a general reader of dates would fill the gaps with today or swap day and month."""
    context = refusal(cell_values.day, text)
    assert context["accepted"] == cell_values.DAY_ACCEPTED
    assert context["hint"] == hint


def test_times_of_day_are_kept() -> None:
    """Otherwise a crossing made in the afternoon would be dated to midnight."""
    assert cell_values.moment("2026-07-06 15:20") == datetime(2026, 7, 6, 15, 20)
    assert cell_values.moment("2026-07-06T15:20:30") == datetime(2026, 7, 6, 15, 20, 30)
    assert type(cell_values.moment("2026-07-06")) is date
    assert type(cell_values.moment("2026-07-06 00:00:00")) is date  # a bare day as spreadsheets write it
    assert refusal(cell_values.moment, "2026-07-06 25:00")["hint"] == "no such time of day"
    assert refusal(cell_values.moment, "yes")["accepted"] == cell_values.MOMENT_ACCEPTED


@pytest.mark.parametrize("text", ["2026-07-06 00:00", "2026-07-06T00:00"])
def test_a_time_of_midnight_is_a_time(text: str) -> None:
    """Otherwise a ford at midnight would be one of some time that day, and a second one there be taken for it."""
    assert cell_values.moment(text) == datetime(2026, 7, 6)
    assert type(cell_values.moment(text)) is datetime


def test_yes_and_no_are_the_only_claims() -> None:
    """Otherwise TRUE, 1 or a tick would be taken for yes in one place and refused in another."""
    assert [cell_values.yes_no(text) for text in ("yes", "No ", "YES")] == [True, False, True]
    assert [refusal(cell_values.yes_no, text)["accepted"] for text in ("true", "1", "y")] == ["yes or no"] * 3


def test_locked_share_is_a_word_or_a_share() -> None:
    """Otherwise a leg with hubs locked would not count against the front axle."""
    assert [cell_values.locked_share(text) for text in ("locked", "Free", "0.3")] == [1.0, 0.0, 0.3]
    assert refusal(cell_values.locked_share, "half")["accepted"].startswith("locked, free")


def test_a_day_that_no_month_has_is_told_as_that() -> None:
    """Otherwise the form would be looked at again and again, which is right."""
    assert cell_values.day_hint("2026-09-31") == cell_values.day_hint("31.9.2026") == "no such day"
    assert cell_values.day_hint("30 Sept") == ""
