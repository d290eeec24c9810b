"""A short mark of what files hold: another content, another mark. Two looks with one mark saw the same."""

import hashlib
from collections.abc import Iterable
from pathlib import Path

from tripplan.files.folder import KNOWN_FILES, OVERRIDES, READ_SUFFIXES
from tripplan.files.leg_tracks import TRACKS
from tripplan.files.way_in import content

NO_FILE = b"\0no such file"
INNER = (OVERRIDES, TRACKS)


def mark_of(folder: Path, names: Iterable[str]) -> str:
    """The mark of these files of a folder."""
    digest = hashlib.sha256()
    for name in names:
        digest.update(name.encode("utf-8", "surrogateescape") + b"\0")
        digest.update((content(folder / name) or NO_FILE) + b"\0")
    return digest.hexdigest()[:20]


def files_of_plan(folder: Path) -> set[str]:
    """The names of all files that a plan of the folder is made of. Raises OSError for a folder that cannot be opened."""
    beside = [path for path in folder.iterdir() if path.name in KNOWN_FILES or path.suffix.lower() in READ_SUFFIXES]
    inner = [path for name in INNER for path in (folder / name).rglob("*") if path.is_file()]
    return {path.relative_to(folder).as_posix() for path in (*beside, *inner) if path.is_file() or path.is_symlink()}


def folder_mark(folder: Path) -> str:
    """The mark of everything a plan is made of."""
    try:
        found = files_of_plan(folder)
    except OSError:
        found = set()
    return mark_of(folder, sorted({*KNOWN_FILES, *found}))
