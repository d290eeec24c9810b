"""What was saved from the page, kept beside the trip files, so that it can be taken back after the machine was off.

One file a save, in the folder `.page`: the files as they were, as they were to be, and what
moved. It is written before the first trip file is touched and marked as done after the last,
so that a save cut short is found at the next start and finished.
"""

import base64
import hashlib
import json
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from msgspec import Struct, convert, field
from msgspec.structs import asdict

from tripplan.files.way_in import NotRead, json_of, read_file
from tripplan.files.whole_files import write_whole
from tripplan.web.saves.memory import Tick

PLACE = ".page"
MOST_KEPT = 60
Contents = Mapping[str, bytes | None]


class SaveEntry(Struct, frozen=True, kw_only=True):
    """One save. `after` marks the files once it is done and is empty until then; None stands for no file.

    `wanted` is empty where a command of the command line did the writing. `slot`, `ticks` and
    `seen_from` are what the page kept for itself and the save took away.
    """

    number: int
    label: str
    at: str
    before: Contents
    wanted: Contents = field(default_factory=dict)
    after: str = ""
    changes: Mapping[str, Any] = field(default_factory=dict)
    slot: str = ""
    ticks: Mapping[str, Tick] = field(default_factory=dict)
    seen_from: str = ""
    is_taken_back: bool = False

    @property
    def files(self) -> tuple[str, ...]:
        """The files it changed, in the order of their names."""
        return tuple(sorted(self.before))


def kept(folder: Path) -> dict[int, SaveEntry]:
    """All saves that are still kept, the oldest first; one that is damaged is put aside."""
    found = [_read(path) for path in sorted((folder / PLACE).glob("save-*.json"))]
    return {entry.number: entry for entry in found if entry}


def keep(folder: Path, entry: SaveEntry) -> SaveEntry:
    """Write one save to the disk, whole; the oldest beyond those kept go."""
    (folder / PLACE).mkdir(parents=True, exist_ok=True)
    write_whole(_path(folder, entry.number), _text(entry).encode())
    for old in sorted((folder / PLACE).glob("save-*.json"))[:-MOST_KEPT]:
        old.unlink(missing_ok=True)
    return entry


def forget(folder: Path, entry: SaveEntry) -> None:
    """Drop a save of which nothing was written."""
    _path(folder, entry.number).unlink(missing_ok=True)


def set_aside(folder: Path, entry: SaveEntry) -> Path:
    """Put a save that cannot be finished under another name, where no start looks for it; gives the place."""
    place = _path(folder, entry.number)
    aside = place.with_name(f"unfinished-{place.name}")
    with suppress(OSError):
        place.replace(aside)
    return aside


def _path(folder: Path, number: int) -> Path:
    return folder / PLACE / f"save-{number:08d}.json"


def _text(entry: SaveEntry) -> str:
    document = {
        **{name: getattr(entry, name) for name in ("number", "label", "at", "after", "slot", "seen_from")},
        "changes": dict(entry.changes), "is_taken_back": entry.is_taken_back,
        "before": _coded(entry.before), "wanted": _coded(entry.wanted),
        "ticks": {key: asdict(tick) for key, tick in entry.ticks.items()},
    }  # fmt: skip
    return json.dumps(document | {"mark": _mark(document)}, indent=1, ensure_ascii=False) + "\n"


def _mark(document: Mapping[str, Any]) -> str:
    """A mark of all that a save holds, by which a damaged one is told."""
    return hashlib.sha256(json.dumps(document, sort_keys=True).encode()).hexdigest()[:32]


def _coded(contents: Contents) -> dict[str, str | None]:
    return {name: None if raw is None else base64.b64encode(raw).decode() for name, raw in contents.items()}


def _read(path: Path) -> SaveEntry | None:
    """The save of a file; None, and the file put aside under another name, when it is damaged."""
    try:
        found = json_of(read_file(path))
        mark = found.pop("mark", None)
        if mark is not None and mark != _mark(found):
            raise ValueError("not as it was written")
        entry = convert(found | {part: _decoded(found[part]) for part in ("before", "wanted")}, SaveEntry)
        if _path(path.parent.parent, entry.number).name == path.name:
            return entry
    except (NotRead, ValueError, TypeError, AttributeError, KeyError):
        pass
    with suppress(OSError):
        path.replace(path.with_name(f"damaged-{path.name}"))
    return None


def _decoded(coded: Mapping[str, str | None]) -> Contents:
    if not all(_is_plain(name) for name in coded):
        raise ValueError("a name that leads out of the folder")
    return {name: None if text is None else base64.b64decode(text, validate=True) for name, text in coded.items()}


def _is_plain(name: str) -> bool:
    path = Path(name)
    return not path.is_absolute() and ".." not in path.parts and len(path.parts) <= 2
