"""Whether plans of a folder lean on what its owner found: the rows of `evidence.csv`."""

from datetime import date
from pathlib import Path

from tripplan.due.findings import EvidenceSwitch, ItemLife, may_use, read_lives, revised_catalogue
from tripplan.files.folder import Inputs
from tripplan.files.tables import read_records
from tripplan.planner import look_around
from tripplan.records.catalogue import EVIDENCE_FILE, Catalogue
from tripplan.records.problem_codes import nearest, problem
from tripplan.records.problems import Problem, stops


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
    return read_lives(look_around(inputs.rig, inputs.history, inputs.trip, catalogue, today))
