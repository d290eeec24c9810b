"""Days and names as a person says them, for every room that makes a sentence.

No locale is read: equal plans give equal words on every machine.
"""

from collections.abc import Iterable
from datetime import date
from typing import TypeVar

from tripplan.records.words import Verdict

DayOrIso = TypeVar("DayOrIso", date, str)
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
ACT_WORDS = {"look": "look at", "exercise": "work the"}


def day_and_month(when: date) -> str:
    """A day of the trip: 6 June."""
    return f"{when.day} {MONTHS[when.month - 1]}"


def day_and_year(when: date) -> str:
    """A day that may lie years back: 24 August 2024."""
    return f"{day_and_month(when)} {when.year}"


def duration(minutes: float) -> str:
    """Whole minutes in words: 45 min, 2 h, 2 h 05 min. Half minutes go up."""
    hours, rest = divmod(int(minutes + 0.5), 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h" if not rest else f"{hours} h {rest:02d} min"


def lower_first(name: str) -> str:
    """A name inside a sentence: brake fluid; LPG keeps its capitals."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name


def listed(words: Iterable[str]) -> str:
    """Words joined as a person says them: left; left and right; a, b and c."""
    named = list(words)
    if len(named) < 2:
        return "".join(named)
    return f"{', '.join(named[:-1])} and {named[-1]}"


def sides(positions: Iterable[str | None]) -> str | None:
    """The sides of the same work in words, each once: left and right; None where nothing has a side."""
    return listed(dict.fromkeys(side for side in positions if side)) or None


def km_past(km: float, place: str) -> str:
    """A point of a leg from where the leg starts: 198 km past Far Ledger; at Far Ledger."""
    return f"{km:.0f} km past {place}" if round(km) else f"at {place}"


def doing(act: str, name: str, position: str | None = None) -> str:
    """A job as a mechanic says it: Renew brake fluid; Look at drive belts; Work the winch."""
    return f"{begun(act, name)} {item(lower_first(name), position)}"


def act(name: str) -> str:
    """An act as it begins a line: Renew; Look at; Work the."""
    return upper_first(ACT_WORDS.get(name, name))


def begun(name: str, what: str) -> str:
    """The act before what it is done to: Look at; Work the; Work, before all brakes."""
    return act(name).removesuffix(" the") if what.lower().startswith("all ") else act(name)


def item(name: str, position: str | None) -> str:
    """An item where it sits: Front wheel bearings, left."""
    return f"{name}, {position}" if position else name


def due_words(depart: DayOrIso, today: DayOrIso, back: DayOrIso) -> str:
    """What is due, by when: before departure, on the way now, and once the trip is over with no such day."""
    return "due" if today > back else "due now" if today > depart else str(Verdict.DUE)


def upper_first(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]


def so_much(quantity: float, measure: str, name: str) -> str:
    """So much of a thing: 95 g of wheel bearing grease; 2 hub seals; 1 knuckle shim set; a set of bulbs and fuses."""
    if measure not in ("piece", "set"):
        return f"{quantity:g} {measure} of {name}"
    if measure == "set" and not name.endswith((" set", " kit")):
        return f"{'a set' if quantity == 1 else f'{quantity:g} sets'} of {name}"
    return f"{quantity:g} {name}{'' if quantity == 1 else 's'}"
