"""Free text about work done, matched to items by a table of words: sure, or a question.

The text is put into standard spelling and cut into clauses; each part of a clause is held
against the word table. Every word of a part must be known, and every part of the text ends
as work, as a finding on it, or as a doubt: a part that fits two items, or holds a word such
as `not` or `next`, a thing no word of which is known, an act that is not said.
"""

import re
from collections.abc import Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tripplan.files.importing.came_to import Doubt, Match, ReadText
from tripplan.files.importing.clauses import TITLE, Part, bind, chains, heaviest, pieces, sentences
from tripplan.files.importing.corners import doubt_of_some, of_corners, whole_or_asked
from tripplan.files.importing.findings import BENIGN
from tripplan.files.importing.item_rows import beside, length, longest, rows_in
from tripplan.files.importing.word_book import AXLES, BOTH_AXLES, WordBook, as_written, standard_spelling
from tripplan.records.catalogue import Item
from tripplan.records.lookups import SERVICE

SINGULAR = re.compile(
    r"\b(?:bearing|brg|brng|seal|hub|swivel|knuckle|caliper|pad|boot|joint|cv|bush)\b(?! (?:play|grease|oil|seals|bearings|nuts|bolts|boots|bushes))"
)
OILS = re.compile(r"\boils\b")
LESSER = ("look", "measure")
REFILL = "drain and refill"
IMPLIED = (
    REFILL,
    "renew",
    "repack",
)  # naming the item alone says that this was done; of a look or a setting it does not
NEVER_LOOKED_AT = "oilfilter"
ANY_ITEM = (*LESSER, "renew")
BARE_OIL = frozenset(("change", "changed", "oil"))
OILED = frozenset(("diff", "gearbox", "transfer", "knuckle", "box", "winch", "hubs", "axle", "fork"))
GENERAL = frozenset(("service", "engine", "month", "six", "twelve", "two", "year", "major", "minor", "full", "general"))
MOST_PARTS = 200
WHOLE_AXLE = ("axle", "end")
LETTERS = {"l": "left", "r": "right"}
UNKNOWN = "what work was that? No word of it is known"
WHAT = "said of what?"


class _Reading(Struct):
    """A text while it is being read: what each part came to so far."""

    book: WordBook
    usual_act: bool
    parts: list[Part]
    came_to: list[Match | Doubt | None]
    is_trailer: bool
    has_trailer: bool = False

    def items(self) -> set[str]:
        """The items found so far."""
        return {one.item for one in self.came_to if isinstance(one, Match)}

    def hold(self, parts: Iterable[Part], why: str, text: str = "") -> bool:
        """Turn what these parts came to into doubts; true where there was any of it."""
        held = False
        wanted = {id(part) for part in parts}
        for spot, part in enumerate(self.parts):
            found = self.came_to[spot]
            if id(part) in wanted and found is not None:
                held = True
                names = (found.item,) if isinstance(found, Match) else found.candidates
                told = f"{part.text}, {text}" if text and text != part.text else part.text
                self.came_to[spot] = Doubt(told, why, names)
        return held

    def hold_unsaid(self, parts: Iterable[Part]) -> None:
        """Doubt the work of these parts of which no act is said, since one is said of an axle apart."""
        wanted = {id(part) for part in parts}
        for part, found in list(zip(self.parts, self.came_to, strict=True)):
            if id(part) in wanted and isinstance(found, Match) and not found.is_act_said:
                self.hold([part], "which act was done to it?")


def read_text(text: str, book: WordBook, of_trailer: bool = False, usual_act: bool = True) -> ReadText:
    """What work a text speaks of. With `usual_act` an item without act word gets its own act."""
    key = (text, str(of_trailer), usual_act)
    if key not in book.memory:
        book.memory[key] = _read(text, book, of_trailer, usual_act)
    found: ReadText = book.memory[key]
    return found


