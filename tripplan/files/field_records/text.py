"""Reading the text in which a phone's records come home: what is whole is read, what is damaged is told."""

import re
import zlib
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Annotated, Any, Literal

from msgspec import Struct
from pydantic import BeforeValidator, Field, ValidationError

from tripplan.files.way_in import NotRead, json_of
from tripplan.records.facts_in import Number, Origin, Record, Water
from tripplan.records.problem_codes import problem
from tripplan.records.problems import Problem
from tripplan.records.words import Finding

FIRST = "tripplan field records, form "
FORM = "1"
SUMMED = re.compile(r"([0-9a-f]{8}) (\{.*\})")
PART = re.compile(r"tripplan field part ([0-9]{1,4})/([0-9]{1,4}) ([0-9a-f]{8}) (.*)\|")
LAST = re.compile(r"end ([0-9]{1,6}) ([0-9a-f]{8})")
TEXT_ACCEPTED = "the text that the file for the phone gives under Book, from its first line to its last"
MOST_RECORDS = 20_000
NAME = r"^[0-9a-z-]{8,40}$"
NEEDS = {
    "work": ("unit", "item", "act"), "reading": ("unit", "odometer_km"), "note": ("note",), "round": (),
    "crossing": ("leg", "at_km", "depth_m", "water", "when"), "undo": ("of",),
}  # fmt: skip


def _moment(value: Any) -> datetime:
    """A time on the phone's own clock; its zone is dropped, since the folder keeps the time of the place."""
    if not isinstance(value, str):
        raise ValueError("a time that is no text")
    return datetime.fromisoformat(value).replace(tzinfo=None, second=0, microsecond=0)


Moment = Annotated[datetime, BeforeValidator(_moment)]
Short = Annotated[str, Field(max_length=500)]


class FieldRecord(Record):
    """One thing written down on the phone; which of its fields are filled goes by its kind."""

    id: str = Field(pattern=NAME)
    kind: Literal["work", "reading", "note", "round", "crossing", "undo"]
    at: Moment
    unit: Short | None = None
    item: Short | None = None
    position: Short | None = None
    act: Short | None = None
    finding: Finding | None = None
    slot: Short | None = None
    note: Short | None = None
    odometer_km: Number | None = None
    leg: int | None = None
    at_km: Number | None = None
    depth_m: Number | None = None
    minutes: Number | None = None
    water: Water | None = None
    when: Moment | None = None
    hubs_hot: bool | None = None
    stalled: bool | None = None
    of: str | None = Field(None, pattern=NAME)
    origin: Origin


class Sent(Record):
    """Which trip the records are of."""

    key: str
    rig: str
    trip: str
    depart: str
    planned: str = ""
    written: str = ""


class Read(Struct, frozen=True, kw_only=True):
    """What a text holds: the trip it is of, its records in the order of their time, and what is wrong with it."""

    sent: Sent | None
    records: tuple[FieldRecord, ...]
    problems: tuple[Problem, ...]


def read_text(text: str, name: str) -> Read:
    """The records of a text. Without its first line, or in another form, it gives a Problem and nothing else."""
    whole, missing = _joined(text)
    if missing:
        found = f"{len(missing)} of the squares not there: {', '.join(map(str, missing[:12]))}"
        return Read(sent=None, records=(), problems=(_problem("Y01", name, None, found, "the texts of all squares"),))
    lines = [line.strip() for line in whole.splitlines()]
    start = next((at for at, line in enumerate(lines) if line.startswith(FIRST)), None)
    if start is None:
        return Read(sent=None, records=(), problems=(_problem("Y01", name, None, "no first line", TEXT_ACCEPTED),))
    form = lines[start].removeprefix(FIRST)
    if form != FORM:
        found = f"form {form[:20]}"
        return Read(sent=None, records=(), problems=(_problem("Y01", name, start + 1, found, f"form {FORM}"),))
    body = [(at, line) for at, line in enumerate(lines[start + 1 :], start + 2) if line]
    end = next((spot for spot, (_, line) in enumerate(body) if LAST.fullmatch(line)), len(body))
    values, problems = _values(body[:end], name)
    sent, more = _sent(values, name)
    records, refused = _records(values[1:], name)
    tail = _tail(lines[start], body, end, len(values) - 1, name)
    if sent is None:
        return Read(sent=None, records=(), problems=(*more, *problems))
    return Read(sent=sent, records=records, problems=(*problems, *refused, *tail))


