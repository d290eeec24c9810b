"""Free text about work done, matched to items by a table of words: sure, or a question.

The text is put into standard spelling, cut into parts at commas, `and`, `+` and the like,
and each part is held against the word table. Every word of a part must be known; a part
that fits two items, or holds a word such as `not` or `next`, is a question. What only one
part says about axle, side or act also holds for the parts around it that say nothing.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import Record, Unit
from tripplan.records.lookups import SERVICE
from tripplan.records.words import Act

AXLES = ("front", "rear", "trailer")
SINGULAR = re.compile(
    r"\b(?:bearing|brg|brng|seal|hub|swivel|knuckle|caliper|pad|boot|joint|cv|bush)\b(?! (?:play|grease|oil))"
)
BREAK = re.compile(r"\s*(?:[;,&+\n/|]|\band\b|\bplus\b|\.(?:\s|$)|\s-\s|:)\s*")
WORD = re.compile(r"[a-z][a-z0-9'-]*")
AMOUNT = re.compile(r"[$€£]?\d[\d.,]*\s?(?:km|kms|k|mi|miles|l|litres|ml|g|hrs?|x)?\b|[$€£()\"!]")
THOUSANDS = re.compile(r"(?<=\d),(?=\d{3})")
MARKS = str.maketrans({"\u2018": "'", "\u2019": "'", "\u2013": "-", "\u2014": "-", "\u201c": '"', "\u201d": '"'})
MOST_PASSES = 3
BOTH_AXLES = "frontrear"
LESSER = (Act.LOOK, Act.MEASURE)
# Rows of item words, each under one word that it needs: the words, the item, a word that must stand before.
WordRows = dict[str, list[tuple[frozenset[str], str, str]]]


class ImportWord(Record):
    """One row of `item_words.csv`: a spelling, item, act, side, finding, unit, filler or doubt."""

    kind: str
    words: str
    means: str = ""
    with_: str = ""
    basis: str
    source: str


@dataclass(frozen=True, slots=True)
class Match:
    """One piece of work read from the text. `is_act_said` is false where the usual act is taken."""

    item: str
    act: str
    position: str | None
    is_act_said: bool


@dataclass(frozen=True, slots=True)
class Doubt:
    """A part of the text that is not sure, why, and the items it may mean."""

    part: str
    why: str
    candidates: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadText:
    """What a text says: work that is sure, parts that are not, and whether any word was known."""

    matches: tuple[Match, ...]
    doubts: tuple[Doubt, ...]

    @property
    def is_silent(self) -> bool:
        """True when nothing in the text speaks of work."""
        return not self.matches and not self.doubts


@dataclass(frozen=True, slots=True)
class WordBook:
    """The word table made ready, for one rig's units."""

    spelling: re.Pattern[str]
    spelt: dict[str, str]
    items: WordRows
    acts: dict[str, str]
    sides: dict[str, str]
    findings: dict[str, str]
    units: dict[str, str]
    fillers: frozenset[str]
    doubts: frozenset[str]
    known: dict[str, Item]
    sheets: dict[str, str]
    does: dict[str, frozenset[str]]
    vocabulary: frozenset[str]
    elsewhere: WordRows
    memory: dict[tuple[str, str, bool], ReadText] = field(default_factory=dict, compare=False)


@dataclass(slots=True)
class _Part:
    text: str
    tokens: list[str]
    axle: str = ""
    side: str = ""
    act: str = ""
    own_act: bool = False