def _read(text: str, book: WordBook, of_trailer: bool, usual_act: bool) -> ReadText:
    reading = _Reading(book, usual_act, [], [], of_trailer)
    said = as_written(text, book)
    cut = sentences(said, book)
    if sum(map(len, cut)) > MOST_PARTS:
        return ReadText(
            (), (Doubt(f"{text[:60]} ...", f"more than {MOST_PARTS} parts in one cell; write one row a visit"),)
        )
    _mark_singles(text, said.plain, [part for parts in cut for part in parts])
    for parts in cut:
        bind(parts, book)
        _sentence(parts, reading)
    came_to = [
        doubt_of_some(one, part.text) if isinstance(one, Match) and one.some is not None else one
        for part, one in zip(reading.parts, reading.came_to, strict=True)
    ]
    matches = [one for one in came_to if isinstance(one, Match)]
    doubts = [one for one in came_to if isinstance(one, Doubt)]
    return whole_or_asked(ReadText(tuple(dict.fromkeys(matches)), tuple(dict.fromkeys(doubts))), book)


def _mark_singles(text: str, plain: str, parts: Sequence[Part]) -> None:
    """Where one thing of a pair is meant its side is asked; where the words cannot be told apart, of all."""
    own = [piece.plain for piece in pieces(text.lower())]
    is_even = len(own) == len(parts) and BOTH_AXLES not in plain
    for spot, part in enumerate(parts):
        said = own[spot] if is_even else text.lower()
        part.is_single, part.is_many = bool(SINGULAR.search(said)), bool(OILS.search(said))


def _sentence(parts: Sequence[Part], reading: _Reading) -> None:
    for spot, part in enumerate(parts):
        if reading.is_trailer:
            part.axle = "trailer"
        before, after = parts[:spot], parts[spot + 1 :]
        is_title = bool(after) and after[0].join in TITLE
        came_to = _thing(part, before, after, is_title, reading) if part.is_thing else _saying(
            part, before, after, is_title, reading
        )  # fmt: skip
        reading.parts.append(part)
        reading.came_to.append(came_to)
        reading.has_trailer = reading.has_trailer or part.axle == "trailer"


def _saying(
    part: Part, before: Sequence[Part], after: Sequence[Part], is_title: bool, reading: _Reading
) -> Doubt | None:
    """A part that names no thing: what it says is given to others, or it is a doubt."""
    things = [one for one in before if one.is_thing]
    if not any(one.is_thing for one in (*before, *after)):
        things = [one for one in reading.parts if one.is_thing]
    if part.doubt:
        return _open(part, things, after, is_title, reading)
    if part.axle and not reading.is_trailer and (part.finding or part.wear or part.acts):
        reading.hold_unsaid(_last_chain(things))
        return Doubt(part.text, WHAT)
    if part.wear or part.finding:
        return _seen(part, things, after, reading)
    if part.acts and not part.bound:
        return Doubt(part.text, f"{part.acts[0]}: {WHAT}")
    if part.axle and not reading.is_trailer:
        if not things and after:
            _entitle(part, after, is_title, reading)
            return None
        return Doubt(part.text, WHAT)
    if part.side and not any(one.is_thing for one in (*before, *after)):
        return Doubt(part.text, WHAT)
    return None


def _entitle(part: Part, after: Sequence[Part], is_title: bool, reading: _Reading) -> None:
    """`Front: ...` and `Trailer: ...` are said of what follows; the trailer till the end of the cell."""
    for one in after:
        one.axle = one.axle or part.axle
        one.side = one.side or part.side
    reading.is_trailer = reading.is_trailer or (part.axle == "trailer" and is_title)


def _open(part: Part, things: Sequence[Part], after: Sequence[Part], is_title: bool, reading: _Reading) -> Doubt | None:
    """`not done`, `to do:`, `next time`: what it is said of is not sure to have been done."""
    why = f"{part.quoted(part.doubt)} leaves open whether it was done"
    if (is_title or not things) and any(one.is_thing for one in after):
        for one in after:
            one.held = one.held or why
        return None
    return None if things and reading.hold(_last_chain(things), why, part.text) else Doubt(part.text, why)


