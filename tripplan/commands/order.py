"""`tripplan order`: what is ordered goes into `shelf.csv` with the day it comes, so that the plans after that count on it."""

from collections.abc import Sequence
from contextlib import nullcontext
from pathlib import Path

from tripplan.commands.status import MADE, command_problem, day_of, refuse_idle, refused, tells_refusals
from tripplan.commands.terminal import say, say_document
from tripplan.explain.orders import Part, to_order
from tripplan.files.append import changed_table
from tripplan.files.held import folder_held
from tripplan.files.kit_files import SHELF
from tripplan.files.plan_folder import read_to_plan, unproven_plan
from tripplan.files.whole_files import put
from tripplan.records.problem_codes import nearest
from tripplan.records.problems import BadInput
from tripplan.sheets.order_text import order_text
from tripplan.sheets.words import use_text


@tells_refusals
def order(
    folder: Path, names: Sequence[str], everything: bool, arrives: str | None, today: str | None, as_json: bool
) -> int:
    """List what the plan has to order; or write that some or all of it is ordered, and arrives on a day."""
    if everything:
        refuse_idle("--all", {"PART": names})
    if arrives is not None and not (names or everything):
        raise refused("A06", "--arrives without a part", "the parts by their names, or --all")
    comes = None if arrives is None else day_of(arrives)
    with folder_held(folder) if names or everything else nullcontext():
        plan = unproven_plan(*read_to_plan(folder, day_of(today)))
        still_open = to_order((*plan.shopping, *plan.carry))
        chosen = still_open if everything else _chosen(names, still_open)
        if chosen and comes is None:
            raise refused("A06", "no --arrives", "--arrives and the day on which it comes")
        rows = [{**_row(part), "arrives": str(comes)} for part in chosen]
        if rows:
            put(folder / SHELF, changed_table(folder / SHELF, rows).content)
    left = [part for part in still_open if part not in chosen]
    if as_json:
        say_document({"ordered": rows, "to_order": list(map(_open_row, left)), "problems": []})
    else:
        say(order_text(chosen, comes, left))
    return MADE


def _chosen(names: Sequence[str], still_open: Sequence[Part]) -> list[Part]:
    """The parts of those names, in any case, each once. Raises BadInput A02 for each that is not to be ordered."""
    known = {part.what.casefold(): part for part in still_open}
    wanted = dict.fromkeys(name.strip().casefold() for name in names)
    strange = [name for name in names if name.strip().casefold() not in known]
    if strange:
        raise BadInput([command_problem("A02", name, _accepted(name, still_open)) for name in strange])
    return [known[name] for name in wanted]


def _accepted(name: str, still_open: Sequence[Part]) -> str:
    if not still_open:
        return "nothing: the plan has nothing to order"
    return f"a part that the plan has to order: {nearest(name, [part.what for part in still_open], 6)}"


def _row(part: Part) -> dict[str, str]:
    return {"what": part.what, "quantity": f"{part.quantity:g}", "unit_of_measure": part.unit_of_measure}


def _open_row(part: Part) -> dict[str, object]:
    return {**_row(part), "order_by": part.order_by.isoformat(), "jobs": list(map(use_text, part.uses))}
