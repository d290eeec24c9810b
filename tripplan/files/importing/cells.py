"""Cells of other people's tables: a day or an odometer reading, or why it cannot be known.

Stricter tables are read with `cells`. Here more forms are understood, and still nothing is
guessed: a date that could be two days and a figure that could be two numbers come back as
a question in words.
"""

import re
from datetime import date, timedelta
from functools import lru_cache

from msgspec import Struct

from tripplan.records.cell_values import MONTHS
from tripplan.records.units import KM_PER_MILE

DAY_FIRST, MONTH_FIRST = "day first", "month first"
YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[t ]\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?)?", re.ASCII)
RUN_TOGETHER = re.compile(r"((?:19|20)\d{2})(\d{2})(\d{2})", re.ASCII)
TWO_WAYS = re.compile(
    r"(\d{1,2})\s*[-/.]\s*(\d{1,2})\s*[-/.]\s*(\d{4}|\d{2})(?:[t ]\d{1,2}:\d{2}(?::\d{2})?)?", re.ASCII
)
DAY_NAMED = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[-\s.]*([a-z]{3,9})[-\s.,']*(\d{4}|\d{2})", re.ASCII)
NAME_FIRST = re.compile(r"([a-z]{3,9})[-\s.]*(\d{1,2})(?:st|nd|rd|th)?[-\s.,]+(\d{4})", re.ASCII)
DAY_MONTH = re.compile(r"(\d{1,2})\s*[-/]\s*(\d{1,2})", re.ASCII)
DAY_MONTH_NAMED = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[-\s./]*([a-z]{3,9})\.?", re.ASCII)
MONTH_NAMED_DAY = re.compile(r"([a-z]{3,9})[-\s./]*(\d{1,2})(?:st|nd|rd|th)?", re.ASCII)
MONTH_ONLY = re.compile(r"([a-z]{3,9})[-\s.,']*(?:\d{4}|\d{2})", re.ASCII)
WEEKDAY = re.compile(r"(?:mon|tue|tues|wed|wednes|thu|thur|thurs|fri|sat|satur|sun)(?:day)?\.?,?\s+", re.ASCII)
SERIAL = re.compile(r"\d{5}(?:\.\d+)?", re.ASCII)
SERIAL_ZERO = date(1899, 12, 30)
SERIALS = range(20_000, 80_000)
KM_UNITS = ("km", "kms", "kilometres", "kilometers", "kilometre", "k's", "ks")
MILE_UNITS = ("mi", "mile", "miles", "mls")
ABOUT = r"(about|approx\.?|approximately|circa|c\.|ca\.?|~)?"
READING = re.compile(ABOUT + r"\s*([\d.,' ]*\d)\s*(k(?![a-z']))?\s*([a-z']+)?\s*(approx\.?|\?)?", re.ASCII)
MOST_KM = 5_000_000


class ReadDay(Struct, frozen=True):
    """A day, or why it is not known; `readings` are the days it could be."""

    day: date | None
    why: str = ""
    readings: tuple[date, ...] = ()


class ReadKm(Struct, frozen=True):
    """A reading in km, or why it is not known; `remark` says what is rough about it."""

    km: float | None
    why: str = ""
    remark: str = ""
    has_unit: bool = False


@lru_cache(maxsize=4096)
def read_day(text: str, order: str | None, today: date, year: int | None = None) -> ReadDay:
    """The day a cell means. `order` is what its column has shown, None while that is open.

    `year` is that of the sheet or heading, for a day and month alone.
    """
    plain = WEEKDAY.sub("", text.strip().lower())
    if match := YEAR_FIRST.fullmatch(plain) or RUN_TOGETHER.fullmatch(plain):
        year, month, dom = (int(part) for part in match.groups())
        return _one(built_day(year, month, dom))
    if match := TWO_WAYS.fullmatch(plain):
        return _by_order(match, order, today)
    if match := DAY_NAMED.fullmatch(plain):
        return _one(built_day(_year(match[3], today), month_of(match[2]), int(match[1])))
    if match := NAME_FIRST.fullmatch(plain):
        return _one(built_day(int(match[3]), month_of(match[1]), int(match[2])))
    if short := _without_year(plain):
        return read_day(f"{short}{year}", order, today) if year else ReadDay(None, "a day and a month without the year")
    if (match := MONTH_ONLY.fullmatch(plain)) and month_of(match[1]):
        return ReadDay(None, "a month without its day")
    if SERIAL.fullmatch(plain) and int(float(plain)) in SERIALS:
        return _one(SERIAL_ZERO + timedelta(days=int(float(plain))))
    return ReadDay(None, "not a date that can be read")


def lacks_year(text: str) -> bool:
    """True for a day and a month without the year."""
    return bool(_without_year(WEEKDAY.sub("", text.strip().lower())))


def _without_year(plain: str) -> str:
    """A day and month, ready for the year to be set behind; empty where the text is no such thing.

    A month and two figures (`Nov 12`) may be a month and a year: that is no such thing.
    """
    if match := DAY_MONTH.fullmatch(plain):
        return f"{match[1]}/{match[2]}/"
    if (match := DAY_MONTH_NAMED.fullmatch(plain)) and month_of(match[2]):
        return f"{match[1]} {match[2]} "
    if (match := MONTH_NAMED_DAY.fullmatch(plain)) and month_of(match[1]) and plain.endswith(("st", "nd", "rd", "th")):
        return f"{match[2]} {match[1]} "
    return ""


def order_shown(texts: list[str]) -> tuple[str | None, bool]:
    """Which comes first in a column's slashed dates, and whether its rows contradict each other.

    A row whose first figure is above 12 shows that the day comes first, one whose second
    is, that the month does.
    """
    plain = [text.strip().lower() for text in texts]
    matches = [match for text in plain if (match := TWO_WAYS.fullmatch(text) or DAY_MONTH.fullmatch(text))]
    shows_day = any(int(match[1]) > 12 for match in matches)
    shows_month = any(int(match[2]) > 12 for match in matches)
    if shows_day and shows_month:
        return None, True
    return (DAY_FIRST if shows_day else MONTH_FIRST if shows_month else None), False


def shows_day_first(text: str) -> bool:
    """True for a slashed date whose first figure can only be a day."""
    match = TWO_WAYS.fullmatch(text.strip().lower())
    return match is not None and int(match[1]) > 12


def read_km(text: str, in_miles: bool) -> ReadKm:
    """The reading a cell means; a unit in the cell wins over that of the column."""
    plain = re.sub(r"[\u00a0\u2007\u2009\u202f]", " ", text.strip().lower()).replace("\u2019", "'")
    match = READING.fullmatch(plain)
    if not match:
        return ReadKm(None, "not an odometer reading that can be read")
    about, figure, thousand, unit, doubtful = match.groups()
    if unit and unit not in (*KM_UNITS, *MILE_UNITS):
        return ReadKm(None, f"{unit!r} is no unit of distance")
    number, why = _number(figure)
    if number is None:
        return ReadKm(None, why)
    if unit:
        in_miles = unit in MILE_UNITS
    km = number * (1000 if thousand else 1) * (KM_PER_MILE if in_miles else 1)
    if not km < MOST_KM:
        return ReadKm(None, "more than an odometer shows")
    rough = bool(about or doubtful or thousand)
    remark = f"estimate: odometer written as {text.strip()}" if rough else ""
    return ReadKm(round(km, 1) if in_miles else km, remark=remark, has_unit=bool(unit))


def _by_order(match: re.Match[str], order: str | None, today: date) -> ReadDay:
    first, second, year = int(match[1]), int(match[2]), _year(match[3], today)
    both = [built_day(year, second, first), built_day(year, first, second)]
    readings = tuple(dict.fromkeys(day for day in both if day))
    if not readings:
        return ReadDay(None, "no such day in the calendar")
    if len(readings) == 1 and (order is None or both[order == MONTH_FIRST] is not None):
        return ReadDay(readings[0])
    if order is None:
        return ReadDay(None, f"{readings[0]} or {readings[1]}: does the day come first, or the month?", readings)
    day = both[order == MONTH_FIRST]
    return ReadDay(day) if day else ReadDay(None, f"no such day with the {order.replace(' first', '')} first", readings)


def _number(figure: str) -> tuple[float | None, str]:
    """The number written, with separators taken out only where they can mean one thing."""
    bare = figure.strip()
    if re.fullmatch(r"\d+", bare):
        return (float(bare), "") if len(bare) <= 9 else (None, "more than an odometer shows")
    if re.fullmatch(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d{1,3}(?:[ ']\d{3})+(?:[.]\d+)?", bare):
        return float(re.sub(r"[, ']", "", bare)), ""
    if re.fullmatch(r"\d{1,3}(?:\.\d{3}){2,}|\d{1,3}(?:\.\d{3})+,\d+", bare):
        return float(bare.replace(".", "").replace(",", ".")), ""
    if re.fullmatch(r"\d{1,3}\.\d{3}", bare):
        return None, f"{bare}: is that thousands, or a decimal point?"
    if re.fullmatch(r"\d+\.\d+", bare) and len(bare) <= 20:
        return float(bare), ""
    return None, f"{bare}: the separators can be read in more than one way"


def _one(day: date | None) -> ReadDay:
    return ReadDay(day) if day else ReadDay(None, "no such day in the calendar")


def _year(text: str, today: date) -> int:
    """A year of two figures is the last such year that has come, or the next one at most."""
    if len(text) == 4:
        return int(text)
    century = today.year // 100 * 100
    return century + int(text) if century + int(text) <= today.year + 1 else century - 100 + int(text)


def month_of(name: str) -> int:
    """The number of the month that a name or the start of one means; 0 where none or several are."""
    found = [number for number, full in enumerate(MONTHS, 1) if full.startswith(name.lower())]
    return 9 if name.lower() == "sept" else found[0] if len(found) == 1 else 0


def built_day(year: int, month: int, dom: int) -> date | None:
    """That day, where the calendar has it."""
    try:
        return date(year, month, dom)
    except ValueError:
        return None
