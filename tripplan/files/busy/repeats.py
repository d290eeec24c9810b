"""When a calendar entry happens: its values as times, and every repeat inside a window.

A start is wall time of the entry's own zone, so a weekly entry keeps its hour when the
clocks change. The rule itself is worked out by dateutil, which follows RFC 5545; what
the rule does not say (single dates more or less, a first date that the rule misses) is
added here. A whole day is its midnight to the next one, at home.
"""

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache

from dateutil.rrule import rrulestr

MOST_REPEATS = 100_000
STAMP = re.compile(r"(\d{4})(\d\d)(\d\d)(?:T(\d\d)(\d\d)(\d\d)(Z)?)?")
SPAN = re.compile(r"\+?P(?:(\d{1,6})W)?(?:(\d{1,6})D)?(?:T(?:(\d{1,8})H)?(?:(\d{1,8})M)?(?:(\d{1,9})S)?)?")
PERIODS = {
    "WEEKLY": timedelta(weeks=1), "DAILY": timedelta(days=1), "HOURLY": timedelta(hours=1),
    "MINUTELY": timedelta(minutes=1), "SECONDLY": timedelta(seconds=1),
}  # fmt: skip
CALENDAR_CYCLE_YEARS = 400
LAST_YEAR = 9990


class TooManyRepeats(ValueError):
    """A rule gives more repeats than a calendar of appointments can hold; `last` is where it got to."""

    def __init__(self, last: datetime) -> None:
        self.last = last
        super().__init__(f"more than {MOST_REPEATS} repeats by {last}")


@lru_cache(maxsize=4096)
def stamp(text: str) -> date | datetime:
    """A day, a wall time, or a time in UTC, as the calendar form writes them; else ValueError."""
    match = STAMP.fullmatch(text.strip().upper())
    if not match:
        raise ValueError(text)
    year, month, dom, hour, minute, second, is_utc = match.groups()
    if hour is None:
        return date(int(year), int(month), int(dom))
    seconds = min(int(second), 59) if second == "60" else int(second)
    return datetime(int(year), int(month), int(dom), int(hour), int(minute), seconds, tzinfo=UTC if is_utc else None)


def span(text: str) -> timedelta:
    """A length of time such as P1D or PT1H30M; else ValueError."""
    match = SPAN.fullmatch(text.strip().upper())
    if not match or not any(match.groups()):
        raise ValueError(text)
    weeks, days, hours, minutes, seconds = (int(part or 0) for part in match.groups())
    return timedelta(weeks=weeks, days=days, hours=hours, minutes=minutes, seconds=seconds)


def midnight(value: date | datetime) -> datetime:
    """A moment as it is; a day as the midnight it starts with."""
    return value if isinstance(value, datetime) else datetime.combine(value, time())


def repeats(rule: str, start: datetime, until: datetime | None, low: datetime, high: datetime) -> Iterator[datetime]:
    """The starts that a rule gives from `low` to `high`, in order.

    `until` is the rule's own end as wall time, when it has one. A rule without COUNT is
    taken up shortly before `low`, a whole number of its intervals after its start. It is
    then moved on by whole 400-year cycles, after which days and weekdays fall alike: the
    library gives a rule up at the year 9999, and so does it soon for one that never
    falls on any day.
    """
    keys = rule_keys(rule)
    if "COUNT" not in keys and low > start:
        step = PERIODS.get(keys["FREQ"], timedelta()) * int(keys.get("INTERVAL", "1"))
        start += (low - start) // step * step if step else timedelta()
    cycles = (LAST_YEAR - max(high.year, start.year)) // CALENDAR_CYCLE_YEARS
    later = max(cycles, 0) * CALENDAR_CYCLE_YEARS
    text = ";".join(f"{key}={value}" for key, value in keys.items() if key != "UNTIL")
    moved = rrulestr(text, dtstart=start.replace(year=start.year + later))
    last = min(high, until) if until else high
    when = start
    for count, each in enumerate(moved):
        if count == MOST_REPEATS:
            raise TooManyRepeats(when)
        when = each.replace(year=each.year - later)
        if when > last:
            return
        if when >= low:
            yield when


@lru_cache(maxsize=1024)
def rule_keys(rule: str) -> dict[str, str]:
    """The parts of a rule by name; ValueError when it cannot be one."""
    pairs = [part.partition("=") for part in rule.strip().upper().split(";") if part]
    keys = {name.strip(): value.strip() for name, _, value in pairs}
    counts = [int(keys[name]) for name in ("INTERVAL", "COUNT") if name in keys]
    if len(keys) != len(pairs) or "FREQ" not in keys or "BYEASTER" in keys or any(n < 1 for n in counts):
        raise ValueError(rule)
    return keys
