"""From a trip folder to its inputs and its plan, the same way for every command and page."""

from collections import deque
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import NamedTuple

from tripplan.due.findings import EvidenceSwitch, ItemLife, may_use, read_lives, revised_catalogue
from tripplan.due.standing import Situation
from tripplan.files.folder import Inputs, load
from tripplan.files.tables import read_records
from tripplan.placing.greedy import place_greedily
from tripplan.placing.optimise import place_optimally, place_unproven
from tripplan.placing.problem import PlacementProblem, Placing
from tripplan.planner import look_around, plan_from
from tripplan.records.catalogue import EVIDENCE_FILE, Catalogue
from tripplan.records.facts_in import HistoryRow, Rig, Trip
from tripplan.records.plan import Plan
from tripplan.records.problem_codes import nearest, problem
from tripplan.records.problems import BadInput, OutOfRange, Problem, in_order, stops
from tripplan.records.shelf import ShelfRow

Place = Callable[[PlacementProblem], Placing]


class Question(NamedTuple):
    """A folder that can be planned: what it holds, seen from which day, and what is worth a look in it."""

    inputs: Inputs
    catalogue: Catalogue
    today: date
    problems: tuple[Problem, ...]


Records = tuple[Rig, Sequence[HistoryRow], Trip, Catalogue, date, Sequence[ShelfRow]]
_LAST_SEEN: deque[tuple[Records, Situation]] = deque(maxlen=2)
_LAST_PLANS: deque[tuple[Question, Place, Plan]] = deque(maxlen=6)


def read(folder: Path, today: date) -> tuple[Inputs | None, Catalogue, tuple[Problem, ...]]:
    """What a folder holds, with the intervals its owner lets findings change, and every problem."""
    inputs, catalogue, problems = load(folder, today)
    if inputs is not None and not stops(problems) and (folder / EVIDENCE_FILE).exists():
        catalogue, more = with_evidence(folder, inputs, catalogue, today)
        problems = in_order((*problems, *more))
    return inputs, catalogue, problems


def read_to_plan(folder: Path, today: date) -> Question:
    """What a folder that can be planned holds, as `plan_of` asks for it. Raises BadInput for any other."""
    inputs, catalogue, problems = read(folder, today)
    if inputs is None or stops(problems):
        raise BadInput(problems)
    return Question(inputs, catalogue, today, problems)


def plan_of(
    inputs: Inputs,
    catalogue: Catalogue,
    today: date,
    problems: Sequence[Problem] = (),
    place: Place = place_optimally,
) -> Plan:
    """The plan of what was read, with what the owner has at hand.

    Equal records give the plan made last time: it is a pure answer. Raises BadInput A26 for
    figures that are accepted one by one and lead out of the range of a model.
    """
    question = Question(inputs, catalogue, today, tuple(problems))
    for asked, by, plan in tuple(_LAST_PLANS):
        if by is place and asked == question:
            return plan
    try:
        plan = plan_from(situation(inputs, catalogue, today), inputs.history, problems, place, inputs.kit)
    except OutOfRange as error:
        raise BadInput([error.as_problem()]) from error
    _LAST_PLANS.append((question, place, plan))
    return plan


def situation(inputs: Inputs, catalogue: Catalogue, today: date) -> Situation:
    """What items are judged against; equal records give the situation seen last time, with all that was judged in it."""
    records = (inputs.rig, inputs.history, inputs.trip, catalogue, today, inputs.kit.shelf)
    for asked, seen in tuple(_LAST_SEEN):
        if asked == records:
            return seen
    seen = look_around(*records)
    _LAST_SEEN.append((records, seen))
    return seen


def unproven_plan(inputs: Inputs, catalogue: Catalogue, today: date, problems: Sequence[Problem] = ()) -> Plan:
    """The same plan without how near it is to the best, which takes a solver's time, for whoever does not tell it."""
    return plan_of(inputs, catalogue, today, problems, place_unproven)


def quick_plan(inputs: Inputs, catalogue: Catalogue, today: date, problems: Sequence[Problem] = ()) -> Plan:
    """The plan by the plain rule."""
    return plan_of(inputs, catalogue, today, problems, place_greedily)


def read_switches(folder: Path, catalogue: Catalogue) -> tuple[tuple[EvidenceSwitch, ...], tuple[Problem, ...]]:
    """The rows of `evidence.csv` of a folder; none when there is no such file."""
    path = folder / EVIDENCE_FILE
    if not path.is_file():
        return (), ()
    rows, problems = read_records(path, EvidenceSwitch, "O")
    known = {item.id: item for item in catalogue.items}
    found: list[Problem] = list(problems)
    seen: dict[str, EvidenceSwitch] = {}
    for row in rows:
        item = known.get(row.item)
        if item is None:
            found.append(problem("O12", row.origin, "item", row.item, nearest(row.item, known, 4)))
        elif row.use and not may_use(item, row):
            accepted = "for an item whose failure harms somebody, the reason beside the yes"
            found.append(problem("O10", row.origin, "reason", "nothing", accepted))
        if seen.setdefault(row.item, row) is not row:
            accepted = f"an item other than that of row {seen[row.item].origin.row}"
            found.append(problem("O11", row.origin, "item", row.item, accepted))
    return rows, tuple(found)


def with_evidence(
    folder: Path, inputs: Inputs, catalogue: Catalogue, today: date
) -> tuple[Catalogue, tuple[Problem, ...]]:
    """The catalogue a plan of this folder uses: revised where `evidence.csv` says yes."""
    switches, problems = read_switches(folder, catalogue)
    if stops(problems) or not any(switch.use for switch in switches):
        return catalogue, problems
    return revised_catalogue(catalogue, lives_of(inputs, catalogue, today), switches), problems


def lives_of(inputs: Inputs, catalogue: Catalogue, today: date) -> tuple[ItemLife, ...]:
    """The lives that the history of these inputs tells of."""
    return read_lives(situation(inputs, catalogue, today))
