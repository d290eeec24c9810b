"""Free days at home, from busy times as plain values. June 2026 begins on a Monday."""

from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.small import HERE, leg, stop, trip, wagon
from tripplan.records.facts_in import PublicHoliday, Rig
from tripplan.trip.free_days import (
    Busy,
    busy_by_day,
    clashes,
    free_day_assumptions,
    free_days,
    from_hour,
    shed_hours,
    shut_shops,
    taken_minutes,
    work_minutes,
)

TODAY = date(2026, 6, 1)  # a Monday
DEPART = date(2026, 6, 15)  # a Monday, two weeks later
WEEKEND = {5: 300.0, 6: 300.0}
SATURDAY = date(2026, 6, 6)


def at(day: int, hour: float, until: float) -> Busy:
    """A busy time on a day of June, from one hour to another."""
    midnight = datetime(2026, 6, day)
    return Busy(midnight + timedelta(hours=hour), midnight + timedelta(hours=until))


def found(*busy: Busy, **holidays: float) -> list[tuple[int, float]]:
    """Day of the month and minutes of each free day; `june_8=240` makes the 8th a holiday."""
    off = {date(2026, 6, int(name.removeprefix("june_"))): minutes for name, minutes in holidays.items()}
    return [(day.day, minutes) for day, minutes in free_days(busy, TODAY, DEPART, WEEKEND, off)]


def test_only_shed_weekdays_are_free() -> None:
    """If not, work would be put on days the owner is at their job."""
    assert found() == [(6, 300), (7, 300), (13, 300), (14, 300)]


def test_today_counts_and_the_departure_does_not() -> None:
    """If not, an open hub could stand in the shed on the morning the trip starts."""
    everyday = dict.fromkeys(range(7), 120.0)
    days = [day for day, _ in free_days((), SATURDAY, date(2026, 6, 8), everyday, {})]
    assert days == [SATURDAY, date(2026, 6, 7)]
    assert free_days((), DEPART, DEPART, everyday, {}) == ()
    assert free_days((), DEPART, TODAY, everyday, {}) == ()


def test_busy_time_in_shed_hours_is_taken_off() -> None:
    """If not, the plan would fill hours in which the owner is elsewhere. 300 min from 8:00 end at 13:00."""
    assert found(at(6, 9, 10.5), at(7, 6, 8), at(13, 12, 20), at(14, 13, 24)) == [
        (6, 210), (7, 300), (13, 240), (14, 300)
    ]  # fmt: skip


def test_overlapping_busy_times_count_once() -> None:
    """If not, two calendars with the same meeting would take its hours twice."""
    assert found(at(6, 9, 10), at(6, 9, 10), at(6, 9.5, 11), at(6, 9.25, 9.5))[0] == (6, 180)


def test_less_than_an_hour_is_not_free() -> None:
    """If not, work would be started that cannot be finished. 8:00 to 12:01 leaves 59 minutes, to 12:00 leaves 60."""
    assert found(at(6, 8, 12 + 1 / 60), at(7, 8, 12)) == [(7, 60), (13, 300), (14, 300)]


def test_a_long_absence_takes_every_day_of_it() -> None:
    """If not, days in the middle of a journey would be offered for work."""
    assert found(Busy(datetime(2026, 5, 20), datetime(2026, 6, 13, 9))) == [(13, 240), (14, 300)]
    assert found(Busy(datetime(2026, 5, 20), datetime(2027, 6, 13))) == []


def test_a_public_holiday_is_a_day_off() -> None:
    """If not, a free Monday at home would go unused; a busy one must still be busy."""
    assert found(june_8=240) == [(6, 300), (7, 300), (8, 240), (13, 300), (14, 300)]
    assert (8, 180) in found(at(8, 9, 10), june_8=240)


def test_shed_hours_never_pass_midnight() -> None:
    """If not, an evening's work would be reckoned into the next day."""
    opens, closes = shed_hours(SATURDAY, 360, 20)
    assert (opens, closes) == (datetime(2026, 6, 6, 18), datetime(2026, 6, 7))


def test_clashes_name_only_what_reaches_into_the_hours() -> None:
    """If not, the owner would be told of a clash with an evening out."""
    evening, noon = at(6, 19, 22), at(6, 12, 14)
    assert clashes(SATURDAY, 300, [evening, noon], 8) == (noon,)


