"""What a text comes to: work that is sure, and parts that are asked about."""

from msgspec import Struct

Corner = tuple[str, str]


class Match(Struct, frozen=True):
    """One piece of work read from the text. `is_act_said` is false where the usual act is taken.

    `some` are the corners named, by end and side, where these are not all of the item.
    """

    item: str
    act: str
    position: str | None
    is_act_said: bool
    finding: str | None = None
    some: frozenset[Corner] | None = None


class Doubt(Struct, frozen=True):
    """A part of the text that is not sure, why, and the items it may mean; `some_of` is work at some corners of one."""

    part: str
    why: str
    candidates: tuple[str, ...] = ()
    some_of: Match | None = None


class ReadText(Struct, frozen=True):
    """What a text says: work that is sure, and parts that are not."""

    matches: tuple[Match, ...]
    doubts: tuple[Doubt, ...]
