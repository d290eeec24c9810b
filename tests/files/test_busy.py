"""The owner's own calendar, with the oddities that real calendar files have.

The repeat examples are those of RFC 5545, section 3.8.5.3, from memory; each list of
dates is the one printed there. Nothing here was taken from what the program gave.
"""

from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.support import TODAY
from tripplan.files.busy.calendar import busy_times, read_calendar
from tripplan.records.problem_codes import CODES

ADELAIDE = ZoneInfo("Australia/Adelaide")
NEW_YORK = ZoneInfo("America/New_York")
CUSTOM_ZONE = """\
BEGIN:VTIMEZONE
TZID:Station time
BEGIN:STANDARD
DTSTART:19700405T030000
RRULE:FREQ=YEARLY;BYMONTH=4;BYDAY=1SU
TZOFFSETFROM:+1030
TZOFFSETTO:+0930
END:STANDARD
BEGIN:DAYLIGHT
DTSTART:19701004T020000
RRULE:FREQ=YEARLY;BYMONTH=10;BYDAY=1SU
TZOFFSETFROM:+0930
TZOFFSETTO:+1030
END:DAYLIGHT
END:VTIMEZONE
"""


def calendar(*bodies: str) -> str:
    """A calendar file with these components, lines ending as the standard asks."""
    text = "BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//x//x//EN\n" + "".join(bodies) + "END:VCALENDAR\n"
    return text.replace("\n", "\r\n")


def event(*lines: str) -> str:
    """One event with these lines."""
    return "\n".join(("BEGIN:VEVENT", *lines, "END:VEVENT", ""))


def times(
    tmp_path: Path, text: str | bytes, first: date, last: date, home: ZoneInfo = ADELAIDE
) -> tuple[list[tuple[datetime, datetime]], list[tuple[str, int | None]]]:
    """The busy times of a calendar text, and the code and row of each problem."""
    path = tmp_path / "busy.ics"
    path.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
    parts, problems = read_calendar(path)
    if parts is None:
        return [], [(each.code, each.row) for each in problems]
    busy, problems = busy_times(parts, home, first, last)
    return [(each.start, each.end) for each in busy], [(each.code, each.row) for each in problems]


def starts(tmp_path: Path, *lines: str, first: date, last: date, home: ZoneInfo = NEW_YORK) -> list[datetime]:
    """When one hour-long entry with these lines happens between two days."""
    found, problems = times(tmp_path, calendar(event("UID:1", *lines, "DURATION:PT1H")), first, last, home)
    assert problems == []
    return [start for start, _ in found if first <= start.date() <= last]


def days(year: int, month: int, *numbers: int, hour: int = 9, minute: int = 0) -> list[datetime]:
    """Those days of a month at one time of day."""
    return [datetime(year, month, number, hour, minute) for number in numbers]


