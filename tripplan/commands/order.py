"""`tripplan order`: what is ordered goes into `shelf.csv` with the day it comes, so that the plans after that count on it."""

from collections.abc import Iterator, Sequence
from contextlib import nullcontext
from datetime import date
from pathlib import Path
from textwrap import wrap

from msgspec import Struct

from tripplan.commands.status import MADE, command_problem, day_of, refuse_idle, refused, tells_refusals
from tripplan.commands.terminal import say, say_document
from tripplan.explain.orders import left_of
from tripplan.files.append import changed_table
from tripplan.files.held import folder_held
from tripplan.files.kit_files import SHELF
from tripplan.files.plan_folder import read_to_plan, unproven_plan
from tripplan.files.whole_files import put
from tripplan.records.grouped import grouped
from tripplan.records.plain_words import day_and_year
from tripplan.records.plan import Plan
from tripplan.records.problem_codes import nearest
from tripplan.records.problems import BadInput
from tripplan.sheets.materials import amount
from tripplan.sheets.words import use_text

WIDTH, MOST_JOBS = 80, 2
COLUMNS = ("what", "quantity", "unit_of_measure", "arrives")


class Part(Struct, frozen=True, kw_only=True):
    """Something that a plan has to order: how much of it in all, for which jobs, and by when at the latest."""

    what: str
    quantity: float
    unit_of_measure: str
    order_by: date
    jobs: tuple[str, ...]


@tells_refusals
def order(
    folder: Path, names: Sequence[str], everything: bool, arrives: str | None, today: str | None, as_json: bool
) -> int:
    """List what the plan has to order; or write that some or all of it is ordered, and arrives on a day."""
    refuse_idle("--all", {"PART": everything and names})
    if arrives is not None and not (names or everything):
        raise refused("A06", "--arrives without a part", "the parts by their names, or --all")
    with folder_held(folder) if names or everything else nullcontext():
        still_open = to_order(unproven_plan(*read_to_plan(folder, day_of(today))))
        chosen = still_open if everything else _chosen(names, still_open)
        if chosen and arrives is None:
            raise refused("A06", "no --arrives", "--arrives and the day on which it comes")
        rows = [_row(part, day_of(arrives)) for part in chosen]
        if rows:
            put(folder / SHELF, changed_table(folder / SHELF, rows, columns=COLUMNS).content)
    left = [part for part in still_open if part not in chosen]
    if as_json:
        open_rows = [
            {**_row(part, None), "order_by": part.order_by.isoformat(), "jobs": list(part.jobs)} for part in left
        ]
        say_document({"ordered": rows, "to_order": open_rows, "problems": []})
    else:
        say("\n".join([*_told(chosen, arrives), *_listed(left)] or ["Nothing is to be ordered."]))
    return MADE


def to_order(plan: Plan) -> list[Part]:
    """What a plan has to order that is neither there nor on its way, each thing once, the most pressing first."""
    found: dict[str, Part] = {}
    for need in (*plan.shopping, *plan.carry):
        if need.order_by is not None and left_of(need) > 0:
            old = found.get(need.what)
            jobs = (*(old.jobs if old else ()), *map(use_text, need.uses))
            found[need.what] = Part(
                what=need.name, quantity=left_of(need) + (old.quantity if old else 0.0),
                unit_of_measure=need.unit_of_measure, jobs=tuple(dict.fromkeys(jobs)),
                order_by=min(need.order_by, old.order_by) if old else need.order_by,
            )  # fmt: skip
    return sorted(found.values(), key=lambda part: (part.order_by, part.what))


def _chosen(names: Sequence[str], still_open: Sequence[Part]) -> list[Part]:
    """The parts of those names, in any case, each once. Raises BadInput A02 for each that is not to be ordered."""
    known = {part.what.casefold(): part for part in still_open}
    strange = [name for name in names if name.strip().casefold() not in known]
    if strange:
        accepted = (
            nearest(strange[0], [part.what for part in still_open], 6) or "nothing: the plan has nothing to order"
        )
        raise BadInput(
            [command_problem("A02", name, f"a part that the plan has to order: {accepted}") for name in strange]
        )
    return list({part.what: part for part in (known[name.strip().casefold()] for name in names)}.values())


def _row(part: Part, arrives: date | None) -> dict[str, str]:
    row = {"what": part.what, "quantity": f"{part.quantity:g}", "unit_of_measure": part.unit_of_measure}
    return row if arrives is None else {**row, "arrives": arrives.isoformat()}


def _told(parts: Sequence[Part], arrives: str | None) -> Iterator[str]:
    if parts:
        names = "; ".join(f"{part.what}, {amount(part.quantity, part.unit_of_measure)}" for part in parts)
        day = day_and_year(day_of(arrives))
        yield from wrap(f"Written to {SHELF}, to arrive on {day}: {names}. The next plan counts on it.", WIDTH)


def _listed(parts: Sequence[Part]) -> Iterator[str]:
    """The parts by the day for their order, each with the first of its jobs."""
    for day, several in grouped((part.order_by, part) for part in parts).items():
        yield f"To order by {day_and_year(day)}:"
        for part in several:
            more = f"; and {len(part.jobs) - MOST_JOBS} more" if len(part.jobs) > MOST_JOBS else ""
            text = (
                f"{part.what}, {amount(part.quantity, part.unit_of_measure)}: {'; '.join(part.jobs[:MOST_JOBS])}{more}"
            )
            yield from wrap(text, WIDTH, initial_indent="  ", subsequent_indent="    ")
