"""`tripplan plan` with something changed on purpose: both plans side by side, the folder left alone."""

import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from tripplan.commands.status import MADE, MADE_WITH_WARNINGS, command_problem, tell
from tripplan.commands.terminal import say, say_json
from tripplan.explain.cards import crossing_cards
from tripplan.explain.compare import compare_totals
from tripplan.files.folder import Inputs
from tripplan.files.plan_folder import plan_of, read
from tripplan.files.recording import outputs_held
from tripplan.planner import look_around
from tripplan.records.cell_values import DAY_ACCEPTED, day
from tripplan.records.facts_in import Trip
from tripplan.records.problems import BadInput, problem_row, stops
from tripplan.sheets.field.bank import bank_of
from tripplan.sheets.moved_text import moved, moved_rows, moved_text
from tripplan.sheets.outputs import write_outputs
from tripplan.sheets.plan_json import plan_dict
from tripplan.sheets.route_places import places_of
from tripplan.trip.what_if import departing, with_leg, without_stop
from tripplan.wear.contradictions import check

LEG_ACCEPTED = 'a leg number, then column=value, e.g. "4 dust=heavy"'
AS_IT_IS = "the plan of the folder as it is"


def what_if(
    folder: Path, out: Path | None, today: date, as_json: bool, depart: str | None, legs: Sequence[str],
    stops_left_out: Sequence[str],
) -> int:  # fmt: skip
    """Plan the folder as it is and as changed, and print both; outputs only with `out`."""
    inputs, catalogue, problems = read(folder, today)
    if inputs is None or stops(problems):
        return tell(problems, as_json)
    trip = changed_trip(inputs.trip, depart, legs, stops_left_out)
    old_found = check(inputs.rig, inputs.history, inputs.trip, catalogue, today)
    reading = [found for found in problems if found not in old_found]
    new_problems = (*reading, *check(inputs.rig, inputs.history, trip, catalogue, today))
    if stops(new_problems):
        return tell(new_problems, as_json)
    plans = [
        plan_of(given, catalogue, today, found)
        for given, found in ((inputs, problems), (_with(inputs, trip), new_problems))
    ]
    old, new = plan_dict(plans[0]), plan_dict(plans[1])
    change = moved(old, plans[1], AS_IT_IS)
    paths: list[Path] = []
    if out:
        around = look_around(inputs.rig, inputs.history, trip, catalogue, today)
        cards, bank = crossing_cards(around), bank_of(around, _with(inputs, trip))
        places = places_of(plans[1], trip, inputs.lines)
        with outputs_held(out):
            paths = write_outputs(plans[1], out, cards=cards, places=places, bank=bank)
    table = compare_totals(old, new)
    if as_json:
        rows = [{"what": what, "as_it_is": was, "changed": now} for what, was, now in table]
        found_rows = [problem_row(found) for found in new_problems]
        document = {"table": rows, "changes": moved_rows(change), "problems": found_rows}
        say_json(json.dumps(document | {"written": [str(path) for path in paths]}, indent=2, ensure_ascii=False))
    else:
        end = f"Written to {out}." if paths else "A what-if: nothing was written. Give --out DIR to keep it."
        say("\n\n".join((_table(table), moved_text(change), end)))
    return MADE_WITH_WARNINGS if new_problems or plans[1].warnings else MADE


def changed_trip(trip: Trip, depart: str | None, legs: Sequence[str], stops_left_out: Sequence[str]) -> Trip:
    """The trip with every change asked for; raises BadInput for one that cannot be made."""
    for name in stops_left_out:
        trip = without_stop(trip, name)
    for text in legs:
        number, _, cell = text.strip().partition(" ")
        column, sign, value = cell.partition("=")
        if not number.isascii() or not number.isdigit() or not sign:
            raise BadInput([command_problem("A07", text or "nothing", LEG_ACCEPTED)])
        trip = with_leg(trip, int(number), column.strip(), value.strip())
    return departing(trip, _day(depart)) if depart is not None else trip


def _day(text: str) -> date:
    try:
        found: date = day(text)
    except ValueError:
        raise BadInput([command_problem("A01", text, DAY_ACCEPTED)]) from None
    return found


def _with(inputs: Inputs, trip: Trip) -> Inputs:
    return replace(inputs, trip=trip)


def _table(rows: Sequence[tuple[str, str, str]]) -> str:
    head = ("", "as it is", "changed")
    widths = [max(len(row[n]) for row in (head, *rows)) for n in range(3)]
    return "\n".join(f"{what:<{widths[0]}}  {was:>{widths[1]}}  {now:>{widths[2]}}" for what, was, now in (head, *rows))
