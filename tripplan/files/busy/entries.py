"""The entries of the owner's calendar: when each starts, how long it lasts, what it repeats.

What cannot be understood is left out, or taken for more than it may be, and told.
"""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta, tzinfo

from msgspec import Struct, field

from tripplan.files.busy.lines import Line, Part
from tripplan.files.busy.repeats import midnight, span, stamp
from tripplan.files.zones import Zones
from tripplan.records.facts_in import Origin
from tripplan.records.problem_codes import problem
from tripplan.records.problems import LOOK, Problem

STAMP_ACCEPTED = "a day such as 20260704, or a time such as 20260704T090000"
LEFT_OUT = "mend it in the calendar; until then it is not counted"
WHOLE_DAY = "mend it in the calendar; until then it takes the rest of the day it starts on"
ONE_DAY = timedelta(days=1)
SIGHT = timedelta(days=2)
REPEATING = frozenset(("RRULE", "RDATE", "RECURRENCE-ID"))


class Reading(Struct, frozen=True):
    """One reading of a calendar for the days from `low` to `high`; `problems` grows as it goes."""

    file: str
    zones: Zones
    low: datetime
    high: datetime
    problems: list[Problem] = field(default_factory=list)
    unknown_zones: set[str] = field(default_factory=set)

    def tell(self, code: str, line: Line | Part, column: str, found: str, accepted: str, hint: str) -> None:
        """Note a problem that leaves the rest of the calendar of use."""
        origin = Origin(file=self.file, row=line.row)
        self.problems.append(problem(code, origin, column, found[:80] or "nothing", accepted, hint, LOOK))


class BusyEntry(Struct, frozen=True):
    """One entry: `start` is wall time in `zone`, and `lasts` is how long each repeat is."""

    part: Part
    start: datetime
    lasts: timedelta
    zone: tzinfo
    all_day: bool

    @property
    def takes_time(self) -> bool:
        """False for an entry that is cancelled, or that leaves the owner free."""
        words = [line.value.upper() for name in ("STATUS", "TRANSP") if (line := self.part.first(name))]
        return "CANCELLED" not in words and "TRANSPARENT" not in words


class When(Struct, frozen=True):
    """One of the dates of a property: wall time, whether only a day is given, and a length if one is."""

    wall: datetime
    is_day: bool
    lasts: timedelta | None = None


def entry_of(part: Part, reading: Reading) -> BusyEntry | None:
    """The entry of an event, or None when it has no start or lies outside the reading's days."""
    line = part.first("DTSTART")
    if line is None:
        reading.tell("B01", part, "DTSTART", "an entry without a start", STAMP_ACCEPTED, LEFT_OUT)
        return None
    value = stamp_of(line, line.value, "DTSTART", LEFT_OUT, reading)
    if value is None or _is_out_of_sight(part, value, reading):
        return None
    all_day = not isinstance(value, datetime)
    zone = reading.zones.home if all_day else zone_of(line, midnight(value), reading)
    start = midnight(value).replace(tzinfo=None)
    return BusyEntry(part, start, _lasts(part, start, zone, all_day, reading), zone, all_day)


def dates_of(part: Part, name: str, zone: tzinfo, reading: Reading) -> Iterator[When]:
    """Every date that the lines of a property give, as wall time of that zone."""
    for line in part.lines.get(name, ()):
        for text in line.value.split(","):
            begins, _, ends = text.partition("/")
            value = stamp_of(line, begins, name, LEFT_OUT, reading)
            if value is None:
                continue
            wall = wall_of(line, value, zone, reading)
            lasts = _period(line, wall, ends, name, zone, reading) if ends else None
            yield When(wall, not isinstance(value, datetime), lasts)


def stamp_of(line: Line, text: str, name: str, hint: str, reading: Reading) -> date | datetime | None:
    """A day or time, or None with a problem told."""
    try:
        return stamp(text)
    except ValueError:
        reading.tell("B04", line, name, text, STAMP_ACCEPTED, hint)
        return None


def zone_of(line: Line, value: datetime, reading: Reading) -> tzinfo:
    """The zone a time is written in: UTC, the named one, or home; an unknown name is told once."""
    if value.tzinfo:
        return UTC
    name = line.parameters.get("TZID", "")
    zone = reading.zones.find(name) if name else reading.zones.home
    if zone is None and name not in reading.unknown_zones:
        reading.unknown_zones.add(name)
        hint = "its times, and any others of that zone, are taken as times at home"
        reading.tell("B10", line, "TZID", name, "a time zone such as Australia/Darwin", hint)
    return zone or reading.zones.home


def wall_of(line: Line, value: date | datetime, zone: tzinfo, reading: Reading) -> datetime:
    """A day or time as wall time of `zone`, whichever zone it is written in."""
    if not isinstance(value, datetime):
        return midnight(value)
    own = zone_of(line, value, reading)
    wall = value.replace(tzinfo=None)
    try:
        return wall if own is zone else wall.replace(tzinfo=own).astimezone(zone).replace(tzinfo=None)
    except OverflowError:  # the first or last day that there is; the hours make no difference
        return wall


def _lasts(part: Part, start: datetime, zone: tzinfo, all_day: bool, reading: Reading) -> timedelta:
    usual = ONE_DAY if all_day else timedelta()
    to_midnight = _rest_of_day(start)
    if ends := part.first("DTEND"):
        value = stamp_of(ends, ends.value, "DTEND", WHOLE_DAY, reading)
        if value is None:
            return to_midnight
        lasts = wall_of(ends, value, zone, reading) - start
        if lasts < timedelta():
            accepted = f"its start, {start:%Y-%m-%d %H:%M}, or later"
            reading.tell("B11", ends, "DTEND", ends.value, accepted, WHOLE_DAY)
            return to_midnight
        return max(lasts, usual)
    length = part.first("DURATION")
    return max(_span(length, length.value, to_midnight, reading), usual) if length else usual


def _period(line: Line, wall: datetime, ends: str, name: str, zone: tzinfo, reading: Reading) -> timedelta:
    if ends.strip().upper().startswith(("P", "+P")):
        return _span(line, ends, _rest_of_day(wall), reading)
    value = stamp_of(line, ends, name, WHOLE_DAY, reading)
    if value is None:
        return _rest_of_day(wall)
    return wall_of(line, value, zone, reading) - wall


def _rest_of_day(wall: datetime) -> timedelta:
    return ONE_DAY - (wall - midnight(wall.date()))


def _span(line: Line, text: str, otherwise: timedelta, reading: Reading) -> timedelta:
    try:
        return span(text)
    except (ValueError, OverflowError):
        reading.tell("B16", line, "DURATION", text, "a length such as PT1H30M", WHOLE_DAY)
        return otherwise


def _is_out_of_sight(part: Part, value: date | datetime, reading: Reading) -> bool:
    """True for an entry that happens once, days away from those asked about."""
    if part.lines.keys() & REPEATING:
        return False
    start = midnight(value).replace(tzinfo=None)
    if start > reading.high and start - reading.high > SIGHT:
        return True
    ends = part.first("DTEND")
    try:
        end = midnight(stamp(ends.value)).replace(tzinfo=None) if ends else start
        end += span(length.value) if not ends and (length := part.first("DURATION")) else timedelta()
    except (ValueError, OverflowError):
        end = start
    return max(start, end) < reading.low and reading.low - max(start, end) > SIGHT
