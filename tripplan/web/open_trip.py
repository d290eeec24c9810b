"""The trip folder as the page sees it: read when it changed, planned at once by rule, then solved."""

import json
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, redirect_stdout, suppress
from datetime import date, datetime
from io import StringIO
from pathlib import Path
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from tripplan.commands.beside_plan import beside_plan
from tripplan.commands.status import STOPPED
from tripplan.explain.compare import differences
from tripplan.files.field_records.taking import NOTES_FILE
from tripplan.files.folder import HISTORY_FILES
from tripplan.files.held import HELD, folder_held, logbook_held
from tripplan.files.plan_file import place_of
from tripplan.files.plan_folder import Question, plan_of, quick_plan
from tripplan.files.recording import outputs_held
from tripplan.files.way_in import content
from tripplan.records.plan import Plan
from tripplan.records.problems import BadInput, Problem, stops
from tripplan.sheets.moved_text import moved_rows
from tripplan.sheets.outputs import write_outputs
from tripplan.sheets.plan_json import outline
from tripplan.web.pages.drawing import MOST_ROWS, moved_points
from tripplan.web.saves import journal, saving
from tripplan.web.saves.journal import Contents, SaveEntry
from tripplan.web.saves.logbook_folder import Bound
from tripplan.web.saves.memory import Memory, read_memory, write_memory
from tripplan.web.saves.saving import FAILED, SOLVED, Seen
from tripplan.web.solving import Solver

BACK = ", taken back"
MOST_SAID = 40
RECORDED = (*HISTORY_FILES, "crossings.csv", NOTES_FILE)
PATIENCE_S = 20.0


class Said(Struct, frozen=True, kw_only=True):
    """What the page has to say after something was written, and what it moved."""

    text: str
    changes: Mapping[str, Any] = field(default_factory=dict)


