"""The work that a row of a foreign table speaks of: in its own words, by item and act, or by ticks."""

import re
from collections.abc import Iterator

from msgspec.structs import replace

from tripplan.files.act_words import act_meant
from tripplan.files.importing.came_to import Doubt, Match, ReadText
from tripplan.files.importing.corners import SIDES, of_part, whole_or_asked
from tripplan.files.importing.findings import finding_of
from tripplan.files.importing.known import Known
from tripplan.files.importing.mapping import USUAL
from tripplan.files.importing.match import read_text, side_of
from tripplan.files.importing.near_words import with_near_words
from tripplan.files.importing.raw import RawRow
from tripplan.files.importing.report import Question
from tripplan.files.importing.ticks import said_done
from tripplan.files.importing.word_book import standard_spelling
from tripplan.records.lookups import SERVICE, WITHOUT_ITEM

PARTLY = frozenset(("only", "but", "except"))  # said of work of which a part was done
# In a grid the headings `Oil` and `Filter` are of the engine; a filter without the oil is asked.
OIL_HEADINGS = frozenset(("oil", "oil change", "oil changed", "engine oil", "engine oil change", "engine oil changed"))
FILTER_HEADINGS = frozenset(("filter", "oil filter"))
ENGINE_OIL = "engine oil & filter"
EVERY = ("both", "all")


def work_of(raw: RawRow, unit: str, known: Known) -> ReadText | Question:
    """The work a row speaks of: nothing for a bare reading."""
    item_text, act_text = raw.texts.get("item", ""), raw.texts.get("act", "")
    place, work = raw.texts.get("position", ""), raw.texts.get("work", "")
    if not item_text and act_text.strip().lower() in WITHOUT_ITEM:
        return ReadText((), ())
    if item_text and (named := _named(raw, item_text, act_text, place, known)):
        return named
    side = side_of(place, known.book) if place else None
    first = " ".join(filter(None, (side or place, item_text, act_text)))
    more = f"{side}: {work}" if work and side and not item_text else work
    texts = [_meant(text, known) for text in (first if item_text or act_text or not side else "", more) if text]
    if texts and (done := done_in_finding(raw, known)):
        texts[-1] += f", {done}"
    read = [_read(text, unit, known) for text in (*texts, *_ticked(raw, known))]
    open_marks = tuple(_open_marks(raw, known))
    if not read and not open_marks:
        return ReadText((), ())
    every = ReadText(
        tuple(match for one in read for match in one.matches), tuple(doubt for one in read for doubt in one.doubts)
    )
    whole = whole_or_asked(every, known.book)
    matches = whole.matches
    against = tuple(_marks_against(raw, {match.item for match in matches}, unit, known))
    doubts = (*whole.doubts, *open_marks, *against)
    text = " ; ".join(texts) or raw.found
    if not matches:
        asked = "; ".join(
            dict.fromkeys(doubt.why if doubt.part == text else f"{doubt.part}: {doubt.why}" for doubt in doubts)
        )
        return raw.question(
            asked or "what work was that?", tuple(dict.fromkeys(n for d in doubts for n in d.candidates)), text
        )
    return ReadText(tuple(_on_side(match, side, known) for match in matches), doubts)


def done_in_finding(raw: RawRow, known: Known) -> str:
    """The text of the column of findings where it says what was done; empty where it says none."""
    text = raw.texts.get("finding", "")
    if not text or raw.texts.get("act") or finding_of(text, known.book)[0]:
        return ""
    tokens = standard_spelling(text, known.book).replace(",", " ").split()
    return text if any(token in known.book.acts for token in tokens) else ""


def noted_work(raw: RawRow, unit: str, done: tuple[Match, ...], known: Known) -> Iterator[Doubt]:
    """Work that a note speaks of beside the work of the row: it is asked, never taken from a note."""
    items = {match.item for match in done}
    for note in raw.notes:
        read = _read(_meant(note, known), unit, known)
        named = [match.item for match in _every_match(read) if match.is_act_said]
        if PARTLY & set(note.casefold().split()):
            named += [name for doubt in read.doubts for name in doubt.candidates]
        names = tuple(dict.fromkeys(name for name in named if name not in items))
        if names:
            yield Doubt(note, f"the note speaks of work; was {' and '.join(names)} done?", names)


def _every_match(read: ReadText) -> tuple[Match, ...]:
    """The work a text names, that at some corners of an item too."""
    return (*read.matches, *(doubt.some_of for doubt in read.doubts if doubt.some_of))


