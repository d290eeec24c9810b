"""The right to change a trip folder or a logbook: one program and one thread at a time.

Whoever changes a record holds it from the first look to the last byte, so that nothing is
written over what another wrote meanwhile. It is a lock of the operating system on an empty
file beside the records: it ends with the program that holds it, however that ends, and the
file that stays behind means nothing. What is only read needs no hold: each file is replaced
whole, and a logbook is read inside one transaction.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from tripplan.files.whole_files import sweep
from tripplan.records.problems import STOPS, BadInput, Problem

FOLDER_LOCK, BOOK_LOCK = ".tripplan.lock", ".{}.lock"
INNER = ("overrides", "tracks", ".page")  # the folders of a trip that are written into
HELD = "K05"
WAIT_S = 60.0
LOOK_AGAIN_S = 0.02


@contextmanager
def folder_held(folder: Path, wait_s: float = WAIT_S, is_needed: bool = True) -> Iterator[None]:
    """The right to change a folder; one that is not there yet, or not a folder, is held by nobody.

    Half-written files that a killed program left in it, or in its inner folders, are taken away first. A folder that
    cannot be written to cannot be held: where that is not needed, it is read all the same.
    """
    if not folder.is_dir() or not (is_needed or os.access(folder, os.W_OK)):
        yield
        return
    real = Path(os.path.realpath(folder))
    with _held(real / FOLDER_LOCK, folder.name or str(folder), wait_s) as is_first:
        if is_first:
            for place in (real, *(real / name for name in INNER)):
                sweep(place)
        yield


@contextmanager
def logbook_held(path: Path, wait_s: float = WAIT_S, is_needed: bool = True) -> Iterator[None]:
    """The right to change a logbook, whichever of its names it is called by."""
    if not (is_needed or os.access(lock_of(path).parent, os.W_OK)):
        yield
        return
    with _held(lock_of(path), path.name, wait_s) as is_first:
        if is_first:
            real = Path(os.path.realpath(path))
            sweep(real.parent, f"{real.name}.")
        yield


def lock_of(path: Path) -> Path:
    """The empty file that is locked for a logbook."""
    real = Path(os.path.realpath(path))
    return real.with_name(BOOK_LOCK.format(real.name))


@contextmanager
def _held(lock_file: Path, name: str, wait_s: float) -> Iterator[bool]:
    """Hold it; True for the outermost hold of this thread. Raises BadInput K05 or K03."""
    lock = FileLock(lock_file, is_singleton=True)
    is_first = not lock.is_locked
    try:
        lock.acquire(timeout=wait_s, poll_interval=LOOK_AGAIN_S)
    except Timeout:
        raise BadInput([_busy(name, wait_s)]) from None
    except (OSError, NotImplementedError) as why:
        raise BadInput([_cannot_hold(name, why)]) from why
    try:
        yield is_first
    finally:
        lock.release()


def _busy(name: str, wait_s: float) -> Problem:
    return Problem(
        code=HELD, weight=STOPS, file=name, found=f"held by another program for {wait_s:g} s or more",
        accepted="a folder or logbook that nothing else is writing to",
        hint="nothing was written; wait for the other to end, then give the same again",
    )  # fmt: skip


def _cannot_hold(name: str, why: Exception) -> Problem:
    found = getattr(why, "strerror", None) or str(why) or "it cannot be held"
    return Problem(code="K03", weight=STOPS, file=name, found=found, accepted="a folder that can be read and written")
