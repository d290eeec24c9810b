"""The owner's calendar file as plain parts: each event, its lines, and where they stand.

The rules are those of RFC 5545, section 3.1: a line that starts with a blank continues
the one before it, a line is NAME;PARAMETER=VALUE:VALUE, and components are nested
between BEGIN and END. Only the properties that say when the owner is busy are kept.
A calendar of many years is read here in seconds; the library that writes our own
calendar builds every property as an object, which takes it a minute.
"""

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache

from msgspec import Struct, field

from tripplan.records.facts_in import Origin
from tripplan.records.problem_codes import problem
from tripplan.records.problems import STOPS, Problem

WANTED = frozenset((
    "DTSTART", "DTEND", "DURATION", "RRULE", "EXRULE", "RDATE", "EXDATE", "RECURRENCE-ID", "UID",
    "STATUS", "TRANSP", "FREEBUSY",
))  # fmt: skip
TIMED_KINDS = ("VEVENT", "VFREEBUSY")
PARAMETER = r""";([^=:;"]+)=((?:"[^"]*"|[^":;])*)"""
QUOTED_HEAD = re.compile(r"""((?:"[^"]*"|[^":])*):""")
EACH_PARAMETER = re.compile(PARAMETER)
ACCEPTED = "a calendar file, from BEGIN:VCALENDAR to END:VCALENDAR"
EXPORT_AGAIN = "export the calendar once more from the program that keeps it"


class Line(Struct, frozen=True):
    """One property: its row in the file, its parameters, and its value as text."""

    row: int
    parameters: Mapping[str, str]
    value: str


class Part(Struct, frozen=True):
    """One event or free/busy component, and the lines of each wanted property."""

    kind: str
    row: int
    lines: dict[str, list[Line]] = field(default_factory=dict)

    def first(self, name: str) -> Line | None:
        """The first line of that property, or None."""
        lines = self.lines.get(name)
        return lines[0] if lines else None


class CalendarParts(Struct, frozen=True):
    """What a calendar file holds: its timed parts, and the text of its time zones by name."""

    file: str
    parts: tuple[Part, ...]
    zones: Mapping[str, str]


def calendar_parts(text: str, name: str) -> tuple[CalendarParts | None, tuple[Problem, ...]]:
    """The parts of a calendar file; a file that is cut short or mixed up gives its Problem."""
    parts: list[Part] = []
    zones: list[list[str]] = []
    open_kinds: list[str] = []
    for row, line in unfolded(text):
        mark = line[:6].upper()
        if mark == "BEGIN:":
            kind = line[6:].strip().upper()
            if not open_kinds and kind != "VCALENDAR":
                return None, (_damaged(name, row, line),)
            open_kinds.append(kind)
            if kind in TIMED_KINDS:
                parts.append(Part(kind, row))
            elif kind == "VTIMEZONE":
                zones.append([])
        elif not open_kinds:
            return None, (_damaged(name, row, line),)
        if "VTIMEZONE" in open_kinds:
            zones[-1].append(line)
        if mark.startswith("END:"):
            if open_kinds.pop() != line[4:].strip().upper():
                return None, (_damaged(name, row, line),)
        elif open_kinds[-1] in TIMED_KINDS:
            _keep(parts[-1], row, line)
    if open_kinds:
        return None, (_damaged(name, None, f"a file that ends inside {open_kinds[-1]}"),)
    return CalendarParts(name, tuple(parts), dict(_named(zone) for zone in zones)), ()


def unfolded(text: str) -> Iterator[tuple[int, str]]:
    """Each whole line with the row it starts on; blank lines are left out."""
    start, pieces = 1, [""]
    for row, line in enumerate(text.replace("\r\n", "\n").replace("\r", "\n").split("\n"), 1):
        if line[:1] in (" ", "\t"):
            pieces.append(line[1:])
            continue
        if pieces != [""]:
            yield start, "".join(pieces)
        start, pieces = row, [line]
    if pieces != [""]:
        yield start, "".join(pieces)


def joined_letters(raw: bytes) -> bytes:
    """The bytes with no letter of UTF-8 split over two folded lines, as some programs write it."""
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return raw
    return re.sub(rb"(\r?\n[ \t])([\x80-\xbf]+)", rb"\2\1", raw)


def _keep(part: Part, row: int, line: str) -> None:
    name = line.partition(":")[0].partition(";")[0].strip().upper()
    if name in WANTED:
        part.lines.setdefault(name, []).append(_read_line(row, line))


def _read_line(row: int, line: str) -> Line:
    head, _, value = line.partition(":")
    if '"' in head:  # a colon inside quotation marks does not end the parameters
        match = QUOTED_HEAD.match(line)
        if not match:
            return Line(row, {}, line)
        head, value = match.group(1), line[match.end() :]
    return Line(row, _parameters(head), value.strip())


@lru_cache(maxsize=1024)
def _parameters(head: str) -> Mapping[str, str]:
    pairs = EACH_PARAMETER.findall(head)
    return {name.strip().upper(): text.strip().strip('"') for name, text in pairs}


def _named(zone: list[str]) -> tuple[str, str]:
    names = [line.partition(":")[2].strip() for line in zone if line[:5].upper() in ("TZID:", "TZID;")]
    return (names[0] if names else ""), "\r\n".join((*zone, ""))


def _damaged(name: str, row: int | None, found: str) -> Problem:
    origin = Origin(file=name, row=row)
    return problem("B09", origin, None, found.strip()[:80] or "a blank", ACCEPTED, EXPORT_AGAIN, STOPS)
