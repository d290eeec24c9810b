"""Calendar months against dateutil's relativedelta, its documented cases, and a calendar of our own.

The cases marked D are examples of the relativedelta page of dateutil's documentation,
recalled from memory, not read here. The others are worked by hand.
"""

import calendar
from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given, settings
from hypothesis import strategies as st

from tripplan.trip.timeline import add_months, months_between

DAYS = st.dates(date(1990, 1, 1), date(2060, 12, 31))


@pytest.mark.parametrize(
    ("start", "months", "expected", "standing"),
    [
        (date(2003, 9, 17), 1, date(2003, 10, 17), "D"),
        (date(2003, 1, 27), 1, date(2003, 2, 27), "D"),
        (date(2003, 1, 31), 1, date(2003, 2, 28), "D"),
        (date(2003, 1, 31), 2, date(2003, 3, 31), "D"),
        (date(2000, 2, 28), 12, date(2001, 2, 28), "D"),
        (date(1999, 2, 28), 12, date(2000, 2, 28), "D"),
        (date(1999, 3, 1), 12, date(2000, 3, 1), "D"),
        (date(2000, 2, 29), 12, date(2001, 2, 28), "by hand: no 29 February 2001"),
        (date(2026, 8, 31), 6, date(2027, 2, 28), "by hand"),
        (date(2026, 12, 31), 24, date(2028, 12, 31), "by hand"),
    ],
)
def test_documented_cases(start: date, months: int, expected: date, standing: str) -> None:
    """Otherwise work of a month's end would be due on a day that is not in the calendar."""
    assert add_months(start, months) == expected, standing
    assert start + relativedelta(months=months) == expected


def test_the_documented_age() -> None:
    """Otherwise the months already used would be miscounted.

    D: from 5 April 1978 to 17 September 2003 are 25 years, 5 months and 12 days.
    12 days of the 30 from 5 September to 5 October.
    """
    assert relativedelta(date(2003, 9, 17), date(1978, 4, 5)) == relativedelta(years=25, months=5, days=12)
    assert months_between(date(1978, 4, 5), date(2003, 9, 17)) == pytest.approx(25 * 12 + 5 + 12 / 30)


@given(DAYS, st.integers(0, 120))
@settings(max_examples=150, deadline=None)
def test_whole_months_against_the_calendar(start: date, months: int) -> None:
    """Otherwise some month of some year would be off.

    Independent rule: same day of the month, or the last one where there is none.
    """
    year, month = divmod(start.year * 12 + start.month - 1 + months, 12)
    last = calendar.monthrange(year, month + 1)[1]
    assert add_months(start, months) == date(year, month + 1, min(start.day, last))


@given(DAYS, st.integers(0, 120))
@settings(max_examples=100, deadline=None)
def test_counting_back_gives_the_months_added(start: date, months: int) -> None:
    """Otherwise an interval would not be used up on the day it is due."""
    assert months_between(start, add_months(start, months)) == pytest.approx(months, abs=1e-12)


@given(DAYS, st.integers(0, 2000), st.integers(0, 400))
@settings(max_examples=100, deadline=None)
def test_more_days_are_never_fewer_months(start: date, days: int, more: int) -> None:
    """Otherwise waiting a day could make an item younger."""
    first = date.fromordinal(start.toordinal() + days)
    later = date.fromordinal(first.toordinal() + more)
    assert months_between(start, first) <= months_between(start, later) + 1e-12
