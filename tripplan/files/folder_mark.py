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


def folder_mark(folder: Path) -> str:
    """The mark of everything a plan is made of."""
    found = [path.relative_to(folder).as_posix() for name in INNER for path in (folder / name).rglob("*")]
    try:
        beside = [path.name for path in folder.iterdir() if path.suffix.lower() in READ_SUFFIXES]
    except OSError:
        beside = []
    return mark_of(folder, sorted({*KNOWN_FILES, *found, *beside}))
