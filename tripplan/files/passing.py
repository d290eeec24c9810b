"""Folders for the while of one command: gone at its end, and swept at a later start when it was killed.

Each is held by a lock of the operating system for as long as its program lives; one that
nobody holds any more has been left behind.
"""

import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

PREFIX, HELD = "tripplan-passing-", ".held"
YOUNG_S = 60.0
_swept: list[Path] = []


@contextmanager
def passing_folder() -> Iterator[Path]:
    """An empty folder of one's own among the temporary files, gone at the end."""
    place = Path(tempfile.mkdtemp(prefix=PREFIX))
    lock = FileLock(place.with_name(f"{place.name}{HELD}"), timeout=0)
    try:
        with lock:
            _sweep(place.parent)
            yield place
    finally:
        shutil.rmtree(place, ignore_errors=True)
        Path(lock.lock_file).unlink(missing_ok=True)


def _sweep(parent: Path) -> None:
    """Take away what killed programs of this user left; once in a process is enough."""
    if parent in _swept:
        return
    _swept.append(parent)
    for place in parent.glob(f"{PREFIX}*"):
        if not place.name.endswith(HELD) and _is_left(place):
            _take_away(place)


def _is_left(place: Path) -> bool:
    try:
        found = place.lstat()
    except OSError:
        return False
    is_own = not hasattr(os, "getuid") or found.st_uid == os.getuid()
    return is_own and time.time() - found.st_mtime > YOUNG_S


def _take_away(place: Path) -> None:
    lock = FileLock(place.with_name(f"{place.name}{HELD}"), timeout=0)
    try:
        with lock:
            shutil.rmtree(place, ignore_errors=True)
    except (Timeout, OSError):
        return
    Path(lock.lock_file).unlink(missing_ok=True)
