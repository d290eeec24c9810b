"""Jobs as typed on the command line, turned into history rows of text; and rows to be struck out."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path

from tripplan.commands.item_words import items_meant, not_one, unit_of
from tripplan.commands.status import refused
from tripplan.commands.terminal import ask
from tripplan.files.act_words import act_meant
from tripplan.files.folder import counted_and_undone
from tripplan.files.importing.findings import proposed_finding
from tripplan.files.importing.word_book import import_words, word_book
from tripplan.files.tables import sound_records
from tripplan.grease.what_is_in import PUT_IN, names_in
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import HistoryRow, Rig
from tripplan.records.lookups import READING, facts_of, resolve_item
from tripplan.records.lubricants import OwnLubricant, named_lubricant
from tripplan.records.plain_words import listed
from tripplan.records.problem_codes import nearest
from tripplan.records.problems import BadInput
from tripplan.records.words import Act, SlotKind
from tripplan.wear.rates_from_readings import HOUR_METER

NOTHING, LAST = "-", "last"
JOB_ACCEPTED = '"unit item position act finding", with - for what there is not, e.g. "wagon winch - look as new"'
LEAST_WORDS, MOST_TOLD = 3, 3
AGAIN = "done again"
Row = dict[str, str]


def job_rows(
    unit: str | None, items: Sequence[str], act: str | None, finding: str | None, jobs: Sequence[str],
    common: Mapping[str, str], rig: Rig, catalogue: Catalogue,
) -> list[Row]:  # fmt: skip
    """One row of text for each item and each job. `common` holds the date and what all share.

    Items are meant by their words, and the unit by the item where no other can be meant. Without items and jobs it
    is a bare odometer reading, of the vehicle unless another unit is named. The odometer belongs to `unit`, or to the
    one unit that all jobs name. Raises BadInput when words are missing or not clear.
    """
    rows = [_job(text, rig, catalogue) for text in jobs]
    if items:
        if not act:
            raise refused("A06", "items without --act", "--act beside --item")
        shared = {"act": act, "finding": finding or ""}
        rows += [{**shared, **_item(text, unit, rig, catalogue)} for text in items]
    if not rows:
        rows = [_reading(unit or unit_of(None, rig), act, common)]
    owner = unit or (rows[0]["unit"] if len({row["unit"] for row in rows}) == 1 else "")
    if common.get("odometer_km") and not owner:
        raise refused("A06", "an odometer and jobs on several units", "--unit, to say whose odometer it is")
    return [
        {**common, **row, "act": act_meant(row["act"], row.get("item", ""), rig.units, catalogue),
         **({} if row["unit"] == owner else {"odometer_km": ""})}
        for row in rows
    ]  # fmt: skip


def refuse_beside_slots(done: Sequence[str], single: Mapping[str, object], of_one: Mapping[str, object]) -> None:
    """BadInput A06 for what says something of single jobs beside whole slots, or of one day beside several.

    The work after the return is dated beside other slots, which keep their days.
    """
    told = [name for name, value in single.items() if value]
    if not done:
        raise refused("A06", "--except without --done", "--done SLOT, a slot done as planned")
    if told:
        raise refused(
            "A06", f"--done beside {listed(told)}", "whole slots and single jobs, each in a command of its own"
        )
    of_one = {
        name: value for name, value in of_one.items() if value and not (name == "--date" and SlotKind.AFTER in done)
    }
    if of_one and len(set(done)) > 1:
        raise refused(
            "A06", f"several slots with {listed(of_one)}", "one --done, with what was read or when it was done"
        )


def with_reading(rows: Sequence[Row], unit: str | None, given: Mapping[str, str], rig: Rig) -> list[Row]:
    """The rows of a slot with what was noted, and the odometer of `unit`, else of the vehicle, on those of that unit.

    Raises BadInput A06 where no job is of the unit whose odometer was read.
    """
    owner = unit or unit_of(None, rig)
    if given["odometer_km"] and owner not in {row["unit"] for row in rows}:
        raise refused(
            "A06", f"an odometer of {owner or 'several vehicles'}", "--unit, a unit that the slot has a job of"
        )
    return [
        {**row, "odometer_km": given["odometer_km"] if row["unit"] == owner else "",
         "note": "; ".join(filter(None, (row["note"], given["note"])))}
        for row in rows
    ]  # fmt: skip


def row_to_undo(path: Path, text: str, because: str) -> HistoryRow:
    """The row of a history file that is to be struck out: by its number, or `last`.

    Raises BadInput for a row that is not there or no longer counts, and without a word why.
    """
    if not because.strip():
        raise refused("A17", "--undo without --because", "--because and a word why")
    rows = sound_records(path, HistoryRow, "H")
    counted, _ = counted_and_undone(rows)
    wanted = counted[-1:] if text.strip().lower() == LAST else [r for r in counted if str(r.origin.row) == text.strip()]
    if not wanted:
        gone = next((f"struck out: {r.undone}" for r in rows if r.undone and str(r.origin.row) == text.strip()), "")
        accepted = f"a row of {path.name} as a spreadsheet numbers it, the header being row 1, or {LAST}"
        raise refused("A16", text, accepted, gone)
    return wanted[0]


def struck_out(row: HistoryRow, because: str, today: date) -> dict[int, Row]:
    """The change that strikes the row out: nothing of it is lost, one cell says when and why."""
    return {row.origin.row or 0: {"undone": f"{today}: {because.strip()}"}}


def log_head(name: str, added: Sequence[HistoryRow], undone: Sequence[HistoryRow]) -> str:
    """What was written, in a sentence or two; a few rows as they were taken."""
    said = [f"{name} row {row.origin.row} struck out ({_words(row)}); it stays in the file." for row in undone]
    if added:
        count = f"{len(added)} {'row' if len(added) == 1 else 'rows'}"
        told = f": {'; '.join(map(_words, added))}" if len(added) <= MOST_TOLD else ""
        said.append(f"{name}: {count} added ({_runs([row.origin.row or 0 for row in added])}){told}.")
    return " ".join(said)


def _runs(numbers: Sequence[int]) -> str:
    """Row numbers, three and more in a row as from the first to the last: 57 to 117, 120, 121."""
    starts = [n for n in sorted(numbers) if n - 1 not in numbers]
    ends = [n for n in sorted(numbers) if n + 1 not in numbers]
    runs = zip(starts, ends, strict=True)
    return ", ".join(f"{a} to {b}" if b > a + 1 else str(a) if a == b else f"{a}, {b}" for a, b in runs)


def _words(row: HistoryRow) -> str:
    at = "" if row.odometer_km is None else f"{row.odometer_km:g} km"
    return ", ".join(part for part in (str(row.date), row.unit, row.item, row.position, row.act, at) if part)


def hours_note(text: str) -> str:
    """The hour meter's reading as a note that `rates` reads; BadInput A06 when it would not."""
    note = f"hours {text}" if text else ""
    if note and (not (match := HOUR_METER.fullmatch(note)) or match[1] != text):
        raise refused("A06", text, "--hours, a reading such as 4210.5")
    return note


