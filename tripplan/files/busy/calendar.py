"""The owner's own calendar, `busy.ics`: when they are taken, as wall time at home.

An entry that is cancelled, or marked as taking no time, takes none; a whole-day entry
takes the whole day; a time without a zone is a time at home; a length is counted on the
clock. Repeats are worked out up to departure, with the dates taken out, added or moved.
A free/busy file is read too. An entry that cannot be understood is told and never stops
the plan; a file that is damaged as a whole does. What an entry is about is never kept.
"""

from collections.abc import Iterator, Sequence
from contextlib import suppress
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from itertools import chain
from pathlib import Path

from msgspec.structs import replace

from tripplan.files.busy.entries import ONE_DAY, SIGHT, BusyEntry, Reading, When, dates_of, entry_of
from tripplan.files.busy.lines import CalendarParts, Line, Part, calendar_parts, joined_letters
from tripplan.files.busy.repeats import TooManyRepeats, midnight, repeats, rule_keys, stamp
from tripplan.files.tables import decoded, read_bytes
from tripplan.files.way_in import look_at
from tripplan.files.zones import Zones
from tripplan.records.facts_in import Origin
from tripplan.records.problem_codes import problem
from tripplan.records.problems import Problem
from tripplan.trip.free_days import Busy

MOST_BYTES = 20_000_000
SAVE_AS_UTF8 = "export the calendar once more, as UTF-8"
RULE_ACCEPTED = "a rule such as FREQ=WEEKLY;BYDAY=TU,TH"
FIRST_ONLY = "mend it in the calendar; until then the repeats of this rule are not counted"
ALL_TAKEN = "from there to departure every day is taken as busy"
RULE_ERRORS = (ValueError, TypeError, KeyError, IndexError, AttributeError, OverflowError, ZeroDivisionError)
Change = tuple[BusyEntry, Line]


def read_calendar(path: Path) -> tuple[CalendarParts | None, tuple[Problem, ...]]:
    """The parts of a calendar file, or the Problem why there are none."""
    name = path.name
    size = look_at(path) if path.is_file() else 0
    if size > MOST_BYTES:
        hint = "export only the months up to departure"
        found = f"a file of {size / 1e6:.1f} MB"
        return None, (problem("B12", Origin(file=name), None, found, "a file of up to 20 MB", hint),)
    raw, problems = read_bytes(path, name)
    if raw is None:
        return None, problems
    text, problems = decoded(joined_letters(raw), name)
    if text is None:
        return None, tuple(replace(each, hint=SAVE_AS_UTF8) if each.hint else each for each in problems)
    return calendar_parts(text, name)


def busy_times(
    calendar: CalendarParts, home: tzinfo, first: date, last: date
) -> tuple[tuple[Busy, ...], tuple[Problem, ...]]:
    """The times taken from `first` to `last`, both included, and what could not be understood."""
    reading = Reading(calendar.file, Zones(home, calendar.zones), midnight(first), midnight(last) + ONE_DAY)
    masters: list[BusyEntry] = []
    changes: dict[str, list[Change]] = {}
    for part in calendar.parts:
        entry = entry_of(part, reading) if part.kind == "VEVENT" else None
        if entry and (line := part.first("RECURRENCE-ID")):
            changes.setdefault(_uid(part), []).append((entry, line))
        elif entry:
            masters.append(entry)
    found: set[Busy] = set()
    for entry in masters:
        found.update(_of_entry(entry, changes.get(_uid(entry.part), ()), reading))
    for entry, _ in chain.from_iterable(changes.values()):
        found.update(_placed(entry, entry.start, entry.lasts, reading))
    for part in calendar.parts:
        if part.kind == "VFREEBUSY":
            found.update(_of_free_busy(part, reading))
    return tuple(sorted(found)), tuple(reading.problems)


def _uid(part: Part) -> str:
    line = part.first("UID")
    return line.value if line else f"row {part.row}"