def _seen(part: Part, things: Sequence[Part], after: Sequence[Part], reading: _Reading) -> Doubt | None:
    """A finding said apart from its thing goes to the one before it; of several it is asked."""
    if not things:
        for one in after:
            one.held = one.held or f"{part.text!r}: was that found on it?"
        return None if any(one.is_thing for one in after) else Doubt(part.text, f"a finding, {WHAT}")
    if part.finding in BENIGN and not part.wear:
        return _found_on(things, part, reading)
    chain = _last_chain(things)
    if part.wear or len(chain) > 1:
        proposed = _proposed(part, reading.book)
        why = f"was the finding {proposed}?" if len(chain) == 1 else f"on which of these was {part.text!r} found?"
        return None if reading.hold(chain, why, part.text) else Doubt(part.text, why)
    return _found_on(chain, part, reading)


def _found_on(things: Sequence[Part], part: Part, reading: _Reading) -> Doubt | None:
    """Give a finding to these things. With no act said it is open whether they were looked at, or more."""
    wanted = {id(one) for one in things}
    is_said = False
    for spot, one in enumerate(reading.parts):
        found = reading.came_to[spot]
        if id(one) not in wanted or found is None:
            continue
        is_said = True
        if isinstance(found, Match) and not (found.is_act_said or NEVER_LOOKED_AT in one.tokens):
            reading.hold([one], f"the act is not said: was it looked at, or {found.act}?", part.text)
        elif isinstance(found, Match) and not found.finding:
            reading.came_to[spot] = replace(found, finding=part.finding)
            one.text += f", {part.text}" if found.some is not None else ""
    return None if is_said else Doubt(part.text, f"a finding, {WHAT}")


def _proposed(part: Part, book: WordBook) -> str:
    words = [token for token in part.tokens if token in book.wear or token in book.findings]
    return next((book.wear.get(word) or book.findings[word] for word in words), "worn")


def _last_chain(things: Sequence[Part]) -> list[Part]:
    found = chains(things)
    return found[-1] if found else []


def _thing(
    part: Part, before: Sequence[Part], after: Sequence[Part], is_title: bool, reading: _Reading
) -> Match | Doubt | None:
    """A part that names something: work on an item, a title of what follows, or a doubt."""
    things = [one for one in before if one.is_thing]
    found = _match(part, things, reading)
    if part.doubt:
        return _open_thing(part, found, things, after, is_title, reading)
    if part.held:
        return Doubt(part.text, part.held, _names(found))
    if isinstance(found, Doubt) and is_title and not part.acts:
        for one in after:
            one.title, one.title_text, one.own = tuple(part.tokens), part.text, {**part.own, **one.own}
        reading.is_trailer = reading.is_trailer or part.axle == "trailer"
        return None
    is_seen = isinstance(found, Doubt) and not part.speaks and _is_seen(part, reading.book)
    is_held = is_seen and reading.hold(_last_chain(things), f"{part.text!r}: was that found on it?", part.text)
    return None if is_held else found


def _open_thing(
    part: Part, found: Match | Doubt, things: Sequence[Part], after: Sequence[Part], is_title: bool, reading: _Reading
) -> Doubt:
    """A thing beside a word such as `not` or `ordered`: no record of it, nor of the list it opens."""
    why = f"{part.quoted(part.doubt)} leaves open whether it was done"
    if not part.speaks and not part.acts:
        reading.hold(_last_chain(things), why, part.text)
    for one in after:
        if not is_title and one.is_thing and one.acts:
            break
        one.held = one.held or why
    return Doubt(part.text, why, _names(found))


def _is_seen(part: Part, book: WordBook) -> bool:
    return any(token in book.wear or book.findings.get(token, BENIGN[0]) not in BENIGN for token in part.tokens)


def _names(found: Match | Doubt) -> tuple[str, ...]:
    return (found.item,) if isinstance(found, Match) else found.candidates


