"""Checksums of a logbook: one on each record, and one that ties each record to all before it.

The own mark of a record says whether it is as it was written. The chain mark says whether
everything before it is still there and in its order, so that a record taken out is noticed
too. Both are the first half of a SHA-256 (FIPS 180-4), as hexadecimal figures.
"""

import hashlib
import json
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct

from tripplan.files.way_in import NotRead, json_of

ENTRY, DOCUMENT = "entry", "document"
MARKED = {
    ENTRY: ("number", "kind", "trip", "body", "written_at", "replaces", "reason"),
    DOCUMENT: ("place", "name", "version", "content", "written_at"),
}  # fmt: skip
RECORD_KINDS = frozenset(("history", "crossing", "leg"))
FIGURES = 32
MOST_ASKED_BEYOND = 50_000
FAULTS = (sqlite3.DatabaseError, UnicodeDecodeError)  # the latter where the words of the former are damaged too
Values = Sequence[Any]


class Row(Struct, frozen=True, kw_only=True):
    """One record as the file has it: its marked columns, its two marks, and whether it can be used.

    `is_whole` is False for one that is not as it was written, and for a body that is no record.
    """

    table: str
    number: int
    values: tuple[Any, ...]
    own: str
    chain: str
    is_whole: bool

    @property
    def words(self) -> str:
        """What to call it in a message."""
        if self.table == ENTRY:
            return f"entry {self.number} ({_short(self.values[1])})"
        return f"document {_short(self.values[1])}, version {_short(self.values[2])}"


def own_mark(values: Values) -> str:
    """The mark of one record by itself."""
    plain = [_hashed(value) for value in values]
    return _mark(json.dumps(plain, ensure_ascii=True, allow_nan=True))


def chain_mark(before: str, own: str) -> str:
    """The mark that ties a record to the one before it."""
    return _mark(f"{before}|{own}")


def rows_of(log: sqlite3.Connection, table: str) -> Iterator[Row]:
    """Every record of a table that the database can still give, in the order of writing.

    Where the database cannot read on, the records behind are asked for one by one. A form
    without marks gives each record as whole.
    """
    columns, last = _columns(log, table), 0
    is_marked = has_marks(log, table)
    query = f"SELECT rowid, {', '.join(columns)} FROM {table} NOT INDEXED"
    try:
        for found in log.execute(f"{query} ORDER BY rowid"):
            last = found[0]
            yield _row(table, found, is_marked)
        return
    except FAULTS:
        end = min(_last_number(log, table, last), last + MOST_ASKED_BEYOND)
    for number in range(last + 1, end + 1):
        try:
            found = log.execute(f"{query} WHERE rowid = ?", (number,)).fetchone()
        except FAULTS:
            continue
        if found is not None:
            yield _row(table, found, is_marked)


def damage_of(log: sqlite3.Connection, rows: Mapping[str, Sequence[Row]]) -> tuple[str, ...]:
    """What is wrong with the records, a sentence each; of a form without marks only what cannot be used."""
    found = [f"{row.words} is not as it was written" for table in rows for row in rows[table] if not row.is_whole]
    for table in rows:
        if has_marks(log, table):
            found += _gaps(rows[table], _last_number(log, table, 0))
    return tuple(found)


def _gaps(rows: Sequence[Row], last: int) -> Iterator[str]:
    before: Row | None = None
    for row in rows:
        is_next = row.chain == chain_mark(before.chain if before else "", row.own)
        if not is_next and row.is_whole and (before is None or before.is_whole):
            after = f" and after {before.words}" if before else ""
            yield f"what stands before {row.words}{after} is missing"
        before = row
    if (before.number if before else 0) < last:
        yield f"what stands after {before.words if before else 'the beginning'} is missing"


def _columns(log: sqlite3.Connection, table: str) -> list[str]:
    """The marked columns as they can be asked for in this form of the logbook."""
    there = {row[1] for row in log.execute(f"PRAGMA table_info({table})")}
    instead = {"reason": "''", "place": "rowid", "own": "''", "chain": "''"}
    return [
        name if name in there else f"{instead.get(name, name)} AS {name}" for name in (*MARKED[table], "own", "chain")
    ]


def has_marks(log: sqlite3.Connection, table: str) -> bool:
    """True when this form of the logbook marks its records."""
    return any(row[1] == "own" for row in log.execute(f"PRAGMA table_info({table})"))


def _row(table: str, found: Sequence[Any], is_marked: bool) -> Row:
    number, *values, own, chain = found
    return Row(
        table=table, number=number, values=tuple(values), own=str(own), chain=str(chain),
        is_whole=(not is_marked or own == own_mark(values)) and (table != ENTRY or _holds_a_record(values)),
    )  # fmt: skip


def _holds_a_record(values: Values) -> bool:
    """True for an entry whose body is what its kind has: cells by name, or nothing where it strikes out."""
    _, kind, _, body, *_ = values
    if kind not in RECORD_KINDS or body == "":
        return isinstance(body, str)
    try:
        found = json_of(body)
    except (NotRead, TypeError):
        return False
    return isinstance(found, dict) and all(isinstance(text, str) for text in found.values())


def _last_number(log: sqlite3.Connection, table: str, last: int) -> int:
    """The highest number given so far, as far as the database can tell."""
    query = (
        "SELECT seq FROM sqlite_sequence WHERE name = 'entry'" if table == ENTRY else "SELECT MAX(rowid) FROM document"
    )
    try:
        found = log.execute(query).fetchone()
        return int(found[0] or 0) if found else last
    except (*FAULTS, TypeError, ValueError):
        return last + MOST_ASKED_BEYOND


def _hashed(value: Any) -> Any:
    """A value as it goes into the mark: bytes by their hash, and each kind told from every other."""
    return ["bytes", hashlib.sha256(value).hexdigest()] if isinstance(value, bytes) else value


def _mark(text: str) -> str:
    return hashlib.sha256(text.encode("ascii", "backslashreplace")).hexdigest()[:FIGURES]


def _short(value: Any) -> str:
    return str(value)[:60]
