"""Days as people type them on the command line: the one that is meant, or a question, never a guess."""

from datetime import date
from pathlib import Path

from tripplan.commands.status import day_of
from tripplan.commands.terminal import ask
from tripplan.records.cell_values import MONTHS, day_readings


def only_day(text: str) -> str:
    """The day in the form of the files where only one can be meant; else the text as it is, to be refused."""
    found = day_readings(text)
    return str(found[0]) if len(found) == 1 else text.strip()


def only_moment(text: str) -> str:
    """The same of a day with a time of day behind it."""
    words = text.split(maxsplit=1)
    return " ".join((only_day(words[0]), *words[1:])) if words else ""


def day_meant(text: str | None, folder: Path, can_ask: bool) -> date:
    """The day of a record: where two can be meant, the one in the order that the folder's own dates have.

    Without that order whoever typed it is asked, where that can be. Raises BadInput A01 where it stays open.
    """
    either = day_readings(text or "")
    if len(either) < 2:
        return day_of(text)
    from tripplan.files.date_order import is_day_first

    shown = is_day_first(folder)
    if shown is not None:
        return either[0] if shown else either[1]
    if can_ask and (which := _which(text or "", either)) is not None:
        return either[which]
    return day_of(text)


def day_by_order(text: str, order: list[bool]) -> str:
    """The same in a talk: asked once which comes first, `order` keeps the answer for the days that follow."""
    either = day_readings(text)
    if len(either) < 2:
        return only_day(text)
    if not order and (which := _which(text, either)) is not None:
        order.append(which == 0)
    return str(either[0 if order[0] else 1]) if order else text.strip()


def _which(text: str, either: tuple[date, ...]) -> int | None:
    typed = ask(f"Is {text} meant as {in_words(either[0])} (1) or {in_words(either[1])} (2)? ")
    return int(typed) - 1 if typed in ("1", "2") else None


def in_words(day: date) -> str:
    """A day with its month as a word, so that it can be read one way only."""
    return f"{day.day} {MONTHS[day.month - 1].capitalize()} {day.year}"
