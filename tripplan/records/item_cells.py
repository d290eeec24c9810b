"""Cells of an item that hold more than one word, read once when the table is read.

A follow-up is written `wheel_nuts 50-100 km`, or `park_brake 50-100 km 5 min` where the look is less than the item's own
act, a material `rag 1`, a need
`drive=part-time|full-time`; several in one cell are separated by `;`. Each keeps its
written form as its text.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator

from tripplan.records.cell_values import refuse

FOLLOW_UP = re.compile(r"([a-z][a-z0-9_]*) +(\d+)-(\d+) km(?: +(\d+) min)?")
AMOUNT = re.compile(r"([a-z][a-z0-9_]*) +(\d+(?:\.\d+)?)")
NEEDED_FACTS = ("drive", "front_axle", "fuel", "gearbox", "hubs", "fitted")
NEED = re.compile(r"(drive|front_axle|fuel|gearbox|hubs|fitted)=([a-z-]+(?:\|[a-z-]+)*)")


@dataclass(frozen=True, slots=True)
class FollowUp:
    """An item to look at again from `low_km` to `high_km` after a job; 0 to 0 = at once.

    `minutes` are those of the look, all in, where it is less than the item's own act; None = as long as that.
    """

    item: str
    low_km: float
    high_km: float
    minutes: float | None = None

    def __str__(self) -> str:
        return f"{self.item} {self.low_km:g}-{self.high_km:g} km" + (f" {self.minutes:g} min" if self.minutes else "")

    @property
    def at_once(self) -> bool:
        """True when it comes with the job on the spot, before the rig is driven."""
        return self.high_km == 0


@dataclass(frozen=True, slots=True)
class Amount:
    """What one act at one position uses up, in the unit of measure of `consumables.csv`."""

    what: str
    quantity: float

    def __str__(self) -> str:
        return f"{self.what} {self.quantity:g}"


@dataclass(frozen=True, slots=True)
class Need:
    """A fact a unit must have, one of the words given, for an item to be on it."""

    fact: str
    words: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.fact}={'|'.join(self.words)}"


def _entries(form: re.Pattern[str], accepted: str, made: Callable[..., object]) -> Callable[[Any], Any]:
    """How a cell of such entries is read; an entry of another form is refused by name."""

    def read(value: Any) -> Any:
        if not isinstance(value, str):
            return () if value is None else value
        found = []
        for text in filter(None, (part.strip() for part in value.split(";"))):
            match = form.fullmatch(text)
            if match is None:
                raise refuse("form", accepted, f"{text} is not written so")
            found.append(made(*match.groups()))
        return tuple(found)

    return read


def _follow_up(item: str, low: str, high: str, minutes: str | None) -> FollowUp:
    if float(low) > float(high):
        raise refuse("form", "the nearer distance first, e.g. wheel_nuts 50-100 km")
    return FollowUp(item, float(low), float(high), float(minutes) if minutes else None)


def _need(fact: str, words: str) -> Need:
    if fact not in NEEDED_FACTS or not all(words.split("|")):
        raise refuse("word", f"{', '.join(NEEDED_FACTS)}, each with = and a word, such as fitted=winch")
    return Need(fact, tuple(words.split("|")))


FollowUps = Annotated[
    tuple[FollowUp, ...],
    BeforeValidator(_entries(FOLLOW_UP, "an item and a distance each, e.g. wheel_nuts 50-100 km", _follow_up)),
]
Amounts = Annotated[
    tuple[Amount, ...],
    BeforeValidator(_entries(AMOUNT, "a consumable and a quantity each, e.g. rag 1", lambda w, q: Amount(w, float(q)))),
]
Needs = Annotated[
    tuple[Need, ...],
    BeforeValidator(_entries(NEED, "a fact of the unit each, e.g. drive=part-time|full-time", _need)),
]
