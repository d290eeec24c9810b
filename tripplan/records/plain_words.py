"""Days and names as a person says them, for every room that makes a sentence.

No locale is read: equal plans give equal words on every machine.
"""

from collections.abc import Iterable
from datetime import date

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def day_and_month(when: date) -> str:
    """A day of the trip: 6 June."""
    return f"{when.day} {MONTHS[when.month - 1]}"


def day_and_year(when: date) -> str:
    """A day that may lie years back: 24 August 2024."""
    return f"{day_and_month(when)} {when.year}"


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
