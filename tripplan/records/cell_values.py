"""Reading one cell of a table: text in, a value out, or a clear refusal. Never a guess.

Each function takes the text as the owner typed it and returns the value, or raises a
`PydanticCustomError` whose context holds `accepted` and `hint`; the readers turn that
into a Problem with file, row and column.
"""

import math
import re
from datetime import date, datetime
from typing import Any

from pydantic_core import PydanticCustomError

ISO_DAY = re.compile(r"(\d{4})-(\d{2})-(\d{2})(?:[T ]00:00(?::00(?:\.0+)?)?)?", re.ASCII)
ISO_MOMENT = re.compile(r"(\d{4})-(\d{2})-(\d{2})[T ](\d{2}):(\d{2})(?::(\d{2})(?:\.0+)?)?", re.ASCII)
NAMED_DAY = re.compile(r"(\d{1,2})\s+([A-Za-z]{3,9})\.?\s+(\d{4})", re.ASCII)
SLASHED_DAY = re.compile(r"(\d{1,2})[/.\-](\d{1,2})[/.\-](\d{2}|\d{4})", re.ASCII)
DECIMAL_COMMA = re.compile(r"0,\d+|\d+,(?:\d{1,2}|\d{4,})", re.ASCII)
"""A comma that parts no thousands."""
PLAIN_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)", re.ASCII)
MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october",
    "november", "december",
)  # fmt: skip
# What a spreadsheet runs as a formula when a cell begins with it.
FORMULA_MARKS = ("=", "+", "-", "@", "\t", "\r")
LOOKALIKES = {"O": "0", "o": "0", "l": "1", "I": "1", "S": "5", "B": "8", "Z": "2"}
ORDINALS = (
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth",
)  # fmt: skip

FIRST_YEAR, LAST_YEAR = 1950, 2100
DAY_ACCEPTED = "a date as year-month-day, e.g. 2026-07-03"
MOMENT_ACCEPTED = "a date, or a date and time, e.g. 2026-07-03 or 2026-07-03 15:20"
NUMBER_ACCEPTED = "a whole or decimal number without separators, e.g. 184300"


def refuse(kind: str, accepted: str, hint: str = "") -> PydanticCustomError:
    """The refusal of one cell: its kind, what would be accepted, and a hint."""
    context: dict[str, Any] = {"accepted": accepted, "hint": hint}
    return PydanticCustomError(kind, "{accepted}", context)


def number(value: Any) -> Any:
    """A number from text; letters, separators and units are refused with a hint."""
    if not isinstance(value, str):
        return value
    text = value.strip()
    if PLAIN_NUMBER.fullmatch(text) and len(text) < 40:
        found = float(text)
        if math.isfinite(found):
            return found
    raise refuse("number", NUMBER_ACCEPTED, number_hint(text))


def number_hint(text: str) -> str:
    """What makes this text not a number, said for the person who typed it."""
    repaired = "".join(LOOKALIKES.get(mark, mark) for mark in text)
    if repaired != text and PLAIN_NUMBER.fullmatch(repaired):
        spot = next(i for i, mark in enumerate(text) if mark in LOOKALIKES)
        place = ORDINALS[spot] if spot < len(ORDINALS) else f"{spot + 1}th"
        return f"the {place} mark is the letter {text[spot]}, not the digit {LOOKALIKES[text[spot]]}"
    if DECIMAL_COMMA.fullmatch(text):
        return f"a point begins the decimals; if {text.replace(',', '.')} is meant, write it so"
    squeezed = re.sub(r"[ ,'_\u00a0\u2009\u202f]", "", text)
    if squeezed != text and PLAIN_NUMBER.fullmatch(squeezed):
        return f"leave out the separators; if {squeezed} is meant, write {squeezed}"
    if match := re.fullmatch(r"([\d., ]+?)\s*([A-Za-z/]+)", text):
        return f"write the figure alone, without {match.group(2)!r}"
    return ""


