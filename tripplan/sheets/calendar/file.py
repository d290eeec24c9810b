"""`calendar.ics` and `calendar_todo.ics`: the plan in the calendar its owner already uses.

Written to RFC 5545 (from memory of the text). Events only in the first file, since some
calendars refuse a file with to-dos; to-dos in the second. UIDs stay from plan to plan,
sequence numbers count changes, and what is withdrawn stays as cancelled.
"""

import hashlib
import re
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta

from icalendar import Alarm, Calendar, Component, Event, Todo, vText

from tripplan.records.plan import Plan
from tripplan.records.problems import STOPS, BadInput, Problem
from tripplan.sheets.calendar.entries import EVENT, TODO, CalendarEntry, event_entries, todo_entries
from tripplan.sheets.calendar.register import (
    CANCELLED,
    CONFIRMED,
    STAMP_FORM,
    Issued,
    Register,
    moment,
    reissue,
    stamp_text,
)
from tripplan.sheets.words import printable

PRODID = "-//tripplan//tripplan 1//EN"
CATEGORY = "vehicle work"
WITHDRAWN = "Cancelled: "  # in the summary too, for readers that pass over the status
FILES = {EVENT: "calendar.ics", TODO: "calendar_todo.ics"}


def calendar(plan: Plan, stamp: datetime, previous: Register | None = None) -> bytes:
    """The event file; `previous` is what was issued before, None for a first issue."""
    return render(plan, EVENT, issue(plan, stamp, previous))


def todo_calendar(plan: Plan, stamp: datetime, previous: Register | None = None) -> bytes:
    """The to-do file, for calendars that take to-dos."""
    return render(plan, TODO, issue(plan, stamp, previous))


def issue(plan: Plan, stamp: datetime, previous: Register | None = None) -> Register:
    """The register after issuing this plan: both files are written from it."""
    planned = {entry.uid: _planned(entry) for entry in _entries(plan)}
    return reissue(planned, previous or Register(), stamp)


def render(plan: Plan, component: str, register: Register) -> bytes:
    """One calendar file, in the order of the plan, the cancelled entries last."""
    file = Calendar()
    file.add("prodid", PRODID)
    file.add("version", "2.0")
    file.add("calscale", "GREGORIAN")
    name = re.sub(r"[\s,;\\]+", " ", printable(f"{plan.trip} ({plan.rig})"))  # readers differ on escapes here
    file.add("x-wr-calname", vText(name))
    file.add("name", vText(name))
    entries = [entry for entry in _entries(plan) if entry.component == component]
    for entry in entries:
        file.add_component(_stamped(_body(entry), register.entries[entry.uid]))
    planned = {entry.uid for entry in entries}
    for uid in sorted(register.entries):
        old = register.entries[uid]
        if uid not in planned and old.component == component:
            file.add_component(_stamped(_withdrawn(uid, old), old))
    _add_zones(file)
    return bytes(file.to_ical())


def _entries(plan: Plan) -> tuple[CalendarEntry, ...]:
    return (*event_entries(plan), *todo_entries(plan))


def _planned(entry: CalendarEntry) -> Issued:
    start, end, zone = _moment_text(entry.start), _moment_text(entry.end), _zone_name(entry.start)
    alarm = entry.alarm if entry.component == EVENT else None
    return Issued(
        component=entry.component,
        sequence=0,
        stamp="",
        content=content_hash(entry.summary, entry.description, entry.location or "", start, end, zone, alarm),
        summary=entry.summary,
        start=start,
        end=end,
        zone=zone,
    )


def content_hash(
    summary: str, description: str, location: str, start: str, end: str, zone: str, alarm: timedelta | None
) -> str:
    """A hash of all that a reader sees of an entry; numbers and stamps are not seen."""
    parts = [summary, description, location, start, end, zone, str(alarm)]
    text = "\x1f".join(" ".join(part.split()) for part in parts)
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()


def part_hash(part: Component) -> str:
    """The same hash of an entry read back from a file."""
    start, end = _ends(part)
    alarms = [alarm.decoded("trigger") for alarm in part.subcomponents if alarm.name == "VALARM"]
    summary, description, location = (str(part.get(name, "")) for name in ("SUMMARY", "DESCRIPTION", "LOCATION"))
    texts = (_moment_text(start), _moment_text(end), _zone_name(start))
    return content_hash(summary, description, location, *texts, alarms[0] if alarms else None)


def _ends(part: Component) -> tuple[date | datetime, date | datetime]:
    names = ("dtstart", "dtend") if part.name == EVENT else ("due", "due")
    return part.decoded(names[0]), part.decoded(names[1])


