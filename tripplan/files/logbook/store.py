"""The logbook file: one SQLite database to which entries are only ever added.

A correction is a new entry that names the one it replaces; nothing is changed or taken
out, and the database itself refuses to. Every write is one transaction that takes the
write lock first and is on the disk when the call returns.
"""

import sqlite3
import time
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from tripplan.files.logbook.problems import refusal, told
from tripplan.records.problem_codes import LOGBOOK_CODES

APPLICATION_ID = 0x74726C62
BUSY_SECONDS = 5.0
PAUSE_SECONDS = 0.02
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
        *(
            f"CREATE TRIGGER {table}_{act.lower()} BEFORE {act} ON {table}"
            " BEGIN SELECT RAISE(ABORT, 'a logbook is only added to'); END"
            for table in ("entry", "document")
            for act in ("UPDATE", "DELETE")
        ),
    ),
)  # fmt: skip
VERSION = len(MIGRATIONS)
STRUCK = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One dated line of the logbook. `root` is the first entry of its chain of corrections."""

    number: int
    kind: str
    trip: str
    body: str
    written_at: str
    replaces: int | None
    reason: str
    root: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Fresh:
    """An entry about to be written; an empty body strikes out the entry it replaces."""

    kind: str
    body: str
    trip: str = ""
    replaces: int | None = None
    reason: str = ""


@contextmanager
def opened(path: Path, create: bool = False) -> Iterator[sqlite3.Connection]:
    """The logbook, checked and brought up to this edition; BadInput with letter J otherwise."""
    if not create and not path.exists():
        raise refusal("J06", path, "no such file")
    if path.is_dir():
        raise refusal("J05", path, "a folder")
    try:
        with closing(sqlite3.connect(path, timeout=BUSY_SECONDS, isolation_level=None)) as log:
            _settle(log, path, create)
            yield log
    except sqlite3.Error as error:
        raise told(error, path) from error


def append(log: sqlite3.Connection, path: Path, entries: Sequence[Fresh]) -> tuple[int, ...]:
    """Write entries in one transaction and return their numbers; all are kept or none."""
    with writing(log):
        return tuple(_insert(log, path, entry) for entry in entries)


def save_documents(log: sqlite3.Connection, contents: dict[str, bytes | None]) -> dict[str, int]:
    """Write a new version of each document that changed; None withdraws it."""
    changed: dict[str, int] = {}
    with writing(log):
        for name, content in contents.items():
            last = log.execute(
                "SELECT version, content FROM document WHERE name = ? ORDER BY version DESC LIMIT 1", (name,)
            ).fetchone()
            version, kept = last or (0, None)
            if kept == content:
                continue
            changed[name] = version + 1
            values = (name, changed[name], content, _now())
            log.execute("INSERT INTO document VALUES (?, ?, ?, ?)", values)
    return changed


def documents(log: sqlite3.Connection) -> dict[str, bytes]:
    """The latest version of each document in force, by name."""
    rows = log.execute(
        "SELECT name, content FROM document d WHERE version ="
        " (SELECT MAX(version) FROM document WHERE name = d.name) ORDER BY name"
    )
    return {name: content for name, content in rows if content is not None}


def in_force(log: sqlite3.Connection, kind: str, trip: str | None = None) -> tuple[Entry, ...]:
    """Entries of a kind that nothing replaces, each at the place of the first of its chain."""
    every = entries(log, kind)
    replaced = {entry.replaces for entry in every}
    kept = (e for e in every if e.number not in replaced and e.body != STRUCK)
    return tuple(sorted((e for e in kept if trip is None or e.trip == trip), key=lambda e: e.root))


def entries(log: sqlite3.Connection, kind: str) -> tuple[Entry, ...]:
    """Every entry of a kind as it was written, corrected ones too."""
    root: dict[int, int] = {}
    found = []
    columns = "number, kind, trip, body, written_at, replaces, reason"
    for row in log.execute(f"SELECT {columns} FROM entry WHERE kind = ? ORDER BY number", (kind,)):
        number, replaces = row[0], row[5]
        root[number] = root.get(replaces, number)
        values = dict(zip(columns.split(", "), row, strict=True))
        found.append(Entry(**values, root=root[number]))
    return tuple(found)


def _insert(log: sqlite3.Connection, path: Path, entry: Fresh) -> int:
    if entry.replaces is not None:
        same = "SELECT 1 FROM entry WHERE number = ? AND kind = ? AND body != ''"
        if log.execute(same, (entry.replaces, entry.kind)).fetchone() is None:
            raise refusal("J07", path, f"entry {entry.replaces}, which is no entry of kind {entry.kind}")
    try:
        made = log.execute(
            "INSERT INTO entry (kind, trip, body, written_at, replaces, reason) VALUES (?, ?, ?, ?, ?, ?)",
            (entry.kind, entry.trip, entry.body, _now(), entry.replaces, entry.reason),
        )
    except sqlite3.IntegrityError as error:
        raise refusal("J07", path, f"entry {entry.replaces}, which was corrected already") from error
    return int(made.lastrowid or 0)


@contextmanager
def writing(log: sqlite3.Connection) -> Iterator[None]:
    """One transaction around all that is written inside, the write lock taken at its start."""
    if log.in_transaction:
        yield
        return
    log.execute("BEGIN IMMEDIATE")
    try:
        yield
        log.execute("COMMIT")
    except BaseException:
        if log.in_transaction:
            log.execute("ROLLBACK")
        raise


def _settle(log: sqlite3.Connection, path: Path, create: bool) -> None:
    version = _version(log)
    known = log.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
    is_empty = log.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()[0] == 0
    if not known and not (create and is_empty):
        raise refusal("J05", path, "an empty file" if is_empty else "a database of another program")
    if version > VERSION:
        found = f"edition {version} of the form; this program knows up to {VERSION}"
        raise refusal("J02", path, found, "install the newer program, or work with the last export")
    _check_whole(log, path)
    _patiently(log, "PRAGMA journal_mode = WAL")
    log.execute("PRAGMA synchronous = FULL")
    log.execute("PRAGMA foreign_keys = ON")
    if version < VERSION:
        if version:
            back_up(log, path, version)
        _migrate(log)


def _check_whole(log: sqlite3.Connection, path: Path) -> None:
    found = [row[0] for row in log.execute("PRAGMA integrity_check(1)")]
    if found != ["ok"]:
        raise refusal("J01", path, f"{LOGBOOK_CODES['J01']} ({found[0]})")


def _migrate(log: sqlite3.Connection) -> None:
    """Each step with its version number in one transaction, so that a cut leaves the old form."""
    with writing(log):
        for version in range(_version(log), VERSION):
            for statement in MIGRATIONS[version]:
                log.execute(statement)
        log.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        log.execute(f"PRAGMA user_version = {VERSION}")


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
