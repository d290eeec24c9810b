"""The summary of many rigs, as somebody who runs a shed reads it: nothing lost, nothing told twice, no more memory for more rigs."""

import json
import tracemalloc
from collections.abc import Iterator
from copy import deepcopy
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar
from msgspec.structs import replace

from tests.fleet_rigs import TODAY, fleet_folders
from tests.sample_plan import sample_plan
from tripplan.commands.fleet.one_rig import Asked, Job, one
from tripplan.commands.fleet.together import blocks_of, open_days, written_summary
from tripplan.files.fleet_folders import folder_bytes
from tripplan.placing.yard import Shed
from tripplan.records.plan import OrderPart
from tripplan.sheets.fleet_row import made_row
from tripplan.sheets.fleet_summary import Fleet, before_departure, day_rows
from tripplan.sheets.fleet_text import fleet_text

Row = dict[str, Any]
EMPTY = b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nEND:VCALENDAR\r\n"
LATE = "Done too late, at home, 5 July, because no time found at any place before its limit: Rear brakes."
SEEN = "No record, and this plan has no place for a look at it: Rear wheel bearings."


@pytest.fixture(scope="module")
def row(tmp_path_factory: pytest.TempPathFactory) -> Row:
    """The row of one rig really planned, which works in the shed on two days."""
    (folder,) = fleet_folders(tmp_path_factory.mktemp("yard"), 1, first=2)
    done = one(Job(0, "own", str(folder), folder_bytes(folder), ""), Asked(TODAY, True, True)).row
    assert done["is_made"] and done["events"] and done["needs"] and list(blocks_of(done, TODAY))
    return done


def named(row: Row, name: str, **other: Any) -> Row:
    """The same row under another name, with other values in it."""
    return {**deepcopy(row), "name": name, "rig": name.title(), "urgent": [], "warnings": [], "problems": [], **other}


def text_of(*rows: Row) -> str:
    """The summary's text, its lines joined."""
    fleet = Fleet()
    for one_row in rows:
        fleet.add(one_row)
    return " ".join(fleet_text(fleet, TODAY, None).split())


def test_what_cannot_wait_is_told_first_and_in_words(row: Row) -> None:
    """A yard would read "3 things worth a look" of a rig that leaves with its brakes not done, and look for them in vain."""
    late = named(row, "skink", unmet=2, urgent=[LATE], warnings=[LATE, SEEN])
    told = text_of(named(row, "quoll", warnings=[SEEN]), late)
    assert "1 rig leaves with work not done in time." in told and f"- skink: {LATE}" in told
    assert told.index(LATE) < told.index("By rig") < told.index(SEEN) and told.count(LATE) == told.count(SEEN) == 1
    assert f"- quoll, skink: {SEEN}" in told and ", 2 of them not done in time; 2 to look at below." in told


def test_rigs_stand_in_the_order_they_leave(row: Row) -> None:
    """Who leaves first would stand last, for the sake of its name."""
    told = text_of(named(row, "adder", depart="2026-07-09"), named(row, "zebra", depart="2026-06-12"))
    assert told.index("- zebra, leaves Fri 12 June 2026") < told.index("- adder, leaves Thu 9 July 2026")


def test_a_last_day_to_order_is_one_before_departure(row: Row) -> None:
    """Somebody would take parts for after the return for those that the rig must not leave without."""
    after = {**row["needs"][0], "when": "after return", "order_by": "2026-06-05"}
    assert "to be ordered by" not in text_of(named(row, "skink", needs=[after]))
    before = {**after, "when": "before departure", "order_by": "2026-06-07"}
    assert "parts to be ordered by 7 June" in text_of(named(row, "skink", needs=[after, before]))


def test_parts_to_carry_are_ordered_by_a_day_as_well(row: Row) -> None:
    """The yard would be told of 13 June, and of the seals in the box that take a week longer nobody would be told."""
    needs = [
        {**row["needs"][0], "when": when, "order_by": day}
        for when, day in (("before departure", "2026-06-13"), ("carry", "2026-06-04"))
    ]
    assert "parts to be ordered by 4 June" in text_of(named(row, "skink", needs=needs))


