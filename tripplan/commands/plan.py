"""`tripplan plan`: read a folder, write every output, say what moved; or ask what if.

Heavy packages are imported where they are used, so that a refusal is told fast.
"""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from tripplan.commands.status import MADE, MADE_WITH_WARNINGS, day_of, refused, tells_refusals
from tripplan.commands.terminal import PLAIN, STRONG, say, say_json
from tripplan.files.held import HELD
from tripplan.records.problems import STOPS, BadInput, Problem

MOST_TRIES = 5


@tells_refusals
def plan(
    folder: Path, out: Path | None, today: str | None, as_json: bool, depart: str | None = None,
    legs: Sequence[str] = (), stops_left_out: Sequence[str] = (),
) -> int:  # fmt: skip
    """Plan a folder and leave all outputs in `out`; with a change asked for, compare the two plans."""
    if depart is not None or legs or stops_left_out:
        from tripplan.commands.what_if import what_if

        return what_if(folder, out, day_of(today), as_json, depart, legs, stops_left_out)
    if out is None:
        raise refused("A08", "no --out", "--out DIR, the folder the outputs go to")
    return plan_into(folder, out, day_of(today), as_json)


def plan_into(folder: Path, out: Path, today: date, as_json: bool) -> int:
    """Plan a folder and leave all outputs in `out`."""
    from tripplan.commands.beside_plan import beside_plan
    from tripplan.files.days_on_paper import unrecorded
    from tripplan.files.folder_mark import folder_mark
    from tripplan.files.plan_file import issued_plan
    from tripplan.files.plan_folder import plan_of, read_to_plan
    from tripplan.files.recording import outputs_held
    from tripplan.sheets.field_text import paper_question
    from tripplan.sheets.moved_text import moved, moved_text
    from tripplan.sheets.outputs import write_outputs
    from tripplan.sheets.plan_json import plan_json
    from tripplan.sheets.summary_text import terminal_summary

    for _ in range(MOST_TRIES):
        mark = folder_mark(folder)
        asked = read_to_plan(folder, today)
        made = plan_of(*asked)
        beside = beside_plan(made, asked.inputs, asked.catalogue)
        with outputs_held(out):
            if folder_mark(folder) != mark:
                continue  # somebody wrote meanwhile: outputs of an older state must not follow theirs
            issued = issued_plan(out)
            change = moved(issued, made, f"the plan that was in {out}")
            paths = write_outputs(made, out, **beside)
        if as_json:
            say_json(plan_json(made))
        else:
            paper = paper_question([one.told for one in unrecorded(asked.inputs, issued, today)])
            told = "\n".join([terminal_summary(made, paths, paper), *([moved_text(change)] if change.against else [])])
            head, mark, rest = told.partition("\n")
            say([(head, STRONG), (mark + rest, PLAIN)])
        return MADE_WITH_WARNINGS if asked.problems or made.warnings else MADE
    raise BadInput([_never_still(folder)])


def _never_still(folder: Path) -> Problem:
    return Problem(
        code=HELD, weight=STOPS, file=folder.name or str(folder), found=f"changed {MOST_TRIES} times while it was planned",
        accepted="a folder that nothing else is writing to", hint="no output was written",
    )  # fmt: skip