def _of_entry(entry: BusyEntry, changes: Sequence[Change], reading: Reading) -> Iterator[Busy]:
    """The times of an entry and its repeats, less those that a change stands in for."""
    moved = [
        (when, change, line.parameters.get("RANGE", "").upper() == "THISANDFUTURE")
        for change, line in changes
        for when in dates_of(change.part, "RECURRENCE-ID", entry.zone, reading)
    ]
    gone = _Dates(when for when, _, _ in moved)
    onward = sorted(((when.wall, change) for when, change, later in moved if later), key=lambda pair: pair[0])
    for wall, lasts in _happenings(entry, reading):
        if wall in gone:
            continue
        since = [(begins, change) for begins, change in onward if begins <= wall]
        if since:
            begins, change = since[-1]
            with suppress(OverflowError):  # a date past the end of the calendar is in nobody's way
                yield from _placed(change, change.start + (wall - begins), change.lasts, reading)
        else:
            yield from _placed(entry, wall, lasts, reading)


class _Dates:
    """A set of dates in which a day alone stands for every time of that day."""

    def __init__(self, dates: Iterator[When]) -> None:
        listed = list(dates)
        self.walls = {when.wall for when in listed}
        self.days = {when.wall.date() for when in listed if when.is_day}

    def __contains__(self, wall: datetime) -> bool:
        return wall in self.walls or wall.date() in self.days


def _happenings(entry: BusyEntry, reading: Reading) -> list[tuple[datetime, timedelta]]:
    """Every start of an entry that can reach into the reading's days, and how long it lasts."""
    if not entry.part.lines.keys() & {"RRULE", "RDATE", "EXDATE"}:
        return [(entry.start, entry.lasts)]
    starts = {entry.start: entry.lasts}
    starts |= dict(_by_rules(entry, "RRULE", reading))
    for when in dates_of(entry.part, "RDATE", entry.zone, reading):
        starts[when.wall] = entry.lasts if when.lasts is None else when.lasts
    out = _Dates(dates_of(entry.part, "EXDATE", entry.zone, reading))
    if "EXRULE" in entry.part.lines:
        out.walls.update(wall for wall, _ in _by_rules(entry, "EXRULE", reading))
    return [(wall, lasts) for wall, lasts in sorted(starts.items()) if wall not in out]


def _by_rules(entry: BusyEntry, name: str, reading: Reading) -> Iterator[tuple[datetime, timedelta]]:
    early = entry.lasts + SIGHT
    low = reading.low - early if early < reading.low - datetime.min else datetime.min
    high = reading.high + SIGHT
    for line in entry.part.lines.get(name, ()):
        try:
            for wall in repeats(line.value, entry.start, _until(line.value, entry), low, high):
                yield wall, entry.lasts
        except TooManyRepeats as error:
            accepted = "fewer repeats up to departure"
            reading.tell("B13", line, name, line.value, accepted, ALL_TAKEN)
            yield error.last, max(reading.high - error.last, timedelta())
        except RULE_ERRORS:
            reading.tell("B16", line, name, line.value, RULE_ACCEPTED, FIRST_ONLY)


def _until(rule: str, entry: BusyEntry) -> datetime | None:
    """The end of a rule as wall time of its entry; a day counts to its end."""
    text = rule_keys(rule).get("UNTIL")
    if text is None:
        return None
    value = stamp(text)
    if entry.all_day or not isinstance(value, datetime):
        return datetime.combine(value, time.max)
    return value.astimezone(entry.zone).replace(tzinfo=None) if value.tzinfo else value


def _placed(entry: BusyEntry, wall: datetime, lasts: timedelta, reading: Reading) -> Iterator[Busy]:
    """One happening as wall time at home, when it takes time in the reading's days."""
    earliest, latest = reading.low - SIGHT, reading.high + SIGHT
    if not entry.takes_time or wall >= latest:
        return
    end = wall + min(lasts, latest - wall)
    start = max(wall, earliest)
    if end > start:
        at_home = reading.zones.at_home
        yield Busy(at_home(start, entry.zone), at_home(end, entry.zone), entry.part.row)


def _of_free_busy(part: Part, reading: Reading) -> Iterator[Busy]:
    """The periods of a free/busy file, all but those marked free."""
    for line in part.lines.get("FREEBUSY", ()):
        if line.parameters.get("FBTYPE", "BUSY").upper() == "FREE":
            continue
        single = Part(part.kind, line.row, {"FREEBUSY": [line]})
        for when in dates_of(single, "FREEBUSY", UTC, reading):
            lasts = when.lasts or timedelta()
            yield from _placed(BusyEntry(single, when.wall, lasts, UTC, False), when.wall, lasts, reading)
