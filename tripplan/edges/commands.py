"""What each command does: read, call the core, write, and return the exit status.

Heavy packages are imported where they are used, so that `check` and `why` start fast.
"""

import json as json_text
import sys
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

from tripplan.cells import DAY_ACCEPTED, day
from tripplan.edges.demos import DEMOS, copy_demo
from tripplan.problems import STOPS, BadInput, Problem, shortened, stops
from tripplan.records import HistoryRow

MADE, MADE_WITH_WARNINGS, STOPPED = 0, 1, 2


def plan(
    folder: Path, out: Path | None, today: str | None, as_json: bool, depart: str | None = None,
    legs: Sequence[str] = (), stops_left_out: Sequence[str] = (),
) -> int:  # fmt: skip
    """Plan a folder and leave all outputs in `out`; with a change asked for, compare the two plans."""

    def run() -> int:
        if depart is not None or legs or stops_left_out:
            from tripplan.edges.what_if_command import what_if

            return what_if(folder, out, day_of(today), as_json, depart, legs, stops_left_out)
        if out is None:
            raise BadInput([command_problem("A08", "no --out", "--out DIR, the folder the outputs go to")])
        return _plan(folder, out, day_of(today), as_json)

    return guarded(run, as_json)


def check(folder: Path, today: str | None, as_json: bool, made: Path | None = None) -> int:
    """Report every problem of a folder; the status is the one `plan` would give.

    With `made`, a plan.json, hold that against the folder and every rule of placement first.
    """
    return guarded(lambda: _check(folder, day_of(today), as_json, made), as_json)


def why(folder: Path, item: str, today: str | None, as_json: bool) -> int:
    """Print the rows behind one item's verdict."""
    return guarded(lambda: _why(folder, item, day_of(today), as_json), as_json)


def review(folder: Path, today: str | None, as_json: bool) -> int:
    """List what findings say about intervals, and the rates that readings tell."""
    from tripplan.edges import review_command

    return guarded(lambda: review_command.review(folder, day_of(today), as_json), as_json)


def import_table(
    file: Path, into: Path, mapping: Path | None, yes: bool, today: str | None, as_json: bool
) -> int:
    """Import an old spreadsheet into a trip folder or logbook; columns are confirmed first."""
    from tripplan.edges.import_command import import_file
    from tripplan.edges.sources import in_folder

    confirm = None if yes or as_json or not sys.stdin.isatty() else _ask
    beside = into.parent if into.is_file() else into

    def run(folder: Path) -> int:
        return import_file(file, folder, mapping, yes, as_json, day_of(today), confirm, beside)

    return in_folder(into, as_json, lambda folder: guarded(lambda: run(folder), as_json), keep=True)


def logbook(
    what: str, file: Path, folder: Path | None, number: int | None, because: str, as_json: bool
) -> int:
    """Take a folder into a logbook, write it out, list its history, or strike an entry out."""
    return guarded(lambda: _logbook(what, file, folder, number, because, as_json), as_json)


def _logbook(
    what: str, file: Path, folder: Path | None, number: int | None, because: str, as_json: bool
) -> int:
    from dataclasses import asdict

    from tripplan.edges.logbook import correct, history_entries, take_in, write_out

    told: dict[str, object]
    if what == "take-in" and folder:
        told = asdict(take_in(file, folder, date.today()))
    elif what == "write-out" and folder:
        told = {"written": [str(path) for path in write_out(file, folder)]}
    elif what == "entries":
        told = {str(entry.number): _entry_words(row) for entry, row in history_entries(file)}
    elif what == "undo" and number is not None and because:
        told = {"struck out": number, "by entry": correct(file, number, None, because)}
    else:
        accepted = "take-in FILE FOLDER, write-out FILE FOLDER, entries FILE, or undo FILE --number N --because WHY"
        raise BadInput([command_problem("A09", what, accepted)])
    text = json_text.dumps(told, indent=2, ensure_ascii=False)
    print(text if as_json else "\n".join(f"{name.replace('_', ' ')}: {_plainly(value)}" for name, value in told.items()))
    return MADE


def _plainly(value: object) -> str:
    """A value of a report as a person reads it, without brackets."""
    if isinstance(value, dict):
        return ", ".join(f"{name} {number}" for name, number in value.items()) or "none"
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def _entry_words(row: HistoryRow) -> str:
    at = "" if row.odometer_km is None else f"{row.odometer_km:g} km"
    parts = (f"row {row.origin.row}", str(row.date), row.unit, at, row.act, row.item, row.position, row.finding, row.note)
    return " | ".join(part for part in parts if part)


def route(
    what: str, folder: Path, track: Path | None, by: str, km_a_day: float | None, write: bool,
    out: Path | None, today: str | None, as_json: bool, items: Sequence[str] = (),
) -> int:  # fmt: skip
    """Legs from a track, or a plan's places as waypoints."""
    from tripplan.edges import route_command

    def refuse(found: str, accepted: str) -> int:
        return tell([command_problem("A09", found, accepted)], as_json)

    if what == "add":
        return route_command.add(folder, track, by, km_a_day, write, as_json) if track else refuse("no track", "FILE")
    if what == "export":
        return route_command.export(folder, out, today, as_json, items) if out else refuse("no --out", "--out DIR")
    return refuse(what, "add or export")


def _ask(shown: str) -> bool:
    print(shown)
    return input("Are these columns right? yes or no: ").strip().lower() in ("y", "yes")


def numbers(what: str, as_json: bool) -> int:
    """Print the tables, one table, or the numbers behind one item."""
    return guarded(lambda: _numbers(what, as_json), as_json)


