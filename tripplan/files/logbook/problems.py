"""What can be wrong with a logbook file, as Problems with codes of the letter J."""

import sqlite3
from collections.abc import Sequence
from pathlib import Path

from tripplan.records.problem_codes import LOGBOOK_CODES
from tripplan.records.problems import LOOK, STOPS, BadInput, Problem

ACCEPTED = {
    "J01": "a whole logbook",
    "J02": "a logbook of this edition or an older one",
    "J03": "a disk with room, and a file and folder that may be written",
    "J04": "a logbook that no other program is writing",
    "J05": "a logbook made by this program",
    "J06": "the path of a logbook",
    "J07": "the number of an entry in force",
    "J08": "a trip folder whose files can be read",
    "J09": "a folder written out from the logbook as it now is",
    "J10": "a whole logbook",
}
BY_ERROR_CODE = {
    sqlite3.SQLITE_NOTADB: "J05", sqlite3.SQLITE_CORRUPT: "J01",
    sqlite3.SQLITE_FULL: "J03", sqlite3.SQLITE_IOERR: "J03", sqlite3.SQLITE_READONLY: "J03",
    sqlite3.SQLITE_CANTOPEN: "J03", sqlite3.SQLITE_PERM: "J03", sqlite3.SQLITE_NOLFS: "J03",
    sqlite3.SQLITE_TOOBIG: "J03", sqlite3.SQLITE_BUSY: "J04", sqlite3.SQLITE_LOCKED: "J04",
    sqlite3.SQLITE_CONSTRAINT: "J07",
}  # fmt: skip
MOST_LISTED = 5
MEND = "`tripplan logbook mend {}` saves all that is whole, and keeps the damaged file beside it"
HEAD = b"SQLite format 3\0"


def logbook_problem(code: str, path: Path, found: str, hint: str = "") -> Problem:
    """The Problem of that code for this file."""
    return Problem(code=code, weight=STOPS, file=path.name, found=found, accepted=ACCEPTED[code], hint=hint)


def refusal(code: str, path: Path, found: str, hint: str = "") -> BadInput:
    """The same Problem as the exception that carries it out."""
    return BadInput([logbook_problem(code, path, found, hint)])


def damaged(path: Path, damage: Sequence[str]) -> BadInput:
    """The refusal of a damaged logbook, with what is damaged."""
    return refusal("J01", path, _listed(damage) or LOGBOOK_CODES["J01"], MEND.format(path.name))


def damage_problems(path: Path, damage: Sequence[str]) -> tuple[Problem, ...]:
    """What a reader of the rest is told: each damaged record, and how to save the rest."""
    hint = MEND.format(path.name)
    return tuple(
        Problem(code="J10", weight=LOOK, file=path.name, found=text, accepted=ACCEPTED["J10"], hint=hint)
        for text in damage
    )


def _listed(damage: Sequence[str]) -> str:
    more = f"; and {len(damage) - MOST_LISTED} more" if len(damage) > MOST_LISTED else ""
    return "; ".join(damage[:MOST_LISTED]) + more


def told(error: sqlite3.Error, path: Path) -> BadInput:
    """An error of the database as a Problem an owner can act on."""
    number = getattr(error, "sqlite_errorcode", None)
    code = BY_ERROR_CODE.get(number & 0xFF, "J01") if number is not None else "J01"
    if code == "J05" and _starts_like_one(path):
        code = "J01"
    return refusal(code, path, f"{LOGBOOK_CODES[code]} ({error})", MEND.format(path.name) if code == "J01" else "")


def _starts_like_one(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            return file.read(len(HEAD)) == HEAD
    except OSError:
        return False
