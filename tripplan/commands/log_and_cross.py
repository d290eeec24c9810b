"""`tripplan cross` and `tripplan log`: record what happened on the track, and plan again.

A row is put into the folder only when the folder with it in has nothing that stops the
plan, and nothing that is worth a look about the row itself. On any Problem nothing is written.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

from msgspec.structs import replace
from pydantic_core import PydanticCustomError

from tripplan.commands import field_jobs
from tripplan.commands.beside_plan import beside_plan
from tripplan.commands.item_words import by_id
from tripplan.commands.status import MADE, MADE_WITH_WARNINGS, day_of, refused, tells_refusals
from tripplan.commands.terminal import is_a_person_there, say, say_document
from tripplan.commands.typed_days import day_meant, only_moment
from tripplan.explain.compare import Moved
from tripplan.files.act_words import with_acts_meant
from tripplan.files.append import CROSSING_COLUMNS, HISTORY_COLUMNS, NewTable, changed_table
from tripplan.files.days_on_paper import PaperDay, rows_done, unrecorded
from tripplan.files.folder import HISTORY_FILES, Inputs, counted_and_undone
from tripplan.files.held import folder_held
from tripplan.files.plan_file import issued_plan, place_of
from tripplan.files.plan_folder import Question, plan_of, quick_plan
from tripplan.files.recording import look_before, outputs_held, read_back, refuse
from tripplan.files.whole_files import put
from tripplan.records.cell_values import MOMENT_ACCEPTED, moment
from tripplan.records.facts_in import Crossing, HistoryRow, Unit, as_day
from tripplan.records.lookups import ROOF, resolve_item
from tripplan.records.plan import TRIP_OVER, Plan
from tripplan.records.plan_work import PlanCrossing
from tripplan.records.problem_codes import MAY_BE_SO, figure, problem
from tripplan.records.problems import BadInput, Problem, in_order, problem_row
from tripplan.sheets import field_text, outputs
from tripplan.sheets.moved_text import moved, moved_rows, moved_text
from tripplan.sheets.plan_json import outline, warning_row
from tripplan.water.crossing import PointMark, water_marks
from tripplan.water.lines import INTAKE_POINTS, bow_wave
from tripplan.wear.contradictions import check

CROSSINGS = "crossings.csv"
ALWAYS_SAID = ("depth_m", "water", "minutes", "crossed")
SAME_PLACE_KM = 1.0
NEAR_KM = 10.0
QUICK = "a quick plan of the folder as it was"
Cell = float | str | None


@tells_refusals
def cross(
    folder: Path, leg: Cell, depth: Cell, minutes: Cell, water: str, at: str, at_km: Cell = None,
    length: Cell = None, stalled: bool = False, hubs_hot: bool = False, out: Path | None = None,
    today: str | None = None, as_json: bool = False,
) -> int:  # fmt: skip
    """Record a crossing that was made, say what it calls for, and plan again.

    A planned crossing of that leg is filled in: the only one, or with `at_km` the nearest
    within 10 km; else a row is added. Without `today` it is seen from the day of `at`, or
    from the latest day on record when that is later. With `out` all outputs are written there.
    """
    said = {
        "leg": _cell(leg), "depth_m": _cell(depth), "minutes": _cell(minutes), "water": water,
        "crossed": only_moment(at), "at_km": _cell(at_km), "length_m": _cell(length),
        "stalled": "yes" if stalled else "", "hubs_hot": "yes" if hubs_hot else "",
    }  # fmt: skip
    with folder_held(folder):
        return _cross(folder, said, out, today, as_json)


@tells_refusals
def log(
    folder: Path, unit: str | None, items: Sequence[str], act: str | None, on: str | None, odometer: Cell = None,
    finding: str | None = None, lubricant: str | None = None, note: str | None = None,
    jobs: Sequence[str] = (), out: Path | None = None, today: str | None = None, as_json: bool = False,
    undo: str | None = None, because: str = "", hours: Cell = None, done: Sequence[str] = (),
    excepted: Sequence[str] = (),
) -> int:  # fmt: skip
    """Record work done, or a bare odometer reading, and plan again.

    `items` are `item` or `item:position`; `jobs` are whole jobs in words, `unit item position
    act finding`, with - for what there is not. `undo` is a row of the history to strike out,
    or `last`; it stays readable with the word `because`, and jobs beside it stand in its
    place. `hours` is the hour meter's reading, kept in the note, where the rates find it.
    `done` are slots of the plan done as planned, less the items in `excepted`, each on its own day, or one of them on the
    day `on`; `after`, the work after the return, was done on the day `on`, or today without one.
    Nothing is written unless every row is right.
    """
    with folder_held(folder):
        said = "; ".join(filter(None, (field_jobs.hours_note(_cell(hours)), note)))
        given = {"odometer_km": _cell(odometer), "lubricant": lubricant or "", "note": said}
        if done or excepted:
            single = {
                "--item": items,
                "--act": act,
                "--finding": finding,
                "--lubricant": lubricant,
                "--job": jobs,
                "--undo": undo,
            }
            field_jobs.refuse_beside_slots(done, single, {"--odometer": odometer, "--hours": hours, "--date": on})
            moved_to = None if on is None else day_meant(on, folder, is_a_person_there() and not as_json)
            return _log_slots(folder, done, excepted, moved_to, (unit, given), out, today, as_json)
        gone = None if undo is None else field_jobs.row_to_undo(history_path(folder), undo, because)
        is_bare = gone is not None and not (items or jobs or _cell(odometer))
        if on is None and not is_bare:
            raise refused("A06", "work without --date", "--date, the day of the work")
        day = gone.date if gone and on is None else day_meant(on, folder, is_a_person_there() and not as_json)
        struck = {} if gone is None else field_jobs.struck_out(gone, because, day_of(today))
        common = {"date": day.isoformat(), **given}

        def rows_of(before: Question) -> list[field_jobs.Row]:
            rig, tables = before.inputs.rig, before.catalogue
            return [] if is_bare else field_jobs.job_rows(unit, items, act, finding, jobs, common, rig, tables)

        return _log(folder, rows_of, struck, day, out, today, as_json)


def _cell(value: Cell) -> str:
    return "" if value is None else value.strip() if isinstance(value, str) else figure(value)


def _cross(folder: Path, said: Mapping[str, str], out: Path | None, today: str | None, as_json: bool) -> int:
    made_at = _moment(said["crossed"])
    before = look_before(folder, as_day(made_at), day_of(today) if today else None)
    paper = on_paper(folder, before, out)
    planned = _planned_row(before, said, made_at)
    new, number = _new_crossings(folder / CROSSINGS, said, planned)
    rows = read_back(new, CROSSINGS, Crossing, "C")
    made = next(row for row in rows if row.origin.row == number)
    after = with_trip(before.inputs, rows)
    found = (*checked(before, after), *too_deep(made, before.inputs.rig.vehicle))
    refuse(found, CROSSINGS, (number,))
    plan, change, paths = plan_again(before, after, found, out, lambda: put(folder / CROSSINGS, new.content))
    crossing = next(one for one in plan.crossings if one.origin.row == number)
    marks = marks_of(before, made)
    what = "filled in as planned" if planned else "added; no planned crossing was meant"
    head = f"{CROSSINGS} row {number}: leg {made.leg} at km {figure(made.at_km)}, {what}."
    body = field_text.crossing_text(plan, crossing, marks, bow_wave(before.catalogue))
    shown = {"crossing": _crossing_row(crossing, marks), "row": number, "filled_in": planned is not None}
    return tell_again(head, body, shown, plan, change, paths, as_json, paper)


def _log_slots(
    folder: Path, done: Sequence[str], excepted: Sequence[str], on: date | None, given: tuple[str | None, Mapping[str, str]],
    out: Path | None, today: str | None, as_json: bool,
) -> int:  # fmt: skip
    """Whole slots into the history, each on its own day, or on the day `on`; with the reading of a unit that is `given`."""
    before = look_before(folder, day_of(today), day_of(today))
    issued = issued_plan(out or place_of(folder) or folder)
    left = [by_id(text, before.catalogue, before.inputs.rig) for text in excepted]
    rows = rows_done(before.inputs, before.catalogue, issued, done, left, on, day_of(today))
    if not rows:
        accepted = "--done SLOT with a job that is not recorded yet and that --except leaves"
        raise refused("A06", "no job to record", accepted)
    rows = field_jobs.with_reading(rows, *given, before.inputs.rig)
    last = max(date.fromisoformat(row["date"]) for row in rows)
    return _log(folder, lambda _: rows, {}, last, out, today, as_json, done)


def history_path(folder: Path) -> Path:
    """The file of the history, there or to be begun."""
    return next((folder / name for name in HISTORY_FILES if (folder / name).exists()), folder / HISTORY_FILES[0])


def _log(
    folder: Path, rows_of: Callable[[Question], Sequence[field_jobs.Row]], struck: Mapping[int, Mapping[str, str]], on: date,
    out: Path | None, today: str | None, as_json: bool, done: Sequence[str] = (),
) -> int:  # fmt: skip
    before = look_before(folder, on, day_of(today) if today else None)
    paper = on_paper(folder, before, out, done)
    path = history_path(folder)
    rows = rows_of(before)
    new = changed_table(path, rows, struck, columns=HISTORY_COLUMNS)
    every = _history_in(new, path.name, before)
    if twice := field_jobs.recorded_before(every, new.rows):
        rows = field_jobs.done_again(rows, twice, path.name, is_a_person_there() and not as_json)
        new = changed_table(path, rows, struck, columns=HISTORY_COLUMNS)
        every = _history_in(new, path.name, before)
    history, undone = counted_and_undone(every)
    after = replace(before.inputs, history=history, undone=undone)
    found = checked(before, after)
    refuse(found, path.name, new.rows)
    plan, change, paths = plan_again(before, after, found, out, lambda: put(path, new.content))
    own = {(row.unit, item.id) for row in field_jobs.newest(every, (*new.rows, *struck))
           if row.item and (item := resolve_item(before.catalogue, row.item))}  # fmt: skip
    items = [item for item in plan.items if (item.unit, item.item) in own]
    head = field_jobs.log_head(
        path.name, field_jobs.newest(every, new.rows), [row for row in undone if row.origin.row in struck]
    )
    own_rows = field_jobs.newest(every, new.rows)
    asked = [*field_jobs.asked_of_notes(own_rows, before.catalogue),
             *field_jobs.asked_of_lubricants(own_rows, before.catalogue, before.inputs.kit.lubricants)]  # fmt: skip
    asked += [one.as_text() for one in found if one.code in MAY_BE_SO and one.row in new.rows and one.file == path.name]
    shown = {"rows": list(new.rows), "struck_out": list(struck), "items": [_item_row(item) for item in items]}
    body = "\n".join((*asked, field_text.items_text(plan, items)))
    return tell_again(head, body, {**shown, "questions": asked}, plan, change, paths, as_json, paper)


def _history_in(new: NewTable, name: str, before: Question) -> tuple[HistoryRow, ...]:
    rows = read_back(new, name, HistoryRow, "H")
    return with_acts_meant(rows, before.inputs.rig.units, before.catalogue)


def on_paper(folder: Path, before: Question, out: Path | None, done: Sequence[str] = ()) -> Sequence[PaperDay]:
    """Days of work that are past with nothing recorded, but for those recorded now."""
    issued = issued_plan(out or place_of(folder) or folder)
    return [one for one in unrecorded(before.inputs, issued, before.today) if one.slot not in done]


def _moment(text: str) -> datetime | date:
    try:
        found: datetime | date = moment(text)
    except PydanticCustomError as error:
        hint = (error.context or {}).get("hint", "")
        raise refused("A01", text or "nothing", MOMENT_ACCEPTED, hint) from None
    return found


def _planned_row(before: Question, said: Mapping[str, str], made_at: datetime | date) -> Crossing | None:
    """The planned crossing that was made; None when it is a new one. Raises BadInput if that is not clear."""
    leg, at_km = _number(said["leg"]), _number(said["at_km"])
    legs = [known.leg for known in before.inputs.trip.legs]
    if leg is not None and leg not in legs:
        raise refused("C10", said["leg"], f"a leg number of legs.csv: {', '.join(map(str, sorted(legs)))}")
    here = [row for row in before.inputs.trip.crossings if row.leg == leg]
    _refuse_repeat(here, at_km, made_at)
    planned = [row for row in here if row.crossed is None]
    if at_km is not None:
        near = [row for row in planned if abs(row.at_km - at_km) <= NEAR_KM]
        return min(near, key=lambda row: (abs(row.at_km - at_km), row.at_km), default=None)
    if len(planned) == 1:
        return planned[0]
    if not said["at_km"] and leg is not None:
        listed = " and ".join(figure(row.at_km) for row in planned)
        found = f"planned crossings at km {listed}" if planned else "no crossing planned on that leg"
        raise refused("C17", found, "--at-km, the km from the start of the leg", f"leg {said['leg']}")
    return None


def _refuse_repeat(here: Sequence[Crossing], at_km: float | None, made_at: datetime | date) -> None:
    for row in here:
        same_place = at_km is None or abs(row.at_km - at_km) <= SAME_PLACE_KM
        if row.crossed == made_at and same_place:
            found = f"leg {row.leg} at km {figure(row.at_km)}, {row.crossed}"
            hint = "another crossing of that leg is told apart by --at-km and by its time of day"
            raise BadInput([problem("C16", row.origin, "crossed", found, "a crossing not recorded yet", hint)])


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def _new_crossings(path: Path, said: Mapping[str, str], planned: Crossing | None) -> tuple[NewTable, int]:
    if planned is None or planned.origin.row is None:
        new = changed_table(path, [said], columns=CROSSING_COLUMNS)
        return new, new.rows[0]
    given = {name: value for name, value in said.items() if value or name in ALWAYS_SAID}
    return changed_table(path, changed={planned.origin.row: given}), planned.origin.row


def with_trip(inputs: Inputs, crossings: tuple[Crossing, ...]) -> Inputs:
    """The inputs with these crossings."""
    return replace(inputs, trip=inputs.trip.model_copy(update={"crossings": crossings}))


def checked(before: Question, after: Inputs) -> tuple[Problem, ...]:
    """Problems of the folder with the row in: those of the records, and those of reading the files."""
    old = check(before.inputs.rig, before.inputs.history, before.inputs.trip, before.catalogue, before.today)
    reading = [found for found in before.problems if found not in old]
    return (*reading, *check(after.rig, after.history, after.trip, before.catalogue, before.today))


def too_deep(made: Crossing, vehicle: Unit) -> tuple[Problem, ...]:
    """Deeper than the roof, or where no roof height is given than the highest point that is.

    Without the roof or a point of the air intake nobody knows how high the vehicle is: then nothing is refused.
    """
    heights = vehicle.heights_mm
    if not heights.keys() & {ROOF, *INTAKE_POINTS}:
        return ()
    point = ROOF if ROOF in heights else max(heights, key=lambda name: heights[name])
    if made.depth_m * 1000 <= heights[point]:
        return ()
    accepted = f"0 to {figure(heights[point] / 1000)} m, the {point.replace('_', ' ')} of {vehicle.id}"
    hint = "depth in metres; a height named roof in rig.toml raises the limit" if point != ROOF else ""
    return (problem("C15", made.origin, "depth_m", figure(made.depth_m), accepted, hint),)


def marks_of(before: Question, made: Crossing) -> tuple[PointMark, ...]:
    """Every point of the units that were there, and whether the water reached it."""
    rig, catalogue = before.inputs.rig, before.catalogue
    leg = next(leg for leg in before.inputs.trip.legs if leg.leg == made.leg)
    return tuple(
        mark
        for unit in rig.units
        if unit.kind == "vehicle" or leg.towing
        for mark in water_marks(unit, [i for i in catalogue.items if i.fits(unit)], made, bow_wave(catalogue))
    )


def plan_again(
    before: Question, after: Inputs, problems: Sequence[Problem], out: Path | None, write: Callable[[], object]
) -> tuple[Plan, Moved, list[Path]]:
    """Plan, then write the record, then the outputs; without `out` a quick plan, and no outputs."""
    tables, today, was = before.catalogue, before.today, before.inputs
    if out is None:
        plan = quick_plan(after, tables, today, in_order(problems))
        change = moved(outline(quick_plan(was, tables, today, before.problems)), plan, QUICK)
        write()
        return plan, change, []
    plan = plan_of(after, tables, today, problems)
    beside = beside_plan(plan, after, tables)
    with outputs_held(out):
        contents = outputs.output_contents(plan, out, **beside)
        change = moved(issued_plan(out), plan, f"the plan in {out}")
        write()
        return plan, change, outputs.put_outputs(out, contents)


def _crossing_row(crossing: PlanCrossing, marks: Sequence[PointMark]) -> dict[str, Any]:
    acts = [
        {"item": a.item, "unit": a.unit, "position": a.position, "act": a.act, "window": a.window,
         "window_kind": a.window_kind, "look_for": a.look_for, "if_clean": a.if_clean, "if_found": a.if_found, "slot": a.slot}
        for a in crossing.acts
    ]  # fmt: skip
    return {
        "leg": crossing.leg, "at_km": crossing.at_km, "depth_m": crossing.depth_m, "water": crossing.water,
        "crossed": str(crossing.crossed), "marks": field_text.marks_rows(marks), "acts": acts,
        "notes": list(crossing.notes),
    }  # fmt: skip


def _item_row(item: Any) -> dict[str, Any]:
    return {"item": item.item, "unit": item.unit, "position": item.position, "verdict": item.verdict,
            "placed": list(item.placed)}  # fmt: skip


def tell_again(
    head: str, body: str, shown: Mapping[str, Any], plan: Plan, change: Moved, paths: Sequence[Path], as_json: bool,
    paper: Sequence[PaperDay] = (),
) -> int:  # fmt: skip
    """Say what was recorded, what it calls for and what moved; or the same as JSON."""
    if as_json:
        document = {
            **shown, "unrecorded": [{"slot": one.slot, "date": one.day.isoformat()} for one in paper],
            "today": plan.today.isoformat(), "changes": moved_rows(change),
            "warnings": list(map(warning_row, plan.warnings)), "problems": [problem_row(found) for found in plan.problems],
            "written": [str(path) for path in paths],
        }  # fmt: skip
        say_document(document)
    else:
        end = [f"Written to {paths[0].parent}: {', '.join(path.name for path in paths)}"] if paths else [
            "The outputs are as they were; give --out DIR to bring them up to date."]  # fmt: skip
        seen = f"Seen from {plan.today}."
        warned = [
            f"warning: {field_text.brief(warning.text)}" for warning in plan.warnings if warning.kind != TRIP_OVER
        ]
        asked = field_text.paper_question([one.told for one in paper])
        say(
            "\n\n".join(
                part for part in (plan.over, asked, f"{head} {seen}", body, moved_text(change), *warned, *end) if part
            )
        )
    return MADE_WITH_WARNINGS if plan.warnings or plan.problems else MADE
