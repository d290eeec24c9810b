"""The word table made ready for one rig: spellings, items, acts, findings, words of wear, doubts."""

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from tripplan.files.data_tables import DATA
from tripplan.files.importing.written import Written, written
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import Record, Unit

AXLES = ("front", "rear", "trailer")
BOTH_AXLES = "frontrear"
# A row of item words: the words, the item, an item that must stand before.
WordRow = tuple[frozenset[str], str, str]
# Such rows, each under one word that it needs.
WordRows = dict[str, list[WordRow]]


class ImportWord(Record):
    """One row of `item_words.csv`: a spelling, item, act, side, finding, wear, unit, filler, deed, doubt or end."""

    kind: str
    words: str
    means: str = ""
    with_: str = ""
    basis: str
    source: str


@dataclass(frozen=True, slots=True)
class WordBook:
    """The word table made ready, for one rig's units."""

    spelling: re.Pattern[str]
    spelt: dict[str, str]
    items: WordRows
    acts: dict[str, str]
    sides: dict[str, str]
    findings: dict[str, str]
    wear: dict[str, str]
    noted: dict[str, str]
    units: dict[str, str]
    fillers: frozenset[str]
    doubts: frozenset[str]
    deeds: frozenset[str]
    adjustable: frozenset[str]
    ends: dict[str, str]
    things: frozenset[str]
    known: dict[str, Item]
    sheets: dict[str, str]
    does: dict[str, frozenset[str]]
    elsewhere: WordRows
    memory: dict[tuple[str, str, bool], Any] = field(default_factory=dict, compare=False)

    def says(self, token: str) -> bool:
        """True for a word that may stand beside an item: how, where, what was done or found."""
        known = (self.acts, self.sides, self.fillers, self.findings, self.wear, self.doubts, AXLES)
        return any(token in words for words in known)

    def tells_finding(self, token: str) -> bool:
        """True for a word that says what was found, whatever was done."""
        return (token in self.findings or token in self.wear) and token not in self.acts and token not in self.things

    def is_word(self, token: str) -> bool:
        """True for any word of the table."""
        return token in self.things or self.says(token)


@lru_cache(maxsize=1)
def import_words() -> tuple[ImportWord, ...]:
    """The table of words for free text."""
    with (DATA / "item_words.csv").open(encoding="utf-8", newline="") as lines:
        return tuple(
            ImportWord.model_validate({("with_" if name == "with" else name): text for name, text in row.items()})
            for row in csv.DictReader(lines)
        )


def column_words() -> dict[str, str]:
    """Header words and the field each means."""
    with (DATA / "column_words.csv").open(encoding="utf-8", newline="") as lines:
        return {row["words"]: row["field"] for row in csv.DictReader(lines)}


@lru_cache(maxsize=1)
def heading_words() -> frozenset[str]:
    """Every single word that the name of a column may be made of."""
    return frozenset(word for header in column_words() for word in header.split())


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
    others = [row for row in rows if not (row[1] in fitted or row[1] in sheets)]
    said = {
        kind: {row.words: row.means for row in by_kind[kind]} for kind in ("act", "side", "finding", "wear", "unit")
    }
    findings = said["finding"] | {_joined(words): means for words, means in said["finding"].items()}
    noted = said["wear"] | {_joined(words): means for words, means in said["wear"].items()}
    pattern, spelt = spellings(words)
    return WordBook(
        spelling=pattern, spelt=spelt,
        items=_by_one_word([row for row in rows if row not in others]), acts=said["act"], sides=said["side"],
        findings=findings, noted=noted, wear={word: noted[word] for word in noted if word not in findings},
        units=said["unit"],
        known=fitted, sheets=sheets, fillers=frozenset(row.words for row in by_kind["filler"]),
        doubts=frozenset(row.words for row in by_kind["doubt"]), deeds=frozenset(row.words for row in by_kind["deed"]),
        adjustable=frozenset(row.words for row in by_kind["adjustable"]),
        ends={row.means: row.words for row in by_kind["end"]},
        does={rule.act: frozenset(rule.done_by) for rule in catalogue.acts}, things=item_tokens(words) - set(AXLES),
        elsewhere=_by_one_word(others),
    )  # fmt: skip


def spellings(words: Sequence[ImportWord]) -> tuple[re.Pattern[str], dict[str, str]]:
    """A pattern of every known spelling, longest first and never a part of a word, and the word each stands for."""
    found = {row.words: _joined(row.words) for row in words if row.kind in ("finding", "wear") and " " in row.words}
    found |= {row.words: row.means for row in words if row.kind == "spelling"}
    found = dict(sorted(found.items(), key=lambda row: -len(row[0])))
    return re.compile(rf"(?<![a-z0-9])(?:{'|'.join(map(re.escape, found))})(?!'?[a-z0-9])"), found


def item_tokens(words: Sequence[ImportWord]) -> frozenset[str]:
    """Every word that a row of items is made of, axles and acts apart."""
    acts = {row.words for row in words if row.kind in ("act", "side")}
    return frozenset(token for row in words if row.kind == "item" for token in row.words.split()) - acts


def _joined(words: str) -> str:
    return words.replace(" ", "")


def _by_one_word(rows: Sequence[WordRow]) -> WordRows:
    """Each row under one word that it needs, the axle if there is no other."""
    found: WordRows = {}
    for row in rows:
        found.setdefault(min(row[0], key=lambda word: (word in AXLES, word)), []).append(row)
    return found


def as_written(text: str, book: WordBook) -> Written:
    """The text in standard spelling, and what its owner wrote."""
    return written(text, book.spelling, book.spelt)


def standard_spelling(text: str, book: WordBook) -> str:
    """The text in small letters, each known spelling replaced by its word."""
    return as_written(text, book).plain
