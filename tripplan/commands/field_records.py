"""`tripplan log FOLDER --from FILE`: the records of a phone, taken in once, and the trip planned again.

What is right is taken in; what speaks against a record is told as a Problem, and the others are taken all the same,
since nobody can correct the text by hand. Nothing is told as done before it is in the folder.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tripplan.commands import log_and_cross as field
from tripplan.commands.field_jobs import newest
from tripplan.commands.status import MADE_WITH_WARNINGS, day_of, refused, tells_refusals
from tripplan.files.act_words import with_acts_meant
from tripplan.files.append import CROSSING_COLUMNS, HISTORY_COLUMNS, NewTable, changed_table
from tripplan.files.field_records.taking import (
    NOTES_COLUMNS,
    NOTES_FILE,
    Taking,
    crossing_cells,
    not_taken,
    noted_in,
    planned_here,
    what_is_new,
)
from tripplan.files.field_records.text import FieldRecord, Read, read_text
from tripplan.files.field_records.trip_key import trip_key
from tripplan.files.folder import Inputs, counted_and_undone
from tripplan.files.held import folder_held
from tripplan.files.plan_folder import Question
from tripplan.files.recording import look_before, refuse
from tripplan.files.tables import decoded, read_bytes, records_in
from tripplan.files.whole_files import put
from tripplan.records.facts_in import Crossing, HistoryRow, Origin
from tripplan.records.lookups import resolve_item
from tripplan.records.plan import Plan
from tripplan.records.problem_codes import problem
from tripplan.records.problems import BadInput, Problem, in_order, problem_row, stops
from tripplan.sheets import field_text, words
from tripplan.water.lines import bow_wave

NOT_TAKEN = ("Y04", "Y05", "Y06")
"""Problems of a record that does not come into the folder."""


class Fitted(Struct, frozen=True, kw_only=True):
    """What is to be written: the tables that change, the inputs they give, and every problem of them."""

    taking: Taking
    history: NewTable | None
    crossings: NewTable | None
    ford_rows: tuple[int, ...]
    every: tuple[HistoryRow, ...]
    after: Inputs
    found: tuple[Problem, ...]


@tells_refusals
def take_records(
    folder: Path, file: Path, out: Path | None, today: str | None, as_json: bool, is_alone: bool = True
) -> int:  # fmt: skip
    """Take the records of a text file into the folder, each once, and plan again.

    Without `today` it is seen from the day of the last record, or from the latest day in the folder.
    `is_alone` is false where work was typed beside it, which is refused.
    """
    if not is_alone:
        raise refused("A06", "--from beside other work", "--from FILE alone, or work without it")
    raw, problems = read_bytes(file, file.name)
    if raw is None:
        raise BadInput(problems)
    return take_text(folder, raw, file.name, out, today, as_json)


@tells_refusals
def take_text(folder: Path, raw: bytes, name: str, out: Path | None, today: str | None, as_json: bool) -> int:
    """The same of a text that is at hand; problems call it by that name."""
    with folder_held(folder):
        sent = _read(raw, name)
        last = max((record.at.date() for record in sent.records), default=None)
        before = look_before(folder, last or day_of(today), day_of(today) if today else None)
        _refuse_others(sent, before, name)
        new = what_is_new(sent.records, before.inputs, before.catalogue, noted_in(folder), day_of(today))
        return _take(folder, replace(new, problems=(*sent.problems, *new.problems)), before, out, as_json)


def _read(raw: bytes, name: str) -> Read:
    text, problems = decoded(raw, name)
    if text is None:
        raise BadInput(problems)
    found = read_text(text, name)
    if stops(found.problems):
        raise BadInput(found.problems)
    return found


def _refuse_others(sent: Read, before: Question, name: str) -> None:
    """Records of another trip stop: they would be taken for work on this rig."""
    trip, rig = before.inputs.trip, before.inputs.rig
    if sent.sent is not None and sent.sent.key != trip_key(rig.name, trip.name, trip.depart.isoformat()):
        found = f"records of {sent.sent.trip[:60]!r} with {sent.sent.rig[:60]!r}, departing {sent.sent.depart[:10]}"
        accepted = f"records of {trip.name!r} with {rig.name!r}, departing {trip.depart}"
        hint = "name, rig and departure are those of the plan that was on the phone; put them back, or give the folder of that trip"
        raise BadInput([problem("Y03", Origin(file=name), None, found, accepted, hint)])


def _take(folder: Path, taking: Taking, before: Question, out: Path | None, as_json: bool) -> int:
    fitted = _fitted(folder, taking, before)
    taking = fitted.taking
    notes = changed_table(folder / NOTES_FILE, [cells for _, cells in taking.notes], columns=NOTES_COLUMNS)

    def write() -> None:
        for path, table in (
            (field.history_path(folder), fitted.history), (folder / field.CROSSINGS, fitted.crossings),
            (folder / NOTES_FILE, notes if taking.notes else None),
        ):  # fmt: skip
            if table is not None:
                put(path, table.content)

    paper = field.on_paper(folder, before, out)
    plan, change, paths = field.plan_again(before, fitted.after, fitted.found, out, write)
    head, body = _head(folder, fitted), "\n\n".join(_told(plan, fitted, before))
    shown: dict[str, Any] = {
        "rows": list(fitted.history.rows) if fitted.history else [], "crossings": list(fitted.ford_rows),
        "notes": len(taking.notes), "struck_out": list(taking.struck), "already_there": taking.already,
        "not_taken": [problem_row(one) for one in taking.problems],
    }  # fmt: skip
    status = field.tell_again(head, body, shown, plan, change, paths, as_json, paper)
    return max(status, MADE_WITH_WARNINGS) if taking.problems else status


def _fitted(folder: Path, taking: Taking, before: Question) -> Fitted:
    """The tables with all that is taken; what the folder refuses is set aside until the rest fits."""
    while True:
        tried = _tried(folder, taking, before)
        against = _against(tried, field.history_path(folder).name)
        if not against:
            refuse(tried.found, "", ())
            return tried
        taking = taking.without(against)


def _tried(folder: Path, taking: Taking, before: Question) -> Fitted:
    path, inputs = field.history_path(folder), before.inputs
    history = crossings = None
    problems: tuple[Problem, ...] = ()
    every: tuple[HistoryRow, ...] = (*inputs.history, *inputs.undone)
    after, ford_rows = inputs, tuple[int, ...]()
    if taking.history or taking.struck:
        rows = [cells for _, cells in taking.history]
        history = changed_table(path, rows, dict(taking.struck), columns=HISTORY_COLUMNS)
        read, found = records_in(history.content, path.name, HistoryRow, "H")
        every = with_acts_meant(read, inputs.rig.units, before.catalogue)
        counted, undone = counted_and_undone(every)
        after, problems = replace(after, history=counted, undone=undone), problems + found
    if taking.crossings:
        crossings, ford_rows = _with_fords(folder / field.CROSSINGS, taking.crossings, inputs.trip.crossings)
        fords, found = records_in(crossings.content, field.CROSSINGS, Crossing, "C")
        after, problems = field.with_trip(after, fords), problems + found
        made = [row for row in fords if row.origin.row in ford_rows]
        problems += tuple(deep for row in made for deep in field.too_deep(row, inputs.rig.vehicle))
    return Fitted(
        taking=taking, history=history, crossings=crossings, ford_rows=ford_rows, every=every, after=after,
        found=in_order((*problems, *field.checked(before, after))),
    )  # fmt: skip


def _with_fords(
    path: Path, records: Sequence[FieldRecord], there: Sequence[Crossing]
) -> tuple[NewTable, tuple[int, ...]]:  # fmt: skip
    """Planned crossings filled in and others added; and in which row each record stands."""
    changed: dict[int, dict[str, str]] = {}
    added: list[dict[str, str]] = []
    spots: list[int | None] = []
    open_rows = list(there)
    for record in records:
        planned = planned_here(record, open_rows)
        if planned is not None and planned.origin.row is not None:
            open_rows.remove(planned)
            changed[planned.origin.row] = crossing_cells(record)
        else:
            added.append(crossing_cells(record))
        spots.append(None if planned is None else planned.origin.row)
    table = changed_table(path, added, changed, columns=CROSSING_COLUMNS)
    behind = iter(table.rows)
    return table, tuple(next(behind) if row is None else row for row in spots)


def _against(tried: Fitted, history: str) -> dict[str, Problem]:
    """The first problem of each record whose row has one."""
    rows = dict(zip(tried.history.rows, (one for one, _ in tried.taking.history), strict=True)) if tried.history else {}
    fords = dict(zip(tried.ford_rows, tried.taking.crossings, strict=True))
    found: dict[str, Problem] = {}
    for one in tried.found:
        owners = {history: rows, field.CROSSINGS: fords}.get(one.file, {})
        record = owners.get(one.row or 0)
        if record is not None:
            found.setdefault(record.id, not_taken(record, one))
    return found


def _head(folder: Path, fitted: Fitted) -> str:
    """What was written, in a sentence or two."""
    taking, told = fitted.taking, []
    if taking.history:
        told.append(f"{field.history_path(folder).name}: {words.count(len(taking.history), 'row', 'rows')} added.")
    if taking.struck:
        told.append(f"{words.count(len(taking.struck), 'row', 'rows')} struck out, as undone on the phone.")
    if fitted.ford_rows:
        rows = words.listed(str(row) for row in fitted.ford_rows)
        told.append(f"{field.CROSSINGS}: {'row' if len(fitted.ford_rows) == 1 else 'rows'} {rows} made.")
    if taking.notes:
        told.append(f"{NOTES_FILE}: {words.count(len(taking.notes), 'note', 'notes')} added.")
    if taking.already:
        told.append(f"{words.count(taking.already, 'record was', 'records were')} in the folder already.")
    if taking.is_empty:
        told.append("Nothing is new.")
    lost = sorted({one.row for one in taking.problems if one.code in NOT_TAKEN and one.row})
    if lost:
        rows = f"{'row' if len(lost) == 1 else 'rows'} {words.listed(map(str, lost))}"
        told.append(f"Not taken in: {rows} of {taking.problems[0].file}.")
    if taking.problems:
        told.append(f"{words.count(len(taking.problems), 'thing', 'things')} to look at below.")
    return " ".join(told)


def _told(plan: Plan, fitted: Fitted, before: Question) -> list[str]:
    """What was not taken, what the crossings call for, and how the items stand that were worked on."""
    told = [one.as_text() for one in fitted.taking.problems]
    for crossing in plan.crossings:
        if crossing.origin.row in fitted.ford_rows:
            made = next(row for row in fitted.after.trip.crossings if row.origin.row == crossing.origin.row)
            marks = field.marks_of(before, made)
            told.append(field_text.crossing_text(plan, crossing, marks, bow_wave(before.catalogue)))
    rows = (*(fitted.history.rows if fitted.history else ()), *fitted.taking.struck)
    own = {(row.unit, item.id) for row in newest(fitted.every, rows)
           if row.item and (item := resolve_item(before.catalogue, row.item))}  # fmt: skip
    items = [item for item in plan.items if (item.unit, item.item) in own]
    return [*told, field_text.items_text(plan, items)] if items else told
