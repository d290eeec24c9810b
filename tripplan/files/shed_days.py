"""The workshop days of a trip, from the owner's own calendar and the public holidays.

Without `workshop.csv` the days are found: the free days of `busy.ics`. With both files
the days of `workshop.csv` stand, and busy time is taken off them: its minutes are
reckoned from the hour at which work begins; a day left with less than an hour is not
used. Each such clash is told. Public holidays are read whether or not days are found.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta, tzinfo
from difflib import SequenceMatcher

from tripplan.files.busy.calendar import busy_times
from tripplan.files.busy.lines import CalendarParts
from tripplan.files.zones import listed_zone
from tripplan.records.facts_in import Origin, PublicHoliday, Rig, Trip, WorkshopDay, as_day
from tripplan.records.problem_codes import figure, problem
from tripplan.records.problems import Problem
from tripplan.trip.free_days import (
    BUSY_FILE,
    LEAST_MINUTES,
    Busy,
    busy_by_day,
    clashes,
    free_days,
    from_hour,
    shed_hours,
    taken_minutes,
    work_minutes,
)

MOST_NAMED = 8
MOST_DAYS = 731
MOST_TOLD = 3
BUSY_ORIGIN = Origin(file=BUSY_FILE)
Changed = tuple[Trip, tuple[Problem, ...]]


def with_shed_days(
    trip: Trip, rig: Rig, calendar: CalendarParts | None, has_workshop_file: bool, today: date
) -> Changed:
    """The trip with its public holidays, and with the workshop days that the calendar leaves."""
    last = min(trip.depart, today + timedelta(days=MOST_DAYS))
    years = {*range(today.year, last.year + 1), *(as_day(stop.arrive).year for stop in trip.stops)}
    years |= {as_day(stop.leave).year for stop in trip.stops}
    holidays, problems = public_holidays(rig, years)
    trip = trip.model_copy(update={"public_holidays": holidays})
    problems += tuple(_unused_keys(trip, calendar is not None, has_workshop_file))
    home = listed_zone(rig.home_zone)
    if calendar is None or home is None:
        return trip, problems
    if last < trip.depart:
        found = f"{trip.depart}, which is {(trip.depart - today).days} days from {today}"
        accepted = f"a departure within {MOST_DAYS} days; free days are found up to {last}"
        problems += (problem("B15", BUSY_ORIGIN, None, found, accepted),)
    trip, more = (_less_clashes if has_workshop_file else _found)(trip, calendar, home, today, last)
    return trip, problems + more


def _unused_keys(trip: Trip, has_calendar: bool, has_workshop_file: bool) -> Iterator[Problem]:
    """Keys that only count when free days are found, and nothing to find them in."""
    if has_calendar and not has_workshop_file:
        return
    why = "workshop.csv gives the days" if has_workshop_file else f"there is no {BUSY_FILE} to find days in"
    accepted = f"the key beside a {BUSY_FILE} and no workshop.csv"
    for key in ("workshop_minutes", "workshop_weekdays"):
        if getattr(trip, key) is not None:
            yield problem("T11", trip.origin, key, f"{key}, and {why}", accepted)


def _found(trip: Trip, calendar: CalendarParts, home: tzinfo, today: date, last: date) -> Changed:
    """The trip with every free day up to the day before departure."""
    busy, problems = busy_times(calendar, home, today, last)
    if trip.workshop_minutes is None:
        accepted = f"the minutes a free day has for work, such as 360, to find free days in {BUSY_FILE}"
        return trip, (*problems, problem("T01", trip.origin, "workshop_minutes", "no such key", accepted))
    off = {holiday.date: trip.workshop_minutes for holiday in trip.public_holidays}
    days = free_days(busy, today, last, work_minutes(trip), off, from_hour(trip))
    found = tuple(WorkshopDay(date=day, minutes=minutes, origin=BUSY_ORIGIN) for day, minutes in days)
    return trip.model_copy(update={"workshop_days": found, "finds_free_days": True}), problems


def _less_clashes(trip: Trip, calendar: CalendarParts, home: tzinfo, today: date, last: date) -> Changed:
    """The trip with the busy time taken off the days of workshop.csv, each clash told."""
    busy, problems = busy_times(calendar, home, today, last)
    by_day = busy_by_day(busy, today, last)
    kept: list[WorkshopDay] = []
    for row in trip.workshop_days:
        meets = clashes(row.date, row.minutes, by_day.get(row.date, ()), from_hour(trip))
        left = row.minutes - taken_minutes(row.date, row.minutes, meets, from_hour(trip))
        is_used = not meets or left >= LEAST_MINUTES
        if meets:
            problems += (_clash(row, meets, left if is_used else 0.0, from_hour(trip)),)
        if is_used:
            kept.append(row.model_copy(update={"minutes": left}))
    return trip.model_copy(update={"workshop_days": tuple(kept)}), problems


def _clash(row: WorkshopDay, meets: Sequence[Busy], left: float, hour: float) -> Problem:
    opens, closes = shed_hours(row.date, row.minutes, hour)
    times = [f"{max(busy.start, opens):%H:%M} to {min(busy.end, closes):%H:%M}" for busy in meets[:MOST_TOLD]]
    more = f" and {len(meets) - MOST_TOLD} more" if len(meets) > MOST_TOLD else ""
    found = f"busy on {row.date}, {', '.join(times)}{more}; workshop.csv row {row.origin.row} has that day"
    done = f"{figure(left)} of its {figure(row.minutes)} minutes are kept" if left else "the day is not used"
    accepted = f"no busy time from {opens:%H:%M} to {closes:%H:%M}; {done}"
    return problem("B14", Origin(file=BUSY_FILE, row=meets[0].row), None, found, accepted)


def public_holidays(rig: Rig, years: Iterable[int]) -> tuple[tuple[PublicHoliday, ...], tuple[Problem, ...]]:
    """The public holidays of those years, none when no country is named, or what is wrong with the code."""
    if rig.country is None:
        if rig.region is None:
            return (), ()
        found, accepted = f"{rig.region}, and no country", "a region together with its country"
        return (), (problem("R19", rig.origin, "region", found, accepted),)
    import holidays  # many country modules: loaded only for a rig that names its country

    regions = holidays.list_supported_countries()
    country = rig.country.strip().upper()
    if country not in regions:
        return (), (problem("R18", rig.origin, "country", rig.country, _countries_like(rig.country)),)
    region = _region(rig.region, regions[country]) if rig.region else None
    try:
        dates = holidays.country_holidays(country, subdiv=region, years=sorted(set(years)))
    except NotImplementedError:
        accepted = _regions_like(rig.region or "", country, regions[country])
        return (), (problem("R19", rig.origin, "region", f"{rig.region}", accepted),)
    found_days = sorted(dates.items())
    return tuple(PublicHoliday(date=day, name=name, origin=rig.origin) for day, name in found_days), ()


def _region(typed: str, regions: Iterable[str]) -> str:
    """The code or name as the library writes it, whatever its capitals."""
    capitals = {code.upper(): code for code in regions}
    return capitals.get(typed.strip().upper(), typed.strip())


def _regions_like(found: str, country: str, regions: Iterable[str]) -> str:
    near = _nearest(found, {code: code for code in regions})
    return f"a region of {country} such as {near}" if near else f"none: {country} has one set of holidays"


def _countries_like(found: str) -> str:
    from holidays.registry import COUNTRIES

    listed = {name.replace("_", " "): entry[1] for name, entry in COUNTRIES.items()}
    names = {f"{code} ({name})": f"{code} {name}" for name, code in listed.items()}
    return f"a two-letter code such as {_nearest(found, names)}"


def _nearest(found: str, words: dict[str, str]) -> str:
    """The labels whose words are most like `found`, those first."""
    sought = found.strip().lower()
    score = {
        label: -max(SequenceMatcher(None, word, sought).ratio() for word in text.lower().split(" ", 1))
        for label, text in words.items()
    }
    return ", ".join(sorted(score, key=lambda label: (score[label], label))[:MOST_NAMED])