def _body(entry: CalendarEntry) -> Component:
    body = Todo() if entry.component == TODO else Event()
    body.add("uid", entry.uid)
    body.add("summary", entry.summary)
    body.add("description", entry.description)
    body.add("categories", [CATEGORY])
    if entry.location:
        body.add("location", entry.location)
    if entry.component == TODO:
        body.add("due", entry.end)
        body.add("status", "NEEDS-ACTION")
        return body
    body.add("dtstart", entry.start)
    body.add("dtend", entry.end)
    body.add("transp", "TRANSPARENT")
    body.add("status", CONFIRMED)
    body.add_component(_alarm(entry.summary, entry.alarm))
    return body


def _alarm(summary: str, before: timedelta) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", summary)
    alarm.add("trigger", before)
    return alarm


def _withdrawn(uid: str, old: Issued) -> Component:
    body = Todo() if old.component == TODO else Event()
    body.add("uid", uid)
    body.add("summary", f"{WITHDRAWN}{old.summary}")
    if old.component == TODO:
        body.add("due", moment(old.end, old.zone))
    else:
        body.add("dtstart", moment(old.start, old.zone))
        body.add("dtend", moment(old.end, old.zone))
        body.add("transp", "TRANSPARENT")
    body.add("status", CANCELLED)
    return body


def _stamped(body: Component, issued: Issued) -> Component:
    stamp = datetime.strptime(issued.stamp, STAMP_FORM).replace(tzinfo=UTC)
    body.add("dtstamp", stamp)
    body.add("last-modified", stamp)
    body.add("sequence", issued.sequence)
    return body


def _add_zones(file: Calendar) -> None:
    """VTIMEZONEs for the years around the events, so that every reader knows the offsets."""
    starts = [part.decoded("dtstart") for part in file.walk(EVENT)]
    days = [start.date() for start in starts if isinstance(start, datetime)]
    if days:
        first, last = min(days), max(days)
        file.add_missing_timezones(first_date=date(first.year - 1, 1, 1), last_date=date(last.year + 2, 1, 1))


def _moment_text(value: date | datetime) -> str:
    return value.strftime("%Y%m%dT%H%M%S" if isinstance(value, datetime) else "%Y%m%d")


def _zone_name(value: date | datetime) -> str:
    return str(value.tzinfo) if isinstance(value, datetime) and value.tzinfo else ""


def rebuilt(files: Iterable[tuple[str, bytes]]) -> Register:
    """The register read back from the calendar files themselves, when it was lost.

    Raises BadInput K01 for a file that cannot be read as a calendar, K02 for one that
    this tool did not write.
    """
    entries: dict[str, Issued] = {}
    for name, content in files:
        file = _parsed(name, content)
        if str(file.get("PRODID", "")) != PRODID:
            raise BadInput([_foreign(name, str(file.get("PRODID", "no PRODID")))])
        try:
            entries.update(_read_entries(file))
        except (ValueError, KeyError, TypeError, AttributeError, IndexError) as why:
            raise BadInput([_damaged(name, f"an entry that cannot be read ({why})")]) from why
    return Register(entries=entries)


def _parsed(name: str, content: bytes) -> Calendar:
    try:
        file = Calendar.from_ical(content)
    except Exception as why:
        first = content[:40].decode("utf-8", "replace").splitlines()
        raise BadInput([_damaged(name, first[0] if first else "an empty file")]) from why
    if not isinstance(file, Calendar):
        raise BadInput([_damaged(name, "no VCALENDAR")])
    return file


def _read_entries(file: Calendar) -> Iterator[tuple[str, Issued]]:
    for part in file.subcomponents:
        if part.name in (EVENT, TODO):
            start, end = _ends(part)
            is_cancelled = str(part.get("STATUS", CONFIRMED)) == CANCELLED
            texts = (_moment_text(start), _moment_text(end), _zone_name(start))
            yield (
                str(part["UID"]),
                Issued(
                    component=part.name,
                    sequence=int(part.get("SEQUENCE", 0)),
                    stamp=stamp_text(part.decoded("dtstamp")),
                    content="" if is_cancelled else part_hash(part),
                    summary=_summary_of(part, is_cancelled),
                    start=texts[0],
                    end=texts[1],
                    zone=texts[2],
                    status=CANCELLED if is_cancelled else CONFIRMED,
                ),
            )


def _summary_of(part: Component, is_cancelled: bool) -> str:
    """The summary as it was planned."""
    text = str(part.get("SUMMARY", ""))
    return text.removeprefix(WITHDRAWN) if is_cancelled else text


def _damaged(name: str, found: str) -> Problem:
    return Problem(
        code="K01",
        weight=STOPS,
        file=name,
        found=found,
        accepted="the calendar file as tripplan wrote it, or no file of that name",
        hint="move the damaged file away; without it every entry is issued as new",
    )


def _foreign(name: str, found: str) -> Problem:
    return Problem(
        code="K02",
        weight=STOPS,
        file=name,
        found=f"a calendar written by: {found}",
        accepted="a calendar file written by tripplan, or no file of that name",
        hint="it is left as it is; choose another folder for the outputs, or move the file",
    )
