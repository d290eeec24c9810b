"""What was issued before, so that planning again updates a calendar and drops nothing.

The register holds, for each UID, the sequence number, the stamp and the hash of what was
written. A change raises the sequence; what is no longer planned stays, as cancelled.
"""

import json
from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from msgspec import Struct, field
from msgspec.structs import asdict, replace

from tripplan.files.way_in import NotRead, json_of

REGISTER_SCHEMA = 1
STAMP_FORM = "%Y%m%dT%H%M%SZ"
CONFIRMED, CANCELLED = "CONFIRMED", "CANCELLED"


class Issued(Struct, frozen=True, kw_only=True):
    """One entry as it was last written. Dates are in calendar form: 20260704, or with T and a zone."""

    component: str
    sequence: int
    stamp: str
    content: str
    summary: str
    start: str
    end: str
    zone: str = ""
    status: str = CONFIRMED


class Register(Struct, frozen=True, kw_only=True):
    """Everything ever issued for one trip folder, by UID.

    `files` are hashes of the calendar files written with it: while they match, those need
    not be read again.
    """

    entries: dict[str, Issued] = field(default_factory=dict)
    files: dict[str, str] = field(default_factory=dict)


def register_text(register: Register) -> str:
    """The register as JSON, UIDs in order."""
    entries = {uid: asdict(register.entries[uid]) for uid in sorted(register.entries)}
    document = {"schema": REGISTER_SCHEMA, "files": register.files, "entries": entries}
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


def read_register(text: str) -> Register | None:
    """The register of a JSON text; None when the text is not one."""
    try:
        document: Any = json_of(text)
        if document["schema"] != REGISTER_SCHEMA:
            return None
        files = {str(name): str(value) for name, value in document.get("files", {}).items()}
        return Register(entries={str(uid): _issued(row) for uid, row in document["entries"].items()}, files=files)
    except (NotRead, ValueError, KeyError, TypeError, AttributeError):
        return None


def _issued(row: dict[str, Any]) -> Issued:
    issued = Issued(**row)
    words = (issued.component, issued.stamp, issued.content, issued.summary, issued.start, issued.end)
    if not isinstance(issued.sequence, int) or not all(isinstance(word, str) for word in words):
        raise TypeError("a register row holds a whole sequence number and texts")
    datetime.strptime(issued.stamp, STAMP_FORM)
    for text in (issued.start, issued.end):
        moment(text, issued.zone)
    return issued


def moment(text: str, zone: str) -> date | datetime:
    """A day or a moment from its calendar form; in a zone nobody knows, its day."""
    if "T" not in text:
        return datetime.strptime(text, "%Y%m%d").date()
    local = datetime.strptime(text, "%Y%m%dT%H%M%S")
    try:
        return local.replace(tzinfo=ZoneInfo(zone)) if zone else local
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return local.date()


def merged(first: Register, second: Register) -> Register:
    """Both registers in one; of an entry in both, the one issued last, else the first's."""
    entries = dict(second.entries)
    for uid, issued in first.entries.items():
        if uid not in entries or issued.sequence >= entries[uid].sequence:
            entries[uid] = issued
    return Register(entries=entries)


def stamp_text(stamp: datetime) -> str:
    """A moment as calendars write it in UTC; a naive one is taken as UTC."""
    aware = stamp if stamp.tzinfo else stamp.replace(tzinfo=UTC)
    return aware.astimezone(UTC).strftime(STAMP_FORM)


def reissue(planned: dict[str, Issued], previous: Register, stamp: datetime) -> Register:
    """The register after this issue.

    `planned` holds what is wanted now, its sequence and stamp not yet set. Unchanged
    entries keep both; changed ones count up; missing ones are cancelled, and counted up
    once; a cancelled one that is wanted again counts up too.
    """
    now = stamp_text(stamp)
    entries = {}
    for uid, wanted in planned.items():
        old = previous.entries.get(uid)
        if old is None:
            entries[uid] = replace(wanted, sequence=0, stamp=now)
        elif old.status == wanted.status and old.content == wanted.content:
            entries[uid] = replace(wanted, sequence=old.sequence, stamp=old.stamp)
        else:
            entries[uid] = replace(wanted, sequence=old.sequence + 1, stamp=now)
    for uid, old in previous.entries.items():
        if uid not in planned:
            gone = replace(old, sequence=old.sequence + 1, stamp=now, status=CANCELLED, content="")
            entries[uid] = old if old.status == CANCELLED else gone
    return Register(entries=entries)
