"""What of a fleet run is done: one entry a rig, written whole when its outputs are on the disk.

An entry holds the mark of everything the answer hangs on - the folder's bytes, the day, what was
asked for, the program with its tables - and a hash of its row and of every output. A run that was cut off goes on
where the entries end; one whose marks no longer hold is made again.
"""

import hashlib
import json
from collections.abc import Mapping
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from platform import python_version
from typing import Any

from tripplan.files.way_in import NotRead, content, json_of, read_file
from tripplan.files.whole_files import sweep, write_whole
from tripplan.records.problems import STOPS, BadInput, Problem

ENTRY_FILE = "fleet_entry.json"
ENTRY_SCHEMA = 2
PROGRAM = Path(__file__).parents[1]
# What an answer may hang on beside our own code: numbers, tables in, calendars, holidays, zones.
PACKAGES = (
    "numpy", "pandas", "openpyxl", "pydantic", "msgspec", "icalendar", "python-dateutil", "holidays", "astral", "tzfpy", "highspy", "geopy",
)  # fmt: skip


@lru_cache(maxsize=1)
def program_versions() -> dict[str, str]:
    """What has to be the same at both ends: our code and tables by their bytes, and the packages by version."""
    found = {"tripplan": _code_mark(), "python": ".".join(python_version().split(".")[:2])}
    for name in PACKAGES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "none"
    return found


def _code_mark() -> str:
    digest = hashlib.sha256()
    files = [path for path in PROGRAM.rglob("*") if path.suffix in (".py", ".csv", ".j2", ".html", ".css", ".js")]
    for path in sorted((*files, PROGRAM / "data" / "EDITION"), key=lambda path: path.relative_to(PROGRAM).as_posix()):
        digest.update(path.relative_to(PROGRAM).as_posix().encode() + b"\0" + (content(path) or b"") + b"\0")
    return digest.hexdigest()[:16]


def run_mark(folder_mark: str, asked: Mapping[str, Any]) -> str:
    """The mark of everything one rig's answer hangs on."""
    whole = json.dumps([folder_mark, dict(asked), program_versions()], sort_keys=True)
    return hashlib.sha256(whole.encode()).hexdigest()


def hash_of(raw: bytes) -> str:
    """The hash by which an output is known."""
    return hashlib.sha256(raw).hexdigest()


def keep(place: Path, mark: str, row: Mapping[str, Any], outputs: Mapping[str, bytes]) -> None:
    """Write a rig's outputs, each whole, and the entry last, so that it never tells of what is not there.

    What a killed run left half written is taken away; whoever calls holds the folder of the whole fleet.
    """
    place.mkdir(parents=True, exist_ok=True)
    sweep(place)
    (place / ENTRY_FILE).unlink(missing_ok=True)
    for name, raw in outputs.items():
        write_whole(place / name, raw)
    row = json_of(json.dumps(row, ensure_ascii=False).encode("utf-8", "replace"))
    entry = {
        "schema": ENTRY_SCHEMA, "mark": mark, "outputs": {name: hash_of(raw) for name, raw in outputs.items()},
        "row": row, "row_hash": _hash_of_row(row),
    }  # fmt: skip
    write_whole(place / ENTRY_FILE, f"{json.dumps(entry, indent=1, ensure_ascii=False)}\n".encode("utf-8", "replace"))


def done_row(place: Path, mark: str) -> dict[str, Any] | None:
    """The row of a rig that is done with that mark and whose outputs are as they were written; else None."""
    entry = _entry(place)
    if entry is None or entry.get("mark") != mark:
        return None
    hashes = entry["outputs"]
    whole = all((raw := content(place / name)) is not None and hash_of(raw) == told for name, told in hashes.items())
    return dict(entry["row"]) if whole else None


def kept_row(place: Path) -> dict[str, Any]:
    """The row of a rig that was done in this run. Raises BadInput K03 where somebody changed it meanwhile."""
    entry = _entry(place)
    if entry is None:
        raise BadInput([_gone(place)])
    return dict(entry["row"])


def _gone(place: Path) -> Problem:
    return Problem(
        code="K03", weight=STOPS, file=str(place / ENTRY_FILE), found="taken away or changed while the fleet was planned",
        accepted="a folder that nothing else is writing to", hint="give the same again; what is done stays done",
    )  # fmt: skip


def _entry(place: Path) -> dict[str, Any] | None:
    try:
        found = json_of(read_file(place / ENTRY_FILE))
    except NotRead:
        return None
    is_one = isinstance(found, dict) and found.get("schema") == ENTRY_SCHEMA
    is_whole = is_one and isinstance(found.get("row"), dict) and isinstance(found.get("outputs"), dict)
    return found if is_whole and found.get("row_hash") == _hash_of_row(found["row"]) else None


def _hash_of_row(row: Mapping[str, Any]) -> str:
    return hash_of(json.dumps(row, sort_keys=True).encode())
