"""How the process of a command is set up, before anything large is loaded.

Arrays here are small: a second thread takes longer to wake than it saves. No package adds to the checks of
records, so none is looked for. A command ends before what is no longer needed could fill the memory, so
nobody searches for it, meanwhile or at the end; what runs until it is stopped, or over many folders, has it searched for.
"""

import atexit
import gc
import os
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache

SETTINGS = {"OPENBLAS_NUM_THREADS": "1", "PYDANTIC_DISABLE_PLUGINS": "__all__"}


@contextmanager
def soon_over() -> Iterator[None]:
    """For one command. What the environment says already stays."""
    for name, value in SETTINGS.items():
        os.environ.setdefault(name, value)
    gc.disable()
    atexit.register(gc.freeze)
    try:
        yield
    finally:
        gc.freeze()
        gc.unfreeze()  # what was made counts as looked at, or all of it would be searched at this moment
        gc.enable()


def runs_long() -> None:
    """For a command that is not soon over."""
    gc.enable()


@lru_cache(maxsize=1)
def all_loaded() -> None:
    """For a process that does the same again and again: what the first time has loaded stays, and is not searched again."""
    gc.collect()
    gc.freeze()
