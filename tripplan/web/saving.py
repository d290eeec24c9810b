"""Putting changed files into the trip folder: tried in a shadow of it first, written whole, and undone on request."""

import hashlib
import os
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from tripplan.edges.folder import KNOWN_FILES
from tripplan.edges.planning import read
from tripplan.edges.recording import put
from tripplan.problems import STOPS, BadInput, Problem

Changes = Mapping[str, bytes]
TABLE_FILES = ("trip.toml", "legs.csv", "crossings.csv", "stops.csv", "workshop.csv")
ALL_FILES = ("overrides", "tracks")
NO_FILE = b"\0no such file"


@dataclass(frozen=True, slots=True, kw_only=True)
class Undo:
    """What one save changed: the files as they were, and the state in which it may be taken back."""

    label: str
    before: Mapping[str, bytes | None]
    after: str


def version(folder: Path, names: tuple[str, ...]) -> str:
    """A short mark of what these files hold; another content, another mark."""
    digest = hashlib.sha256()
    for name in names:
        digest.update(name.encode() + b"\0" + (content(folder / name) or NO_FILE) + b"\0")
    return digest.hexdigest()[:20]


def folder_version(folder: Path) -> str:
    """The mark of everything a plan is made of."""
    found = [path.relative_to(folder).as_posix() for name in ALL_FILES for path in (folder / name).rglob("*")]
    try:
        beside = [path.name for path in folder.iterdir() if path.suffix.lower() in (".csv", ".toml", ".xlsx", ".ics")]
    except OSError:
        beside = []
    return version(folder, tuple(sorted({*KNOWN_FILES, *found, *beside})))


def content(path: Path) -> bytes | None:
    """All of a file, or None when it is not there."""
    try:
        return path.read_bytes()
    except OSError:
        return None


@contextmanager
def shadow(folder: Path, changes: Changes) -> Iterator[Path]:
    """A passing folder that looks like `folder` with the changes in it; nothing of it is written."""
    with tempfile.TemporaryDirectory(prefix="tripplan-") as place:
        trial = Path(place) / (folder.name or "trip")
        trial.mkdir()
        if folder.is_dir():
            for path in folder.iterdir():
                if path.name not in changes and not path.name.startswith("."):
                    os.symlink(path.resolve(), trial / path.name)
        for name, new in changes.items():
            (trial / name).write_bytes(new)
        yield trial


def refuse_worse(folder: Path, changes: Changes, today: date, before: Iterable[Problem]) -> None:
    """Raise BadInput when the changes bring in something that stops the plan, or hold it themselves.

    `before` are the problems that the folder has without them.
    """
    with shadow(folder, changes) as trial:
        _, _, after = read(trial, today)
    known = {_told(problem) for problem in before}
    bad = [p for p in after if p.weight == STOPS and (p.file in changes or _told(p) not in known)]
    bad = [p for p in bad if not _is_unfinished(p)]
    if bad:
        raise BadInput(bad)


def _is_unfinished(problem: Problem) -> bool:
    """A trip without legs cannot be planned yet, and may be kept all the same."""
    return problem.code == "L10"


def _told(problem: Problem) -> tuple[str, str, str | None, str]:
    return problem.code, problem.file, problem.column, problem.found


def write(folder: Path, changes: Changes, label: str) -> Undo:
    """Write every changed file whole; a failure puts back those already written."""
    folder.mkdir(parents=True, exist_ok=True)
    before = {name: content(folder / name) for name in changes}
    written: list[str] = []
    try:
        for name, new in changes.items():
            put(folder / name, new)
            written.append(name)
    except BadInput:
        put_back(folder, {name: before[name] for name in written})
        raise
    return Undo(label=label, before=before, after=version(folder, tuple(sorted(before))))


def put_back(folder: Path, before: Mapping[str, bytes | None]) -> None:
    """The files as they were; one that was not there goes again."""
    for name, old in before.items():
        if old is None:
            (folder / name).unlink(missing_ok=True)
        else:
            put(folder / name, old)


def may_undo(folder: Path, undo: Undo) -> bool:
    """True while nothing else was written over what was saved."""
    return version(folder, tuple(sorted(undo.before))) == undo.after