START = "DTSTART;TZID=America/New_York:19970902T090000"
RFC_EXAMPLES: list[tuple[str, str, list[datetime]]] = [
    ("RRULE:FREQ=DAILY;COUNT=10", START, days(1997, 9, *range(2, 12))),
    ("RRULE:FREQ=DAILY;INTERVAL=10;COUNT=5", START, [*days(1997, 9, 2, 12, 22), *days(1997, 10, 2, 12)]),
    (
        "RRULE:FREQ=WEEKLY;COUNT=10", START,
        [*days(1997, 9, 2, 9, 16, 23, 30), *days(1997, 10, 7, 14, 21, 28), *days(1997, 11, 4)],
    ),
    (
        "RRULE:FREQ=WEEKLY;UNTIL=19971007T000000Z;WKST=SU;BYDAY=TU,TH", START,
        [*days(1997, 9, 2, 4, 9, 11, 16, 18, 23, 25, 30), *days(1997, 10, 2)],
    ),
    (
        "RRULE:FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH", START,
        [*days(1997, 9, 2, 4, 16, 18, 30), *days(1997, 10, 2, 14, 16)],
    ),
    (
        "RRULE:FREQ=MONTHLY;COUNT=10;BYDAY=1FR", "DTSTART;TZID=America/New_York:19970905T090000",
        [*days(1997, 9, 5), *days(1997, 10, 3), *days(1997, 11, 7), *days(1997, 12, 5), *days(1998, 1, 2),
         *days(1998, 2, 6), *days(1998, 3, 6), *days(1998, 4, 3), *days(1998, 5, 1), *days(1998, 6, 5)],
    ),
    (
        "RRULE:FREQ=MONTHLY;COUNT=6;BYDAY=-2MO", "DTSTART;TZID=America/New_York:19970922T090000",
        [*days(1997, 9, 22), *days(1997, 10, 20), *days(1997, 11, 17), *days(1997, 12, 22),
         *days(1998, 1, 19), *days(1998, 2, 16)],
    ),
    (
        "RRULE:FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1", "DTSTART;TZID=America/New_York:19970930T090000",
        [*days(1997, 9, 30), *days(1997, 10, 1, 31), *days(1997, 11, 1, 30), *days(1997, 12, 1, 31),
         *days(1998, 1, 1, 31), *days(1998, 2, 1)],
    ),
    (
        "RRULE:FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3", "DTSTART;TZID=America/New_York:19970904T090000",
        [*days(1997, 9, 4), *days(1997, 10, 7), *days(1997, 11, 6)],
    ),
    (
        "RRULE:FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200",
        "DTSTART;TZID=America/New_York:19970101T090000",
        [*days(1997, 1, 1), *days(1997, 4, 10), *days(1997, 7, 19), *days(2000, 1, 1), *days(2000, 4, 9),
         *days(2000, 7, 18), *days(2003, 1, 1), *days(2003, 4, 10), *days(2003, 7, 19), *days(2006, 1, 1)],
    ),
    (
        "RRULE:FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO",
        "DTSTART;TZID=America/New_York:19970805T090000", days(1997, 8, 5, 10, 19, 24),
    ),
    (
        "RRULE:FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU",
        "DTSTART;TZID=America/New_York:19970805T090000", days(1997, 8, 5, 17, 19, 31),
    ),
    (
        "RRULE:FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5", "DTSTART;TZID=America/New_York:20070115T090000",
        [*days(2007, 1, 15, 30), *days(2007, 2, 15), *days(2007, 3, 15, 30)],
    ),
    (
        "RRULE:FREQ=MINUTELY;INTERVAL=90;COUNT=4", START,
        [datetime(1997, 9, 2, *clock) for clock in ((9, 0), (10, 30), (12, 0), (13, 30))],
    ),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "start", "expected"), RFC_EXAMPLES, ids=[rule for rule, _, _ in RFC_EXAMPLES])
def test_repeats_are_those_of_the_standard(tmp_path: Path, rule: str, start: str, expected: list[datetime]) -> None:
    """Otherwise work would be put on a day of a repeating appointment. RFC 5545 3.8.5.3, from memory."""
    assert starts(tmp_path, start, rule, first=date(1997, 1, 1), last=date(2008, 1, 1)) == expected


def test_friday_the_thirteenth(tmp_path: Path) -> None:
    """Otherwise a rule without an end, and its first date taken out, would be read wrongly. RFC 5545, from memory."""
    lines = (START, f"EXDATE;{START[8:]}", "RRULE:FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13")
    found = starts(tmp_path, *lines, first=date(1997, 9, 1), last=date(2000, 12, 31))
    months = ((1998, 2), (1998, 3), (1998, 11), (1999, 8), (2000, 10))
    assert found == [datetime(year, month, 13, 9) for year, month in months]


def test_election_day(tmp_path: Path) -> None:
    """Otherwise rules of several conditions would fall on wrong days. RFC 5545, from memory."""
    rule = "RRULE:FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8"
    start = "DTSTART;TZID=America/New_York:19961105T090000"
    found = starts(tmp_path, start, rule, first=date(1996, 1, 1), last=date(2004, 12, 31))
    assert found == [*days(1996, 11, 5), *days(2000, 11, 7), *days(2004, 11, 2)]


@pytest.mark.parametrize("rule", [
    "FREQ=DAILY;INTERVAL=3", "FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,WE,SA", "FREQ=HOURLY;INTERVAL=7",
    "FREQ=WEEKLY;INTERVAL=3;WKST=SU;BYDAY=SU,TU;BYSETPOS=-1", "FREQ=MONTHLY;BYDAY=-1SU", "FREQ=YEARLY;BYWEEKNO=25",
    "FREQ=DAILY;BYMONTH=6,7;BYDAY=TU",
])  # fmt: skip
def test_old_rules_are_taken_up_in_step(tmp_path: Path, rule: str) -> None:
    """Otherwise a fortnightly entry begun years ago would be put in the wrong weeks. Checked against dateutil."""
    from dateutil.rrule import rrulestr

    begun = datetime(1999, 2, 24, 9)
    found = starts(tmp_path, "DTSTART:19990224T090000", f"RRULE:{rule}", first=date(2026, 6, 1), last=date(2026, 8, 1))
    plain = rrulestr(rule, dtstart=begun).between(datetime(2026, 6, 1), datetime(2026, 8, 1, 23, 59), inc=True)
    assert found == plain


