"""The calendar files, read back by two readers that share no code with the writer.

Rules are those of RFC 5545, from memory: lines of at most 75 octets (3.1), text escaping
(3.3.11), one UID an entry (3.8.4.7), SEQUENCE counting revisions (3.8.7.4).
"""

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

import pytest
from msgspec.structs import replace

from tests.sample_plan import sample_plan
from tests.sample_slots import TOWN
from tripplan.records.plan import Plan
from tripplan.records.problems import BadInput
from tripplan.sheets.calendar.file import issue, part_hash, rebuilt, render
from tripplan.sheets.calendar.register import CANCELLED, Register, read_register, register_text

ics = pytest.importorskip("ics")
vobject = pytest.importorskip("vobject")

STAMP = datetime(2026, 6, 6, 10, 0, tzinfo=UTC)
LATER = datetime(2026, 6, 9, 10, 0, tzinfo=UTC)
EVENT, TODO = "VEVENT", "VTODO"


def calendar(plan: Plan, stamp: datetime, previous: Register | None = None, kind: str = EVENT) -> bytes:
    """One of the two files as it is issued after what was issued before."""
    return render(plan, kind, issue(plan, stamp, previous))


def unfolded(content: bytes) -> list[str]:
    """The logical lines of a file."""
    return content.decode().replace("\r\n ", "").split("\r\n")


def parts(content: bytes, kind: str = EVENT) -> Iterator[dict[str, str]]:
    """Each entry's own properties by name, read line by line."""
    text = "\r\n".join(unfolded(content))
    for body in re.findall(rf"BEGIN:{kind}\r\n(.*?)END:{kind}", text, re.DOTALL):
        own = re.sub(r"BEGIN:VALARM.*?END:VALARM\r\n", "", body, flags=re.DOTALL)
        lines = (line.partition(":") for line in own.split("\r\n") if line)
        yield {name.split(";")[0]: value for name, _, value in lines}


def without(plan: Plan, slot_id: str) -> Plan:
    """The plan with one slot less."""
    return replace(plan, slots=tuple(slot for slot in plan.slots if slot.id != slot_id))


def test_both_readers_find_the_same_events() -> None:
    """Otherwise the owner's phone would show other days than the plan."""
    content = calendar(sample_plan(), STAMP)
    first = {
        str(event.uid.value): (str(event.summary.value), event.dtstart.value)
        for event in vobject.readOne(content.decode()).vevent_list
    }
    second = {event.uid: (event.name, event.begin.datetime) for event in ics.Calendar(content.decode()).events}
    assert len(first) == 8 and set(first) == set(second)
    for uid, (summary, start) in first.items():
        name, begin = second[uid]
        assert summary == name
        if isinstance(start, datetime):
            assert start == begin
        else:
            assert start == begin.date()


def test_days_are_the_plans_days() -> None:
    """Otherwise work would be in the calendar on the wrong day."""
    plan = sample_plan()
    expected = [plan.depart, *(part.order_by for part in plan.orders), *(slot.date for slot in plan.slots)]
    events = vobject.readOne(calendar(plan, STAMP).decode()).vevent_list
    starts = [event.dtstart.value for event in events]
    assert sorted(s.date() if isinstance(s, datetime) else s for s in starts) == sorted(expected)
    for event in events:
        if not isinstance(event.dtstart.value, datetime):
            assert event.dtend.value - event.dtstart.value == timedelta(days=1)


def test_what_is_ordered_by_one_day_is_one_entry() -> None:
    """Otherwise one order of seals for four days of work would ring four times, and what is carried be told as that day's work."""
    plan = sample_plan()
    first, second = plan.orders
    both = (first, replace(second, order_by=first.order_by, what=("lock washers", first.what[0]), when="carry"))
    events = vobject.readOne(calendar(replace(plan, orders=both), STAMP).decode()).vevent_list
    (event,) = (event for event in events if event.summary.value.startswith("Order parts"))
    assert event.dtstart.value == first.order_by and event.summary.value == "Order parts: 4 hub seals and 2 more"
    assert "To carry:\nlock washers" in event.description.value


def test_a_known_hour_has_its_zone() -> None:
    """Otherwise a stop in another zone would be an hour off. Darwin is UTC+9:30 all year (tz database)."""
    content = calendar(sample_plan(), STAMP)
    timed = [e for e in vobject.readOne(content.decode()).vevent_list if isinstance(e.dtstart.value, datetime)]
    assert len(timed) == 1
    assert timed[0].dtstart.value.astimezone(UTC) == datetime(2026, 7, 12, 5, 50, tzinfo=UTC)
    assert timed[0].dtend.value - timed[0].dtstart.value == timedelta(minutes=35)
    assert unfolded(content).count("TZID:Australia/Darwin") == 1


