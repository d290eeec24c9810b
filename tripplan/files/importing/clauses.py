"""A cell cut into clauses, and what each word of it belongs to.

A sentence ends at a full stop or a semicolon. Within it a verb binds its own part; over `and`
it binds the parts of the same list; over a comma alone it only may be meant. A side and an
axle are carried like that too. Nothing is matched to items here.
"""

import re
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from tripplan.files.importing.word_book import AXLES, BOTH_AXLES, WordBook
from tripplan.files.importing.written import Written

JOIN = re.compile(r"\s*(;|,|&|\+|\n|/|\||\band\b|\bplus\b|\.(?=\s|$)|(?<=\s)-(?=\s)|:(?=\s|$)|[()])\s*")
ENDS = frozenset(";|\n.")
TIGHT = frozenset(("and", "&", "+", "plus", "/"))
TITLE = frozenset((":", "-"))
WORD = re.compile(r"[^\W\d_][\w'-]*")
OIL_GRADE = r"\b(?:sae\s?)?\d{1,2}w-?\d{2,3}\b|\bsae\s?\d{2,3}\b|\bgl-?[45]\b|\bdot\s?[345](?:\.1)?\b"
AMOUNT = re.compile(
    rf"{OIL_GRADE}|[$€£]?\d[\d.,]*\s?(?:km|kms|k|mi|miles|l|ltr|litres?|liters?|qts?|quarts?|ml|g|mm|nm|psi|hrs?|x)?\b|[$€£\"!]"
)
ASIDE = re.compile(r"\(\s*((?:front|rear|left|right|both|trailer)(?:\s+(?:front|rear|left|right|both))?)\s*\)")
# `Diffs, gearbox and transfer oils`: the last noun is that of every member of the list.
HEADLESS = frozenset(("diff", "gearbox", "transfer", "engine"))
HEADS = ("oil", "level", "breathers", "mounts")
NOUNS = ("grease", "lube")
WEAK_ACTS = ("set",)


class Part(Struct):
    """A piece of a cell between two joins, with what it says itself and what is said for it elsewhere.

    `text` is as its owner wrote it, `own` the owner's word for each token.
    """

    text: str
    join: str
    tokens: list[str]
    own: dict[str, str]
    has_figures: bool = False
    axle: str = ""
    side: str = ""
    acts: list[str] = field(default_factory=list)
    leads: bool = False
    content: list[str] = field(default_factory=list)
    speaks: bool = False
    finding: str = ""
    wear: str = ""
    doubt: str = ""
    bound: str = ""
    near: str = ""
    held: str = ""
    title: tuple[str, ...] = ()
    title_text: str = ""
    near_axle: str = ""
    is_axle_tight: bool = False
    is_single: bool = False
    is_many: bool = False
    is_side_last: bool = False
    is_aside: bool = False

    @property
    def is_thing(self) -> bool:
        """True where the part names something, known or not."""
        return bool(self.content)

    def quoted(self, token: str) -> str:
        """What the owner wrote for a token, in quotation marks."""
        return repr(self.own.get(token, token))


class Piece(Struct, frozen=True):
    """A piece of a text: what joins it to the one before, where it starts, and whether it stands in brackets."""

    join: str
    plain: str
    start: int
    is_aside: bool


def sentences(said: Written, book: WordBook) -> list[list[Part]]:
    """The sentences of a text in standard spelling, each part read for itself."""
    found: list[list[Part]] = [[]]
    for piece in pieces(said.plain):
        if piece.join in ENDS and found[-1]:
            found.append([])
        for spot, one in enumerate(_each_axle(piece)):
            part = _read_part(replace(one, join="and") if spot else one, said, book)
            part.is_aside = piece.is_aside
            found[-1].append(part)
    return [parts for parts in found if parts]


def pieces(plain: str) -> Iterator[Piece]:
    """The pieces of a text; of several joins in a row the one that says most counts."""
    text = ASIDE.sub(lambda match: match.group().replace("(", " ").replace(")", " "), plain)
    joins: list[str] = []
    start = depth = 0
    for match in (*JOIN.finditer(text), None):
        piece = text[start : match.start() if match else len(text)]
        if piece.strip():
            yield Piece(_strongest(joins), piece.strip(), start + len(piece) - len(piece.lstrip()), depth > 0)
            joins = []
        if match:
            joins.append(match[1])
            depth = max(depth + {"(": 1, ")": -1}.get(match[1], 0), 0)
            start = match.end()


def _strongest(joins: Sequence[str]) -> str:
    for kind in (ENDS, TIGHT, TITLE):
        if found := [join for join in joins if join in kind]:
            return found[-1]
    return "," if joins else ""


