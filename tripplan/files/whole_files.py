"""Writing a file so that a reader never finds half of it, whenever the power goes."""

import os
import tempfile
from pathlib import Path


def write_whole(path: Path, content: bytes) -> Path:
    """Write beside the path, flush to disk, then replace: the old file or the new, never a part.

    When it returns the file is on the disk, should the power go the moment after.
    """
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, 0o644)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    _flush_folder(path.parent)
    return path


def _flush_folder(folder: Path) -> None:
    """Have the new name on the disk too, where the system can be asked for that."""
    if hasattr(os, "O_DIRECTORY"):
        handle = os.open(folder, os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
