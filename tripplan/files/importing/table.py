"""An old spreadsheet as history records: rows held against each other, none of them lost.

Readings that fall are asked about, blank ones estimated between their neighbours and marked
so, repeated rows skipped and said. What the report counts adds up to the rows of the table.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from tripplan.files.importing.came_to import Match
from tripplan.files.importing.columns import READINGS, Laid, lay_out, turned, with_shared_order
from tripplan.files.importing.grid import Sheet
from tripplan.files.importing.headings import about_sheet, heading_of
from tripplan.files.importing.known import Known
from tripplan.files.importing.mapping import ColumnMap
from tripplan.files.importing.odometer import estimated, known_swaps, rising
from tripplan.files.importing.raw import RawRow, raw_rows
from tripplan.files.importing.report import ImportReport, Question, Skip
from tripplan.files.importing.rows import Draft, draft_of
from tripplan.files.importing.totals import is_total
from tripplan.files.importing.word_book import column_words, import_words, word_book
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import HistoryRow, Origin, Rig
from tripplan.records.lookups import item_index
from tripplan.wear.odometer_line import READING, REPLACED

TICK_EVERY = 1000
Key = tuple[date, str, str, str, str]
Tick = Callable[[int], None]


def lay_out_all(sheets: Iterable[Sheet], mapping: ColumnMap, today: date) -> tuple[Laid, ...]:
    """Every sheet with its columns named; what one shows of dates and of miles counts for the others."""
    words = column_words()
    sheets = tuple(turned(sheet, {**words, **mapping.columns}, today) for sheet in sheets)
    alone = [lay_out(sheet, mapping, words, today) for sheet in sheets]
    held = [frozenset(column.holds for column in laid.columns if column.holds in READINGS) for laid in alone]
    found = []
    for spot, sheet in enumerate(sheets):
        others = frozenset().union(*held[:spot], *held[spot + 1 :])
        found.append(lay_out(sheet, mapping, words, today, others) if others - held[spot] else alone[spot])
    return with_shared_order(found)


def import_rows(
    file: str, sheets: Sequence[Laid], rig: Rig | None, history: Sequence[HistoryRow], catalogue: Catalogue,
    mapping: ColumnMap, today: date, tick: Tick = lambda rows: None,
) -> ImportReport:  # fmt: skip
    """What the rows of these sheets become. Reads no file and writes none."""
    book = word_book(import_words(), catalogue, rig.units if rig else ())
    index = item_index(catalogue)
    known = Known(rig=rig, book=book, mapping=mapping, catalogue=catalogue, index=index, today=today)
    drafts, questions, skips = _drafts(sheets, known, tick)
    swaps = known_swaps(drafts, history, known)
    drafts, fallen = rising(drafts, history, swaps)
    questions += [*fallen, *(draft.question for draft in drafts if draft.question)]
    drafts = [draft for draft in estimated(drafts, history, swaps) if not draft.question]
    records, recorded, more_questions, more_skips = _records(file, drafts, history, known)
    there = {_key(row) for row in history}
    records += [row for row in _swap_records(file, known) if _key(row) not in there]
    questions += more_questions
    skips += more_skips
    return ImportReport(
        file=file, rows_in=sum(len(one.sheet.rows) for one in sheets), rows_recorded=recorded,
        records=tuple(records), questions=tuple(sorted(questions, key=lambda q: (q.sheet, q.row))),
        skips=tuple(skips), sheets=tuple(sheets),
        estimates=sum(1 for row in records if row.note and "estimate: " in row.note),
    )  # fmt: skip


def _drafts(sheets: Sequence[Laid], known: Known, tick: Tick) -> tuple[list[Draft], list[Question], list[Skip]]:
    drafts: list[Draft] = []
    questions: list[Question] = []
    skips: list[Skip] = []
    for laid in sheets:
        around = about_sheet(laid, sheets, known)
        above: date | None = None
        first: dict[tuple[Any, ...], int] = {}
        for number, raw in enumerate(raw_rows(laid), 1):
            if number % TICK_EVERY == 0:
                tick(TICK_EVERY)
            if not isinstance(raw, Skip) and is_total(raw, known):
                raw = Skip(sheet=raw.sheet, row=raw.row, why="a line of totals")
            if isinstance(raw, Skip):
                skips.append(raw)
                continue
            around, said = heading_of(raw, around, known)
            read = said or _same_as_before(raw, first) or draft_of(around.put_on(raw), above, known)
            above = read.day if isinstance(read, Draft) else above if isinstance(said, Skip) else None
            (drafts if isinstance(read, Draft) else skips if isinstance(read, Skip) else questions).append(read)  # type: ignore[arg-type]
    return drafts, questions, skips


def _same_as_before(raw: RawRow, first: dict[tuple[Any, ...], int]) -> Skip | None:
    """A row that repeats an earlier one of its sheet in every cell."""
    same = first.setdefault((tuple(raw.texts.items()), raw.notes, raw.ticks), raw.row)
    if same == raw.row or not raw.texts.get("date"):
        return None
    return Skip(sheet=raw.sheet, row=raw.row, why=f"the same as row {same}")


def _records(
    file: str, drafts: Sequence[Draft], history: Sequence[HistoryRow], known: Known
) -> tuple[list[HistoryRow], int, list[Question], list[Skip]]:
    there = {_key(row) for row in history}
    records: list[HistoryRow] = []
    questions: list[Question] = []
    skips: list[Skip] = []
    recorded = 0
    for draft in drafts:
        try:
            made = _made(file, draft, known)
        except ValidationError as error:
            first = error.errors(include_url=False)[0]
            questions.append(draft.raw.question(f"{first['loc'][0]}: {first['msg']}"))
            continue
        if isinstance(made, Question):
            questions.append(made)
            continue
        fresh = [row for row in made if _key(row) not in there]
        if not fresh:
            skips.append(Skip(sheet=draft.raw.sheet, row=draft.raw.row, why="already in the history"))
            continue
        records += fresh
        recorded += 1
        questions += [
            draft.raw.question(doubt.why, doubt.candidates, doubt.part, is_whole=False) for doubt in draft.doubts
        ]
    return records, recorded, questions, skips


def _key(row: HistoryRow) -> Key:
    what = f"{row.odometer_km}" if row.act == READING else row.item or ""
    return row.date, row.unit, what.casefold(), row.act, row.position or ""


def _made(file: str, draft: Draft, known: Known) -> list[HistoryRow] | Question:
    """The records of one row; trailer work in a row of the vehicle goes to the trailer."""
    raw = draft.raw
    note = _note(draft)
    common = {"date": draft.day, "finding": draft.finding, "lubricant": raw.texts.get("lubricant") or None,
              "origin": Origin(file=file, row=raw.row)}  # fmt: skip
    reading = {**common, "unit": draft.unit, "odometer_km": draft.km, "note": note, "finding": None}
    if not draft.matches:
        return [_row({**reading, "act": draft.bare_act, "old_odometer_km": draft.old_km})]
    found: list[HistoryRow] = []
    for match in draft.matches:
        unit = _unit_of(match, draft, known)
        if unit is None:
            return raw.question(f"which trailer had {match.item} done?", tuple(known.units_of("trailer")))
        own = unit == draft.unit
        said = note if match.is_act_said else f"{note}; act not written, taken as the usual: {match.act}"
        values = {**common, "unit": unit, "odometer_km": draft.km if own else None, "item": match.item, "act": match.act,
                  "position": match.position, "finding": match.finding or draft.finding, "note": said}  # fmt: skip
        found.append(_row(values))
    if draft.km is not None and all(row.unit != draft.unit for row in found):
        found.append(_row({**reading, "act": READING}))
    return found


def _row(values: dict[str, Any]) -> HistoryRow:
    return HistoryRow.model_validate({name: value for name, value in values.items() if value not in (None, "")})


def _unit_of(match: Match, draft: Draft, known: Known) -> str | None:
    item = known.index.get(match.item)
    sheet = next((sheet for sheet in known.catalogue.services if sheet.id == match.item), None)
    kind = item.unit_kind if item else sheet.unit_kind if sheet else "vehicle"
    if known.rig is None or known.kind_of(draft.unit) == kind:
        return draft.unit
    units = known.units_of(kind)
    return units[0] if len(units) == 1 else None


def _note(draft: Draft) -> str:
    """What the row said in its owner's words, and what is rough about the record."""
    texts = draft.raw.texts
    said = [texts[name] for name in ("work",) if texts.get(name)]
    is_free = any(match.item != texts.get("item", "").strip().casefold() for match in draft.matches)
    said += [texts[name] for name in ("item", "position") if is_free and texts.get(name)]
    said += [f"{title}: {cell}" for title, cell in draft.raw.ticks]
    if draft.finding is None and texts.get("finding"):
        said.append(f"found: {texts['finding']}")
    return "; ".join((*said, *draft.raw.notes, *draft.remarks))


def _swap_records(file: str, known: Known) -> list[HistoryRow]:
    """The owner's word on replaced odometers as records of their own."""
    return [
        _row({"date": one.day, "unit": one.unit or known.vehicle, "act": REPLACED, "odometer_km": one.new_km,
              "old_odometer_km": one.old_km, "note": "from the mapping file", "origin": Origin(file=file)})
        for one in known.mapping.replaced
    ]  # fmt: skip


def history_name(folder: Path) -> str:
    """The history file of a folder: the spreadsheet where there is one, else history.csv."""
    return "history.xlsx" if (folder / "history.xlsx").is_file() else "history.csv"