def _each_axle(piece: Piece) -> list[Piece]:
    """A piece said of front and rear at once as two; each letter stays where it is."""
    if BOTH_AXLES not in piece.plain:
        return [piece]
    width = len(BOTH_AXLES)
    return [replace(piece, plain=piece.plain.replace(BOTH_AXLES, axle.ljust(width))) for axle in AXLES[:2]]


def _read_part(piece: Piece, said: Written, book: WordBook) -> Part:
    words = list(WORD.finditer(AMOUNT.sub(lambda match: " " * len(match.group()), piece.plain)))
    tokens = [word.group() for word in words]
    part = Part(
        text=said.own(piece.start, piece.start + len(piece.plain)), join=piece.join, tokens=tokens,
        own={word.group(): said.own(piece.start + word.start(), piece.start + word.end()) for word in words},
        has_figures=any(map(str.isdigit, piece.plain)),
    )  # fmt: skip
    _read_tokens(part, book)
    part.doubt = part.doubt or ("?" if "?" in piece.plain else "")
    part.speaks = any(token in book.things for token in part.content)
    _seen(part, book)
    return part


def _read_tokens(part: Part, book: WordBook) -> None:
    """What each word of a part is: axle, side, doubt, act, finding, or a word for a thing."""
    tokens = part.tokens
    said: list[tuple[int, str, str]] = []
    first = len(tokens)
    for spot, token in enumerate(tokens):
        if token in AXLES:
            part.axle = token if part.axle != "trailer" else part.axle
        elif token in book.sides:
            part.side, part.held = _side(part, token, spot, book)
        elif token in book.doubts:
            part.doubt = part.doubt or token
        elif token in book.acts:
            said.append((spot, token, book.acts[token]))
        elif token in book.findings or token in book.wear or token in book.fillers:
            continue
        else:
            part.content.append(token)
            first = min(first, spot)
    if {"front", "rear"} <= set(tokens):
        part.held = part.held or "front or rear?"
    part.is_side_last = bool(tokens) and tokens[-1] in book.sides
    told = [one for one in said if one[1] not in (*NOUNS, *WEAK_ACTS)] or said
    part.acts = list(dict.fromkeys(act for _, _, act in told))
    part.leads = bool(told) and told[0][0] < first


def _side(part: Part, token: str, spot: int, book: WordBook) -> tuple[str, str]:
    """The side a part is said of; `left ... right` far apart are two things in one."""
    side = book.sides[token]
    if not part.side or part.side == side or part.side == "both":
        return part.side or side, part.held
    is_next = spot > 0 and part.tokens[spot - 1] in book.sides
    return "both", "" if is_next else "which side of it is that?"


def _seen(part: Part, book: WordBook) -> None:
    """What a part without content says was found; with content that is seen once its item is known."""
    if not part.content:
        found = dict.fromkeys(book.findings[token] for token in part.tokens if token in book.findings)
        part.finding = next(iter(found), "") if len(found) == 1 else ""
        part.wear = " ".join(t for t in part.tokens if t in book.wear or (len(found) > 1 and t in book.findings))


def bind(parts: Sequence[Part], book: WordBook) -> None:
    """Give the parts of one sentence what is said of them in another part of it."""
    _share_nouns(parts)
    _join_acts(parts, book)
    _list_acts(parts)
    _sides(parts)
    _axles(parts)


def _share_nouns(parts: Sequence[Part]) -> None:
    """Give a member of a list that lacks its noun the noun of the member that has it."""
    things = [part for part in parts if part.is_thing]
    for spot, part in enumerate(things):
        if not set(part.content) <= HEADLESS:
            continue
        behind = next((i for i in range(spot + 1, len(things)) if not set(things[i].content) <= HEADLESS), None)
        heads = _heads(things[behind]) if behind is not None and things[behind].join in TIGHT else []
        if not heads and spot and part.join in TIGHT:
            heads = _heads(things[spot - 1])
        part.content += heads
        part.tokens += heads


def _heads(part: Part) -> list[str]:
    return [head for head in HEADS if head in part.content]


def heaviest(acts: Sequence[str], does: Mapping[str, frozenset[str]]) -> str:
    """Of several acts the one that includes the others; empty where none does."""
    own = [act for act in acts if all(other == act or act in does.get(other, ()) for other in acts)]
    return own[0] if own else ""


