"""The one way in for a file from outside: what it is, how large, and what its text can hold.

Only a regular file is opened, and never waited for; a link is followed to one. No more is
read than is allowed, whatever the file grows to meanwhile. JSON and TOML are read with the
same limits everywhere: no number of more figures than a number can have, no nesting that a
person could not have meant.
"""

import codecs
import json
import os
import stat
import tomllib
from math import isfinite
from pathlib import Path
from typing import Any

MOST_BYTES = 200_000_000
MOST_FIGURES = 40
DEEPEST = 100
LARGEST_WHOLE = 2**63
FIGURES = bytes.maketrans(b"123456789", b"000000000")
FAR_NUMBERS = (b"0" * (MOST_FIGURES + 1), b"e000", b"e+000", b"E000", b"E+000")
"""What a text holds, every figure read as 0, where it may hold a number of too many figures, or one without end."""
LOOKED_AT = frozenset((dict, list, int))
TOO_DEEP = "values nested too deep"
NOT_A_FILE, A_FOLDER, NOT_PERMITTED = "something that is not a file", "a folder", "reading is not permitted"


class NotRead(Exception):
    """A file or text that is not let in; `found` says what it is, and `row` the line where that is known.

    `is_absent` when there is no such file, `is_too_much` when it is too large or too deep.
    """

    def __init__(self, found: str, is_absent: bool = False, is_too_much: bool = False, row: int | None = None) -> None:
        self.found, self.is_absent, self.is_too_much, self.row = found, is_absent, is_too_much, row
        super().__init__(found)


def read_file(path: Path, most_bytes: int = MOST_BYTES) -> bytes:
    """All of a regular file. Raises NotRead for anything else, and for one that is too large."""
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except (FileNotFoundError, NotADirectoryError):
        raise NotRead("no such file", is_absent=True) from None
    except (OSError, ValueError) as error:
        raise NotRead(_why_not(path, error)) from None
    try:
        kind = os.fstat(handle)
        if not stat.S_ISREG(kind.st_mode):
            raise NotRead(A_FOLDER if stat.S_ISDIR(kind.st_mode) else NOT_A_FILE)
        with os.fdopen(handle, "rb", closefd=False) as file:
            content = file.read(most_bytes + 1)
    except OSError as error:
        raise NotRead(error.strerror or "a file that cannot be read") from None
    finally:
        os.close(handle)
    if len(content) > most_bytes:
        raise NotRead(f"a file of more than {most_bytes / 1e6:g} MB", is_too_much=True)
    return content


def look_at(path: Path) -> int:
    """The size of a regular file that is read piece by piece. Raises NotRead for anything else."""
    try:
        kind = path.stat()
    except FileNotFoundError:
        raise NotRead("no such file", is_absent=True) from None
    except (OSError, ValueError) as error:
        raise NotRead(_why_not(path, error)) from None
    if not stat.S_ISREG(kind.st_mode):
        raise NotRead(A_FOLDER if stat.S_ISDIR(kind.st_mode) else NOT_A_FILE)
    return kind.st_size


def content(path: Path, most_bytes: int = MOST_BYTES) -> bytes | None:
    """The same, or None for a file that is not there or not let in."""
    try:
        return read_file(path, most_bytes)
    except NotRead:
        return None


def is_encoding(name: Any) -> bool:
    """True for the name of a character set that bytes can be read by."""
    try:
        info = codecs.lookup(name)
        return (
            getattr(info, "_is_text_encoding", True) and isinstance(b"".decode(name), str) and bool(b"a".decode(name))
        )
    except (LookupError, ValueError, TypeError):
        return False


def json_of(raw: bytes | str) -> Any:
    """What a JSON text says. Raises NotRead for one that is none, or that no number or nesting could hold."""
    try:
        text = raw.decode("utf-8") if isinstance(raw, bytes) else raw
        figures = (raw if isinstance(raw, bytes) else raw.encode("utf-8", "replace")).translate(FIGURES)
        is_far = any(mark in figures for mark in FAR_NUMBERS)
        numbers: dict[str, Any] = {"parse_int": _whole, "parse_float": _finite} if is_far else {}
        found = json.loads(text, parse_constant=_no_number, **numbers)
    except RecursionError:
        raise NotRead(TOO_DEEP, is_too_much=True) from None
    except json.JSONDecodeError as error:
        raise NotRead(f"a fault in the JSON: {error.msg}", row=error.lineno) from None
    except UnicodeDecodeError:
        raise NotRead("text that is not UTF-8") from None
    except ValueError as error:
        raise NotRead(f"a fault in the JSON: {error}") from None
    _refuse_depth(found)
    return found


def toml_of(text: str) -> dict[str, Any]:
    """What a TOML text says. Raises `tomllib.TOMLDecodeError` as it is, and NotRead beyond its limits."""
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        raise
    except (RecursionError, ValueError):
        raise NotRead("a value that is too long or nested too deep", is_too_much=True) from None
    _refuse_depth(found)
    return found


def _why_not(path: Path, error: Exception) -> str:
    if isinstance(error, PermissionError):
        return A_FOLDER if path.is_dir() else NOT_PERMITTED
    if isinstance(error, IsADirectoryError):
        return A_FOLDER
    return getattr(error, "strerror", None) or "a name that no file can have"


def _whole(text: str) -> int:
    if len(text) > MOST_FIGURES:
        raise ValueError(f"a number of {len(text)} figures")
    return int(text)


def _finite(text: str) -> float:
    found = float(text)
    return found if isfinite(found) else _no_number(text[:MOST_FIGURES])


def _no_number(text: str) -> float:
    raise ValueError(f"{text}, which is no number")


def _refuse_depth(found: Any) -> None:
    """Look through what was read, a level at a time; whole numbers of TOML have no more than 64 bits."""
    level, depth = [found], 0
    while level:
        if depth > DEEPEST:
            raise NotRead(TOO_DEEP, is_too_much=True)
        below: list[Any] = []
        for value in level:
            if isinstance(value, dict):
                below += value.values()
            elif isinstance(value, list):
                below += value
            elif isinstance(value, int) and not -LARGEST_WHOLE <= value < LARGEST_WHOLE:
                raise NotRead("a whole number beyond nine million million million")
        level, depth = [value for value in below if type(value) in LOOKED_AT], depth + 1