def _read(text: str, unit: str, known: Known) -> ReadText:
    read = read_text(text, known.book, known.kind_of(unit) == "trailer", known.mapping.no_act == USUAL)
    return with_near_words(read, known.book)


def _meant(text: str, known: Known) -> str:
    """The text with the owner's own words put into those of the trade."""
    for word, means in known.mapping.words.items():
        text = re.sub(rf"(?<!\w){re.escape(word)}(?!\w)", lambda match, said=means: said, text, flags=re.IGNORECASE)  # type: ignore[misc]
    return text


def _ticked(raw: RawRow, known: Known) -> list[str]:
    """The jobs that are ticked off, each by its heading; a word in the cell is said of it."""
    found = []
    ticked = {heading.strip(" ?").casefold() for heading, cell in raw.ticks if said_done(cell, raw.is_x_open)}
    for heading, cell in raw.ticks:
        title = heading.rstrip(" ?")
        if ticked & OIL_HEADINGS and title.casefold() in OIL_HEADINGS | FILTER_HEADINGS:
            title = ENGINE_OIL
        meant = known.mapping.words.get(cell.strip().casefold())
        is_done = said_done(cell, raw.is_x_open)
        if meant or (is_done is None and _is_word(cell)):
            found.append(f"{_meant(title, known)} {_meant(meant or cell, known)}")
        elif is_done:
            found.append(_meant(title, known))
    return found


def _open_marks(raw: RawRow, known: Known) -> Iterator[Doubt]:
    for title, cell in raw.ticks:
        plain = cell.strip().casefold()
        if plain not in known.mapping.words and said_done(cell, raw.is_x_open) is None and not _is_word(cell):
            why = f'what does {cell!r} mean there? Say it once in the mapping file: [words] "{plain}" = "renewed"'
            yield Doubt(f"{title}: {cell}", why)


def _marks_against(raw: RawRow, items: set[str], unit: str, known: Known) -> Iterator[Doubt]:
    """A heading that is not ticked off though the words of the row speak of its job, or of one it is a part of."""
    for heading, cell in raw.ticks:
        if said_done(cell, raw.is_x_open) is False:
            read = _read(_meant(heading.rstrip(" ?"), known), unit, known)
            names = tuple(match.item for match in _every_match(read) if match.item in items)
            if names:
                yield Doubt(f"{heading}: {cell}", "the words of the row say that it was done", names)
            elif not read.matches and (wholes := _wholes(heading, items)):
                yield Doubt(f"{heading}: {cell}", "the job it is a part of is recorded; was all of that done?", wholes)


def _wholes(heading: str, items: set[str]) -> tuple[str, ...]:
    """The items whose own name has every word of a heading in it, as a filter is a part of the oil and filter."""
    said = set(re.findall(r"[a-z]+", heading.casefold()))
    return tuple(sorted(item for item in items if said and said <= set(item.split("_"))))


def _is_word(cell: str) -> bool:
    return sum(map(str.isalpha, cell)) > 1


def _named(raw: RawRow, item_text: str, act_text: str, place: str, known: Known) -> ReadText | Question | None:
    """An item or service sheet given by its id or name; None when the cell holds other words."""
    name = _meant(item_text, known).strip().casefold()
    if name in {sheet.id for sheet in known.catalogue.services}:
        return ReadText((Match(name, SERVICE, None, True),), ())
    item = known.index.get(name)
    if item is None:
        return None
    act = act_meant(act_text, item.id, known.rig.units if known.rig else (), known.catalogue) if act_text else item.act
    if act not in known.book.does or (not act_text and known.mapping.no_act != USUAL):
        return raw.question(f"which act was done to {item.id}? {act_text or 'none'} is written", (item.act,))
    position = place.strip().lower() or None
    if position and position not in (*item.positions, *EVERY):
        position = side_of(place, known.book)
        if not item.positions and position in SIDES:
            return raw.question(f"{of_part(item.id, position)}. If so, empty the position", (item.id,))
        if position not in (*item.positions, *EVERY):
            return raw.question(f"{place} is no position of {item.id}", item.positions)
    return ReadText((Match(item.id, act, position if item.positions else None, bool(act_text)),), ())


def _on_side(match: Match, side: str | None, known: Known) -> Match:
    item = known.index.get(match.item)
    return replace(match, position=side) if side and item and item.positions else match