def _join_acts(parts: Sequence[Part], book: WordBook) -> None:
    """Acts that stand alone: `checked and adjusted X`, `greased: X, Y`, `X cleaned and repacked`, `X, Y, replaced`."""
    for spot, part in enumerate(parts):
        if part.content or part.axle or not part.acts:
            continue
        after = parts[spot + 1] if spot + 1 < len(parts) else None
        before = [one for one in parts[:spot] if one.is_thing]
        if after and not before and after.join in TITLE:
            _said_ahead(part, parts[spot + 1 :])
        elif (after and after.content and after.leads and _is_ahead(part, after, before)) or (
            after and not before and not after.content and after.acts and after.join in TIGHT
        ):
            after.acts = [*part.acts, *after.acts]
            part.bound = "after"
        elif before and not _only_noun(part, book):
            _said_back(part, before, book)


def _is_ahead(part: Part, after: Part, before: Sequence[Part]) -> bool:
    if not before:
        return after.join in TIGHT | {","}
    return after.join in TIGHT and part.join not in TIGHT


def _said_ahead(part: Part, after: Sequence[Part]) -> None:
    for one in after:
        if one.acts:
            break
        one.bound = part.acts[0] if one.is_thing else one.bound
    part.bound = "after"


def _only_noun(part: Part, book: WordBook) -> bool:
    acts = [token for token in part.tokens if token in book.acts]
    return all(token in NOUNS for token in acts)


def _said_back(part: Part, before: Sequence[Part], book: WordBook) -> None:
    """An act alone behind things: of those without one, else one more act of the last."""
    if before[-1].acts or before[-1].bound:
        before[-1].acts += part.acts
        part.bound = "before"
        return
    for one in reversed(before):
        if one.acts or one.bound:
            break
        one.bound = heaviest(part.acts, book.does) or part.acts[0]
        part.bound = "before"


def _list_acts(parts: Sequence[Part]) -> None:
    """A verb before or behind a list holds for its members over `and`; over a comma it only may.

    What stands in brackets belongs to no list.
    """
    things = [part for part in parts if part.is_thing and not part.is_aside]
    for spot, part in enumerate(things):
        if part.acts or part.bound:
            continue
        ahead = next((i for i in range(spot - 1, -1, -1) if things[i].acts), None)
        behind = next((i for i in range(spot + 1, len(things)) if things[i].acts), None)
        lead = things[ahead] if ahead is not None and things[ahead].leads else None
        trail = things[behind] if behind is not None and not things[behind].leads else None
        end = behind if behind is not None else len(things)
        by_lead = bool(lead) and any(one.join in TIGHT for one in things[spot:end])
        by_trail = trail is not None and trail.join in TIGHT
        if by_lead and by_trail and lead and trail and lead.acts != trail.acts:
            part.held = f"is it {lead.acts[0]} or {trail.acts[0]}?"
        elif by_lead and lead:
            part.bound = lead.acts[0]
        elif by_trail and trail:
            part.bound = trail.acts[0]
        elif lead or trail:
            part.near = (lead or trail or part).acts[0]


def _sides(parts: Sequence[Part]) -> None:
    """A side said alone holds for what stands before it, or behind it where nothing does; else over `and`."""
    for spot, part in enumerate(parts):
        if part.side and not part.is_thing and not part.axle:
            before = [one for one in parts[:spot] if one.is_thing]
            for one in before or parts[spot + 1 :]:
                one.side = one.side or part.side
    for chain in chains(parts):
        givers = [part for part in chain if part.side]
        if len({part.side for part in givers}) == 1:
            for part in chain:
                part.side = part.side or _side_given(part, givers, chain)


def _side_given(part: Part, givers: Sequence[Part], chain: Sequence[Part]) -> str:
    """The side of another member of the list; a part with a verb of its own takes only `both sides`, said last of all."""
    last = chain[-1]
    for giver in givers:
        is_free = not (part.acts and giver.acts)
        is_all = giver is last and giver.side == "both" and not giver.axle and giver.is_side_last
        if is_free or is_all:
            return giver.side
    return ""


def _axles(parts: Sequence[Part]) -> None:
    """Which axle a part that names none may mean: that of the part before it."""
    for chain in chains(parts):
        for spot, part in enumerate(chain):
            if part.axle or not part.is_thing:
                continue
            ahead = next((one.axle for one in reversed(chain[:spot]) if one.axle), "")
            behind = next((one.axle for one in chain[spot + 1 :] if one.axle), "")
            part.near_axle, part.is_axle_tight = ahead or behind, bool(ahead)
    last = ""
    for part in parts:
        if not part.axle and not part.near_axle:
            part.near_axle = last
        last = part.axle or last


def chains(parts: Sequence[Part]) -> list[list[Part]]:
    """The parts of a sentence that hang together by `and`, `+` and the like."""
    found: list[list[Part]] = []
    for part in parts:
        if found and part.join in TIGHT:
            found[-1].append(part)
        else:
            found.append([part])
    return found
