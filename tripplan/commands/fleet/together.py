"""The summary of a fleet, written: every rig's row taken in, one after the other, and once more for what is long."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from msgspec import Struct

from tripplan.files.whole_files import may_not_write, write_whole
from tripplan.placing.yard import Block, SharedDays, Shed, shared_days
from tripplan.sheets import fleet_summary as sheet
from tripplan.sheets.fleet_row import on_its_shared_day
from tripplan.sheets.fleet_text import fleet_text
from tripplan.sheets.fleet_yard import order_by, yard_csv, yard_lines, yard_rows

JSON_FILE = "fleet.json"
Spots = Mapping[tuple[str, int], tuple[tuple[date, int] | None, date | None]]


class Summary(Struct, frozen=True):
    """What is told at the end, and what it was told from."""

    fleet: sheet.Fleet
    short_text: str


def written_summary(out: Path, rows: Iterable[dict[str, Any]], today: date, shed: Shed | None) -> Summary:
    """Gather the rows, put the shared days where the shed was told, write every file of the summary.

    The rows are gone through three times, and never held together.
    """
    fleet, blocks = sheet.Fleet(), list[Block]()
    opened: set[date] = set()
    for row in rows:
        fleet.add(row)
        if shed:
            blocks += blocks_of(row, today)
            opened |= open_days(row)
    found = shared_days(blocks, sorted(opened), shed) if shed and blocks else None
    yard = yard_rows(blocks, found, today) if found else []
    lines = yard_lines(yard, found, shed) if shed and found else []
    tables = {
        "fleet.txt": fleet_text(fleet, today, shed, lines), "rigs.csv": sheet.rigs_csv(fleet),
        "shed_days.csv": sheet.days_csv(fleet, shed), "shopping.csv": sheet.shopping_csv(fleet),
        "shared_days.csv": yard_csv(yard),
    }  # fmt: skip
    with may_not_write(str(out)):
        for name, text in tables.items():
            write_whole(out / name, text.encode("utf-8", "replace"))
        write_whole(out / JSON_FILE, sheet.json_pieces(fleet, rows, today, shed, yard))
        write_whole(out / "calendar.ics", sheet.calendar_pieces(fleet, _events(rows, _spots(blocks, found, today))))
    return Summary(fleet, fleet_text(fleet, today, shed, lines, is_short=True))


def _spots(blocks: Iterable[Block], found: SharedDays | None, today: date) -> Spots:
    if found is None:
        return {}
    return {
        (block.rig, block.part): (spot, spot and order_by(block, spot[0], today))
        for block, spot in zip(blocks, found.spots, strict=True)
    }


def _events(rows: Iterable[dict[str, Any]], spots: Spots) -> Iterator[str]:
    """Every rig's events, those of its work at home on their shared days."""
    for row in rows:
        events = list(row.get("events", ()))
        for part, slot in enumerate(_work_days(row)):
            if (row["name"], part) in spots and slot["event"] is not None:
                planned, where = date.fromisoformat(slot["date"]), spots[row["name"], part]
                events[slot["event"]] = on_its_shared_day(events[slot["event"]], planned, *where)
        yield from events


def _work_days(row: Mapping[str, Any]) -> list[dict[str, Any]]:
    return [slot for slot in sheet.before_departure(row) if round(slot["minutes_planned"])]


def blocks_of(row: Mapping[str, Any], today: date) -> Iterator[Block]:
    """The work that a rig's plan puts on its days at home, with the days it may move to."""
    for part, slot in enumerate(_work_days(row)):
        planned = date.fromisoformat(slot["date"])
        ready = date.fromisoformat(slot["ready"]) if slot["ready"] else today
        last = max(planned, date.fromisoformat(row["depart"]) - timedelta(days=1))
        yield Block(row["name"], part, round(slot["minutes_planned"]), planned, max(today, ready), last)


def open_days(row: Mapping[str, Any]) -> set[date]:
    """The days that a rig's folder gives for work at home: on these the shed is open."""
    return {date.fromisoformat(slot["date"]) for slot in row.get("slots", ()) if slot["kind"] == sheet.WORKSHOP}
