"""Whether a spreadsheet file may be opened at all, found without opening it.

A few bytes can name a cell in the last row and column, or merge the whole sheet, and the
libraries then make room for every cell between; and an archive can unpack to any size.
"""

import io
import re
import zipfile
from functools import reduce

MOST_UNPACKED_BYTES = 300_000_000
MOST_CELLS = 3_000_000
MOST_PARTS = 2_000
LETTERS = 26
CELL = re.compile(rb"<(?:\w+:)?c\s[^>]*?\br=[\"']([A-Z]{1,9})(\d{1,9})[\"']")
ROW = re.compile(rb"<(?:\w+:)?row\s[^>]*?\br=[\"'](\d{1,9})[\"']")
MERGED = re.compile(rb"<(?:\w+:)?mergeCell\s[^>]*?\bref=[\"']([A-Z]{1,9})(\d{1,9}):([A-Z]{1,9})(\d{1,9})[\"']")
DECLARED = (b"<!DOCTYPE", b"<!ENTITY")
OLD_FORM = b"\xd0\xcf\x11\xe0"


def unsafe_reason(raw: bytes) -> str:
    """Why a spreadsheet file must not be opened: empty when nothing speaks against it."""
    if raw.startswith(OLD_FORM):
        return "a spreadsheet of the old form, or one locked by a password"
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            members = archive.infolist()
            if len(members) > MOST_PARTS or sum(member.file_size for member in members) > MOST_UNPACKED_BYTES:
                return "a file that unpacks to more than 300 MB"
            return next((why for member in members if (why := _unsafe_part(archive, member))), "")
    except Exception:  # a damaged archive fails in many ways
        return "not a spreadsheet file, or a damaged one"


def _unsafe_part(archive: zipfile.ZipFile, member: zipfile.ZipInfo) -> str:
    content = archive.read(member).replace(b"\0", b"")
    if any(mark in content.upper() for mark in DECLARED):
        return f"declarations inside {member.filename} that no spreadsheet program writes"
    return _too_wide(content)


def _too_wide(part: bytes) -> str:
    """Cells so far out, or merged so widely, that the room between would fill the memory."""
    cells = CELL.findall(part)
    width = max((_number(column) for column in {column for column, _ in cells}), default=1)
    last = max((int(row) for row in (*(row for _, row in cells), *ROW.findall(part))), default=1)
    if width * last > MOST_CELLS:
        return f"a cell so far out that the sheet has {width} columns and {last} rows"
    merged = sum(_area(*corners) for corners in MERGED.findall(part))
    return f"{merged} cells merged into others" if merged > MOST_CELLS else ""


def _area(left: bytes, top: bytes, right: bytes, bottom: bytes) -> int:
    return (abs(_number(right) - _number(left)) + 1) * (abs(int(bottom) - int(top)) + 1)


def _number(column: bytes) -> int:
    """The number of a column from its letters: A is 1, Z 26, AA 27."""
    return reduce(lambda number, letter: number * LETTERS + letter - ord("A") + 1, column, 0)
