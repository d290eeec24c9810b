"""What a folder held before a whole set of files was written into it, kept for the owner."""

import shutil
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path

from tripplan.files.way_in import content
from tripplan.files.whole_files import sweep, write_whole

PLACE = ".before"
MOST_KEPT = 20


def keep_copies(folder: Path, files: Mapping[str, bytes], gone: Iterable[str] = ()) -> Path | None:
    """Copy those of the files that are about to change, or to go, into `.before` of their folder.

    Gives the place of the copies; None when there was nothing to keep. The oldest beyond
    twenty go. Raises OSError when they cannot be kept.
    """
    there = {name: content(folder / name) for name in (*files, *gone)}
    lost = {name: old for name, old in there.items() if old is not None and old != files.get(name)}
    if not lost:
        return None
    for earlier in (folder / PLACE).glob("*"):
        sweep(earlier)
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