class Desk:
    """One folder, one writer at a time among all programs, one plan at a time."""

    def __init__(
        self, folder: Path, today: date | None = None, background: bool = True, bound: Bound | None = None
    ) -> None:
        self.folder, self.fixed_today, self.background, self.bound = folder, today, background, bound
        self.lock, self._reading = threading.RLock(), threading.RLock()
        self._seen: Seen | None = None
        self._tried: Seen | None = None
        self._solver = Solver()
        self.said: dict[int, Said] = {}
        self.asked: dict[int, tuple[str, ...]] = {}
        self.saves = journal.kept(folder)
        self._count = max(self.saves, default=0)
        self._outputs_lag = False
        self.unfinished: tuple[str, ...] = ()
        with self.writing():
            self._finish()

    @property
    def today(self) -> date:
        """The day the plan is seen from: as started, as kept in the folder, else this machine's."""
        return self.fixed_today or read_memory(self.folder).seen_from or date.today()

    @property
    def recorded_from(self) -> str | None:
        """The day a command is told to look from; none where the page's day is only kept, and may move on."""
        return None if self.fixed_today is None and read_memory(self.folder).seen_from else self.today.isoformat()

    @property
    def is_new(self) -> bool:
        """True when there is no trip folder yet."""
        return not any((self.folder / name).exists() for name in ("rig.toml", "trip.toml", "legs.csv"))

    @contextmanager
    def writing(self) -> Iterator[None]:
        """The right to write, held against every other program too, with the folder brought up to its logbook first.

        Raises BadInput K05 when another program does not let go of it.
        """
        with self.lock, ExitStack() as held:
            if self.bound is not None:
                held.enter_context(logbook_held(self.bound.logbook, PATIENCE_S))
            held.enter_context(folder_held(self.folder, PATIENCE_S))
            if self.bound is not None:
                self.bound.lay_out()
            yield

    def _catch_up(self) -> None:
        """Lay the folder out again when its logbook was changed elsewhere; while that is being done, as it was."""
        if self.bound is None or not self.bound.is_behind():
            return
        try:
            with self.lock, logbook_held(self.bound.logbook, 0), folder_held(self.folder, 0):
                self.bound.lay_out()
        except BadInput as error:
            if any(problem.code != HELD for problem in error.problems):
                raise

    def see(self) -> Seen:
        """The folder as it is now; read and planned again only when it changed."""
        self._catch_up()
        with self._reading:
            version, today = saving.folder_version(self.folder), self.today
            if self._seen is None or (self._seen.version, self._seen.today) != (version, today):
                self._seen = self._look(self._reading_at(version, today))
            return self._seen

    def _reading_at(self, version: str, today: date) -> Seen:
        """What was read when a save was tried, where the folder now is exactly that; else it is read now."""
        tried, self._tried = self._tried, None
        if tried is not None and (tried.version, tried.today) == (version, today):
            return tried
        return saving.reading_of(self.folder, today)

    def _look(self, read: Seen) -> Seen:
        if read.inputs is None or stops(read.problems):
            self._solver.stop()
            return read
        question = Question(read.inputs, read.catalogue, read.today, read.problems)
        quick = quick_plan(*question)
        if not self.background:
            seen = replace(read, quick=quick, plan=plan_of(*question), answer=SOLVED)
            self._refresh(seen)
            return seen
        self._solver.ask(question, lambda plan: self._solved(read.version, read.today, plan))
        return replace(read, quick=quick, plan=quick)

    def _solved(self, version: str, today: date, plan: Plan | None) -> None:
        with self._reading:
            seen = self._seen
            if seen is None or (seen.version, seen.today) != (version, today):
                return
            self._seen = solved = replace(seen, plan=plan or seen.quick, answer=SOLVED if plan else FAILED)
        self._refresh(solved)

    def _refresh(self, seen: Seen) -> None:
        """Bring the outputs up to date once the plan behind a record is solved, where any are kept."""
        if not self._outputs_lag or seen.inputs is None or seen.plan is None or seen.answer != SOLVED:
            return
        out = place_of(self.folder)
        if out is None:
            self._outputs_lag = False
            return
        beside = beside_plan(seen.plan, seen.inputs, seen.catalogue)
        with suppress(BadInput, OSError), outputs_held(out):
            if saving.folder_version(self.folder) == seen.version:  # never after those of a newer state
                write_outputs(seen.plan, out, **beside)
                self._outputs_lag = False

    def stop(self) -> None:
        """End a solve that is under way."""
        self._solver.stop()

    def remember(self, change: Callable[[Memory], Memory]) -> None:
        """Change what the page keeps for itself, at once and whole."""
        with self.writing():
            old = read_memory(self.folder)
            new = change(old)
            if new != old:
                self.folder.mkdir(parents=True, exist_ok=True)
                write_memory(self.folder, new)

    def save(self, changes: saving.Changes, label: str, fresh: saving.Rows = saving.NO_ROWS) -> int:
        """Write changed files after trying them; the number under which the page tells what moved.

        Raises BadInput, with nothing written, when they would stop the plan, or when something
        is worth a look about the `fresh` rows, which are still at hand.
        """
        with self.writing():
            old = self.see()
            self._tried = saving.refuse_worse(self.folder, changes, self.today, old.problems, fresh)
            return self._written(self._entry(label, saving.contents(self.folder, changes), changes), old.quick)

    def record(self, command: Callable[[], int], label: str, slot: str = "") -> tuple[int, Mapping[str, Any]]:
        """Run a command of the command line that writes a row, and take its --json answer.

        The row goes in only if the command takes it; what it refuses is raised as BadInput.
        With `slot` the ticks of that slot go out of the page's memory in the same stroke.
        """
        with self.writing():
            memory, old = read_memory(self.folder), self.see().quick
            entry = replace(
                self._entry(label, saving.contents(self.folder, RECORDED)),
                slot=slot, ticks=memory.ticks(slot), seen_from=str(memory.seen_from or ""),
            )  # fmt: skip
            journal.keep(self.folder, entry)
            status, document = captured(command)
            if status == STOPPED:
                journal.forget(self.folder, entry)
                raise BadInput(problems_of(document["problems"]))
            own = {name: old for name, old in entry.before.items() if old != content(self.folder / name)}
            self._outputs_lag = True
            done = self._taken(saving.done(self.folder, replace(entry, before=own, changes=document["changes"])))
            day = date.fromisoformat(document["today"])
            journal.keep(self.folder, done)
            self.remember(lambda memory: (memory.without_day(slot) if slot else memory).forward_to(day))
            new = self.see().quick
            points = self._changes(old, new)["points"] if old and new else []
            self._settle(journal.keep(self.folder, replace(done, changes={**done.changes, "points": points})))
            return entry.number, document

    def take_back(self, number: int) -> int:
        """Undo one save, if nothing was written over it since; the undoing can itself be undone."""
        with self.writing():
            undo = self.saves.get(number)
            if undo is None or not saving.may_undo(self.folder, undo):
                return self._say(Said(text="That can no longer be taken back: the files were changed since."))
            old, label = self.see().quick, _opposite(undo.label)
            entry = self._entry(label, saving.contents(self.folder, undo.before), undo.before)
            self._outputs_lag = self._outputs_lag or not undo.before.keys().isdisjoint(RECORDED)
            told = self._written(replace(entry, slot=undo.slot), old)
            self._settle(journal.keep(self.folder, replace(undo, is_taken_back=True)))
            self.remember(lambda memory: memory.with_back(undo.slot, undo.ticks, undo.seen_from))
            return told

    def told(self, number: int) -> Said | None:
        """What there is to say under a number; a save is still told after the page was started again."""
        entry = self.saves.get(number)
        if entry is not None:
            return Said(text=f"{entry.label}: saved." if not entry.label.endswith(BACK) else f"{entry.label}.",
                        changes=entry.changes)  # fmt: skip
        return self.said.get(number)

    def open_saves(self) -> tuple[tuple[SaveEntry, bool], ...]:
        """The saves still kept, the newest first, each with whether it can be taken back."""
        return tuple(
            (entry, saving.may_undo(self.folder, entry)) for _, entry in sorted(self.saves.items(), reverse=True)
        )

    def _entry(self, label: str, before: Contents, wanted: Contents | None = None) -> SaveEntry:
        self._count += 1
        at = datetime.now().astimezone().isoformat(timespec="minutes")
        return SaveEntry(number=self._count, label=label, at=at, before=before, wanted=wanted or {})

    def _written(self, entry: SaveEntry, old: Plan | None) -> int:
        """The number of a save that is on the disk, with what it moved beside it."""
        done = self._taken(saving.write(self.folder, entry))
        new = self.see().quick
        changes = self._changes(old, new) if old and new else {}
        self._settle(journal.keep(self.folder, replace(done, changes=changes)))
        return entry.number

    def _changes(self, old: Plan, new: Plan) -> dict[str, Any]:
        """What moved, in words, and as points on the trip line."""
        was, now = outline(old), outline(new)
        rows = moved_rows(differences(was, now, "the plan before"))
        return {**rows, "points": moved_points(was, now)[:MOST_ROWS]}

    def _taken(self, done: SaveEntry) -> SaveEntry:
        """The save once it is in the logbook too, where the folder is one's."""
        if self.bound is None:
            return done
        self.bound.take(done, self.today)
        return saving.done(self.folder, done)

    def _settle(self, entry: SaveEntry) -> None:
        self.saves[entry.number] = entry
        for old in sorted(self.saves)[: -journal.MOST_KEPT]:
            del self.saves[old]

    def _finish(self) -> None:
        """Finish what was being saved when the page was last stopped; what cannot be finished is set aside and told."""
        for entry in [entry for entry in self.saves.values() if not entry.after]:
            del self.saves[entry.number]
            try:
                self._finish_one(entry)
            except (BadInput, OSError) as why:
                self.unfinished = (*self.unfinished, self._set_aside(entry, why))

    def _finish_one(self, entry: SaveEntry) -> None:
        done = saving.finish(self.folder, entry)
        if done is None:
            return
        self.saves[entry.number] = journal.keep(self.folder, self._taken(done))
        if done.slot and done.ticks:
            self.remember(lambda memory: memory.without_day(done.slot))

    def _set_aside(self, entry: SaveEntry, why: BadInput | OSError) -> str:
        """What there is to say about a save that cannot be finished, once it is out of the way."""
        is_back = saving.is_as_before(self.folder, entry)
        place = journal.set_aside(self.folder, entry).relative_to(self.folder).as_posix()
        told = why.problems if isinstance(why, BadInput) else ()
        reason = "; ".join(f"{one.file}: {one.found}" for one in told) or getattr(why, "strerror", None) or str(why)
        left = "The files are as they were before it" if is_back else "Look at these files, which may hold a part of it"
        return (
            f"A save was cut short and cannot be finished: {entry.label}, {entry.at[:16].replace('T', ', ')}. "
            f"{left}: {', '.join(entry.files)}. It is set aside as {place}. The reason: {reason}."
        )

    def _say(self, said: Said) -> int:
        self._count += 1
        self.said[self._count] = said
        for old in sorted(self.said)[:-MOST_SAID]:
            del self.said[old]
        return self._count


def _opposite(label: str) -> str:
    return label.removesuffix(BACK) if label.endswith(BACK) else label + BACK


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
