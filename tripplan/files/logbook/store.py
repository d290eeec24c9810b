"""The logbook file: one SQLite database to which entries are only ever added.

A correction is a new entry that names the one it replaces; nothing is changed or taken
out, and the database itself refuses to. Every write is one transaction that is on the disk
when the call returns, and only one program at a time may begin one. Each record carries a
mark of its own and one that ties it to all before (`chain`). A damaged logbook is read as
far as its records are whole, and is not written to before it is mended.

The file is whole by itself: nothing of a finished write is kept in another file beside it.
"""

import sqlite3
import time
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import quote

from msgspec import Struct

from tripplan.files.held import logbook_held
from tripplan.files.logbook.chain import DOCUMENT, ENTRY, FAULTS, MARKED, Row, chain_mark, damage_of, own_mark, rows_of
from tripplan.files.logbook.problems import damaged, refusal, told

APPLICATION_ID = 0x74726C62
BUSY_SECONDS = 5.0
PAUSE_SECONDS = 0.02
TABLES = (ENTRY, DOCUMENT)
GUARDS = tuple(
    f"CREATE TRIGGER {table}_{act.lower()} BEFORE {act} ON {table}"
    " BEGIN SELECT RAISE(ABORT, 'a logbook is only added to'); END"
    for table in TABLES
    for act in ("UPDATE", "DELETE")
)
MARK_COLUMNS = tuple(
    f"ALTER TABLE {table} ADD COLUMN {column} NOT NULL DEFAULT {start}"
    for table in TABLES
    for column, start in (
        ("own TEXT", "''"),
        ("chain TEXT", "''"),
        *((("place INTEGER", "0"),) if table == DOCUMENT else ()),
    )
)
SET_MARKS = "each record marked"
MIGRATIONS: tuple[tuple[str, ...], ...] = (
    (
        "CREATE TABLE entry (number INTEGER PRIMARY KEY AUTOINCREMENT, kind TEXT NOT NULL, trip TEXT NOT NULL,"
        " body TEXT NOT NULL, written_at TEXT NOT NULL, replaces INTEGER REFERENCES entry(number))",
        "CREATE TABLE document (name TEXT NOT NULL, version INTEGER NOT NULL, content BLOB,"
        " written_at TEXT NOT NULL, PRIMARY KEY (name, version))",
    ),
    (
        "ALTER TABLE entry ADD COLUMN reason TEXT NOT NULL DEFAULT ''",
        "CREATE UNIQUE INDEX one_correction ON entry(replaces) WHERE replaces IS NOT NULL",
        *GUARDS,
    ),
    (*MARK_COLUMNS, "DROP TRIGGER entry_update", "DROP TRIGGER document_update", SET_MARKS, GUARDS[0], GUARDS[2]),
)  # fmt: skip
VERSION = len(MIGRATIONS)
STRUCK = ""


class Log(sqlite3.Connection):
    """An open logbook, and what is wrong with it; it must not be written to while `damage` is not empty."""

    damage: tuple[str, ...] = ()

    def __init__(self, *words: Any, **options: Any) -> None:
        super().__init__(*words, **options)
        self._known: dict[str, list[Row]] = {}

    def rows(self, table: str) -> list[Row]:
        """Every record of a table that can be read; looked through once, then known."""
        if table not in self._known:
            self._known[table] = list(rows_of(self, table))
        return self._known[table]

    def add(self, table: str, values: tuple[Any, ...]) -> None:
        """Put one record behind the others, with its two marks."""
        rows = self.rows(table)
        own = own_mark(values)
        chain = chain_mark(rows[-1].chain if rows else "", own)
        columns = ", ".join((*MARKED[table], "own", "chain"))
        made = self.execute(
            f"INSERT INTO {table} ({columns}) VALUES ({', '.join('?' * len(values))}, ?, ?)", (*values, own, chain)
        )
        rows.append(Row(table=table, number=made.lastrowid or 0, values=values, own=own, chain=chain, is_whole=True))

    def forget(self) -> None:
        """Look through the file again when next asked: another program may have written."""
        self._known.clear()


class Entry(Struct, frozen=True, kw_only=True):
    """One dated line of the logbook. `root` is the first entry of its chain of corrections."""

    number: int
    kind: str
    trip: str
    body: str
    written_at: str
    replaces: int | None
    reason: str
    root: int


class Fresh(Struct, frozen=True, kw_only=True):
    """An entry about to be written; an empty body strikes out the entry it replaces."""

    kind: str
    body: str
    trip: str = ""
    replaces: int | None = None
    reason: str = ""


