"""Which days at home are free for the shed, once the owner's own calendar is known.

A day is a shed day when its weekday is one the owner works on the rig, or when it is a
public holiday at home. Its shed hours begin at one hour of the day and last the minutes
the owner gives a free day. Busy time inside the shed hours is taken off; what is left
counts when it is an hour or more. The day of departure is never found free.

All times are wall time at home, without a zone: whoever reads the calendar converts them.
"""

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from typing import NamedTuple

from tripplan.records.facts_in import WEEKDAYS, Rig, Trip, as_day

BUSY_FILE = "busy.ics"
USUAL_WEEKDAYS = ("saturday", "sunday")
USUAL_FROM_HOUR = 8.0
LEAST_MINUTES = 60.0
MINUTES_PER_DAY = 1440.0
ONE_DAY = timedelta(days=1)


class Busy(NamedTuple):
    """A time the owner is taken, wall time at home; `row` is where the calendar file says so."""

    start: datetime
    end: datetime
    row: int | None = None


class FreeDay(NamedTuple):
    """A day with time for work, and how many minutes of it."""

    date: date
    minutes: float


def free_days(
    busy: Iterable[Busy],
    today: date,
    depart: date,
    work_minutes: Mapping[int, float],
    holiday_minutes: Mapping[date, float],
    from_hour: float = USUAL_FROM_HOUR,
) -> tuple[FreeDay, ...]:
    """The free days from `today` up to the day before `depart`, in order.

    `work_minutes` gives the minutes of a weekday (Monday is 0), `holiday_minutes` those of
    each public holiday, whatever its weekday; any other day is no shed day.
    """
    by_day = busy_by_day(busy, today, depart)
    found = []
    for offset in range((depart - today).days):
        day = today + timedelta(days=offset)
        minutes = holiday_minutes.get(day, work_minutes.get(day.weekday(), 0.0))
        if minutes <= 0:
            continue
        left = minutes - taken_minutes(day, minutes, by_day.get(day, ()), from_hour)
        if left >= LEAST_MINUTES:
            found.append(FreeDay(day, left))
    return tuple(found)


def busy_by_day(busy: Iterable[Busy], first: date, last: date) -> dict[date, list[Busy]]:
    """The busy times that touch each day from `first` to `last`, both included."""
    by_day: dict[date, list[Busy]] = {}
    for entry in busy:
        if entry.end <= entry.start:
            continue
        day = max(entry.start.date(), first)
        while day <= last and datetime.combine(day, time()) < entry.end:
            by_day.setdefault(day, []).append(entry)
            day += ONE_DAY
    return by_day


def taken_minutes(day: date, minutes: float, busy: Sequence[Busy], from_hour: float) -> float:
    """Minutes of the day's shed hours that are busy; times that overlap count once."""
    opens, closes = shed_hours(day, minutes, from_hour)
    taken, upto = timedelta(), opens
    for entry in sorted(busy):
        start, end = max(entry.start, upto), min(entry.end, closes)
        if end > start:
            taken += end - start
            upto = end
    return taken / timedelta(minutes=1)


def shed_hours(day: date, minutes: float, from_hour: float) -> tuple[datetime, datetime]:
    """When work begins and ends on a day; it begins earlier when it would end after midnight."""
    opens_minute = min(from_hour * 60, MINUTES_PER_DAY - minutes)
    opens = datetime.combine(day, time()) + timedelta(minutes=opens_minute)
    return opens, opens + timedelta(minutes=minutes)


def clashes(day: date, minutes: float, busy: Sequence[Busy], from_hour: float) -> tuple[Busy, ...]:
    """The busy times that reach into the day's shed hours, in order."""
    opens, closes = shed_hours(day, minutes, from_hour)
    return tuple(sorted(entry for entry in busy if entry.start < closes and entry.end > opens))


def work_minutes(trip: Trip) -> dict[int, float]:
    """Minutes of a free day for each weekday that the owner works on the rig."""
    chosen = USUAL_WEEKDAYS if trip.workshop_weekdays is None else trip.workshop_weekdays
    return {WEEKDAYS.index(name): trip.workshop_minutes or 0.0 for name in chosen}


def from_hour(trip: Trip) -> float:
    """The hour at which work begins on a free day."""
    return USUAL_FROM_HOUR if trip.workshop_from_hour is None else trip.workshop_from_hour


def free_day_assumptions(rig: Rig, trip: Trip) -> tuple[str, ...]:
    """What stood in for things the owner did not say about free days, as sentences."""
    if not trip.finds_free_days:
        return ()
    said = [
        f"Free days come from {BUSY_FILE}: busy time in the shed hours is taken off; a day with less than "
        f"{LEAST_MINUTES:.0f} minutes left is not used, nor is the day of departure."
    ]
    if trip.workshop_weekdays is None:
        said.append("No workshop_weekdays given in trip.toml; Saturday and Sunday are taken as shed days.")
    if trip.workshop_from_hour is None:
        said.append(f"No workshop_from_hour given in trip.toml; work begins at {USUAL_FROM_HOUR:.0f}:00.")
    if rig.country is None:
        said.append("No country given in rig.toml; no public holiday counts as a free day.")
    elif rig.region is None:
        said.append("No region given in rig.toml; only holidays of the whole country count as free days.")
    return tuple(said)


def shut_shops(trip: Trip, order_by: Iterable[date]) -> tuple[str, ...]:
    """Town stops and order-by days that meet a public holiday at home, as sentences."""
    names = {holiday.date: holiday.name for holiday in trip.public_holidays}
    said = [
        f"{day}, a day to order parts by, is a public holiday ({names[day]}): shops may be shut."
        for day in sorted(set(order_by))
        if day in names
    ]
    days = sorted(names)
    for stop in trip.stops:
        if stop.facility == "town":
            first, last = as_day(stop.arrive), as_day(stop.leave)
            for day in days[bisect_left(days, first) :]:
                if day > last:
                    break
                why = f"a public holiday at home ({names[day]})"
                said.append(f"{stop.stop}, {day}: {why}; shops there may be shut too.")
    return tuple(said)
