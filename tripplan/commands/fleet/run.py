"""The whole run: what is done already, what is to be done and by whom, and the summary at the end.

Rigs are read here, planned wherever there is a worker, and written here, each whole. Whoever
plans them, the bytes are the same.
"""

import time
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path
from typing import Any

from msgspec import Struct

from tripplan.commands.fleet.one_rig import Asked, Done, Job
from tripplan.commands.fleet.workers import Backend, Chunk, in_processes, in_this_process
from tripplan.commands.status import (
    MADE,
    MADE_WITH_WARNINGS,
    STOPPED,
    day_of,
    refuse_beyond,
    refused,
    tells_refusals,
)
from tripplan.commands.terminal import say, say_json
from tripplan.files.fleet_folders import folder_bytes, own_names, rig_folders
from tripplan.files.fleet_journal import done_row, keep, kept_row, program_versions, run_mark
from tripplan.files.recording import outputs_held
from tripplan.files.way_in import content
from tripplan.files.whole_files import may_not_write
from tripplan.placing.yard import Shed
from tripplan.records.problems import BadInput
from tripplan.sheets.words import duration

LEAST_S = 5.0
NO_RIGS = "Y16"
RIGS = "rigs"
CALENDARS = ("calendar.ics", "calendar_todo.ics", "calendar_register.json")
MOST_IN_A_CHUNK, CHUNKS_A_WORKER, MOST_WORKERS = 16, 2, 256
DEFAULT_DAY_MINUTES = 480


class Wanted(Struct, frozen=True, kw_only=True):
    """What was typed: how many at once and where, how, and what the shed has."""

    workers: int = 1
    scheduler: str | None = None
    is_plain: bool = False
    is_summary_only: bool = False
    bays: int | None = None
    people: int | None = None
    day_minutes: int = DEFAULT_DAY_MINUTES
    benches: int = 1

    @property
    def shed(self) -> Shed | None:
        """The shed, where its bays or its people were told."""
        if self.bays is None and self.people is None:
            return None
        return Shed(self.bays or self.people or 1, self.people or self.bays or 1, self.day_minutes, self.benches)


class _Rig(Struct, frozen=True):
    """One folder of the fleet: its number, its path, its name among all, and where its outputs go."""

    number: int
    path: Path
    name: str
    place: Path


class _Kept:
    """The rows of the rigs as they lie on the disk, read anew each time they are gone through."""

    def __init__(self, rigs: Sequence[_Rig]) -> None:
        self.rigs = rigs

    def __iter__(self) -> Iterator[dict[str, Any]]:
        return (kept_row(rig.place) for rig in self.rigs)


@tells_refusals
def fleet(folders: Sequence[Path], out: Path, today: str | None, as_json: bool, wanted: Wanted) -> int:
    """Plan every rig, those that are done already left as they are; leave the summary in `out`."""
    from tripplan.commands.fleet.together import JSON_FILE, written_summary

    asked = Asked(day_of(today), wanted.is_plain, wanted.is_summary_only, program_versions())
    _refuse(wanted)
    paths = rig_folders(folders)
    if not paths:
        raise refused(NO_RIGS, "no trip folder", "one trip folder or more, or a folder of trip folders")
    rigs = [
        _Rig(n, path, name, out / RIGS / name)
        for n, (path, name) in enumerate(zip(paths, own_names(paths), strict=True))
    ]
    with outputs_held(out):
        _run(rigs, asked, wanted)
        summary = written_summary(out, _Kept(rigs), asked.today, wanted.shed)
        json_text = (content(out / JSON_FILE) or b"").decode() if as_json else ""
    if as_json:
        say_json(json_text)
    else:
        say(f"{summary.short_text}Written to {out}.")
    if not summary.fleet.made:
        return STOPPED
    return MADE_WITH_WARNINGS if any(rig.looks for rig in summary.fleet.rigs) else MADE


def _refuse(wanted: Wanted) -> None:
    """Raise BadInput for numbers that nobody can have meant."""
    refuse_beyond((
        ("--workers", wanted.workers, 1, MOST_WORKERS), ("--bays", wanted.bays, 1, 1000),
        ("--people", wanted.people, 1, 1000), ("--benches", wanted.benches, 0, 1000),
        ("--day-minutes", wanted.day_minutes, 30, 1440),
    ))  # fmt: skip