def word_book(words: Sequence[ImportWord], catalogue: Catalogue, units: Sequence[Unit]) -> WordBook:
    """The words for this rig; without units every item counts as fitted."""
    by_kind: dict[str, list[ImportWord]] = {}
    for word in words:
        by_kind.setdefault(word.kind, []).append(word)
    fitted = {item.id: item for item in catalogue.items if not units or any(item.fits(unit) for unit in units)}
    kinds = {unit.kind for unit in units}
    all_sheets: dict[str, str] = {sheet.id: sheet.unit_kind for sheet in catalogue.services}
    sheets = {name: kind for name, kind in all_sheets.items() if not kinds or kind in kinds}
    rows = [(frozenset(row.words.split()), row.means, row.with_) for row in by_kind["item"]]
    content = {token for tokens, _, _ in rows for token in tokens}
    others = [row for row in rows if not (row[1] in fitted or row[1] in sheets)]
    rows = [row for row in rows if row[1] in fitted or row[1] in sheets]
    acts = {row.words: row.means for row in by_kind["act"]}
    sides = {row.words: row.means for row in by_kind["side"]}
    spelt = {row.words: row.means for row in sorted(by_kind["spelling"], key=lambda row: -len(row.words))}
    return WordBook(
        spelling=re.compile(rf"(?<![a-z0-9])(?:{'|'.join(map(re.escape, spelt))})(?![a-z0-9])"), spelt=spelt,
        items=_by_one_word(rows), acts=acts, sides=sides, known=fitted, sheets=sheets,
        findings={row.words: row.means for row in by_kind["finding"]},
        units={row.words: row.means for row in by_kind["unit"]},
        fillers=frozenset(row.words for row in by_kind["filler"]),
        doubts=frozenset(row.words for row in by_kind["doubt"]),
        does={rule.act: frozenset(rule.done_by) for rule in catalogue.acts},
        vocabulary=frozenset(content | set(acts) | set(sides)), elsewhere=_by_one_word(others),
    )  # fmt: skip


def _by_one_word(
    rows: Sequence[tuple[frozenset[str], str, str]],
) -> WordRows:
    """Each row under one word that it needs, the axle if there is no other."""
    found: WordRows = {}
    for row in rows:
        found.setdefault(min(row[0], key=lambda word: (word in AXLES, word)), []).append(row)
    return found


def read_text(text: str, book: WordBook, of_trailer: bool = False, usual_act: bool = True) -> ReadText:
    """What work a text speaks of. With `usual_act` an item without act word gets its own act."""
    key = (text, str(of_trailer), usual_act)
    if key not in book.memory:
        book.memory[key] = _read(text, book, of_trailer, usual_act)
    return book.memory[key]


def _read(text: str, book: WordBook, of_trailer: bool, usual_act: bool) -> ReadText:
    pieces = [piece for piece in BREAK.split(standard_spelling(text, book)) if piece.strip()]
    parts = [_part(one, book) for piece in pieces for one in _each_axle(piece)]
    _carry(parts, "trailer" if of_trailer else "")
    matches: list[Match] = []
    doubts: list[Doubt] = []
    is_single = len(SINGULAR.findall(text.lower())) > 0
    for spot, part in enumerate(parts):
        if spot and part.tokens and all(token in AXLES for token in part.tokens):
            doubts.append(Doubt(part.text, "said of what?"))
            continue
        content = [token for token in part.tokens if token not in AXLES]
        is_known = any(token in book.vocabulary for token in content)
        if not is_known and not any(token in book.doubts for token in part.tokens):
            continue
        if _only_says(part, book):
            continue
        found = _match(part, book, {match.item for match in matches}, usual_act, is_single)
        (matches if isinstance(found, Match) else doubts).append(found)  # type: ignore[arg-type]
    return ReadText(tuple(dict.fromkeys(matches)), tuple(doubts))


def _each_axle(piece: str) -> list[str]:
    """A part said of front and rear at once as two parts."""
    return [piece.replace(BOTH_AXLES, axle) for axle in AXLES[:2]] if BOTH_AXLES in piece else [piece]


def standard_spelling(text: str, book: WordBook) -> str:
    """The text in small letters, without amounts, each known spelling replaced by its word."""
    plain = THOUSANDS.sub("", " ".join(text.lower().translate(MARKS).split()))
    for _ in range(MOST_PASSES):
        before = plain
        plain = book.spelling.sub(lambda match: book.spelt[match.group()], plain)
        if plain == before:
            break
    return plain


def _part(piece: str, book: WordBook) -> _Part:
    tokens = WORD.findall(AMOUNT.sub(" ", piece)) + (["?"] if "?" in piece else [])
    part = _Part(text=piece.strip(), tokens=tokens)
    for token in tokens:
        if token in AXLES and part.axle != "trailer":
            part.axle = token
        if token in book.sides:
            part.side = book.sides[token] if not part.side else "both"
        if token in book.acts and not part.act:
            part.act, part.own_act = book.acts[token], True
    return part