def _match(part: Part, things: Sequence[Part], reading: _Reading) -> Match | Doubt:
    if not part.speaks and not part.title:
        return Doubt(part.text, UNKNOWN)
    if part.title:
        return _under_title(part, things, reading)
    own = _alone(part, part.axle, (), things, reading)
    other = part.near_axle or ("trailer" if reading.has_trailer else "")
    if part.axle or not other:
        return own
    near = _alone(part, other, (), things, reading, is_near=True)
    if not isinstance(near, Match):
        return own
    if isinstance(own, Match):
        if (own.item, own.act) == (near.item, near.act):
            return near if part.is_axle_tight and not part.acts else own
        is_sure = other != "trailer" and not part.is_axle_tight
        return own if is_sure else Doubt(part.text, "of which of these?", (own.item, near.item))
    return near if part.is_axle_tight else Doubt(part.text, f"is that of the {other}?", (near.item,))


def _under_title(part: Part, things: Sequence[Part], reading: _Reading) -> Match | Doubt:
    """`Front diff: oil changed`: the title's words belong to the part, unless it is a general one."""
    axle = part.axle or next((token for token in part.title if token in ("front", "rear", "trailer")), "")
    title = [token for token in part.title if not (axle and token in WHOLE_AXLE)]
    found = _alone(part, axle, title, things, reading)
    words = {token for token in title if token in reading.book.things or not reading.book.is_word(token)}
    if isinstance(found, Match) or not words <= GENERAL:
        return found if isinstance(found, Match) else replace(found, part=f"{part.title_text}: {part.text}")
    return _alone(part, axle, (), things, reading) if part.speaks else Doubt(part.text, UNKNOWN)


def _alone(
    part: Part, axle: str, more: Sequence[str], things: Sequence[Part], reading: _Reading, is_near: bool = False
) -> Match | Doubt:
    """The part held against the word table, said of this axle, with these words of its title."""
    book, tokens = reading.book, {*part.tokens, *more, axle} - {""}
    before = reading.items()
    fit = longest([row for row in rows_in(tokens, book.items) if not row[2] or row[2] in before], book)
    absent = longest(rows_in(tokens, book.elsewhere), book)
    found = sorted({row[1] for row in fit if row[2]} or {row[1] for row in fit})
    if length(absent, book) > length(fit, book):
        return Doubt(part.text, f"this rig has no {' or '.join(sorted({row[1] for row in absent}))}")
    if not found:
        return Doubt(part.text, "no item of the word table fits all of it")
    used = frozenset().union(*(row[0] for row in fit if row[1] in found))
    left = [token for token in (*more, *part.tokens) if token not in used]
    if odd := [token for token in left if not book.says(token)]:
        word, is_known = part.quoted(odd[0]), book.is_word(odd[0])
        why = f"{word} does not go with the rest of it" if is_known else f"the word {word} is not known here"
        return Doubt(part.text, why, beside(odd, found, book))
    if (used <= BARE_OIL and not more and (part.is_many or axle)) or (
        used <= BARE_OIL and not more and any(OILED & set(one.tokens) or not one.acts for one in things)
    ):
        return Doubt(part.text, "oil of what?", tuple(found))
    act = heaviest(part.acts, book.does) or part.bound or part.near
    every, found = found, _by_act(act, found, book)
    named = frozenset().union(*(row[0] for row in fit if row[1] in found))
    if len(found) > 1 or used - named - set(AXLES):
        return Doubt(part.text, "it fits several items", tuple(every))
    match = _seen_in(_settled(part, axle, found[0], reading), part, left, book)
    said_axle = axle if not is_near or axle in used else ""
    return of_corners(match, part, said_axle, things, book) if isinstance(match, Match) else match


