"""`calendar.ics` and `calendar_todo.ics`: the plan in the calendar its owner already uses.

Written to RFC 5545 (from memory of the text). Events only in the first file, since some
calendars refuse a file with to-dos; to-dos in the second. UIDs stay from plan to plan,
sequence numbers count changes, and what is withdrawn stays as cancelled.
"""

import hashlib
import re
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

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
ENTRIES = {EVENT: event_entries, TODO: todo_entries}


def issue(plan: Plan, stamp: datetime, previous: Register | None = None) -> Register:
    """The register after issuing this plan: both files are written from it."""
    planned = {entry.uid: _planned(entry) for entries in ENTRIES.values() for entry in entries(plan)}
    return reissue(planned, previous or Register(), stamp)


def render(plan: Plan, component: str, register: Register) -> bytes:
    """One calendar file, in the order of the plan, the cancelled entries last."""
    name = re.sub(r"[\s,;\\]+", " ", printable(f"{plan.trip} ({plan.rig})"))  # readers differ on escapes here
    file = Calendar()
    _filled(file, prodid=PRODID, version="2.0", calscale="GREGORIAN", x_wr_calname=vText(name), name=vText(name))
    entries = ENTRIES[component](plan)
    for entry in entries:
        file.add_component(_stamped(_body(entry), register.entries[entry.uid]))
    planned = {entry.uid for entry in entries}
    for uid in sorted(register.entries):
        old = register.entries[uid]
        if uid not in planned and old.component == component:
            file.add_component(_stamped(_withdrawn(uid, old), old))
    _add_zones(file)
    return bytes(file.to_ical())


def _planned(entry: CalendarEntry) -> Issued:
    start, end, zone = _times(entry.start, entry.end)
    alarm = entry.alarm if entry.component == EVENT else None
    return Issued(
        component=entry.component, sequence=0, stamp="", summary=entry.summary, start=start, end=end, zone=zone,
        content=content_hash(entry.summary, entry.description, entry.location, start, end, zone, alarm),
    )  # fmt: skip


def content_hash(*parts: str | timedelta | None) -> str:
    """A hash of all that a reader sees of an entry, its alarm the last; numbers and stamps are not seen."""
    text = "\x1f".join(" ".join(str(part).split()) for part in parts)
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()


def part_hash(part: Component) -> str:
    """The same hash of an entry read back from a file."""
    alarms = [alarm.decoded("trigger") for alarm in part.subcomponents if alarm.name == "VALARM"]
    seen = (str(part.get(name, "")) for name in ("SUMMARY", "DESCRIPTION", "LOCATION"))
    return content_hash(*seen, *_times(*_ends(part)), alarms[0] if alarms else None)


def _ends(part: Component) -> tuple[date | datetime, date | datetime]:
    names = ("dtstart", "dtend") if part.name == EVENT else ("due", "due")
    return part.decoded(names[0]), part.decoded(names[1])


def _filled(part: Component, **properties: Any) -> Component:
    """The component with these properties; an empty one is left out."""
    for name, value in properties.items():
        if value != "":
            part.add(name.replace("_", "-"), value)
    return part


def _timed(component: str, uid: str, start: date | datetime, end: date | datetime) -> Component:
    """An entry without its words: a to-do is due by its end, an event takes no time from other calendars."""
    if component == TODO:
        return _filled(Todo(), uid=uid, due=end)
    return _filled(Event(), uid=uid, dtstart=start, dtend=end, transp="TRANSPARENT")


def _body(entry: CalendarEntry) -> Component:
    body = _filled(
        _timed(entry.component, entry.uid, entry.start, entry.end), summary=entry.summary,
        description=entry.description, categories=[CATEGORY], location=entry.location,
        status="NEEDS-ACTION" if entry.component == TODO else CONFIRMED,
    )  # fmt: skip
    if entry.component == EVENT:
        alarm = _filled(Alarm(), action="DISPLAY", description=entry.summary, trigger=entry.alarm)
        body.add_component(alarm)
    return body


def _withdrawn(uid: str, old: Issued) -> Component:
    start, end = moment(old.start, old.zone), moment(old.end, old.zone)
    body = _timed(old.component, uid, start, end)
    return _filled(body, summary=f"{WITHDRAWN}{old.summary}", status=CANCELLED)


def _stamped(body: Component, issued: Issued) -> Component:
    stamp = datetime.strptime(issued.stamp, STAMP_FORM).replace(tzinfo=UTC)
    return _filled(body, dtstamp=stamp, last_modified=stamp, sequence=issued.sequence)


def _add_zones(file: Calendar) -> None:
    """VTIMEZONEs for the years around the events, so that every reader knows the offsets."""
    starts = [part.decoded("dtstart") for part in file.walk(EVENT)]
    days = [start.date() for start in starts if isinstance(start, datetime)]
    if days:
        first, last = min(days), max(days)
        file.add_missing_timezones(first_date=date(first.year - 1, 1, 1), last_date=date(last.year + 2, 1, 1))


def _times(start: date | datetime, end: date | datetime) -> tuple[str, str, str]:
    """Start and end in calendar form, and the zone they are in."""
    first, last = (when.strftime("%Y%m%dT%H%M%S" if isinstance(when, datetime) else "%Y%m%d") for when in (start, end))
    return first, last, str(start.tzinfo) if isinstance(start, datetime) and start.tzinfo else ""


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
            start, end, zone = _times(*_ends(part))
            is_cancelled = str(part.get("STATUS", CONFIRMED)) == CANCELLED
            summary = str(part.get("SUMMARY", ""))
            yield str(part["UID"]), Issued(
                component=part.name, sequence=int(part.get("SEQUENCE", 0)), start=start, end=end, zone=zone,
                stamp=stamp_text(part.decoded("dtstamp")), content="" if is_cancelled else part_hash(part),
                summary=summary.removeprefix(WITHDRAWN) if is_cancelled else summary,
                status=CANCELLED if is_cancelled else CONFIRMED,
            )  # fmt: skip


def _damaged(name: str, found: str) -> Problem:
    accepted = "the calendar file as tripplan wrote it, or no file of that name"
    hint = "move the damaged file away; without it every entry is issued as new"
    return Problem(code="K01", weight=STOPS, file=name, found=found, accepted=accepted, hint=hint)


def _foreign(name: str, writer: str) -> Problem:
    found, accepted = f"a calendar written by: {writer}", "a calendar file written by tripplan, or no file of that name"
    hint = "it is left as it is; choose another folder for the outputs, or move the file"
    return Problem(code="K02", weight=STOPS, file=name, found=found, accepted=accepted, hint=hint)