def test_a_zone_nobody_knows_gives_an_all_day_event() -> None:
    """Otherwise a mistyped zone would move the stop, or stop the plan."""
    plan = sample_plan()
    slots = tuple(replace(slot, zone="Nowhere/At_All") for slot in plan.slots)
    content = calendar(replace(plan, slots=slots), STAMP)
    assert b"TZID" not in content


def test_an_hour_the_clocks_skip_becomes_one_that_exists() -> None:
    """Otherwise readers would disagree. Adelaide skips 02:00 to 03:00 on 4 October 2026 (tz database)."""
    plan = sample_plan()
    slots = tuple(
        replace(slot, zone="Australia/Adelaide", arrive=datetime(2026, 10, 4, 2, 30)) if slot.id == TOWN else slot
        for slot in plan.slots
    )
    content = calendar(replace(plan, slots=slots), STAMP)
    assert "DTSTART;TZID=Australia/Adelaide:20261004T033000" in unfolded(content)


def test_lines_are_folded_and_characters_whole() -> None:
    """Otherwise a name with marks would be cut, and the file refused."""
    plan = replace(sample_plan(), trip="Käferbäche " * 20, rig="\U0001f697" * 40)
    content = calendar(plan, STAMP)
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))
    assert b"\n" not in content.replace(b"\r\n", b"")
    for line in content.split(b"\r\n"):
        line.decode()


@pytest.mark.parametrize(
    "nasty", ["a, b; c", "back\\slash", "two\nlines", "END:VEVENT\r\nBEGIN:VEVENT", "\x00\x07bell"]
)
def test_any_name_comes_back(nasty: str) -> None:
    """Otherwise a comma in a name would cut an event short, or a line end would forge one."""
    plan = replace(sample_plan(), trip=nasty)
    content = calendar(plan, STAMP)
    events = vobject.readOne(content.decode()).vevent_list
    kept = nasty.replace("\r", "").replace("\x00", "").replace("\x07", "")
    assert [e.summary.value for e in events if e.summary.value.startswith("Departure")] == [f"Departure: {kept}"]
    assert len(events) == 8 == len(ics.Calendar(content.decode()).events)


def test_uids_are_one_each_and_the_same_next_time() -> None:
    """Otherwise re-importing would double the owner's calendar."""
    content = calendar(sample_plan(), STAMP)
    uids = [part["UID"] for part in parts(content)]
    assert len(set(uids)) == len(uids)
    assert uids == [part["UID"] for part in parts(calendar(sample_plan(), LATER))]
    todo = [part["UID"] for part in parts(calendar(sample_plan(), STAMP, kind=TODO), TODO)]
    assert len(set(todo)) == len(todo) == 13 and not set(todo) & set(uids)


def test_the_two_files_hold_only_their_kind() -> None:
    """Otherwise calendars that refuse to-dos would refuse the whole file."""
    assert b"VTODO" not in calendar(sample_plan(), STAMP)
    todo = calendar(sample_plan(), STAMP, kind=TODO)
    assert b"VEVENT" not in todo
    assert len(vobject.readOne(todo.decode()).vtodo_list) == 13


def test_alarms_are_relative_and_categories_plain() -> None:
    """Otherwise some calendars drop the alarm, the event or half of a category."""
    lines = unfolded(calendar(sample_plan(), STAMP))
    triggers = [line for line in lines if line.startswith("TRIGGER")]
    assert len(triggers) == 8 and set(triggers) == {"TRIGGER:-PT15H", "TRIGGER:-P1D"}
    assert all("," not in line for line in lines if line.startswith("CATEGORIES"))
    assert lines[:3] == ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//tripplan//tripplan 1//EN"]
    assert not any(line.startswith(("UID", "METHOD")) for line in lines[: lines.index("BEGIN:VEVENT")])


def test_jobs_stand_in_the_description_in_order() -> None:
    """Otherwise the phone in the shed would not say what to do first."""
    found = next(p for p in parts(calendar(sample_plan(), STAMP)) if "wheel off" in p["DESCRIPTION"])
    told = found["DESCRIPTION"]
    order = [
        "wheel off",
        "Measure front brake pads",
        "Repack front wheel bearings\\, left",
        "right\\, 40 min",
    ]
    assert [told.index(text) for text in order] == sorted(told.index(text) for text in order)


def test_no_change_gives_the_same_bytes() -> None:
    """Otherwise planning again would send every event to the owner anew."""
    register = issue(sample_plan(), STAMP)
    again = issue(sample_plan(), LATER, register)
    for kind in (EVENT, TODO):
        assert render(sample_plan(), kind, again) == render(sample_plan(), kind, register)
    assert register_text(again) == register_text(register)