def _carry(parts: list[_Part], axle: str) -> None:
    """Say in each part what is said once for all, or in the part before."""
    sides = {part.side for part in parts} - {""}
    acts = {part.act for part in parts} - {""}
    side = sides.pop() if len(sides) == 1 else ""
    act = acts.pop() if len(acts) == 1 else ""
    for part in parts:
        axle = part.axle = part.axle or axle
        side = part.side = part.side or side
        act = part.act = part.act or act


def _only_says(part: _Part, book: WordBook) -> bool:
    """True for a part such as `both sides` or `front checked` that names no thing of its own."""
    says = {*book.sides, *book.acts, *book.fillers, *AXLES}
    return all(token in says for token in part.tokens) and not _item_words(part, book.items)


def _item_words(part: _Part, by_word: WordRows) -> list[tuple[frozenset[str], str, str]]:
    tokens = {*part.tokens, part.axle} - {""}
    return [row for token in sorted(tokens) for row in by_word.get(token, ()) if row[0] <= tokens]


def _match(part: _Part, book: WordBook, before: set[str], usual_act: bool, is_single: bool) -> Match | Doubt:
    if doubtful := [token for token in part.tokens if token in book.doubts]:
        return Doubt(part.text, f"{doubtful[0]!r} leaves open whether it was done")
    rows = [row for row in _item_words(part, book.items) if not row[2] or row[2] in before]
    best = max((len(row[0]) for row in rows), default=0)
    found = sorted({row[1] for row in rows if len(row[0]) == best})
    named = [row[1] for row in rows if len(row[0]) == best and row[2]]
    found = named or found
    if not found:
        missing = sorted({row[1] for row in _item_words(part, book.elsewhere)})
        why = f"this rig has no {' or '.join(missing)}" if missing else "no item of the word table fits all of it"
        return Doubt(part.text, why)
    used = frozenset().union(*(row[0] for row in rows if row[1] in found))
    strange = [t for t in part.tokens if t not in used | {*book.acts, *book.sides, *book.fillers, *AXLES}]
    if strange:
        return Doubt(part.text, f"the word {strange[0]!r} is not known here", tuple(found))
    found = _by_act(part, found, book)
    if len(found) > 1:
        return Doubt(part.text, "it fits several items", tuple(found))
    return _settled(part, found[0], book, usual_act, is_single)


def _by_act(part: _Part, found: list[str], book: WordBook) -> list[str]:
    """Of several items those whose own act is the one said, else those that it can be done to."""
    acts = {name: book.known[name].act for name in found if name in book.known}
    own = [name for name, act in acts.items() if act == part.act]
    able = [name for name, act in acts.items() if part.act in book.does.get(act, ())]
    return own or able or found


def _settled(part: _Part, name: str, book: WordBook, usual_act: bool, is_single: bool) -> Match | Doubt:
    """The one item found, with act and position, or why these are not sure."""
    if name in book.sheets:
        if part.axle == "trailer" and book.sheets[name] != "trailer":
            return Doubt(part.text, "a service sheet of the vehicle, said of the trailer", (name,))
        return Match(name, SERVICE, None, part.own_act)
    item = book.known[name]
    if part.axle == "trailer" and item.unit_kind != "trailer":
        return Doubt(part.text, "an item of the vehicle, said of the trailer", (name,))
    fits = part.act in (item.act, *LESSER) or part.act in book.does.get(item.act, ())
    if part.own_act and not fits:
        return Doubt(part.text, f"{part.act} is no act of {name}, whose act is {item.act}", (name,))
    act, is_said = (part.act, True) if part.act and fits else (item.act, False)
    if not is_said and not usual_act:
        return Doubt(part.text, f"the act is not said; usual is {item.act}", (name,))
    position = part.side or None
    if item.positions and position is None and is_single:
        return Doubt(part.text, f"which side: {', '.join(item.positions)} or both?", (name,))
    if position and position != "both" and position not in item.positions:
        position = None
    return Match(name, act, position if item.positions else None, is_said)


def act_of(text: str, book: WordBook) -> str | None:
    """The act a cell of its own means: the act word itself, or one of its forms."""
    plain = text.strip().lower()
    return plain if plain in book.does else book.acts.get(plain)


def side_of(text: str, book: WordBook) -> str | None:
    """The side a cell of its own means."""
    return book.sides.get(standard_spelling(text, book).strip())