def test_lines_may_be_folded_anywhere(tmp_path: Path) -> None:
    """Otherwise an entry whose line is broken, even inside a letter, would be lost."""
    text = calendar(event("UID:1", "SUMMARY:Zahn\u00e4rztin", "DTSTART:20260627T090000", "DURATION:PT2H"))
    raw = text.encode("utf-8").replace(b"DTSTART:2026", b"DTST\r\n ART:20\r\n\t26")
    raw = raw.replace(b"\xc3\xa4", b"\xc3\r\n \xa4")
    found, problems = times(tmp_path, raw, TODAY, date(2026, 7, 3))
    assert (found, problems) == ([(datetime(2026, 6, 27, 9), datetime(2026, 6, 27, 11))], [])


@pytest.mark.parametrize("ending", ["\n", "\r"])
def test_line_ends_of_other_systems(tmp_path: Path, ending: str) -> None:
    """Otherwise a calendar saved on another system would be empty."""
    text = calendar(event("DTSTART:20260627T090000", "DURATION:PT2H")).replace("\r\n", ending)
    found, problems = times(tmp_path, "\ufeff" + text, TODAY, date(2026, 7, 3))
    assert (len(found), problems) == (1, [])


def test_utc_floating_named_and_described_times(tmp_path: Path) -> None:
    """Otherwise a call at another clock would block the wrong hours. Adelaide is 9:30 ahead in June."""
    text = calendar(
        event("DTSTART:20260627T000000Z", "DTEND:20260627T010000Z"),
        event("DTSTART:20260628T093000", "DTEND:20260628T103000"),
        event("DTSTART;TZID=Australia/Darwin:20260629T093000", "DTEND;TZID=Australia/Darwin:20260629T103000"),
        event('DTSTART;TZID="Station time":20260630T093000', "DTEND;TZID=Station time:20260630T103000"),
        event("DTSTART;TZID=AUS Eastern Standard Time:20260701T100000", "DURATION:PT1H"),
        event("DTSTART;TZID=Europe/Berlin:20260702T020000", "DTEND;TZID=Australia/Perth:20260702T090000"),
        CUSTOM_ZONE,
    )
    found, problems = times(tmp_path, text, TODAY, date(2026, 7, 3))
    assert problems == []
    # UTC 00:00 = 09:30; Darwin has Adelaide's winter time; Sydney 10:00 = 09:30; Berlin 02:00 = UTC 00:00,
    # and Perth 09:00 = UTC 01:00
    assert found == [
        (datetime(2026, month, day, 9, 30), datetime(2026, month, day, 10, 30))
        for month, day in ((6, 27), (6, 28), (6, 29), (6, 30), (7, 1), (7, 2))
    ]


def test_two_files_may_describe_one_name_differently(tmp_path: Path) -> None:
    """Otherwise the calendar read first would set the clock of the next one."""
    one = event("DTSTART;TZID=Station time:20260630T093000", "DURATION:PT1H")
    later = CUSTOM_ZONE.replace("+0930", "+0800").replace("+1030", "+0800")
    first, _ = times(tmp_path, calendar(CUSTOM_ZONE, one), TODAY, date(2026, 7, 3))
    second, _ = times(tmp_path, calendar(later, one), TODAY, date(2026, 7, 3))
    assert [start for start, _ in (*first, *second)] == [datetime(2026, 6, 30, 9, 30), datetime(2026, 6, 30, 11)]