def test_work_of_a_rig_waits_for_its_slowest_part() -> None:
    """Work would be moved forward to a day on which the part that was ordered with an earlier one is not there yet.

    By hand: a part for the first day and one of the same for the second, ordered by the same day; seven days from 6 June are over on 13 June.
    """
    plan = sample_plan()
    slot = plan.slots[1]
    orders = (
        OrderPart(slot=slot.id, order_by=TODAY, what=("seal",), when="before departure", lead_days=7),
        OrderPart(slot=slot.id, order_by=TODAY, what=("spare",), when="carry", lead_days=30),
    )
    told = made_row("rig", "rig", replace(plan, orders=orders), EMPTY)
    found = [one["ready"] for one in told["slots"] if one["id"] == slot.id]
    assert found == [(plan.today + timedelta(days=7)).isoformat()]


def test_a_problem_says_what_would_be_right(row: Row) -> None:
    """ "front_wheel_bearings on wagon" alone says neither what is wrong with it nor what to write."""
    slip = {
        "code": "H13", "weight": "worth a look", "file": "history.csv", "row": 6, "column": "item", "found": "a cell",
        "accepted": "another cell", "hint": "a hint",
    }  # fmt: skip
    told = text_of(named(row, "dunnart", problems=[slip]))
    assert "- dunnart: history.csv row 6, column item (H13): a cell; accepted: another cell; a hint" in told


def test_parts_are_counted_and_told_what_for(row: Row) -> None:
    """ "72 piece" of something, and nobody could say for which work."""
    need = {
        "when": "carry",
        "what": "seal",
        "name": "hub seal",
        "quantity": 2.0,
        "unit": "piece",
        "needed_by": "2026-06-12",
    }
    needs = [{**need, "order_by": "2026-06-04"}]
    told = text_of(named(row, "skink", needs=needs), named(row, "quoll", needs=needs))
    assert "By Thu 4 June 2026: hub seal, 4 pieces in all, to carry, 2 rigs." in told


def test_rigs_in_turn_share_a_bay() -> None:
    """Three short jobs would be told to need three bays, on a day on which one bay takes them all.

    Worked by hand: 269 + 89 + 75 = 433 minutes stand in a day of 480; 300 + 300 do not, and 300 + 180 do.
    """
    shed = Shed(bays=1, people=2, day_minutes=480)
    for minutes, bays, over in (((269, 89, 75), 1, ""), ((300, 300), 2, "1 bay"), ((300, 300, 180), 2, "1 bay")):
        fleet = Fleet()
        day = {"kind": "workshop", "jobs": 1, "date": "2026-06-06", "bench_minutes": 0, "order_by": None}
        for number, spent in enumerate(minutes):
            fleet.add({"name": f"rig {number}", "is_made": False, "problems": [], "folder": "", "slots": [{**day, "minutes_planned": spent}]})  # fmt: skip
        (told,) = day_rows(fleet, shed)
        assert (told["bays"], told["over"]) == (bays, over)


