"""Mending a damaged logbook: all that is whole goes into a new one, the damaged file stays beside it."""

import sqlite3
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from msgspec import Struct

from tripplan.files.held import lock_of, logbook_held
from tripplan.files.logbook.chain import DOCUMENT, ENTRY, own_mark
from tripplan.files.logbook.pages import leaf_records
from tripplan.files.logbook.problems import refusal
from tripplan.files.logbook.store import TABLES, Log, changing, opened, writing
from tripplan.files.way_in import NotRead, read_file
from tripplan.files.whole_files import write_whole
from tripplan.records.problems import BadInput

MENDED = "mended"
MOST_BYTES = 4_000_000_000
SIDE_FILES = ("-wal", "-shm", "-journal")
Whole = dict[str, dict[int, tuple[Any, ...]]]


class Mended(Struct, frozen=True, kw_only=True):
    """What mending did. `kept_as` is where the damaged file now is; None when nothing was damaged."""

    damage: tuple[str, ...]
    entries: int
    documents: int
    kept_as: Path | None


def mend(path: Path) -> Mended:
    """Save all that is whole. Raises BadInput J01 when nothing is, and leaves the file as it is then."""
    with logbook_held(path):
        damage, known = _read(path)
        if not damage:
            return Mended(damage=(), entries=len(known[ENTRY]), documents=len(known[DOCUMENT]), kept_as=None)
        whole = _with_pages(known, path)
        if not any(whole.values()):
            raise refusal("J01", path, "no record that is whole", "look for a copy of the logbook, or of the folder")
        new = path.with_name(f".{path.name}.mending")
        new.unlink(missing_ok=True)
        try:
            _write(new, whole, damage)
            kept_as = _put_aside(path)
            write_whole(path, read_file(new, MOST_BYTES))
        finally:
            new.unlink(missing_ok=True)
            lock_of(new).unlink(missing_ok=True)
    return Mended(damage=damage, entries=len(whole[ENTRY]), documents=len(whole[DOCUMENT]), kept_as=kept_as)


def _read(path: Path) -> tuple[tuple[str, ...], Whole]:
    """What is damaged, and all the database itself still gives that is whole."""
    try:
        with opened(path) as log:
            found = {table: {row.number: row.values for row in log.rows(table) if row.is_whole} for table in TABLES}
            return log.damage, found
    except BadInput as error:
        code = error.problems[0].code
        if code in ("J01", "J02", "J05") and path.is_file():
            return (error.problems[0].found,), {table: {} for table in TABLES}
        raise


def _with_pages(known: Whole, path: Path) -> Whole:
    """What the database gave, and whole records that only the pages still hold."""
    try:
        raw = read_file(path, MOST_BYTES)
    except NotRead as why:
        raise refusal("J03", path, why.found) from None
    found: Whole = {table: dict(rows) for table, rows in known.items()}
    for number, values in leaf_records(raw):
        if len(values) == 9:  # an entry: its number is the row's own, and not among the values
            values = (number, *values[1:])
            _take(found[ENTRY], number, values[:7], values[7])
        elif len(values) == 7:
            name, version, content, written_at, own, _, place = values
            _take(found[DOCUMENT], place, (place, name, version, content, written_at), own)
    return found


def _take(found: dict[int, tuple[Any, ...]], number: Any, values: tuple[Any, ...], own: Any) -> None:
    if isinstance(number, int) and number not in found and own == own_mark(values):
        found[number] = values


def _write(new: Path, whole: Mapping[str, Mapping[int, tuple[Any, ...]]], damage: Iterable[str]) -> None:
    """The new logbook: each record under its own number, and an entry that says what was lost."""
    with changing(new, create=True) as log:
        log.execute("PRAGMA foreign_keys = OFF")
        with writing(log):
            for table in TABLES:
                for _, values in sorted(whole[table].items()):
                    _put(log, table, values)
            last = log.rows(ENTRY)[-1].number if whole[ENTRY] else 0
            said = "; ".join(damage)[:20_000]
            log.add(ENTRY, (last + 1, MENDED, "", said, datetime.now(UTC).isoformat(timespec="seconds"), None, ""))


def _put(log: Log, table: str, values: tuple[Any, ...]) -> None:
    """One record; a second correction of the same entry, which only a damaged file can hold, is left out."""
    try:
        log.add(table, values)
    except sqlite3.IntegrityError:
        return


def _put_aside(path: Path) -> Path:
    """A whole copy of the damaged file under a name that is free, on the disk before anything else is done."""
    day = datetime.now(UTC).strftime("%Y-%m-%d")
    names = (path.with_name(f"{path.name}.damaged-{day}{extra}") for extra in ("", *(f"-{n}" for n in range(2, 1000))))
    target = next(name for name in names if not name.exists())
    write_whole(target, read_file(path, MOST_BYTES))
    for side in SIDE_FILES:  # what the old file had beside it must not be read into the new
        if (old := Path(f"{path}{side}")).exists():
            old.replace(f"{target}{side}")
    return target