def asked_of_notes(rows: Iterable[HistoryRow], catalogue: Catalogue) -> list[str]:
    """A question for each note whose words of wear propose a finding that its row does not give."""
    open_rows = [row for row in rows if row.note and row.item and not row.finding]
    if not open_rows:
        return []
    book = word_book(import_words(), catalogue, ())
    said = [(row, *proposed_finding(row.note or "", book)) for row in open_rows]
    return [
        f"{row.origin}: the note says {word!r}; was the finding {proposed}? If so, log {row.item} again with "
        f'--finding {proposed} --undo {row.origin.row} --because "its finding".'
        for row, word, proposed in said
        if proposed
    ]


def asked_of_lubricants(
    rows: Iterable[HistoryRow], catalogue: Catalogue, own: Sequence[OwnLubricant]
) -> list[str]:  # fmt: skip
    """A question for each grease or oil put in under a name that nothing is known by: what may go on top of it hangs on that."""
    known = (*own, *catalogue.lubricants)
    unknown = [
        (row, name) for row in rows if row.item and row.act in PUT_IN for name in names_in(row)
        if named_lubricant(name, known) is None
    ]  # fmt: skip
    labels = [row.label for row in known]
    return [
        f"{row.origin}: {name!r} is no name that is known here; was it {nearest(name, labels, MOST_TOLD)}? If so, log it so with "
        f'--undo {row.origin.row} --because "its name"; a tin of your own goes into lubricants.csv (tripplan grease tells more).'
        for row, name in unknown
    ]