def day(value: Any) -> Any:
    """A calendar day from text: year-month-day, or day, month name, year."""
    if isinstance(value, date):
        return _built_day(value.year, value.month, value.day)
    if not isinstance(value, str):
        return value
    text = value.strip()
    if match := ISO_DAY.fullmatch(text):
        return _built_day(*(int(part) for part in match.groups()[:3]))
    if (match := NAMED_DAY.fullmatch(text)) and (month := _month_number(match.group(2))):
        return _built_day(int(match.group(3)), month, int(match.group(1)))
    raise refuse("day", DAY_ACCEPTED, day_hint(text))


def moment(value: Any) -> Any:
    """A day, or a day with a time of day, from text; a bare day keeps no time.

    Midnight in hours and minutes is a time somebody wrote; with seconds it is how spreadsheets write a bare day.
    """
    if isinstance(value, str) and (match := ISO_MOMENT.fullmatch(value.strip())):
        year, month, dom, hour, minute, second = (int(part or 0) for part in match.groups())
        if hour > 23 or minute > 59 or second > 59:
            raise refuse("moment", MOMENT_ACCEPTED, "no such time of day")
        built = _built_day(year, month, dom)
        if match.group(6) and not (hour or minute or second):
            return built
        return datetime(built.year, built.month, built.day, hour, minute, second)
    try:
        return value if isinstance(value, datetime) else day(value)
    except PydanticCustomError as error:
        hint = (error.context or {}).get("hint", "")
        raise refuse("moment", MOMENT_ACCEPTED, hint) from None


def day_hint(text: str) -> str:
    """Why this date is refused: usually that day and month could be swapped."""
    if not SLASHED_DAY.fullmatch(text):
        return "no such day" if ISO_DAY.fullmatch(text.strip()) else ""
    readings = [str(found) for found in day_readings(text)]
    if len(readings) == 1:
        return f"if {readings[0]} is meant, write it so"
    return f"write {' or '.join(readings)}, whichever is meant" if readings else "no such day"


def day_readings(text: str) -> tuple[date, ...]:
    """The days that figures such as 24/05/2026 can mean, the day first and the month first; none for other text."""
    match = SLASHED_DAY.fullmatch(text.strip())
    if not match:
        return ()
    first, second, year = (int(part) for part in match.groups())
    year = year + 2000 if year < 100 else year
    either = dict.fromkeys([(first, second), (second, first)])
    return tuple(date(year, month, dom) for dom, month in either if _exists(year, month, dom))


def yes_no(value: Any) -> Any:
    """True or False from the words yes and no."""
    if isinstance(value, str):
        word = value.strip().lower()
        if word not in ("yes", "no"):
            raise refuse("word", "yes or no")
        return word == "yes"
    return value


def locked_share(value: Any) -> Any:
    """Share of a leg driven with the front axle engaged: locked, free, or 0 to 1."""
    if isinstance(value, str):
        word = value.strip().lower()
        if word in ("locked", "free"):
            return 1.0 if word == "locked" else 0.0
        try:
            return number(word)
        except PydanticCustomError:
            raise refuse("word", "locked, free, or the share locked from 0 to 1") from None
    return value


def word(value: Any) -> Any:
    """A word of a fixed list, compared without regard to case or outer blanks."""
    return value.strip().lower() if isinstance(value, str) else value


def _month_number(name: str) -> int:
    found = [i for i, full in enumerate(MONTHS, 1) if full.startswith(name.lower())]
    return found[0] if len(found) == 1 else 0


def _exists(year: int, month: int, dom: int) -> bool:
    try:
        date(year, month, dom)
    except ValueError:
        return False
    return True


def _built_day(year: int, month: int, dom: int) -> date:
    if not _exists(year, month, dom):
        raise refuse("day", DAY_ACCEPTED, "no such day in the calendar")
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise refuse("day", DAY_ACCEPTED, f"a year from {FIRST_YEAR} to {LAST_YEAR}")
    return date(year, month, dom)
