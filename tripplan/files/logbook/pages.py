"""The records of a damaged logbook, taken from its pages one by one.

Where the tree of a table is broken the database cannot find its leaves any more; the leaves
are still there. This reads them as the file format of SQLite has them (sqlite.org/fileformat2.html,
sections 1.6 and 2.1): every page that looks like a leaf of a table, every cell that looks like
a record. Whether it is one, its own mark decides; so nothing here has to be trusted.
"""

import struct
from collections.abc import Iterator
from typing import Any

HEAD_BYTES = 100
LEAF = 0x0D
SIZES = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}
PAGE_SIZES = tuple(1 << power for power in range(9, 17))


def leaf_records(raw: bytes) -> Iterator[tuple[int, tuple[Any, ...]]]:
    """Row number and values of every cell of every leaf page, as far as they can be read."""
    size = _page_size(raw)
    for page in range(len(raw) // size):
        start = page * size
        top = start + (HEAD_BYTES if page == 0 else 0)
        if raw[top] != LEAF:
            continue
        count = struct.unpack_from(">H", raw, top + 3)[0]
        for spot in range(min(count, (size - 8) // 2)):
            try:
                (offset,) = struct.unpack_from(">H", raw, top + 8 + 2 * spot)
                yield _cell(raw, start + offset, size)
            except (struct.error, IndexError, ValueError, UnicodeDecodeError):
                continue


def _page_size(raw: bytes) -> int:
    """As the head says; 4096, the usual, where that is no size a page can have."""
    (said,) = struct.unpack_from(">H", raw, 16) if len(raw) > 18 else (0,)
    size = 65536 if said == 1 else said
    return size if size in PAGE_SIZES else 4096


def _cell(raw: bytes, spot: int, size: int) -> tuple[int, tuple[Any, ...]]:
    length, spot = _varint(raw, spot)
    number, spot = _varint(raw, spot)
    return number, _values(_payload(raw, spot, length, size))


def _payload(raw: bytes, spot: int, length: int, size: int) -> bytes:
    """The bytes of a record, gathered from its overflow pages too."""
    if not 0 < length <= len(raw):
        raise ValueError("a record longer than the file")
    most, least = size - 35, (size - 12) * 32 // 255 - 23
    local = length
    if length > most:
        local = least + (length - least) % (size - 4)
        local = local if local <= most else least
    found = bytearray(raw[spot : spot + local])
    (page,) = struct.unpack_from(">I", raw, spot + local) if local < length else (0,)
    while len(found) < length and page:
        start = (page - 1) * size
        (page,) = struct.unpack_from(">I", raw, start)
        found += raw[start + 4 : start + min(size, 4 + length - len(found))]
    if len(found) != length:
        raise ValueError("a record that is cut off")
    return bytes(found)


def _values(payload: bytes) -> tuple[Any, ...]:
    head, spot = _varint(payload, 0)
    kinds = []
    while spot < head:
        kind, spot = _varint(payload, spot)
        kinds.append(kind)
    values = []
    for kind in kinds:
        width = SIZES.get(kind, (kind - 12) // 2 if kind >= 12 else 0)
        part = payload[spot : spot + width]
        if len(part) != width:
            raise ValueError("a value that is cut off")
        values.append(_value(kind, part))
        spot += width
    return tuple(values)


def _value(kind: int, part: bytes) -> Any:
    if kind == 0:
        return None
    if kind in (8, 9):
        return kind - 8
    if kind == 7 or kind in (10, 11):
        raise ValueError("a kind of value that no logbook holds")
    if kind <= 6:
        return int.from_bytes(part, "big", signed=True)
    return part if kind % 2 == 0 else part.decode("utf-8")


def _varint(raw: bytes, spot: int) -> tuple[int, int]:
    """A number of one to nine bytes, and where it ends."""
    value = 0
    for count in range(9):
        byte = raw[spot + count]
        if count == 8:
            return value << 8 | byte, spot + 9
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, spot + count + 1
    raise ValueError("no number")
