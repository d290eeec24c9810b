"""Many trip folders at once: found, taken into memory as they are, and laid out again anywhere.

What a folder holds travels as bytes by name, so that a plan can be made where the folder is
not: in another process, or on another machine. Its mark tells whether it has changed since.
"""

import hashlib
from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path, PurePosixPath

from msgspec import Struct

from tripplan.files.folder_mark import files_of_plan
from tripplan.files.way_in import NotRead, read_file
from tripplan.records.problems import STOPS, BadInput, Problem

RIG_FILE = "rig.toml"
SIGNS = (RIG_FILE, "trip.toml", "legs.csv")
"""Files by which a folder within a folder is known for a rig's, so that one without its `rig.toml` is told, not left out."""


class FolderBytes(Struct, frozen=True):
    """A trip folder, or a logbook, as it lies on the disk: the bytes of every file that a plan is made of."""

    name: str
    is_logbook: bool
    files: tuple[tuple[str, bytes], ...]

    @property
    def mark(self) -> str:
        """A hash of names and contents: another content, another mark."""
        digest = hashlib.sha256(b"logbook" if self.is_logbook else b"folder")
        for name, content in self.files:
            for part in (name.encode("utf-8", "surrogateescape"), content):
                digest.update(len(part).to_bytes(8, "big") + part)
        return digest.hexdigest()


def rig_folders(paths: Sequence[Path]) -> list[Path]:
    """The trip folders and logbooks of these paths, in order; a folder of trip folders gives those in it."""
    found: list[Path] = []
    for path in paths:
        inner = [] if not path.is_dir() or (path / RIG_FILE).exists() else _inside(path)
        found += inner or [path]
    return found


def _inside(path: Path) -> list[Path]:
    try:
        return sorted(one for one in path.iterdir() if any((one / name).is_file() for name in SIGNS))
    except OSError:
        return []


def own_names(paths: Iterable[Path]) -> list[str]:
    """A name for each folder, unlike all others: its own, and a number behind it where that is taken."""
    used: Counter[str] = Counter()
    taken: set[str] = set()
    found = []
    for path in paths:
        stem = path.resolve().stem if path.is_file() else path.resolve().name
        name = stem
        while name.casefold() in taken:
            used[stem] += 1
            name = f"{stem}-{used[stem] + 1}"
        taken.add(name.casefold())
        found.append(name)
    return found


def folder_bytes(path: Path) -> FolderBytes:
    """All that a plan of this folder is made of. Raises BadInput F01 or F02 for a folder that cannot be read."""
    name = path.resolve().name or "folder"
    if path.is_file():
        return FolderBytes(name, True, ((name, _read(path, name)),))
    try:
        names = sorted(files_of_plan(path))
    except FileNotFoundError:
        raise BadInput([_refusal("F01", name, "no such folder")]) from None
    except OSError:
        raise BadInput([_refusal("F02", name, "not a folder that can be opened")]) from None
    return FolderBytes(name, False, tuple((one, _read(path / one, one)) for one in names))


def _read(path: Path, name: str) -> bytes:
    try:
        return read_file(path)
    except NotRead as why:
        raise BadInput([_refusal("F02", name, why.found)]) from None


def _refusal(code: str, name: str, found: str) -> Problem:
    return Problem(code=code, weight=STOPS, file=name, found=found, accepted="a trip folder or a logbook")


def lay_out_bytes(given: FolderBytes, place: Path) -> Path:
    """Write what was taken into memory below `place`, a passing folder, under its own name; give the folder or file."""
    if given.is_logbook:
        (place / given.name).write_bytes(given.files[0][1])
        return place / given.name
    folder = place / given.name
    folder.mkdir()
    for name, content in given.files:
        target = folder / PurePosixPath(name)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
    return folder
