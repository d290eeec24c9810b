"""How the process of a command is set up, before anything large is loaded.

Arrays here are small: a second thread takes longer to wake than it saves. No package adds to the checks of
records, so none is looked for. Memory given back is asked for again at once, so some of it is kept. A command ends
before what is no longer needed could fill the memory, so nobody searches for it, meanwhile or at the end; what runs
until it is stopped, or over many folders, has it searched for.
"""

import atexit
import ctypes
import gc
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import lru_cache

KEPT = "MALLOC_TOP_PAD_"
KEPT_SWITCH = -2  # M_TOP_PAD of mallopt(3), in the C library that reads KEPT
SETTINGS = {"OPENBLAS_NUM_THREADS": "1", "PYDANTIC_DISABLE_PLUGINS": "__all__", KEPT: "33554432"}


@contextmanager
def soon_over() -> Iterator[None]:
    """For one command. What the environment says already stays."""
    for name, value in SETTINGS.items():
        os.environ.setdefault(name, value)
    _keep_memory()
    gc.disable()
    atexit.register(gc.freeze)
    try:
        yield
    finally:
        gc.freeze()
        gc.unfreeze()  # what was made counts as looked at, or all of it would be searched at this moment
        gc.enable()


def _keep_memory() -> None:
    """This process has started, and only those it starts read the setting: it is told. Without such a switch all stays."""
    with suppress(AttributeError, OSError, TypeError, ValueError):
        ctypes.CDLL(None).mallopt(KEPT_SWITCH, int(os.environ[KEPT]))


def runs_long() -> None:
    """For a command that is not soon over."""
    gc.enable()


@lru_cache(maxsize=1)
def all_loaded() -> None:
    """For a process that does the same again and again: what the first time has loaded stays, and is not searched again."""
    gc.collect()
    gc.freeze()