def demo(name: str, out: Path | None, as_json: bool) -> int:
    """Write a demo folder and plan it; without a name, list the demos."""
    return guarded(lambda: _demo(name, out, as_json), as_json)


def _plan(folder: Path, out: Path, today: date, as_json: bool) -> int:
    from tripplan.cards import crossing_cards
    from tripplan.edges.outputs import write_outputs
    from tripplan.edges.plan_json import plan_json
    from tripplan.edges.planning import plan_of, read
    from tripplan.edges.replan import issued_plan, moved, moved_text
    from tripplan.edges.route_places import places_of
    from tripplan.edges.summary_text import terminal_summary

    inputs, catalogue, problems = read(folder, today)
    if inputs is None or stops(problems):
        return tell(problems, as_json)
    made = plan_of(inputs, catalogue, today, problems)
    change = moved(issued_plan(out), made, f"the plan that was in {out}")
    cards = crossing_cards(inputs.rig, inputs.history, inputs.trip, catalogue, today)
    paths = write_outputs(made, out, cards=cards, places=places_of(made, inputs.trip, inputs.lines))
    print(plan_json(made) if as_json else terminal_summary(made, paths))
    if change.against and not as_json:
        print(moved_text(change))
    return MADE_WITH_WARNINGS if problems or made.warnings else MADE


def _check(folder: Path, today: date, as_json: bool, made: Path | None) -> int:
    from tripplan.edges.planning import plan_of, read

    inputs, catalogue, problems = read(folder, today)
    if inputs is None or stops(problems):
        return tell(problems, as_json)
    if made is not None:
        from tripplan.edges.verify_plan import verify_file

        broken = verify_file(made, inputs, catalogue)
        if broken:
            return tell(broken, as_json)
    warnings = plan_of(inputs, catalogue, today, problems).warnings
    tell(problems, as_json, warnings)
    return MADE_WITH_WARNINGS if problems or warnings else MADE


def _why(folder: Path, item_text: str, today: date, as_json: bool) -> int:
    from tripplan.checks import resolve_item
    from tripplan.codes import nearest
    from tripplan.edges.planning import plan_of, read
    from tripplan.edges.why_text import why_json, why_text

    inputs, catalogue, problems = read(folder, today)
    if inputs is None or stops(problems):
        return tell(problems, as_json)
    item = resolve_item(catalogue, item_text)
    if item is None:
        accepted = nearest(item_text, [known.id for known in catalogue.items])
        return tell([command_problem("A02", item_text, f"an item id: {accepted}")], as_json)
    made = plan_of(inputs, catalogue, today, problems)
    print(why_json(made, item, inputs, catalogue) if as_json else why_text(made, item, inputs, catalogue))
    return MADE


def _numbers(what: str, as_json: bool) -> int:
    from tripplan.codes import nearest
    from tripplan.edges.data_tables import read_catalogue
    from tripplan.edges.numbers_text import numbers_rows, numbers_text

    catalogue, _ = read_catalogue()
    rows = numbers_rows(catalogue, what)
    if rows is None:
        known = [item.id for item in catalogue.items]
        return tell([command_problem("A02", what, f"an item id or a table: {nearest(what, known)}")], as_json)
    print(json_text.dumps(rows, indent=2, ensure_ascii=False) if as_json else numbers_text(catalogue, what))
    return MADE


def _demo(name: str, out: Path | None, as_json: bool) -> int:
    if name not in DEMOS:
        listed = ", ".join(DEMOS)
        if name:
            return tell([command_problem("A03", name, f"one of {listed}")], as_json)
        print(f"Demos: {listed}. Run: tripplan demo NAME")
        return MADE
    target = out or Path(f"tripplan-demo-{name}")
    copy_demo(name, target)
    if not as_json:
        print(f"Invented demo folder written to {target}; planned as seen on {DEMOS[name]}.\n")
    return _plan(target, target / "outputs", DEMOS[name], as_json)


def day_of(text: str | None) -> date:
    """The day named on the command line, or this machine's day."""
    if text is None:
        return date.today()
    try:
        found: date = day(text)
    except ValueError:
        raise BadInput([command_problem("A01", text, DAY_ACCEPTED)]) from None
    return found


def guarded(run: Callable[[], int], as_json: bool) -> int:
    """Run a command; a refusal of the input is told as its problems."""
    try:
        return run()
    except BadInput as error:
        return tell(error.problems, as_json)


def command_problem(code: str, found: str, accepted: str, hint: str = "") -> Problem:
    """Something typed on the command line that cannot be used."""
    return Problem(code=code, weight=STOPS, file="command line", found=found, accepted=accepted, hint=hint)


def tell(problems: Sequence[Problem], as_json: bool, warnings: Sequence[str] = ()) -> int:
    """Print problems and warnings; the status says whether they stop the plan."""
    if as_json:
        rows = [problem_row(problem) for problem in problems]
        print(json_text.dumps({"problems": rows, "warnings": list(warnings)}, indent=2, ensure_ascii=False))
    else:
        shown, more = shortened(problems)
        texts = [problem.as_text() for problem in shown] + list(more) + [f"warning: {w}" for w in warnings]
        print("\n\n".join(texts), file=sys.stderr if stops(problems) else sys.stdout)
        if not problems and not warnings:
            print("No problems found.")
    return STOPPED if stops(problems) else MADE


def problem_row(problem: Problem) -> dict[str, object]:
    """A Problem as JSON shows it."""
    return {name: getattr(problem, name) for name in
            ("code", "weight", "file", "row", "column", "found", "accepted", "hint")}  # fmt: skip