def _seen_in(found: Match | Doubt, part: Part, left: Sequence[str], book: WordBook) -> Match | Doubt:
    """The finding said in the same part; words of wear propose one and are asked."""
    if isinstance(found, Doubt):
        return found
    seen = dict.fromkeys(book.findings[token] for token in left if token in book.findings and token not in book.acts)
    worn = [token for token in left if token in book.wear]
    is_share = part.has_figures and any(one not in BENIGN for one in seen)
    if worn or len(seen) > 1 or is_share:
        proposed = book.wear[worn[0]] if worn else " or ".join(seen)
        return Doubt(part.text, f"was the finding {proposed}?", (found.item,))
    return replace(found, finding=next(iter(seen))) if seen else found


def _by_act(act: str, found: list[str], book: WordBook) -> list[str]:
    """Of several items at one place those whose own act is the one said, else those that it can be done to."""
    known = [book.known[name] for name in found if name in book.known]
    if len({item.place for item in known}) > 1:
        return found
    acts = {item.id: item.act for item in known}
    own = [name for name, usual in acts.items() if usual == act]
    able = [name for name, usual in acts.items() if act in book.does.get(usual, ())]
    return own or able or found


def _settled(part: Part, axle: str, name: str, reading: _Reading) -> Match | Doubt:
    """The one item found, with act and position, or why these are not sure."""
    book = reading.book
    if name in book.sheets:
        if axle == "trailer" and book.sheets[name] != "trailer":
            return Doubt(part.text, "a service sheet of the vehicle, said of the trailer", (name,))
        return Match(name, SERVICE, None, bool(part.acts))
    item = book.known[name]
    if axle == "trailer" and item.unit_kind != "trailer":
        return Doubt(part.text, "an item of the vehicle, said of the trailer", (name,))
    act = _act(part, item, reading)
    if act.endswith("?"):
        return Doubt(part.text, act, (name,))
    position = part.side or None
    if item.positions and position is None and part.is_single:
        return Doubt(part.text, f"which side: {', '.join(item.positions)} or both?", (name,))
    if position and position != "both" and position not in item.positions:
        position = None
    is_said = bool(part.acts or part.bound or part.near == act or name in book.deeds)
    return Match(name, act, position if item.positions else None, is_said)


def _act(part: Part, item: Item, reading: _Reading) -> str:
    """The act done to the item; a text that ends in a question mark where that is not sure."""
    usual, does = item.act, reading.book.does
    if part.acts:
        act = heaviest(part.acts, does)
        fits = act in (usual, *LESSER) or act in does.get(usual, ())
        if usual in LESSER and act not in (*ANY_ITEM, "clean") and item.id not in reading.book.adjustable:
            fits = False
        act = usual if act == "renew" and usual == REFILL else act
        return (
            act
            if act and fits
            else f"{' and '.join(part.acts)} is no act of {item.id}, whose act is {usual}; which was it?"
        )
    if item.id in reading.book.deeds:
        return usual
    if part.bound:
        fits = part.bound in (usual, *ANY_ITEM) or (usual not in LESSER and part.bound in does.get(usual, ()))
        bound = usual if part.bound == "renew" and usual == REFILL else part.bound
        return bound if fits else f"was {part.bound} said of it too?"
    if part.near == usual:
        return usual
    if part.near and usual in does.get(part.near, ()) and NEVER_LOOKED_AT not in part.tokens:
        return f"was {part.near} said of it too, or {usual}?"
    is_seen = any(reading.book.tells_finding(token) for token in part.tokens)
    if is_seen and usual in LESSER and reading.usual_act:
        return usual
    if is_seen:
        return f"the act is not said: was it looked at, or {usual}?"
    if usual not in IMPLIED:
        return f"the act is not said; usual is {usual}. Was it that, or more?"
    return usual if reading.usual_act else f"the act is not said; is it the usual, {usual}?"


def act_of(text: str, book: WordBook) -> str | None:
    """The act a cell of its own means: the act word itself, or one of its forms."""
    plain = text.strip().lower()
    return plain if plain in book.does else book.acts.get(plain)


def side_of(text: str, book: WordBook) -> str | None:
    """The side a cell of its own means."""
    if text.strip().lower() in LETTERS:
        return LETTERS[text.strip().lower()]
    return book.sides.get(standard_spelling(text, book).strip())
