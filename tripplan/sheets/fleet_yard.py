"""The shared days of a yard in words and as a table: which rig stands in which bay on which day."""

import itertools
from collections.abc import Sequence
from datetime import date
from typing import Any

from tripplan.placing.yard import LEFT_OVER_PRICE, Block, SharedDays, Shed
from tripplan.sheets import words
from tripplan.sheets.lists import csv_text
from tripplan.sheets.text_lines import bullet, heading, wrap

YARD_COLUMNS = ("date", "bay", "name", "part", "minutes", "planned", "moved_days", "parts_there", "latest", "order_by")


def yard_rows(blocks: Sequence[Block], found: SharedDays, today: date) -> list[dict[str, Any]]:
    """One row a block by day and bay; what found no place comes last, without a day."""
    rows = [_row(block, spot, today) for block, spot in zip(blocks, found.spots, strict=True)]
    return sorted(rows, key=lambda row: (row["date"] == "", row["date"], row["bay"], row["name"], row["part"]))


def order_by(block: Block, day: date, today: date) -> date | None:
    """The last day to order its parts for work on that day; None for work without any that take days to come."""
    return day - (block.ready - today) if block.ready > today else None


def _row(block: Block, spot: tuple[date, int] | None, today: date) -> dict[str, Any]:
    last = None if spot is None else order_by(block, spot[0], today)
    return {
        "date": "" if spot is None else spot[0].isoformat(), "bay": "" if spot is None else spot[1] + 1,
        "name": block.rig, "part": block.part + 1, "minutes": block.minutes, "planned": block.planned.isoformat(),
        "moved_days": "" if spot is None else (spot[0] - block.planned).days,
        "parts_there": block.ready.isoformat(), "latest": block.latest.isoformat(),
        "order_by": "" if last is None else last.isoformat(),
    }  # fmt: skip


def yard_csv(rows: Sequence[dict[str, Any]]) -> str:
    """The rows as a table for a spreadsheet."""
    return csv_text(YARD_COLUMNS, rows)


def yard_lines(rows: Sequence[dict[str, Any]], found: SharedDays, shed: Shed) -> list[str]:
    """A line a day with the rig in each bay, then what found no place, and how good the answer is."""
    lines = heading("Shared days: which rig in which bay")
    lines += wrap(
        "The shed is taken to be open on every day that any rig's folder gives for work at home. "
        f"{words.count(shed.bays, 'bay', 'bays')}, {words.count(shed.people, 'person', 'people')}, "
        f"{words.duration(shed.day_minutes)} a day each."
    )
    for day, of_day in itertools.groupby((row for row in rows if row["date"]), key=lambda row: row["date"]):
        lines += _one_day(date.fromisoformat(day), list(of_day))
    left = [row for row in rows if not row["date"]]
    for row in left:
        planned = words.day(date.fromisoformat(row["planned"]))
        lines += bullet(
            f"No place before it leaves: {row['name']}, {words.duration(row['minutes'])}, by its own plan on {planned}."
        )
    return [*lines, *wrap(_how_good(found, len(left)))]


def _one_day(day: date, placed: Sequence[dict[str, Any]]) -> list[str]:
    """The day with its work, and a line a bay."""
    lines = bullet(f"{words.day(day)}, {words.duration(sum(row['minutes'] for row in placed))}")
    for bay, in_bay in itertools.groupby(placed, key=lambda row: row["bay"]):
        told = "; ".join(f"{row['name']}, {words.duration(row['minutes'])}{_moved(row)}" for row in in_bay)
        lines += wrap(f"bay {bay}: {told}", "    ", "      ")
    return lines


def _moved(row: dict[str, Any]) -> str:
    if not row["moved_days"]:
        return ""
    order = (
        f"; parts to be ordered by {words.short_day(date.fromisoformat(row['order_by']))}" if row["order_by"] else ""
    )
    return f" (moved from {words.short_day(date.fromisoformat(row['planned']))}{order})"


def _how_good(found: SharedDays, left: int) -> str:
    moved = found.cost % LEFT_OVER_PRICE
    places = f"{words.count(left, 'piece', 'pieces')} of work without a place" if left else "all work has a place"
    told = f"{words.count(moved, 'day', 'days')} moved in all, {places}"
    if found.is_best:
        return f"{told}; no other order does better."
    if found.bound // LEFT_OVER_PRICE == found.cost // LEFT_OVER_PRICE:
        return f"{told}; no order moves less than {words.count(found.bound % LEFT_OVER_PRICE, 'day', 'days')}."
    return f"{told}; whether another order would place more of it is not proven."