def recorded_before(history: Sequence[HistoryRow], added: Sequence[int]) -> HistoryRow | None:
    """A row that counts and says just what one of those added says; None where there is none."""
    old = {facts_of(row): row for row in history if row.origin.row not in added and row.undone is None}
    return next((old[facts_of(row)] for row in newest(history, added) if facts_of(row) in old), None)


def done_again(rows: Sequence[Row], before: HistoryRow, name: str, can_ask: bool) -> list[Row]:
    """The rows with a note that they were done again, where somebody says so. Raises BadInput A53 where not."""
    told = f"{name} row {before.origin.row} says the same"
    is_noted = any(AGAIN in row["note"] for row in rows)
    if can_ask and not is_noted and ask(f"{told}. Was it done again on that day? yes or no: ").lower() in ("y", "yes"):
        return [{**row, "note": "; ".join(filter(None, (row["note"], AGAIN)))} for row in rows]
    hint = f'nothing was written; if it was done twice, say so: --note "{AGAIN}"'
    raise refused("A53", f"the same work twice: {told}", "each piece of work once", hint)


def newest(history: Sequence[HistoryRow], rows: Sequence[int]) -> list[HistoryRow]:
    """The records that stand in those rows."""
    return [row for row in history if row.origin.row in rows]


def _job(text: str, rig: Rig, catalogue: Catalogue) -> Row:
    parts = text.split()
    unit: str | None = None
    if parts and (parts[0] in {one.id for one in rig.units} or not _is_item(parts[0], catalogue)):
        unit, *parts = parts
    if len(parts) < LEAST_WORDS:
        raise refused("A06", text or "nothing", JOB_ACCEPTED)
    (name, position), (act, finding) = parts[:2], _act_and_finding(parts[2:])
    item, own = _item_and_unit("" if name == NOTHING else name, unit, rig, catalogue)
    words = {"unit": own, "item": item, "position": position, "act": act, "finding": finding}
    return {key: "" if word == NOTHING else word for key, word in words.items()}


def _is_item(text: str, catalogue: Catalogue) -> bool:
    return resolve_item(catalogue, text) is not None or any(sheet.id == text for sheet in catalogue.services)


def _act_and_finding(words: Sequence[str]) -> tuple[str, str]:
    for count in (3, 2):
        if " ".join(words[:count]).lower() in LONG_ACTS:
            return " ".join(words[:count]).lower(), " ".join(words[count:])
    return words[0], " ".join(words[1:])


LONG_ACTS = tuple(act for act in Act if " " in act)


def _item(text: str, unit: str | None, rig: Rig, catalogue: Catalogue) -> Row:
    words, _, position = text.partition(":")
    item, own = _item_and_unit(words.strip(), unit, rig, catalogue)
    return {"unit": own, "item": item, "position": position.strip()}


def _item_and_unit(words: str, unit: str | None, rig: Rig, catalogue: Catalogue) -> tuple[str, str]:
    """What the history is to call the item, and the unit it is on. Raises BadInput where either is not clear."""
    item = resolve_item(catalogue, words)
    sheet = next((one for one in catalogue.services if one.id == words), None)
    called = words
    if words and item is None and sheet is None and (meant := items_meant(words, catalogue, rig)):
        if len(meant) > 1:
            raise BadInput([not_one(words, meant, catalogue)])
        item, called = meant[0], meant[0].id
    return called, unit or unit_of(item or sheet, rig) or _no_unit(words, rig)


def _no_unit(words: str, rig: Rig) -> str:
    accepted = f"--unit, one of {', '.join(unit.id for unit in rig.units)}"
    raise refused("A06", f"{words or 'a reading'} without --unit", accepted)


def _reading(unit: str | None, act: str | None, common: Mapping[str, str]) -> Row:
    if not unit or not common.get("odometer_km") or act not in (None, READING):
        raise refused("A06", "no item and no job", "--item or --job, or --unit with --odometer for a bare reading")
    return {"unit": unit, "act": READING}
