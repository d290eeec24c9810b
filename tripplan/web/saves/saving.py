"""Putting changed files into the trip folder: tried in a shadow of it first, written whole, and undone on request."""

import os
from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from datetime import date
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from tripplan.files.folder import Inputs
from tripplan.files.folder_mark import folder_mark, mark_of
from tripplan.files.passing import passing_folder
from tripplan.files.plan_folder import read
from tripplan.files.recording import as_stop
from tripplan.files.way_in import content
from tripplan.files.whole_files import may_not_write, put
from tripplan.records.catalogue import Catalogue
from tripplan.records.plan import Plan
from tripplan.records.problem_codes import MAY_BE_SO
from tripplan.records.problems import STOPS, BadInput, Problem
from tripplan.web.saves import journal
from tripplan.web.saves.journal import Contents, SaveEntry

Changes = Mapping[str, bytes]
Rows = Mapping[str, Collection[int]]
NO_ROWS: Rows = {}
TABLE_FILES = ("trip.toml", "legs.csv", "crossings.csv", "stops.csv", "workshop.csv")
MOST_LOOKS = 20
UNFINISHED = ("L10",)  # a trip without legs cannot be planned yet, and may be kept: the next step is told
SOLVED, PLAIN, FAILED = "solved", "plain", "failed"
version, folder_version = mark_of, folder_mark


class Seen(Struct, frozen=True, kw_only=True):
    """The folder at one version and from one day: what was read, and the plan shown. `answer` says which plan that is."""

    version: str
    today: date
    inputs: Inputs | None
    catalogue: Catalogue
    problems: tuple[Problem, ...]
    quick: Plan | None = None
    plan: Plan | None = None
    answer: str = PLAIN


def contents(folder: Path, names: Iterable[str]) -> Contents:
    """Several files as they are."""
    return {name: content(folder / name) for name in names}


def reading_of(folder: Path, today: date) -> Seen:
    """The folder read as `tripplan plan` reads it, with the mark of what was read.

    A file that is changed meanwhile by another program is read again.
    """
    for _ in range(MOST_LOOKS):
        before = folder_version(folder)
        inputs, catalogue, problems = read(folder, today)
        if folder_version(folder) == before:
            break
    return Seen(version=before, today=today, inputs=inputs, catalogue=catalogue, problems=problems)


@contextmanager
def shadow(folder: Path, changes: Changes) -> Iterator[Path]:
    """A passing folder that looks like `folder` with the changes in it; nothing of it is written."""
    with passing_folder() as place:
        trial = place / (folder.name or "trip")
        trial.mkdir()
        whole = {Path(name).parts[0] for name in changes}
        if folder.is_dir():
            _link(folder, trial, whole)
        for name, new in changes.items():
            (trial / name).parent.mkdir(exist_ok=True)
            (trial / name).write_bytes(new)
        yield trial


def _link(folder: Path, trial: Path, changed: set[str]) -> None:
    for path in folder.iterdir():
        if path.name.startswith(".") or (path.name in changed and not path.is_dir()):
            continue
        if path.name not in changed:
            os.symlink(path.absolute(), trial / path.name)
            continue
        (trial / path.name).mkdir()
        for inside in path.iterdir():
            os.symlink(inside.absolute(), trial / path.name / inside.name)


def refuse_worse(folder: Path, changes: Changes, today: date, before: Iterable[Problem], fresh: Rows = NO_ROWS) -> Seen:
    """What the folder reads as with the changes in it.

    `before` are the problems that the folder has without them. Raises BadInput when the
    changes bring in something that stops the plan, or hold it themselves, and as the
    commands do when anything is worth a look about a row of `fresh`.
    """
    with shadow(folder, changes) as trial:
        tried = reading_of(trial, today)
    known = {_told(problem) for problem in before}
    stopping = [p for p in tried.problems if p.weight == STOPS and p.code not in UNFINISHED]
    bad = [p for p in stopping if p.file in changes or _told(p) not in known]
    looks = [p for p in tried.problems if p.weight != STOPS and p.code not in MAY_BE_SO]
    bad += [as_stop(p) for p in looks if p.row in fresh.get(p.file, ())]
    if bad:
        raise BadInput(bad)
    return tried


def _told(problem: Problem) -> tuple[str, str, str | None, str]:
    return problem.code, problem.file, problem.column, problem.found


def write(folder: Path, entry: SaveEntry) -> SaveEntry:
    """Put what the entry wants into the folder, file by file; a failure puts back those already written.

    The entry is kept before the first file; the one given back, with all files on the disk,
    is for the caller to keep. Raises BadInput where the folder cannot be written. An entry
    whose files cannot be put back either stays, to be finished at the next start.
    """
    with may_not_write(folder.name):
        folder.mkdir(parents=True, exist_ok=True)
        journal.keep(folder, entry)
    try:
        return _all_written(folder, entry)
    except Exception:
        if is_as_before(folder, entry):
            journal.forget(folder, entry)
        raise


def _all_written(folder: Path, entry: SaveEntry) -> SaveEntry:
    """The entry with all its files on the disk; or else none of them is, as far as they can be put back."""
    try:
        for name, new in entry.wanted.items():
            _put(folder / name, new)
    except Exception:
        for name, old in entry.before.items():
            with suppress(BadInput):
                _put(folder / name, old)
        raise
    return done(folder, entry)


def is_as_before(folder: Path, entry: SaveEntry) -> bool:
    """True when the files are as they were before the save."""
    return contents(folder, entry.before) == entry.before


def done(folder: Path, entry: SaveEntry) -> SaveEntry:
    """The entry as one whose files are all on the disk."""
    return replace(entry, after=version(folder, entry.files))


def _put(path: Path, new: bytes | None) -> None:
    """Make the file be that, or not be there; one that is so already is left alone."""
    if content(path) == new:
        return
    if new is None:
        with may_not_write(path.name):
            path.unlink(missing_ok=True)
        return
    with may_not_write(path.parent.name):
        path.parent.mkdir(exist_ok=True)
    put(path, new)


def may_undo(folder: Path, entry: SaveEntry) -> bool:
    """True while nothing else was written over what was saved."""
    return not entry.is_taken_back and bool(entry.after) and version(folder, entry.files) == entry.after


def finish(folder: Path, entry: SaveEntry) -> SaveEntry | None:
    """A save that was cut short, finished; None when nothing of it was begun or somebody wrote over it since.

    Raises BadInput or OSError when it cannot be finished; then the files are put back, where they can be.
    """
    now = contents(folder, entry.before)
    if entry.wanted:
        if all(now[name] in (entry.before[name], entry.wanted[name]) for name in entry.wanted):
            return journal.keep(folder, _all_written(folder, entry))
    elif own := {name: old for name, old in entry.before.items() if now[name] != old}:
        return journal.keep(folder, done(folder, replace(entry, before=own)))
    journal.forget(folder, entry)
    return None
