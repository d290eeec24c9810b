"""Writing files: whole, so that a reader never finds half of one whenever the power goes, and what they held before kept."""

import errno
import os
import re
import secrets
import shutil
import stat
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from tripplan.files.way_in import content
from tripplan.records.problems import STOPS, BadInput, Problem

PLACE = ".before"
MOST_KEPT = 20
USUAL_MODE = 0o644
PART = re.compile(r"\..+\.[0-9a-f]{12}\.part~")


def write_whole(path: Path, content: bytes | Iterable[bytes]) -> Path:
    """Write beside the path, flush to disk, then replace: the old file or the new, never a part.

    When it returns the file is on the disk, should the power go the moment after. Pieces are written as they come. A link
    stays a link, and what it leads to is replaced; a file keeps the rights it had, and one
    that may not be written is not written.
    """
    return write_all({path: content})[0]


def write_all(files: Mapping[Path, bytes | Iterable[bytes]]) -> list[Path]:
    """The same for several: none takes its place before all of them are on the disk beside it."""
    parts: dict[Path, Path] = {}
    try:
        for path, content in files.items():
            target = Path(os.path.realpath(path))
            part = parts[target] = target.with_name(f".{target.name}.{secrets.token_hex(6)}.part~")
            _write_part(part, content, _mode_of(target))
        for target, part in parts.items():
            os.replace(part, target)
    except BaseException:
        for part in parts.values():
            part.unlink(missing_ok=True)
        raise
    for folder in {target.parent: None for target in parts}:
        _flush_folder(folder)
    return list(files)


def _write_part(part: Path, content: bytes | Iterable[bytes], mode: int) -> None:
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, USUAL_MODE), "wb") as file:
        file.writelines((content,) if isinstance(content, bytes) else content)
        file.flush()
        os.chmod(part, mode)
        os.fsync(file.fileno())


def put(path: Path, content: bytes) -> Path:
    """Replace the file; raises BadInput K03 when the folder cannot be written."""
    with may_not_write(path.name):
        write_whole(path, content)
    return path


@contextmanager
def may_not_write(name: str, accepted: str = "a folder that can be read and written") -> Iterator[None]:
    """Around what writes: raises BadInput K03, which calls the place by that name, where it cannot."""
    try:
        yield
    except OSError as why:
        found = why.strerror or str(why)
        raise BadInput([Problem(code="K03", weight=STOPS, file=name, found=found, accepted=accepted)]) from why


def sweep(folder: Path, name: str = "") -> None:
    """Take away what writes cut short have left in a folder, or of one file; only for whoever holds it."""
    try:
        left = [entry.path for entry in os.scandir(folder)
                if PART.fullmatch(entry.name) and entry.name.startswith(f".{name}")]  # fmt: skip
        for path in left:
            Path(path).unlink(missing_ok=True)
    except OSError:
        return  # a folder that may not be changed will say so when it is written


def _mode_of(target: Path) -> int:
    """The rights of the file that is there; OSError for one that must not be replaced."""
    try:
        found = target.stat()
    except FileNotFoundError:
        return USUAL_MODE
    if not stat.S_ISREG(found.st_mode):
        raise OSError(errno.EINVAL, "not a file")
    if not os.access(target, os.W_OK):
        raise PermissionError(errno.EACCES, "the file may not be written")
    return stat.S_IMODE(found.st_mode)


def _flush_folder(folder: Path) -> None:
    """Have the new name on the disk too, where the system can be asked for that."""
    if hasattr(os, "O_DIRECTORY"):
        handle = os.open(folder, os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def keep_copies(folder: Path, files: Mapping[str, bytes], gone: Iterable[str] = ()) -> Path | None:
    """Copy those of the files that are about to change, or to go, into `.before` of their folder.

    Gives the place of the copies; None when there was nothing to keep. The oldest beyond
    twenty go, and so do halves that a killed program left among them. Raises OSError when they cannot be kept.
    """
    for earlier in (folder / PLACE).rglob("*"):
        if earlier.is_dir():
            sweep(earlier)
    there = {name: content(folder / name) for name in (*files, *gone)}
    lost = {name: old for name, old in there.items() if old is not None and old != files.get(name)}
    if not lost:
        return None
    place = _free(folder / PLACE, datetime.now(UTC).strftime("%Y-%m-%dT%H-%M-%S"))
    for name, old in lost.items():
        (place / name).parent.mkdir(parents=True, exist_ok=True)
        write_whole(place / name, old)
    for old_place in sorted(path for path in (folder / PLACE).iterdir() if path.is_dir())[:-MOST_KEPT]:
        shutil.rmtree(old_place, ignore_errors=True)
    return place


def _free(parent: Path, name: str) -> Path:
    extras = ("", *(f"-{number:03d}" for number in range(2, 1000)))
    return next(place for extra in extras if not (place := parent / f"{name}{extra}").exists())