def test_only_what_changed_counts_up() -> None:
    """Otherwise a calendar would keep the old day, or alarm for nothing."""
    plan = sample_plan()
    register = issue(plan, STAMP)
    slots = tuple(
        replace(slot, date=slot.date + timedelta(days=1)) if slot.kind == "after" else slot for slot in plan.slots
    )
    moved = replace(plan, slots=slots)
    content = render(moved, EVENT, issue(moved, LATER, register))
    changed = [part for part in parts(content) if part["SEQUENCE"] != "0"]
    assert [part["DTSTART"] for part in changed] == ["20260721"]
    assert changed[0]["SEQUENCE"] == "1" and changed[0]["DTSTAMP"] == "20260609T100000Z"
    assert sum(part["DTSTAMP"] == "20260606T100000Z" for part in parts(content)) == 7


def test_withdrawn_work_stays_as_cancelled_and_can_return() -> None:
    """Otherwise work no longer planned would stay in the calendar as if it were."""
    plan = sample_plan()
    first = issue(plan, STAMP)
    second = issue(without(plan, TOWN), LATER, first)
    gone = [p for p in parts(render(without(plan, TOWN), EVENT, second)) if p["STATUS"] == CANCELLED]
    assert len(gone) == 1 and gone[0]["SEQUENCE"] == "1" and gone[0]["DTSTART"] == "20260712T152000"
    planned = next(p["SUMMARY"] for p in parts(render(plan, EVENT, first)) if p["UID"] == gone[0]["UID"])
    assert gone[0]["SUMMARY"] == f"Cancelled: {planned}"  # for readers that pass over the status
    third = issue(without(plan, TOWN), LATER, second)
    assert third == second
    back = issue(plan, LATER, third)
    found = next(p for p in parts(render(plan, EVENT, back)) if p["UID"] == gone[0]["UID"])
    assert found["STATUS"] == "CONFIRMED" and found["SEQUENCE"] == "2"
    vobject.readOne(render(without(plan, TOWN), EVENT, second).decode())


def test_a_lost_register_is_read_back_from_the_calendars() -> None:
    """Otherwise losing one small file would start the numbers again, and calendars would ignore them."""
    plan = sample_plan()
    second = issue(without(plan, TOWN), LATER, issue(plan, STAMP))
    files = [(kind, render(without(plan, TOWN), kind, second)) for kind in (EVENT, TODO)]
    assert rebuilt(files) == second
    nasty = replace(plan, trip='comma, "quote"; \\ and\nline', rig="Käfer " * 30)
    register = issue(nasty, STAMP)
    assert rebuilt([(kind, render(nasty, kind, register)) for kind in (EVENT, TODO)]) == register


def test_the_register_survives_its_own_text_and_refuses_others() -> None:
    """Otherwise a damaged register would end the plan in a traceback."""
    register = issue(sample_plan(), STAMP)
    text = register_text(register)
    assert read_register(text) == register
    damaged = (
        "",
        "[]",
        "{}",
        text[:200],
        text.replace("20260704", "hello"),
        text.replace('"sequence": 0', '"sequence": "x"'),
    )
    assert all(read_register(bad) is None for bad in damaged)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"hello",
        b"\xff\xfe\x00",
        b"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\n",
        b"BEGIN:VEVENT\r\nEND:VEVENT\r\n",
    ],
)
def test_a_damaged_calendar_is_said_plainly(content: bytes) -> None:
    """Otherwise the owner would see a traceback, or lose what was issued."""
    with pytest.raises(BadInput) as caught:
        rebuilt([("calendar.ics", content)])
    assert caught.value.problems[0].code == "K01" and caught.value.problems[0].file == "calendar.ics"


def test_an_entry_without_a_start_is_damage_too() -> None:
    """Otherwise half an entry would be carried on as a whole one."""
    content = calendar(sample_plan(), STAMP).replace(b"DTSTART;VALUE=DATE:20260704\r\n", b"")
    with pytest.raises(BadInput, match="K01"):
        rebuilt([("calendar.ics", content)])


def test_somebody_elses_calendar_is_left_alone() -> None:
    """Otherwise a calendar the owner put there would be overwritten."""
    content = calendar(sample_plan(), STAMP).replace(b"-//tripplan//tripplan 1//EN", b"-//other//other//EN")
    with pytest.raises(BadInput, match="K02"):
        rebuilt([("calendar.ics", content)])


def test_content_hash_ignores_only_number_and_stamps() -> None:
    """Otherwise a change would go unnoticed, or every run would look changed."""
    from icalendar import Event

    base = Event()
    base.add("uid", "1")
    base.add("summary", "repack")
    base.add("dtstart", date(2026, 7, 4))
    base.add("dtend", date(2026, 7, 5))
    other = Event.from_ical(base.to_ical())
    other.add("sequence", 4)
    other.add("dtstamp", STAMP)
    assert part_hash(base) == part_hash(other)
    other["SUMMARY"] = "grease"
    assert part_hash(base) != part_hash(other)