def test_the_calendar_goes_by_the_shared_days(row: Row, tmp_path: Path) -> None:
    """The calendar of the yard would send a rig to the shed on a day on which its bay is another's."""
    rows = [named(row, name) for name in ("skink", "quoll")]
    for number, one_row in enumerate(rows):
        one_row["events"] = [event.replace("UID:", f"UID:{number}") for event in one_row["events"]]
    minutes = max(block.minutes for block in blocks_of(row, TODAY))
    written_summary(tmp_path, rows, TODAY, Shed(bays=1, people=1, day_minutes=minutes))
    told = json.loads((tmp_path / "fleet.json").read_text(encoding="utf-8"))["shared_days"]
    events = Calendar.from_ical((tmp_path / "calendar.ics").read_bytes()).walk("VEVENT")
    assert len(events) == 2 * len(row["events"])
    said = [(event.decoded("dtstart"), str(event["DESCRIPTION"])) for event in events]
    placed = sorted((one_row["date"], one_row["bay"]) for one_row in told if one_row["date"])
    assert sorted((f"{day}", 1) for day, words in said if words.startswith("Bay 1.")) == placed
    moved = [one_row for one_row in told if one_row["moved_days"]]
    assert sum("Moved from" in words for _, words in said) == len(moved)
    left = [one_row for one_row in told if not one_row["date"]]
    assert sum(words.startswith("The shed has no place") for _, words in said) == len(left) and (moved or left)
    assert all(event.decoded("dtend") > event.decoded("dtstart") for event in events)


def test_parts_of_moved_work_are_ordered_for_its_new_day(row: Row, tmp_path: Path) -> None:
    """Work moved two days forward would wait for parts ordered by its old day.

    By hand: parts that take three days, there on 4 June at the soonest; work moved to a day is ordered three days before it.
    """
    slot = {**before_departure(row)[0], "minutes_planned": 400.0, "jobs": 2}
    slot |= {"date": "2026-06-08", "ready": "2026-06-04", "order_by": "2026-06-05"}
    free = {**slot, "date": "2026-06-06", "jobs": 0, "minutes_planned": 0.0, "event": None}
    rows = [named(row, name, slots=[free, slot], depart="2026-06-09") for name in ("skink", "quoll")]
    written_summary(tmp_path, rows, TODAY, Shed(bays=1, people=1, day_minutes=480))
    told = json.loads((tmp_path / "fleet.json").read_text(encoding="utf-8"))["shared_days"]
    assert [(one["date"], one["order_by"]) for one in told] == [
        ("2026-06-06", "2026-06-03"),
        ("2026-06-08", "2026-06-05"),
    ]
    text = (tmp_path / "fleet.txt").read_text(encoding="utf-8")
    assert "(moved from 8 June; parts to be ordered by 3 June)" in " ".join(text.split())
    assert "Its parts are to be ordered by Wed 3 June 2026." in (tmp_path / "calendar.ics").read_text().replace(
        "\n ", ""
    )


def test_the_shed_is_open_on_every_day_that_a_folder_gives(row: Row) -> None:
    """Work that stands in nobody's way on a free day would be told to have no place."""
    free = {**row["slots"][0], "date": "2026-06-30", "jobs": 0, "minutes_planned": 0.0}
    assert date(2026, 6, 30) in open_days({**row, "slots": [*row["slots"], free]})


def test_json_in_pieces_is_json(row: Row, tmp_path: Path) -> None:
    """A comma between two rigs would make the whole file unreadable."""
    for count in (1, 3):
        written_summary(
            tmp_path, [named(row, f"rig {n}", warnings=["a\nb \u2013 \u00e9"]) for n in range(count)], TODAY, None
        )
        text = (tmp_path / "fleet.json").read_text(encoding="utf-8")
        told = json.loads(text)
        assert text == f"{json.dumps(told, indent=1, ensure_ascii=False)}\n" and len(told["rigs"]) == count


def test_more_rigs_hardly_take_more_memory(row: Row, tmp_path: Path) -> None:
    """Ten thousand rigs would fill the memory at the very end, after all their plans are made.

    Of a row as large as those of long trips, whose calendar is long, a few lines may stay.
    """

    class Many:
        def __init__(self, count: int) -> None:
            self.count = count

        def __iter__(self) -> Iterator[Row]:
            return (json.loads(raw.replace('"own"', f'"{n}"')) for n in range(self.count))

    raw, peaks = json.dumps({**row, "events": row["events"] * 20}), []
    for count in (20, 220):
        tracemalloc.start()
        written_summary(tmp_path, Many(count), TODAY, None)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert len(raw) > 40_000 and (peaks[1] - peaks[0]) / 200 < 6000
