"""The work of the slots as plain text, from the same blocks as the page."""

from collections.abc import Iterator, Sequence

from tripplan.records.plan import Plan
from tripplan.sheets import words
from tripplan.sheets.grease_notes import Notes, grease_notes
from tripplan.sheets.text_lines import COLUMNS, TICK, heading, with_rule, wrap
from tripplan.sheets.worksheet import water as sheet_water
from tripplan.sheets.worksheet import work_order
from tripplan.sheets.worksheet.html import stations
from tripplan.sheets.worksheet.lists import named
from tripplan.sheets.worksheet.work_blocks import Block, Opening, Section, SlotSheet, details


def work_lines(plan: Plan) -> Iterator[str]:
    """All stations of the trip in the order of time, with their work."""
    notes = grease_notes(plan)
    yield from heading("The work, in order")
    for station in stations(plan):
        if station.sheet is None:
            yield from ("", *wrap(f"{station.title}, {station.day}"))
        else:
            yield from heading(f"{station.title}, {station.day}", "-")
            yield from _slot(plan, station.sheet, notes)


def grease_lines(plan: Plan) -> Iterator[str]:
    """The numbered notes that jobs point to, with their letters."""
    notes = grease_notes(plan)
    if notes.notes:
        yield from heading("Grease and oil notes")
    for note in notes.notes:
        yield from wrap(f"{note.name}: {note.text}", f"{note.number}. ")
    for letter, text in notes.letters:
        yield from wrap(f"{letter}: {text}")


def _slot(plan: Plan, sheet: SlotSheet, notes: Notes) -> Iterator[str]:
    slot = sheet.slot
    if not work_order.has_work(plan, slot):
        yield "No work placed here."
        return
    available = "" if slot.minutes_available is None else f" of {words.duration(slot.minutes_available)}"
    yield f"Work {words.duration(slot.minutes_planned)}{available}."
    if sheet.materials:
        yield from wrap(f"Lay out: {'; '.join(sheet.materials)}.", "", "  ")
    if sheet.common_why:
        yield from wrap(f"Why, unless a job says otherwise: {words.sentence(sheet.common_why)}", "", "  ")
    for part in sheet.sections:
        yield from _section(plan, sheet, part, notes)
    for check in work_order.rechecks_at(plan, slot):
        told = f"Re-check: {named(plan, check.name, check.position, check.unit)}, {words.duration(check.minutes)}."
        yield from wrap(f"{told} Follows {check.because_of}.", TICK)
    if may_come := sheet_water.may_come(plan, slot):
        yield from wrap(f"May come on top. {may_come}", "", "  ")


def _section(plan: Plan, sheet: SlotSheet, part: Section, notes: Notes) -> Iterator[str]:
    main = work_order.main_unit(plan)
    yield ""
    yield from wrap(f"{words.upper_first(part.title)}: {part.time}")
    if part.cautions:
        yield from wrap(f"Take care: {'; '.join(part.cautions)}.", "! ", "  ")
    for step in part.openings:
        yield from wrap(f"{_opening_boxes(step)}: {step.words}, {step.time}", "", "    ")
    for block in part.blocks:
        told = details(plan, sheet.slot, part, block, sheet.common_why, notes)
        place = block.where_from(main) if part.is_round else ""
        yield from _look(block, told) if part.is_walk_round else _block(block, told, place)


def boxes(sides: Sequence[str]) -> str:
    """A tick box, or one for each side with its name: [ ] left [ ] right."""
    if len(sides) < 2:
        return TICK
    return "".join(f"{TICK}{words.printable(side)} " for side in sides) + " "


def _opening_boxes(step: Opening) -> str:
    """Boxes for opening and closing, for each side where there are several."""
    closed = f" {TICK}closed again" if step.is_closed_again else ""
    sides = [f"{side} " for side in step.sides] if len(step.sides) > 1 else [""]
    return words.upper_first("; ".join(f"{words.printable(side)}{TICK}open{closed}" for side in sides))


def _look(block: Block, told: Sequence[tuple[str, str]]) -> Iterator[str]:
    yield from wrap(f"{block.title}. {_runs(told)}", TICK)


def _block(block: Block, told: Sequence[tuple[str, str]], place: str) -> Iterator[str]:
    """Title with its boxes, ruled room for what is found, and the details."""
    time = f", {block.time}" if block.time else ""
    where = f" ({place})" if place else ""
    title = wrap(f"{block.title}{where}{time}.", boxes(block.sides), "    ")
    if len(block.sides) < 2:
        yield from with_rule(title)
    else:
        yield from (*title, _rules(block.sides))
    if told:
        yield from wrap(_runs(told), "    ")


def _runs(told: Sequence[tuple[str, str]]) -> str:
    return " ".join(f"{name}: {text}" for name, text in told)


def _rules(sides: Sequence[str]) -> str:
    """One line with ruled room for every side."""
    room = max((COLUMNS - 4 - sum(len(side) + 2 for side in sides)) // len(sides), 6)
    return "    " + " ".join(f"{words.upper_first(words.printable(side))} {'_' * room}" for side in sides)
