"""The summary of a fleet, written: every rig's row taken in, one after the other."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from tripplan.files.whole_files import may_not_write, write_whole
from tripplan.placing.yard import Block, Shed, shared_days
from tripplan.sheets import fleet_summary as sheet
from tripplan.sheets.fleet_yard import yard_csv, yard_lines, yard_rows


@dataclass(frozen=True, slots=True)
class Summary:
    """What is told at the end, and what it was told from."""

    fleet: sheet.Fleet
    short_text: str
    json_text: str


def written_summary(out: Path, rows: Iterable[dict[str, Any]], today: date, shed: Shed | None) -> Summary:
    """Gather the rows, put the shared days where the shed was told, write every file of the summary."""
    fleet, events = sheet.Fleet(), []
    blocks: list[Block] = []
    for row in rows:
        fleet.add(row)
        events.append(tuple(row.get("events", ())))
        blocks += blocks_of(row, today)
    found = shared_days(blocks, open_days(blocks), shed) if shed and blocks else None
    yard = yard_rows(blocks, found) if found else []
    lines = yard_lines(blocks, found) if found else []
    text = sheet.fleet_text(fleet, today, shed, lines)
    json_text = sheet.fleet_json(fleet, today, shed, yard)
    files = {
        "fleet.txt": text, "fleet.json": json_text, "rigs.csv": sheet.rigs_csv(fleet),
        "shed_days.csv": sheet.days_csv(fleet, shed), "shopping.csv": sheet.shopping_csv(fleet),
        "shared_days.csv": yard_csv(yard),
    }  # fmt: skip
    _write(out, files, sheet.calendar_ics(fleet, events))
    return Summary(fleet, sheet.fleet_text(fleet, today, shed, lines, is_short=True), json_text)


def _write(out: Path, files: Mapping[str, str], calendar: bytes) -> None:
    with may_not_write(str(out)):
        for name, text in files.items():
            write_whole(out / name, text.encode("utf-8", "replace"))
        write_whole(out / "calendar.ics", calendar)


def blocks_of(row: Mapping[str, Any], today: date) -> Iterator[Block]:
    """The work that a rig's plan puts on its days at home, with the days it may move to."""
    if not row["is_made"]:
        return
    depart = date.fromisoformat(row["depart"])
    slots = [slot for slot in row["slots"] if slot["kind"] == sheet.WORKSHOP and round(slot["minutes_planned"])]
    for part, slot in enumerate(sorted(slots, key=lambda slot: slot["date"])):
        planned = date.fromisoformat(slot["date"])
        ready = date.fromisoformat(slot["ready"]) if slot["ready"] else today
        last = max(planned, depart - timedelta(days=1))
        yield Block(row["name"], part, round(slot["minutes_planned"]), planned, max(today, ready), last)


def open_days(blocks: Iterable[Block]) -> tuple[date, ...]:
    """The days on which the shed is open: those on which any rig's own plan works at home."""
    return tuple(sorted({block.planned for block in blocks}))
