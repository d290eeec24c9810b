"""Writing a file so that a reader never finds half of it, whenever the power goes."""

import errno
import os
import re
import secrets
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tripplan.records.facts_in import Origin
from tripplan.records.problem_codes import problem
from tripplan.records.problems import BadInput

USUAL_MODE = 0o644
PART = re.compile(r"\..+\.[0-9a-f]{12}\.part~")


def write_whole(path: Path, content: bytes) -> Path:
    """Write beside the path, flush to disk, then replace: the old file or the new, never a part.

    When it returns the file is on the disk, should the power go the moment after. A link
    stays a link, and what it leads to is replaced; a file keeps the rights it had, and one
    that may not be written is not written.
    """
    target = Path(os.path.realpath(path))
    mode = _mode_of(target)
    part = target.with_name(f".{target.name}.{secrets.token_hex(6)}.part~")
    try:
        with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, USUAL_MODE), "wb") as file:
            file.write(content)
            file.flush()
            os.chmod(part, mode)
            os.fsync(file.fileno())
        os.replace(part, target)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    _flush_folder(target.parent)
    return path


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
        raise BadInput([problem("K03", Origin(file=name), None, why.strerror or str(why), accepted)]) from why


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
