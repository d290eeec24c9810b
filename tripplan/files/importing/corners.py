"""One side or one end of what is kept as a whole: which corners of the unit a text names, and whether all are named.

An end that is the item's own says nothing more: front wheel bearings are at the front. A side is the item's own
where it has positions.
"""

from collections.abc import Iterable, Sequence
from itertools import product

from msgspec.structs import replace

from tripplan.files.importing.came_to import Corner, Doubt, Match, ReadText
from tripplan.files.importing.clauses import Part
from tripplan.files.importing.word_book import WordBook
from tripplan.records.catalogue import Item

ENDS, SIDES = ("front", "rear"), ("left", "right")
SYSTEM_ENDS = {"front_axle": "front", "front_hubs": "front", "rear_axle": "rear"}
# What lies here is one thing: a side said of its neighbour in a list is not said of it.
PLACES_OF_ONE = ("engine bay", "cabin")


def of_corners(match: Match, part: Part, axle: str, before: Sequence[Part], book: WordBook) -> Match | Doubt:
    """The work with the corners it was done at, where these are not all; a doubt where the item is at the other end.

    `axle` is what is said of the part; what names neither end nor side is where its own words were before.
    """
    item = book.known.get(match.item)
    if item is None:
        return match
    end, side = _end_said(part, axle), _side_of(part, item, book)
    if not end and not part.side and (named := _named_before(part, before)):
        end, side = _end_said(named, named.axle), _side_of(named, item, book)
    home = _home(item, book)
    some = frozenset(corner for corner in home if end in ("", corner[0]) and side in ("", corner[1]))
    if not some:
        return Doubt(part.text, f"{item.id} is at the {_own_end(item, book)} here, the text says {end}", (item.id,))
    return match if some == home else replace(match, some=some)


def _end_said(part: Part, axle: str) -> str:
    """The end that a part names itself, or that is said of it; of the trailer too."""
    return next((token for token in part.tokens if token in ENDS), axle if axle in ENDS else "")


def _named_before(part: Part, before: Sequence[Part]) -> Part | None:
    """The last part that names the same thing: `front shocks leak, replaced shocks` is two of four."""
    return next((one for one in reversed(before) if set(part.content) <= set(one.content)), None)


def whole_or_asked(read: ReadText, book: WordBook) -> ReadText:
    """Work at some corners as work on the whole where the others are named too; else it stays a doubt."""
    named: dict[tuple[str, str, str | None], list[Match]] = {}
    for doubt in read.doubts:
        if (one := doubt.some_of) is not None:
            named.setdefault((one.item, one.act, one.position), []).append(one)
    whole = [_whole(found) for found in named.values() if _are_all(found, book)]
    done = {(one.item, one.act, one.position) for one in whole}
    left = [d for d in read.doubts if d.some_of is None or (d.some_of.item, d.some_of.act, d.some_of.position) not in done]  # fmt: skip
    return ReadText(tuple(dict.fromkeys((*read.matches, *whole))), tuple(left))


def doubt_of_some(match: Match, text: str) -> Doubt:
    """The question whether the whole was done, where the text names a part of it."""
    return Doubt(text, of_part(match.item, _said(match.some or ())), (match.item,), match)


def of_part(item: str, said: str) -> str:
    """What is asked of an item without positions where a side or an end is named."""
    return f"{item} is kept as a whole here, the text names the {said} only: was all of it done? If not, leave this out"


def _said(some: Iterable[Corner]) -> str:
    """The corners in words, as `rear left` or `front`."""
    ends, sides = ({corner[spot] for corner in some} for spot in (0, 1))
    return " ".join(next(iter(words)) for words in (ends, sides) if len(words) == 1)


def _are_all(found: Sequence[Match], book: WordBook) -> bool:
    """True where every corner is named, and no two of them with findings that differ."""
    there = frozenset(corner for one in found for corner in one.some or ())
    findings = {one.finding for one in found if one.finding}
    return there == _home(book.known[found[0].item], book) and len(findings) <= 1


def _whole(found: Sequence[Match]) -> Match:
    """One record for all corners; its act is said where every part says it."""
    finding = next((one.finding for one in found if one.finding), None)
    return replace(found[0], some=None, finding=finding, is_act_said=all(one.is_act_said for one in found))


def _own_end(item: Item, book: WordBook) -> str:
    """The end at which all of an item is; empty where it has parts at both."""
    first = item.place.split()[0]
    return book.ends.get(item.id) or SYSTEM_ENDS.get(item.system) or (first if first in ENDS else "")


def _home(item: Item, book: WordBook) -> frozenset[Corner]:
    own = _own_end(item, book)
    return frozenset(product((own,) if own else ENDS, SIDES))


def _side_of(part: Part, item: Item, book: WordBook) -> str:
    """The one side that is said of an item without positions; empty where it is none."""
    is_own = any(book.sides.get(token) == part.side for token in part.tokens)
    is_one = item.place in PLACES_OF_ONE or item.place.endswith("sump")
    return part.side if part.side in SIDES and not item.positions and (is_own or not is_one) else ""
