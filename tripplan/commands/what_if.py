"""`tripplan plan` with something changed on purpose: both plans side by side, the folder left alone."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from msgspec.structs import replace
from pydantic import ValidationError

from tripplan.commands.beside_plan import beside_plan
from tripplan.commands.status import MADE, MADE_WITH_WARNINGS, refused
from tripplan.commands.terminal import say, say_document
from tripplan.explain.compare import compare_totals
from tripplan.files.plan_folder import plan_of, read_to_plan
from tripplan.files.recording import outputs_held
from tripplan.files.refusals import wording
from tripplan.records.cell_values import DAY_ACCEPTED, day
from tripplan.records.facts_in import Leg, Origin, Trip
from tripplan.records.problems import BadInput, problem_row, stops
from tripplan.sheets.moved_text import moved, moved_rows, moved_text
from tripplan.sheets.outputs import write_outputs
from tripplan.sheets.plan_json import plan_dict
from tripplan.trip.what_if import departing, with_leg, without_stop
from tripplan.wear.contradictions import check

LEG_ACCEPTED = 'a leg number, then column=value, e.g. "4 dust=heavy"'
AS_IT_IS = "the plan of the folder as it is"


def what_if(
    folder: Path, out: Path | None, today: date, as_json: bool, depart: str | None, legs: Sequence[str],
    stops_left_out: Sequence[str],
) -> int:  # fmt: skip
    """Plan the folder as it is and as changed, and print both; outputs only with `out`."""
    inputs, catalogue, _, problems = read_to_plan(folder, today)
    trip = changed_trip(inputs.trip, depart, legs, stops_left_out)
    old_found = check(inputs.rig, inputs.history, inputs.trip, catalogue, today)
    reading = [found for found in problems if found not in old_found]
    new_problems = (*reading, *check(inputs.rig, inputs.history, trip, catalogue, today))
    if stops(new_problems):
        raise BadInput(new_problems)
    changed = replace(inputs, trip=trip)
    was, made = plan_of(inputs, catalogue, today, problems), plan_of(changed, catalogue, today, new_problems)
    old, new = plan_dict(was), plan_dict(made)
    change = moved(old, made, AS_IT_IS)
    paths: list[Path] = []
    if out:
        beside = beside_plan(made, changed, catalogue)
        with outputs_held(out):
            paths = write_outputs(made, out, **beside)
    table = compare_totals(old, new)
    if as_json:
        rows = [{"what": what, "as_it_is": before, "changed": now} for what, before, now in table]
        found_rows = [problem_row(found) for found in new_problems]
        document = {"table": rows, "changes": moved_rows(change), "problems": found_rows}
        say_document(document | {"written": [str(path) for path in paths]})
    else:
        end = f"Written to {out}." if paths else "A what-if: nothing was written. Give --out DIR to keep it."
        say("\n\n".join(part for part in (made.over, _table(table), moved_text(change), end) if part))
    return MADE_WITH_WARNINGS if new_problems or made.warnings else MADE


def changed_trip(trip: Trip, depart: str | None, legs: Sequence[str], stops_left_out: Sequence[str]) -> Trip:
    """The trip with every change asked for; raises BadInput for one that cannot be made."""
    for name in stops_left_out:
        trip = without_stop(trip, name)
    for text in legs:
        number, _, cell = text.strip().partition(" ")
        column, sign, value = cell.partition("=")
        if not number.isascii() or not number.isdigit() or not sign:
            raise refused("A07", text or "nothing", LEG_ACCEPTED)
        try:
            trip = with_leg(trip, int(number), column.strip(), value.strip())
        except ValidationError as error:
            typed, at = {column.strip(): value.strip()}, Origin(file="command line")
            told = wording(error, Leg, "L", at, typed, {}, column.strip())
            raise BadInput(
                [replace(found, code="A05", found=f"{found.column}={found.found}", column=None) for found in told]
            ) from None
    return departing(trip, _day(depart)) if depart is not None else trip


def _day(text: str) -> date:
    try:
        found: date = day(text)
    except ValueError:
        raise refused("A01", text, DAY_ACCEPTED) from None
    return found


def _table(rows: Sequence[tuple[str, str, str]]) -> str:
    head = ("", "as it is", "changed")
    widths = [max(len(row[n]) for row in (head, *rows)) for n in range(3)]
    return "\n".join(f"{what:<{widths[0]}}  {was:>{widths[1]}}  {now:>{widths[2]}}" for what, was, now in (head, *rows))
