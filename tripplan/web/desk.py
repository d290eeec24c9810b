"""The trip folder as the page sees it: read when it changed, planned at once by rule, then solved."""

import json
import threading
from collections.abc import Callable, Iterable, Mapping
from contextlib import redirect_stdout
from dataclasses import dataclass, field, replace
from datetime import date
from io import StringIO
from pathlib import Path
from typing import Any

from tripplan.catalogue import Catalogue
from tripplan.edges.commands import STOPPED
from tripplan.edges.folder import HISTORY_FILES, Inputs
from tripplan.edges.plan_json import plan_dict
from tripplan.edges.planning import plan_of, read
from tripplan.edges.replan import Moved, moved, moved_rows
from tripplan.greedy import place_greedily
from tripplan.plan import Plan
from tripplan.problems import BadInput, Problem, stops
from tripplan.web import saving
from tripplan.web.memory import Memory, read_memory, write_memory
from tripplan.web.solving import Solver, solve

SOLVED, PLAIN, FAILED = "solved", "plain", "failed"
MOST_SAID = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """The folder at one version: what was read, and the plan shown. `answer` says which plan that is."""

    version: str
    today: date
    inputs: Inputs | None
    catalogue: Catalogue
    problems: tuple[Problem, ...]
    quick: Plan | None
    plan: Plan | None
    answer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What the page has to say after something was written, and whether it can be taken back."""

    text: str
    changes: Mapping[str, Any] = field(default_factory=dict)
    undo: int | None = None


class Desk:
    """One folder, one lock for writing, one plan at a time."""

    def __init__(self, folder: Path, today: date | None = None, background: bool = True) -> None:
        self.folder, self.fixed_today, self.background = folder, today, background
        self.lock, self._reading = threading.RLock(), threading.RLock()
        self._seen: Seen | None = None
        self._solver = Solver()
        self.said: dict[int, Said] = {}
        self.undos: dict[int, saving.Undo] = {}
        self._count = 0

    @property
    def today(self) -> date:
        """The day the plan is seen from: as started, as kept in the folder, else this machine's."""
        return self.fixed_today or read_memory(self.folder).seen_from or date.today()

    @property
    def is_new(self) -> bool:
        """True when there is no trip folder yet."""
        return not any((self.folder / name).exists() for name in ("rig.toml", "trip.toml", "legs.csv"))

    def see(self) -> Seen:
        """The folder as it is now; read and planned again only when it changed."""
        with self._reading:
            version, today = saving.folder_version(self.folder), self.today
            if self._seen is None or (self._seen.version, self._seen.today) != (version, today):
                self._seen = self._look(version, today)
            return self._seen

    def _look(self, version: str, today: date) -> Seen:
        inputs, catalogue, problems = read(self.folder, today)
        seen = Seen(
            version=version, today=today, inputs=inputs, catalogue=catalogue, problems=problems,
            quick=None, plan=None, answer=PLAIN,
        )  # fmt: skip
        if inputs is None or stops(problems):
            self._solver.stop()
            return seen
        quick = plan_of(inputs, catalogue, today, problems, place_greedily)
        if not self.background:
            return replace(seen, quick=quick, plan=solve((inputs, catalogue, today, problems)), answer=SOLVED)
        self._solver.ask((inputs, catalogue, today, problems), lambda plan: self._solved(version, today, plan))
        return replace(seen, quick=quick, plan=quick)

    def _solved(self, version: str, today: date, plan: Plan | None) -> None:
        with self._reading:
            seen = self._seen
            if seen is None or (seen.version, seen.today) != (version, today):
                return
            self._seen = replace(seen, plan=plan or seen.quick, answer=SOLVED if plan else FAILED)

    def stop(self) -> None:
        """End a solve that is under way."""
        self._solver.stop()

    def remember(self, change: Callable[[Memory], Memory]) -> None:
        """Change what the page keeps for itself, at once and whole."""
        with self.lock:
            self.folder.mkdir(parents=True, exist_ok=True)
            write_memory(self.folder, change(read_memory(self.folder)))

    def save(self, changes: saving.Changes, label: str) -> int:
        """Write changed files after trying them; the number under which the page tells what moved.

        Raises BadInput, with nothing written, when they would stop the plan.
        """
        with self.lock:
            seen = self.see()
            saving.refuse_worse(self.folder, changes, self.today, seen.problems)
            undo = saving.write(self.folder, changes, label)
            return self._tell(f"{label}: saved.", self._moved(seen.quick), undo)

    def record(self, command: Callable[[], int], label: str) -> tuple[int, Mapping[str, Any]]:
        """Run a command of the command line that writes a row, and take its --json answer.

        The row goes in only if the command takes it; what it refuses is raised as BadInput.
        """
        with self.lock:
            names = (*HISTORY_FILES, "crossings.csv")
            before = {name: saving.content(self.folder / name) for name in names}
            status, document = captured(command)
            if status == STOPPED:
                raise BadInput(problems_of(document["problems"]))
            now = {name: saving.content(self.folder / name) for name in names}
            own = {name: old for name, old in before.items() if old != now[name]}
            undo = saving.Undo(label=label, before=own, after=saving.version(self.folder, tuple(sorted(own))))
            return self._tell(f"{label}: saved.", document["changes"], undo), document

    def take_back(self, number: int) -> int:
        """Undo one save, if nothing was written over it since."""
        with self.lock:
            undo = self.undos.get(number)
            if undo is None or not saving.may_undo(self.folder, undo):
                return self._tell("That can no longer be taken back: the files were changed since.", {}, None)
            old = self.see().quick
            saving.put_back(self.folder, undo.before)
            del self.undos[number]
            return self._tell(f"{undo.label}: taken back.", self._moved(old), None)

    def _moved(self, old: Plan | None) -> Mapping[str, Any]:
        new = self.see().quick
        change = moved(plan_dict(old), new, "the plan before") if old and new else Moved(against="")
        return moved_rows(change)

    def _tell(self, text: str, changes: Mapping[str, Any], undo: saving.Undo | None) -> int:
        self._count += 1
        if undo is not None:
            self.undos[self._count] = undo
        self.said[self._count] = Said(text=text, changes=changes, undo=self._count if undo else None)
        for old in [number for number in self.said if number <= self._count - MOST_SAID]:
            self.said.pop(old)
            self.undos.pop(old, None)
        return self._count


_PRINTING = threading.Lock()


def captured(command: Callable[[], int]) -> tuple[int, dict[str, Any]]:
    """The status and the JSON that a command prints; one at a time, for they share one output."""
    with _PRINTING, redirect_stdout(StringIO()) as out:
        status = command()
    document: dict[str, Any] = json.loads(out.getvalue())
    return status, document


def problems_of(rows: Iterable[Mapping[str, Any]]) -> tuple[Problem, ...]:
    """Problems from their JSON form."""
    return tuple(Problem(**row) for row in rows)
