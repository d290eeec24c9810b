"""Putting a dated row into the trip folder: read as it would be, checked, and only then written."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from msgspec.structs import replace

from tripplan.files.append import NewTable
from tripplan.files.folder import Inputs
from tripplan.files.held import folder_held
from tripplan.files.plan_folder import Question, read
from tripplan.files.tables import SomeRecord, records_in
from tripplan.files.whole_files import may_not_write
from tripplan.records.facts_in import as_day
from tripplan.records.problem_codes import MAY_BE_SO
from tripplan.records.problems import STOPS, BadInput, Problem, stops


def look_before(folder: Path, done_on: date, today: date | None) -> Question:
    """The folder before a row is put in, as seen from `today`; when not given, from the latest day on record.

    That is the day of the new row, or the day of a later one that is in the folder already.
    Raises BadInput when the folder cannot give a plan as it is.
    """
    inputs, catalogue, problems = read(folder, today or done_on)
    if inputs is not None and today is None and (latest := _latest(inputs)) > done_on:
        return look_before(folder, done_on, latest)
    if inputs is None or stops(problems):
        raise BadInput(problems)
    return Question(inputs, catalogue, today or done_on, problems)


def _latest(inputs: Inputs) -> date:
    crossed = [as_day(row.crossed) for row in inputs.trip.crossings if row.crossed]
    return max([*(row.date for row in inputs.history), *crossed], default=date.min)


def read_back(new: NewTable, name: str, record: type[SomeRecord], letter: str) -> tuple[SomeRecord, ...]:
    """The records that the new content gives; raises BadInput with every problem of it."""
    records, problems = records_in(new.content, name, record, letter)
    if stops(problems):
        raise BadInput(problems)
    return records


def refuse(problems: Sequence[Problem], file: str, rows: Sequence[int]) -> None:
    """Raise BadInput when something stops the plan, or speaks against a row being put in.

    What is only worth a look elsewhere stops nothing; about a row just typed it is asked
    to be put right, since it is still at hand; what may well be true is put in, and told with the plan.
    """
    own = [as_stop(p) for p in problems if p.file == file and p.row in rows and p.code not in MAY_BE_SO]
    others = [p for p in problems if p.weight == STOPS and not (p.file == file and p.row in rows)]
    if own or others:
        raise BadInput([*own, *others])


def as_stop(problem: Problem) -> Problem:
    """The problem as one that stops, for it is about something just typed."""
    return replace(problem, weight=STOPS)


@contextmanager
def outputs_held(out: Path) -> Iterator[None]:
    """The right to bring a folder of outputs up to date; it is made when it is not there."""
    with may_not_write(str(out), "a folder that can be read and written, or a name not yet taken"):
        out.mkdir(parents=True, exist_ok=True)
    with folder_held(out):
        yield