def _joined(text: str) -> tuple[str, list[int]]:
    """The text itself, or the one whose parts stand in it in any order; and which parts of that are missing."""
    parts: dict[tuple[str, int], dict[int, str]] = {}
    for line in text.splitlines():
        if (found := PART.fullmatch(line.strip("\ufeff\r\n\t "))) is not None:
            parts.setdefault((found[3], int(found[2])), {})[int(found[1])] = found[4]
    if not parts:
        return text, []
    (_, count), own = max(parts.items(), key=lambda pair: len(pair[1]) / max(pair[0][1], 1))
    missing = [number for number in range(1, count + 1) if number not in own]
    return "".join(own[number] for number in sorted(own)).replace("\t", "\n"), missing


def _problem(code: str, name: str, row: int | None, found: str, accepted: str, hint: str = "") -> Problem:
    return problem(code, Origin(file=name, row=row), None, found, accepted, hint)


def _values(body: Sequence[tuple[int, str]], name: str) -> tuple[list[tuple[int, Any]], list[Problem]]:
    """The lines whose checksum is right, as values; the others as Problems."""
    values: list[tuple[int, Any]] = []
    problems: list[Problem] = []
    for row, line in body[: MOST_RECORDS + 1]:
        found = SUMMED.fullmatch(line)
        if found is None or f"{zlib.crc32(found[2].encode('utf-8', 'replace')):08x}" != found[1]:
            accepted = "a record as the phone wrote it, its checksum before it"
            problems.append(_problem("Y04", name, row, f"{line[:60]!r}", accepted, "send it from the phone again"))
            continue
        try:
            values.append((row, json_of(found[2])))
        except (ValueError, NotRead):
            problems.append(_problem("Y04", name, row, f"{line[:60]!r}", "a record", "send it from the phone again"))
    return values, problems


def _sent(values: Sequence[tuple[int, Any]], name: str) -> tuple[Sent | None, tuple[Problem, ...]]:
    try:
        return Sent.model_validate(values[0][1]), ()
    except (IndexError, ValidationError):
        return None, (_problem("Y01", name, None, "no line that says which trip it is of", TEXT_ACCEPTED),)


def _records(values: Sequence[tuple[int, Any]], name: str) -> tuple[tuple[FieldRecord, ...], list[Problem]]:
    records: dict[str, FieldRecord] = {}
    problems: list[Problem] = []
    for row, value in values:
        why = ""
        try:
            record = FieldRecord.model_validate({**value, "origin": Origin(file=name, row=row)})
            missing = [field for field in NEEDS[record.kind] if getattr(record, field) is None]
            why = f"no {' and no '.join(missing)}" if missing else ""
        except ValidationError as error:
            first = error.errors(include_url=False)[0]
            why = f"{first['loc'][0] if first['loc'] else 'record'}: {str(first.get('input', ''))[:40]!r}"
        except (TypeError, ValueError):
            why = "something else"
        if why:
            problems.append(_problem("Y04", name, row, why, "a record of a kind that is known, with all it needs"))
        else:
            records.setdefault(record.id, record)
    return tuple(sorted(records.values(), key=lambda one: (one.at, one.id))), problems


def _tail(
    first: str, body: Sequence[tuple[int, str]], end: int, count: int, name: str
) -> Iterator[Problem]:  # fmt: skip
    """What the last line says against the lines above it."""
    if end == len(body):
        yield _problem("Y02", name, None, "no last line: the text was cut off", TEXT_ACCEPTED, "what is there is read")
        return
    row, line = body[end]
    match = LAST.fullmatch(line)
    assert match is not None
    whole = "\n".join([first, *(text for _, text in body[:end])])
    if int(match[1]) != count or f"{zlib.crc32(whole.encode('utf-8', 'replace')):08x}" != match[2]:
        found = f"{count} records of {match[1]}, or lines that are not those sent"
        yield _problem("Y02", name, row, found, TEXT_ACCEPTED, "what is whole is read; send it from the phone again")