@contextmanager
def opened(path: Path, looks: bool = True) -> Iterator[Log]:
    """The logbook for reading, in whatever form it has; nothing of it is changed.

    All is read as it is at one moment. `looks` False leaves out the search for damage, for
    a caller that only asks where the logbook stands. Raises BadInput with letter J for a
    file that is no logbook or cannot be read at all.
    """
    with _connected(path) as log:
        log.execute("BEGIN")
        _refuse_foreign(log, path)
        if looks:
            log.damage = _damage(log)
            if log.damage and not any(log.rows(table) for table in TABLES):
                raise damaged(path, log.damage)
        yield log


@contextmanager
def changing(path: Path, create: bool = False) -> Iterator[Log]:
    """The logbook for adding to, held against every other program, and brought up to this edition.

    Raises BadInput with letter J for one that cannot be, or that is damaged, and K05 when
    another program does not let go of it.
    """
    with logbook_held(path), _connected(path, create) as log:
        _settle(log, path, create)
        yield log


def append(log: Log, path: Path, entries: Sequence[Fresh]) -> tuple[int, ...]:
    """Write entries in one transaction and return their numbers; all are kept or none."""
    with writing(log):
        return tuple(_insert(log, path, entry) for entry in entries)


def save_documents(log: Log, contents: dict[str, bytes | None]) -> dict[str, int]:
    """Write a new version of each document that changed; None withdraws it."""
    changed: dict[str, int] = {}
    with writing(log):
        for name, content in contents.items():
            before = [row.values for row in log.rows(DOCUMENT) if row.values[1] == name]
            version, kept = (before[-1][2], before[-1][3]) if before else (0, None)
            if kept == content:
                continue
            changed[name] = version + 1
            rows = log.rows(DOCUMENT)
            place = rows[-1].values[0] + 1 if rows else 1
            log.add(DOCUMENT, (place, name, changed[name], content, _now()))
    return changed


def documents(log: Log) -> dict[str, bytes]:
    """The latest version of each document in force, by name; none where that version is damaged."""
    found: dict[str, tuple[int, bytes | None]] = {}
    for row in log.rows(DOCUMENT):
        _, name, version, content, _ = row.values
        if not row.is_whole:
            found[str(name)] = (int(version) if isinstance(version, int) else 0, None)
        elif version > found.get(name, (0, None))[0]:
            found[name] = (version, content)
    return {name: content for name, (_, content) in sorted(found.items()) if content is not None}


def in_force(log: Log, kind: str, trip: str | None = None) -> tuple[Entry, ...]:
    """Entries of a kind that nothing replaces, each at the place of the first of its chain."""
    every = entries(log, kind)
    replaced = {entry.replaces for entry in every}
    kept = (e for e in every if e.number not in replaced and e.body != STRUCK)
    return tuple(sorted((e for e in kept if trip is None or e.trip == trip), key=lambda e: e.root))


def entries(log: Log, kind: str) -> tuple[Entry, ...]:
    """Every entry of a kind as it was written, corrected ones too; damaged ones are left out."""
    root: dict[int, int] = {}
    found = []
    for row in log.rows(ENTRY):
        if not row.is_whole or row.values[1] != kind:
            continue
        number, _, trip, body, written_at, replaces, reason = row.values
        root[number] = root.get(replaces, number)
        found.append(Entry(number=number, kind=kind, trip=trip, body=body, written_at=written_at, replaces=replaces,
                           reason=reason, root=root[number]))  # fmt: skip
    return tuple(found)


def _insert(log: Log, path: Path, entry: Fresh) -> int:
    rows = log.rows(ENTRY)
    own = (row.number for row in rows if row.values[1] == entry.kind and row.values[3] != STRUCK)
    if entry.replaces is not None and entry.replaces not in own:
        raise refusal("J07", path, f"entry {entry.replaces}, which is no entry of kind {entry.kind}")
    number = rows[-1].number + 1 if rows else 1
    try:
        log.add(ENTRY, (number, entry.kind, entry.trip, entry.body, _now(), entry.replaces, entry.reason))
    except sqlite3.IntegrityError as error:
        raise refusal("J07", path, f"entry {entry.replaces}, which was corrected already") from error
    return number


@contextmanager
def writing(log: Log) -> Iterator[None]:
    """One transaction around all that is written inside, the write lock taken at its start."""
    if log.in_transaction:
        yield
        return
    log.execute("BEGIN IMMEDIATE")
    try:
        yield
        log.execute("COMMIT")
    except BaseException:
        log.forget()
        if log.in_transaction:
            log.execute("ROLLBACK")
        raise


