"""Dates, times, distances and names in plain English words, the same in every output.

No locale is read: equal plans give equal words on every machine.
"""

from collections.abc import Iterable, Sequence
from datetime import date

from tripplan.records.plain_words import ACT_WORDS as ACT_WORDS
from tripplan.records.plain_words import MONTHS, begun, day_and_month
from tripplan.records.plain_words import act as act
from tripplan.records.plain_words import doing as doing
from tripplan.records.plain_words import due_words as due_words
from tripplan.records.plain_words import duration as duration
from tripplan.records.plain_words import item as item
from tripplan.records.plain_words import listed as listed
from tripplan.records.plain_words import lower_first as lower_first
from tripplan.records.plain_words import sides as sides
from tripplan.records.plain_words import upper_first as upper_first
from tripplan.records.plan import Use

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
METER_WORDS = {
    "km": "km",
    "engaged_km": "km with the front axle driven",
    "towing_km": "km towing",
    "low_range_km": "km in low range",
    "engine_hours": "engine hours",
    "months": "months",
}
LEAST_PERCENT = 0.005


def day(when: date) -> str:
    """A day with its weekday and year: Sat 4 July 2026."""
    return f"{WEEKDAYS[when.weekday()]} {when.day} {MONTHS[when.month - 1]} {when.year}"


def short_day(when: date) -> str:
    """A day without year: 4 July."""
    return day_and_month(when)


def week_day(when: date) -> str:
    """A day with its weekday: Sat 4 July."""
    return f"{WEEKDAYS[when.weekday()]} {day_and_month(when)}"


def axis_day(when: date) -> str:
    """A day where there is little room, as beside a picture: 4 Jul."""
    return f"{when.day} {MONTHS[when.month - 1][:3]}"


def days(when: Iterable[date]) -> str:
    """Some days as a person says them: 22, 23 and 27 June; 30 June and 1 July."""
    months: dict[tuple[int, int], dict[int, None]] = {}
    for one in sorted(when):
        months.setdefault((one.year, one.month), {})[one.day] = None
    return listed(f"{listed(map(str, held))} {MONTHS[month - 1]}" for (_, month), held in months.items())


def figure(value: float) -> str:
    """A number without needless noughts: 8, 2.5, 0.75."""
    rounded = round(value, 2)
    return str(int(rounded)) if rounded == int(rounded) else f"{rounded:g}"


def km(distance_km: float) -> str:
    """Whole kilometres: 742 km."""
    return f"{distance_km:.0f} km"


def percent(share: float) -> str:
    """A share as whole percent: 41%."""
    return f"{share * 100:.0f}%"


def proven(gap: float | None) -> str:
    """How far the best possible may lie from a plan, in a sentence."""
    if gap is None:
        return "How far this is from the least cost is not proven."
    if gap * 100 < LEAST_PERCENT:
        return "Proven: no way of placing this work costs less."
    return f"Proven: no way of placing this work saves more than {figure(gap * 100)}% of its cost."


def meter(name: str) -> str:
    """A meter's name as it follows a number: km towing, engine hours."""
    return METER_WORDS.get(name, name.replace("_", " "))


def doing_each(name: str, things: Sequence[str]) -> str:
    """One act at several things: Look at park brake; trailer coupling."""
    return f"{begun(name, things[0])} {'; '.join(map(lower_first, things))}"


def use_text(use: Use, is_unit_told: bool = True) -> str:
    """What a material is for: repack Front wheel bearings (wagon, left); spare for Wheel seal (camper)."""
    where = ", ".join(text for text in (use.unit if is_unit_told else "", use.position) if text)
    return f"{use.act or 'spare for'} {use.name}" + (f" ({where})" if where else "")


def sentence(text: str) -> str:
    """The text with its first letter large and a full stop."""
    trimmed = text.strip()
    if not trimmed:
        return ""
    closed = trimmed if trimmed[-1] in ".!?" else f"{trimmed}."
    return closed[0].upper() + closed[1:]


def several(number: float, name: str) -> str:
    """So many things of a name: 1 hub seal; 2 trailer bearing sets."""
    return f"{figure(number)} {name}{'' if number == 1 else 's'}"


def count(number: int, one: str, many: str) -> str:
    """A number with its noun: 1 item, 3 items."""
    return f"{number} {one if number == 1 else many}"


REFUSED_MARKS = dict.fromkeys((*(mark for mark in range(32) if chr(mark) not in "\n\t"), *range(127, 160)))


def printable(text: str) -> str:
    """The text without control marks that calendars, spreadsheets and XML refuse."""
    return text.translate(REFUSED_MARKS)
