"""Numbers, lengths and days as people write them, put into the one form that the files use.

Only what can mean one thing is changed. All else goes on as it was typed, and the readers
refuse it with a word why: 1,234 may be one or a thousand, 5/6/2026 is May or June.
"""

import re
from collections.abc import Mapping
from decimal import Decimal

from tripplan.files.importing.cells import built_day, month_of
from tripplan.records import cell_values

UNITS: Mapping[str, Mapping[str, str]] = {
    "m": {"m": "1", "metre": "1", "metres": "1", "cm": "0.01", "mm": "0.001"},
    "mm": {"mm": "1", "cm": "10", "m": "1000"},
    "km": {"km": "1"},
    "km/h": {"km/h": "1", "kmh": "1", "kph": "1"},
    "°C": {"°c": "1", "c": "1", "°": "1"},
    "min": {"min": "1", "mins": "1", "minutes": "1", "minute": "1", "h": "60", "hours": "60", "hour": "60"},
    "": {},
}
SUFFIXES = {"_km": "km", "_m": "m", "_mm": "mm", "_kmh": "km/h", "_c": "°C"}
MINUTES = ("minutes", "road_daily_minutes", "road_day_limit_minutes", "road_long_spell_minutes")
PLAIN = ("rate_per_hour", "cost_per_stranded_hour", "holiday_rate_per_hour", "usual_km_per_week", "odometer_factor",
         "usual_engaged_share", "usual_towing_share", "usual_low_range_share")  # fmt: skip
DAYS = ("date", "depart", "return", "arrive", "leave", "crossed", "day")
BLANKS = re.compile(r"[\u00a0\u2009\u202f]")
QUANTITY = re.compile(r"([+-]?\d[\d., ]*?)\s*([a-zA-Z/°]*)")
DAY_AND_TIME = re.compile(r"(.*?)(?:[\sT,]+(\d{1,2})[:.](\d{2}))?", re.ASCII)
DOT = "."  # figures parted by points put the day first
YEAR_FIRST = re.compile(r"(\d{4})[/.](\d{1,2})[/.](\d{1,2})", re.ASCII)
NAMED = re.compile(r"(\d{1,2})\.?\s+([A-Za-z]{3,9})\.?,?\s+(\d{4})", re.ASCII)
MONTH_NAMED = re.compile(r"([A-Za-z]{3,9})\.?\s+(\d{1,2}),?\s+(\d{4})", re.ASCII)


def as_files_have_it(column: str, text: str) -> str:
    """What was typed under that name, as the files have it; unchanged where it is not understood."""
    if column in DAYS:
        return plain_day(text)
    unit = unit_of(column)
    return text if unit is None else plain_number(text, unit)


def unit_of(column: str) -> str | None:
    """The unit of the figures under that name; None where words stand there."""
    if column in MINUTES:
        return "min"
    if column in PLAIN:
        return ""
    found = [unit for suffix, unit in SUFFIXES.items() if column.endswith(suffix)]
    return found[0] if found else None


def plain_number(text: str, unit: str) -> str:
    """A figure with a point and in that unit: 0,7 is 0.7, and 70 cm in metres is 0.7."""
    typed = BLANKS.sub(" ", text.strip())
    match = QUANTITY.fullmatch(typed)
    if not match or len(typed) > 30:
        return text
    figure, named = _figure(match.group(1).strip()), match.group(2).lower()
    if figure is None or (named and named not in UNITS[unit]):
        return text
    if not named and figure == typed:
        return text
    value = Decimal(figure) * Decimal(UNITS[unit].get(named, "1"))
    return f"{value.normalize():f}"


def _figure(text: str) -> str | None:
    """Digits with a point at most; None where a separator may mean two things."""
    text = text.replace(" ", "") if re.fullmatch(r"[+-]?\d{1,3}(?: \d{3})+(?:[.,]\d+)?", text) else text
    if cell_values.PLAIN_NUMBER.fullmatch(text):
        return text
    if re.fullmatch(r"[+-]?\d+,\d+", text):
        whole, part = text.split(",")
        return f"{whole}.{part}" if len(part) != 3 or whole.lstrip("+-") == "0" else None
    if re.fullmatch(r"[+-]?\d{1,3}(?:\.\d{3})+,\d+", text):
        return text.replace(".", "").replace(",", ".")
    if re.fullmatch(r"[+-]?\d{1,3}(?:,\d{3})+\.\d+", text):
        return text.replace(",", "")
    return None


def plain_day(text: str) -> str:
    """A day, with its time if there is one, as year-month-day; a day that may be two days stays as typed."""
    match = DAY_AND_TIME.fullmatch(text.strip())
    days = readings_of(match.group(1).strip().rstrip(",")) if match else ()
    if not match or len(days) != 1:
        return text
    if match.group(2) is None:
        return days[0]
    return f"{days[0]} {int(match.group(2)):02d}:{match.group(3)}"


def readings_of(text: str) -> tuple[str, ...]:
    """Each day that a text may mean, as year-month-day; none where the readers know it as it is, or nobody does."""
    if match := YEAR_FIRST.fullmatch(text):
        found = built_day(int(match[1]), int(match[2]), int(match[3]))
    elif days := cell_values.day_readings(text):
        return tuple(map(str, days))[: 1 if DOT in text else 2]
    elif match := NAMED.fullmatch(text):
        found = built_day(int(match[3]), month_of(match[2]), int(match[1]))
    elif match := MONTH_NAMED.fullmatch(text):
        found = built_day(int(match[3]), month_of(match[1]), int(match[2]))
    else:
        return (text,) if cell_values.ISO_DAY.fullmatch(text) else ()
    return (str(found),) if found else ()