@contextmanager
def _connected(path: Path, create: bool = False) -> Iterator[Log]:
    if not create and not path.exists():
        raise refusal("J06", path, "no such file")
    if path.exists() and not path.is_file():
        raise refusal("J05", path, "a folder" if path.is_dir() else "something that is not a file")
    mode = "rwc" if create else "rw"
    address = f"file:{quote(str(path.absolute()))}?mode={mode}"
    try:
        log = sqlite3.connect(address, timeout=BUSY_SECONDS, isolation_level=None, factory=Log, uri=True)
        with closing(log):
            log.text_factory = _text
            yield log
    except sqlite3.Error as error:
        raise told(error, path) from error
    except UnicodeDecodeError as error:
        raise damaged(path, ()) from error


def _text(raw: bytes) -> str:
    """A text of the file; one that is no text any more is still read, and its mark will not fit."""
    return raw.decode("utf-8", "replace")


def _refuse_foreign(log: Log, path: Path, create: bool = False) -> int:
    """The edition of the form; raises BadInput for another program's file and for a newer edition."""
    version = _version(log)
    known = log.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
    is_empty = log.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()[0] == 0
    if not known and not (create and is_empty):
        raise refusal("J05", path, "an empty file" if is_empty else "a database of another program")
    if version > VERSION:
        found = f"edition {version} of the form; this program knows up to {VERSION}"
        raise refusal("J02", path, found, "install the newer program, or work with the last export")
    return version


def _settle(log: Log, path: Path, create: bool) -> None:
    version = _refuse_foreign(log, path, create)
    if version:
        log.damage = _damage(log)
    if log.damage:
        raise damaged(path, log.damage)
    _patiently(log, "PRAGMA journal_mode = DELETE")
    log.execute("PRAGMA synchronous = EXTRA")
    log.execute("PRAGMA foreign_keys = ON")
    if version < VERSION:
        if version:
            back_up(log, path, version)
        _migrate(log)


def _damage(log: Log) -> tuple[str, ...]:
    """What is wrong with the file or its records, a sentence each."""
    try:
        found = [str(row[0]) for row in log.execute("PRAGMA integrity_check(3)")]
    except FAULTS as error:
        found = [str(error)]
    records = damage_of(log, {table: log.rows(table) for table in TABLES})
    return (*records, *(f"the file itself: {text}"[:200] for text in found if text != "ok"))


def _migrate(log: Log) -> None:
    """Each step with its version number in one transaction, so that a cut leaves the old form."""
    log.forget()
    with writing(log):
        for version in range(_version(log), VERSION):
            for statement in MIGRATIONS[version]:
                if statement == SET_MARKS:
                    set_marks(log)
                else:
                    log.execute(statement)
        log.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        log.execute(f"PRAGMA user_version = {VERSION}")
    log.forget()


def set_marks(log: sqlite3.Connection) -> None:
    """Mark every record of a logbook that has none yet."""
    log.execute("UPDATE document SET place = rowid")
    for table in TABLES:
        before = ""
        for row in list(rows_of(log, table)):
            own = own_mark(row.values)
            before = chain_mark(before, own)
            log.execute(f"UPDATE {table} SET own = ?, chain = ? WHERE rowid = ?", (own, before, row.number))


def back_up(log: sqlite3.Connection, path: Path, version: int) -> Path:
    """A whole copy of the logbook beside it, named after the form it has."""
    extras = ("", *(f"-{number}" for number in range(2, 100)))
    names = (path.with_name(f"{path.name}.form{version}{extra}.bak") for extra in extras)
    target = next((name for name in names if not name.exists()), None)
    if target is None:
        raise refusal("J03", path, "a hundred copies beside the logbook", "move the old copies away")
    half = target.with_suffix(".part")
    half.unlink(missing_ok=True)
    with closing(sqlite3.connect(half)) as copy:
        log.backup(copy)
    half.replace(target)
    return target


def _patiently(log: sqlite3.Connection, statement: str) -> None:
    """Run what the busy timeout does not cover, for as long as that timeout."""
    end = time.monotonic() + BUSY_SECONDS
    while True:
        try:
            log.execute(statement).fetchall()
            return
        except sqlite3.OperationalError:
            if time.monotonic() > end:
                raise
            time.sleep(PAUSE_SECONDS)


def _version(log: sqlite3.Connection) -> int:
    return int(log.execute("PRAGMA user_version").fetchone()[0])


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