def _run(rigs: Sequence[_Rig], asked: Asked, wanted: Wanted) -> None:
    """Plan what is not done; each rig is on the disk before the next is told as done."""
    with ExitStack() as stack:
        backend, at_once = _backend(wanted, stack)
        to_do, refused = _standing(rigs, asked)
        progress = Progress(len(rigs), len(rigs) - len(to_do) - len(refused))
        by_number = {rig.number: rig for rig in rigs}
        for done in refused:
            _keep(by_number[done.number], "", done)
            progress.one(False)
        marks: dict[int, str] = {}
        for several in backend(_chunks(to_do, at_once, asked, marks), asked):
            for done in several:
                _keep(by_number[done.number], marks.pop(done.number), done)
                progress.one(done.row["is_made"])
        progress.finished()


def _backend(wanted: Wanted, stack: ExitStack) -> tuple[Backend, int]:
    """Who plans, and how many at once."""
    if wanted.scheduler is not None:
        from tripplan.commands.fleet.cluster import compare_ends, connected, in_cluster, worker_count

        client = stack.enter_context(connected(wanted.scheduler))
        compare_ends(client)
        return (lambda chunks, asked: in_cluster(client, chunks, asked)), worker_count(client)
    if wanted.workers == 1:
        return in_this_process, 1
    return (lambda chunks, asked: in_processes(chunks, asked, wanted.workers)), wanted.workers


def _standing(rigs: Sequence[_Rig], asked: Asked) -> tuple[list[_Rig], list[Done]]:
    """Which rigs are still to be planned, and the rows of those whose folder cannot be read at all."""
    from tripplan.sheets.fleet_row import stopped_row

    to_do, refused = [], []
    for rig in rigs:
        try:
            mark = run_mark(folder_bytes(rig.path).mark, asked.hangs_on)
        except BadInput as why:
            refused.append(Done(rig.number, stopped_row(rig.name, str(rig.path), why.problems), {}))
            continue
        if done_row(rig.place, mark) is None:
            to_do.append(rig)
    return to_do, refused


def _chunks(rigs: Sequence[_Rig], at_once: int, asked: Asked, marks: dict[int, str]) -> Iterator[Chunk]:
    """The rigs to be planned, read only when their turn comes."""
    left = iter(rigs)
    for size in chunk_sizes(len(rigs), at_once):
        jobs = tuple(_job(rig, asked) for rig in islice(left, size))
        marks.update((job.number, job.mark) for job in jobs)
        yield jobs


def chunk_sizes(count: int, at_once: int) -> Iterator[int]:
    """Large while much is left, since each is sent and fetched; small at last, so that all end together."""
    while count:
        size = max(1, min(MOST_IN_A_CHUNK, count // (at_once * CHUNKS_A_WORKER)))
        yield size
        count -= size


def _job(rig: _Rig, asked: Asked) -> Job:
    given = folder_bytes(rig.path)
    before = [(name, raw) for name in CALENDARS if (raw := content(rig.place / name)) is not None]
    return Job(rig.number, rig.name, str(rig.path), given, run_mark(given.mark, asked.hangs_on), tuple(before))


def _keep(rig: _Rig, mark: str, done: Done) -> None:
    with may_not_write(str(rig.place)):
        keep(rig.place, mark, done.row, done.outputs)


class Progress:
    """Counts rigs done in this run; what was done before does not shorten the estimate."""

    def __init__(self, count: int, before: int) -> None:
        self.count, self.before, self.done, self.stopped = count, before, 0, 0
        self.began = self.said = time.monotonic()
        if before:
            say(f"{before} of {count} rigs are done already; going on with the others.", error=True)

    def one(self, is_made: bool) -> None:
        """One more rig is done."""
        self.done += 1
        self.stopped += not is_made
        now = time.monotonic()
        left = self.count - self.before - self.done
        if left and now - self.said >= LEAST_S:
            self.said = now
            say(f"{self._so_far()}; {self._end(now, left)}", error=True)

    def finished(self) -> None:
        """The last line: how many, how long, how many a second."""
        spent_s = max(time.monotonic() - self.began, 1e-9)
        rate = f", {self.done / spent_s:.2f} a second" if self.done else ""
        say(f"{self._so_far()} in {spent_s:.0f} s{rate}.", error=True)

    def _so_far(self) -> str:
        without = f", {self.stopped} of them without a plan" if self.stopped else ""
        return f"{self.before + self.done} of {self.count} rigs{without}"

    def _end(self, now: float, left: int) -> str:
        left_s = (now - self.began) / self.done * left
        at = datetime.now() + timedelta(seconds=left_s)
        left_words = f"about {duration(left_s / 60)}" if left_s >= 60 else "less than a minute"
        return f"{left_words} left, until {at:%H:%M}"
