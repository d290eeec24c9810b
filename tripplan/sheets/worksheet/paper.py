"""How much paper a day takes, by the length of what it says, so that a day is one sheet wherever it can be.

Only where a new sheet begins hangs on it: a browser lays the words out, and may need a line more or less.
"""

from collections.abc import Iterable
from math import ceil

from tripplan.records.plan import Plan
from tripplan.sheets.grease_notes import Notes
from tripplan.sheets.worksheet import buying
from tripplan.sheets.worksheet.job_words import day_cautions, day_words, lay_out, part_cautions
from tripplan.sheets.worksheet.lists import after_return
from tripplan.sheets.worksheet.work_blocks import Opening, Section, SlotSheet

SHEET_LINES, LINE_MARKS, COLUMN_MARKS = 61, 108, 49  # lines of 11 pt on A4, and marks in a line of it; measured
SEVERAL_FULL = 0.75  # several sheets are full before, as what is kept together leaves ends of columns free; measured
TICK_MARKS = "    "  # the room of a box to tick
OWN_SHEET, SHORT_WALL = (
    0.4,
    0.68,
)  # of a sheet: a stop that fills less shares one, a road that finds more joins the wall
JUST_OVER = (0.97, 1.05)  # of its sheets: what fills them or runs over by little, lines closer together make it fit
WALL_OVER = 1.1  # of a sheet: so much of the first page fits where its lines stand closer together


def day_share(plan: Plan, sheet: SlotSheet, notes: Notes) -> float:
    """How much of a sheet the work of a slot fills: 1 = all of it; after the return with what is bought and looked at then."""
    all_day = day_cautions(sheet.sections)
    halves = sum(
        3.5 + len(part.blocks) if part.is_walk_round else _part(plan, sheet, part, all_day, notes)
        for part in sheet.sections
    )
    head = 2 + _lines("; ".join(all_day), LINE_MARKS)
    bought = buying.after_return(plan) if sheet.slot.kind == "after" else ()
    materials = " ".join(f"{TICK_MARKS} {buying.to_buy([need])}" for need in bought) or lay_out(sheet.slot)
    later = after_return(plan) if sheet.slot.kind == "after" else ()
    head += _lines(materials, LINE_MARKS) + sum(_lines(told, LINE_MARKS) for told in later)
    return (head + halves / 2) / SHEET_LINES


def is_just_over(share: float) -> bool:
    """True for what fits on whole sheets when its lines stand closer together, and perhaps only then."""
    sheets = max(1, round(share))
    return (JUST_OVER[0] if sheets == 1 else SEVERAL_FULL) < share / sheets <= JUST_OVER[1]


def _part(plan: Plan, sheet: SlotSheet, part: Section, all_day: tuple[str, ...], notes: Notes) -> float:
    care = _lines("Take care " + "; ".join(part_cautions(part, all_day)), COLUMN_MARKS)
    jobs = 0.0
    for block in part.blocks:
        told = " ".join(f"{name} {text}" for name, text in day_words(plan, sheet.slot, part, block, all_day, notes))
        jobs += 1.15 + _lines(told, COLUMN_MARKS)
    return 1.5 + care + sum(0.2 + _lines(_opened(step), COLUMN_MARKS) for step in part.openings) + jobs


def _opened(step: Opening) -> str:
    return f"Open {step.words} {step.time} left right closed again"


def _lines(text: str, marks: int) -> int:
    return ceil(len(text) / marks)


def is_close_wall(share: float) -> bool:
    """True for a first page that fits on one sheet only when its lines stand closer together."""
    return 1.0 < share <= WALL_OVER


def wall_share(days: Iterable[str], others: Iterable[str]) -> float:
    """How much of a sheet the first page fills: its days, and its other lines."""
    told = sum(_lines(text, LINE_MARKS - 4) for text in (*days, *others))
    return (13 + told) / SHEET_LINES