def test_a_time_that_ends_before_it_starts_takes_nothing() -> None:
    """If not, the hour set back in autumn would break the reading."""
    assert busy_by_day([at(6, 10, 9)], TODAY, DEPART) == {}


hours = st.floats(0, 24).map(lambda hour: round(hour * 4) / 4)
busy_times = st.lists(st.builds(at, st.integers(1, 16), hours, hours), max_size=12)


@given(busy_times, st.sampled_from(range(4, 25)))
def test_minutes_equal_a_count_of_quarter_hours(busy: list[Busy], quarters: int) -> None:
    """If not, the minutes of a free day would be wrong for some pattern of meetings."""
    minutes = quarters * 15
    opens, _ = shed_hours(SATURDAY, minutes, 8)
    slots = [opens + timedelta(minutes=15 * i) for i in range(quarters)]
    free = sum(not any(b.start <= slot < b.end for b in busy) for slot in slots) * 15
    touching = busy_by_day(busy, SATURDAY, SATURDAY).get(SATURDAY, [])
    assert minutes - taken_minutes(SATURDAY, minutes, touching, 8) == free


@given(busy_times, st.builds(at, st.integers(1, 16), hours, hours))
def test_more_busy_time_never_frees_a_day(busy: list[Busy], extra: Busy) -> None:
    """If not, adding an appointment could put more work on a day."""
    before, after = dict(found(*busy)), dict(found(*busy, extra))
    assert all(minutes <= before.get(day, 0) for day, minutes in after.items())


def rig(country: str | None = None, region: str | None = None) -> Rig:
    """A wagon at home in a country."""
    return Rig(name="Rig", home_zone="UTC", country=country, region=region, units=(wagon(),), origin=HERE)


def test_what_is_taken_for_granted_is_said() -> None:
    """If not, the owner could not know why Sunday has work on it, or why the holiday has none."""
    plain = trip(leg(1, 100)).model_copy(update={"finds_free_days": True, "workshop_minutes": 300.0})
    said = " ".join(free_day_assumptions(rig(), plain))
    for word in ("busy.ics", "60 minutes", "Saturday and Sunday", "8:00", "No country", "departure"):
        assert word in said
    told = plain.model_copy(update={"workshop_weekdays": ("friday",), "workshop_from_hour": 7.0})
    assert len(free_day_assumptions(rig("AU", "NT"), told)) == 1
    assert "No region" in free_day_assumptions(rig("AU"), told)[1]
    assert free_day_assumptions(rig(), trip(leg(1, 100))) == ()
    assert (work_minutes(told), from_hour(told)) == ({4: 300.0}, 7.0)
    assert (work_minutes(plain), from_hour(plain)) == ({5: 300.0, 6: 300.0}, 8.0)


@pytest.mark.parametrize(("facility", "number"), [("town", 1), ("camp", 0), ("workshop", 0)])
def test_shut_shops_are_said(facility: str, number: int) -> None:
    """If not, the owner would stand before a closed door with a list in hand."""
    place = stop("Two Wells", 1, date(2026, 7, 31)).model_copy(
        update={"facility": facility, "arrive": date(2026, 7, 31), "leave": date(2026, 8, 4)}
    )
    holiday = PublicHoliday(date=date(2026, 8, 3), name="Picnic Day", origin=HERE)
    journey = trip(leg(1, 100)).model_copy(update={"stops": (place,), "public_holidays": (holiday,)})
    assert len(shut_shops(journey, ())) == number
    said = shut_shops(journey, [date(2026, 8, 3), date(2026, 8, 3), date(2026, 8, 4)])
    assert len(said) == number + 1
    assert all("2026-08-03" in text and "Picnic Day" in text for text in said)


def test_weekdays_without_minutes_have_none() -> None:
    """If an owner names days and no minutes, none are made up: no day comes free."""
    assert work_minutes(trip(workshop_weekdays=("Tuesday",))) == {1: 0.0}
    assert work_minutes(trip(workshop_weekdays=("Tuesday", "Sunday"), workshop_minutes=240)) == {1: 240.0, 6: 240.0}