def test_weekly_entry_keeps_its_hour_when_clocks_change(tmp_path: Path) -> None:
    """Otherwise from October on an appointment would be read an hour off.

    South Australia goes to daylight time on the first Sunday of October, 4 October 2026
    (published by the state, from memory), so UTC noon moves from 21:30 to 22:30.
    """
    text = calendar(
        event("DTSTART;TZID=Australia/Adelaide:20260919T090000", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;COUNT=4"),
        event("DTSTART:20260919T120000Z", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;COUNT=4"),
    )
    found, _ = times(tmp_path, text, date(2026, 9, 18), date(2026, 10, 31))
    assert [start for start, _ in found if start.hour == 9] == [
        *days(2026, 9, 19, 26), *days(2026, 10, 3, 10)
    ]  # fmt: skip
    assert [start for start, _ in found if start.hour > 9] == [
        *days(2026, 9, 19, 26, hour=21, minute=30), datetime(2026, 10, 3, 21, 30), datetime(2026, 10, 10, 22, 30)
    ]  # fmt: skip


def test_whole_days_on_the_day_the_clocks_change(tmp_path: Path) -> None:
    """Otherwise a short day would leave an hour of the next one busy."""
    text = calendar(event("DTSTART;VALUE=DATE:20261003", "DTEND;VALUE=DATE:20261005"))
    found, _ = times(tmp_path, text, date(2026, 9, 18), date(2026, 10, 31))
    assert found == [(datetime(2026, 10, 3), datetime(2026, 10, 5))]


def test_all_day_entries(tmp_path: Path) -> None:
    """Otherwise a day away would be offered for work, or the day after it would not."""
    text = calendar(
        event("DTSTART;VALUE=DATE:20260627"),
        event("DTSTART;VALUE=DATE:20260629", "DTEND;VALUE=DATE:20260629"),
        event("DTSTART;VALUE=DATE:20260701", "DURATION:P2D"),
        event("DTSTART;VALUE=DATE:20260622", "RRULE:FREQ=DAILY;UNTIL=20260624T000000Z", "EXDATE;VALUE=DATE:20260623"),
    )
    found, problems = times(tmp_path, text, TODAY, date(2026, 7, 3))
    assert problems == []
    assert [(start, (end - start).days) for start, end in found] == [
        (datetime(2026, 6, 22), 1), (datetime(2026, 6, 24), 1), (datetime(2026, 6, 27), 1),
        (datetime(2026, 6, 29), 1), (datetime(2026, 7, 1), 2),
    ]  # fmt: skip


def test_an_absence_begun_long_ago_still_counts(tmp_path: Path) -> None:
    """Otherwise the last days of a long absence would be offered for work."""
    text = calendar(
        event("DTSTART;VALUE=DATE:20250601", "DTEND;VALUE=DATE:20260624"),
        event("DTSTART;VALUE=DATE:20260101", "DURATION:P9D", "RRULE:FREQ=YEARLY"),
        event("DTSTART;VALUE=DATE:20250620", "DURATION:P9D", "RRULE:FREQ=YEARLY"),
    )
    found, problems = times(tmp_path, text, TODAY, date(2026, 7, 3))
    assert problems == []
    assert [end for _, end in found] == [datetime(2026, 6, 24), datetime(2026, 6, 29)]


def test_what_takes_no_time(tmp_path: Path) -> None:
    """Otherwise a birthday, a cancelled meeting or a reminder would block the shed."""
    text = calendar(
        event("DTSTART;VALUE=DATE:20260627", "TRANSP:TRANSPARENT"),
        event("DTSTART:20260627T090000", "DURATION:PT9H", "STATUS:CANCELLED"),
        event("DTSTART:20260627T090000"),
        event("DTSTART:20260628T090000", "BEGIN:VALARM", "TRIGGER:-PT15M", "DURATION:PT9H", "END:VALARM"),
        "BEGIN:VTODO\nDTSTART:20260627T090000\nDUE:20260627T190000\nEND:VTODO\n",
    )
    assert times(tmp_path, text, TODAY, date(2026, 7, 3)) == ([], [])


def test_weekly_with_exceptions(tmp_path: Path) -> None:
    """Otherwise a meeting moved to a workshop day would be missed, and its old time kept."""
    zone = "TZID=Australia/Adelaide"
    text = calendar(
        event(
            "UID:w", f"DTSTART;{zone}:20260606T090000", f"DTEND;{zone}:20260606T100000", "RRULE:FREQ=WEEKLY;COUNT=6",
            f"EXDATE;{zone}:20260613T090000,20260620T090000", f"RDATE;{zone}:20260622T140000",
            "RDATE;VALUE=PERIOD:20260623T000000Z/PT3H,20260624T000000Z/20260624T013000Z",
        ),
        event("UID:w", "RECURRENCE-ID:20260626T233000Z", f"DTSTART;{zone}:20260628T110000", "DURATION:PT2H"),
        event("UID:w", f"RECURRENCE-ID;{zone}:20260704T090000", f"DTSTART;{zone}:20260704T090000", "STATUS:CANCELLED"),
    )  # fmt: skip
    found, problems = times(tmp_path, text, date(2026, 6, 1), date(2026, 7, 31))
    assert problems == []
    # six Saturdays from 6 June: the 13th and 20th taken out, the 27th moved, 4 July cancelled, 11 July left
    assert found == [
        (datetime(2026, 6, 6, 9), datetime(2026, 6, 6, 10)),
        (datetime(2026, 6, 22, 14), datetime(2026, 6, 22, 15)),
        (datetime(2026, 6, 23, 9, 30), datetime(2026, 6, 23, 12, 30)),
        (datetime(2026, 6, 24, 9, 30), datetime(2026, 6, 24, 11)),
        (datetime(2026, 6, 28, 11), datetime(2026, 6, 28, 13)),
        (datetime(2026, 7, 11, 9), datetime(2026, 7, 11, 10)),
    ]


def test_a_change_to_all_later_repeats(tmp_path: Path) -> None:
    """Otherwise a meeting moved from mornings to afternoons would go on blocking mornings."""
    text = calendar(
        event("UID:w", "DTSTART:20260606T090000", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;COUNT=4"),
        event("UID:w", "RECURRENCE-ID;RANGE=THISANDFUTURE:20260620T090000", "DTSTART:20260620T150000", "DURATION:PT2H"),
    )
    found, _ = times(tmp_path, text, date(2026, 6, 1), date(2026, 7, 31))
    assert [(start, end - start) for start, end in found] == [
        (datetime(2026, 6, 6, 9), timedelta(hours=1)), (datetime(2026, 6, 13, 9), timedelta(hours=1)),
        (datetime(2026, 6, 20, 15), timedelta(hours=2)), (datetime(2026, 6, 27, 15), timedelta(hours=2)),
    ]  # fmt: skip


def test_a_free_busy_file(tmp_path: Path) -> None:
    """Otherwise a calendar given out without its details would leave every day free."""
    text = calendar(
        "BEGIN:VFREEBUSY\nDTSTART:20260601T000000Z\nDTEND:20260801T000000Z\n"
        "FREEBUSY;FBTYPE=BUSY:20260627T000000Z/PT1H,20260628T000000Z/20260628T020000Z\n"
        "FREEBUSY;FBTYPE=FREE:20260629T000000Z/PT1H\nEND:VFREEBUSY\n"
    )
    found, problems = times(tmp_path, text, TODAY, date(2026, 7, 3))
    assert problems == []
    assert found == [
        (datetime(2026, 6, 27, 9, 30), datetime(2026, 6, 27, 10, 30)),
        (datetime(2026, 6, 28, 9, 30), datetime(2026, 6, 28, 11, 30)),
    ]


def test_damage_of_one_entry_is_told_with_its_row(tmp_path: Path) -> None:
    """Otherwise the owner could not find which of a thousand entries to mend."""
    text = calendar(
        event("UID:1"),  # rows 4 to 6
        event("DTSTART:20261340T090000"),  # row 8
        event("DTSTART;TZID=Mars/Base:20260627T090000", "DTEND;TZID=Mars/Base:20260627T100000"),  # row 11
        event("DTSTART:20260628T090000", "DTEND:20260628T080000"),  # row 16
        event("DTSTART:20260629T090000", "RRULE:FREQ=SOMETIMES", "DURATION:PT1H"),  # row 20
        event("DTSTART:20260630T090000", "DURATION:an hour"),  # row 25
        event("DTSTART:20260701T090000", "RRULE:FREQ=DAILY;INTERVAL=0", "DURATION:PT1H"),  # row 29
        event("DTSTART:20190629T090000", "DURATION:a while"),  # long past, so it does not matter
    )
    found, problems = times(tmp_path, text, TODAY, date(2026, 7, 3))
    assert sorted(problems, key=lambda each: each[1] or 0) == [
        ("B01", 4), ("B04", 8), ("B10", 11), ("B11", 16), ("B16", 20), ("B16", 25), ("B16", 29)
    ]  # fmt: skip
    assert [(start.day, end.day, end.hour) for start, end in found] == [
        (27, 27, 10), (28, 29, 0), (29, 29, 10), (30, 1, 0), (1, 1, 10)
    ]  # fmt: skip


@pytest.mark.parametrize("text", [
    "dear calendar", "BEGIN:VCARD\nEND:VCARD\n", calendar(event("UID:1"))[:-30], calendar("BEGIN:VEVENT\nUID:1\n"),
    calendar("END:VEVENT\n"), calendar() + "UID:1\n",
])  # fmt: skip
def test_a_damaged_file_stops(tmp_path: Path, text: str) -> None:
    """Otherwise the entries after the damage would be taken for free time."""
    assert [code for code, _ in times(tmp_path, text, TODAY, date(2026, 7, 3))[1]] == ["B09"]


@pytest.mark.parametrize("rule", [
    "FREQ=DAILY", "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30", "FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30",
    "FREQ=HOURLY;BYMONTH=2;BYMONTHDAY=30", "FREQ=SECONDLY;BYMONTH=2;BYMONTHDAY=30", "FREQ=SECONDLY",
    "FREQ=SECONDLY;COUNT=999999999", "FREQ=WEEKLY;BYDAY=MO;BYMONTH=1;BYMONTHDAY=31;BYSETPOS=9",
])  # fmt: skip
def test_rules_without_end_come_to_one(tmp_path: Path, rule: str) -> None:
    """Otherwise one odd entry would keep the plan from ever being made."""
    for start in ("20260101T090000", "00010101T090000"):
        text = calendar(event("UID:1", f"DTSTART:{start}", "DURATION:PT1H", f"RRULE:{rule}"))
        found, problems = times(tmp_path, text, TODAY, date(2026, 7, 3))
        assert {code for code, _ in problems} <= {"B13"}
        if rule.startswith("FREQ=SECONDLY") and "BY" not in rule:
            assert problems
            assert found[-1][1] > datetime(2026, 7, 3)


@pytest.mark.slow
def test_a_hundred_thousand_entries(tmp_path: Path) -> None:
    """Otherwise the calendar of a busy household would make planning a wait of minutes."""
    zone = "TZID=Australia/Adelaide"
    text = calendar(*(
        event(f"UID:{i}", f"DTSTART;{zone}:202606{21 + i % 9}T090000", f"DTEND;{zone}:202606{21 + i % 9}T093000")
        for i in range(100_000)
    ))  # fmt: skip
    found, problems = times(tmp_path, text, TODAY, date(2026, 7, 3))
    assert (len(found), problems) == (100_000, [])


values = st.sampled_from((
    "00010101T000000Z", "99991231T235959", "99991231", "20260627T090000", "20260627", "20260627T240000", "x", "",
    "20260230", "20260627T090000Z/P1D", "20260627T090000,20260628", "P999999W", "-P1D", "FREQ=DAILY", "20260627/20",
    "FREQ=WEEKLY;COUNT=3;UNTIL=99991231T235959Z", "FREQ=YEARLY;BYDAY=0MO", "FREQ=DAILY;BYSETPOS=0", "FREQ=DAILY;X=",
    "FREQ=DAILY;UNTIL=soon", "FREQ=MONTHLY;BYMONTHDAY=99", "FREQ=WEEKLY;INTERVAL=99999999999999999999", "\0", "\u0661",
))  # fmt: skip
names = st.sampled_from((
    "DTSTART", "DTSTART;TZID=Asia/Kiritimati", "DTSTART;TZID=../etc", 'DTSTART;TZID="', "DTEND", "DURATION", "RRULE",
    "EXRULE", "RDATE", "EXDATE", "EXDATE;TZID=Pacific/Niue", "RECURRENCE-ID",
    "RECURRENCE-ID;RANGE=THISANDFUTURE", "UID",
))  # fmt: skip
lines = st.lists(st.tuples(names, values).map(":".join), max_size=6)


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(lines, max_size=3))
def test_no_entry_ends_in_a_traceback(tmp_path: Path, entries: list[list[str]]) -> None:
    """Otherwise one odd entry of somebody's calendar would leave the owner without a plan."""
    found, problems = times(tmp_path, calendar(*(event(*entry) for entry in entries)), TODAY, date(2026, 7, 3))
    assert all(start < end for start, end in found)
    assert {code for code, _ in problems} <= set(CODES)
