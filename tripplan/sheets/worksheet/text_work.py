"""The work of the slots as plain text, from the same blocks as the page."""

from collections.abc import Iterator, Sequence

from tripplan.records.plan import Plan
from tripplan.sheets import words
from tripplan.sheets.grease_notes import Notes, grease_notes
from tripplan.sheets.text_lines import COLUMNS, TICK, heading, with_rule, wrap
from tripplan.sheets.worksheet import buying, job_words, wall, work_order
from tripplan.sheets.worksheet import water as sheet_water
from tripplan.sheets.worksheet.html import Station
from tripplan.sheets.worksheet.lists import after_return, named
from tripplan.sheets.worksheet.work_blocks import Block, Opening, Section, SlotSheet


def work_lines(plan: Plan, own: Sequence[Station]) -> Iterator[str]:
    """All stations of the plan in the order of time, with their work; the road stands at the departure."""
    notes = grease_notes(plan)
    yield from heading("The work, in order")
    for station in own:
        if station.sheet is None:
            yield from _milestone(plan, station)
        else:
            slot = station.sheet.slot
            yield from heading(f"{words.week_day(slot.date)}, {words.lower_first(station.title)}", "-")
            yield from _slot(plan, station.sheet, notes)


def _milestone(plan: Plan, station: Station) -> Iterator[str]:
    if not station.is_road:
        yield from ("", *wrap(f"{station.title}, {station.day}"))
        return
    yield from heading(f"On the road: departure {station.day}", "-")
    for part in (_in_the_car(plan), _mornings(plan), _halts(plan), _water(plan)):
        yield from part


def _in_the_car(plan: Plan) -> Iterator[str]:
    if plan.carry:
        yield "In the car:"
    for need in plan.carry:
        yield from wrap(buying.carry_words(need), TICK)


def _mornings(plan: Plan) -> Iterator[str]:
    if not plan.walkround:
        return
    yield from wrap(
        f"Each morning: walk round, about {plan.walkround_minutes:.0f} minutes. {job_words.morning_words(plan)}"
    )
    mornings = work_order.driving_days(plan)
    if mornings:
        yield from wrap("  ".join(f"{TICK}{morning}" for morning in mornings))


def _halts(plan: Plan) -> Iterator[str]:
    for halt in wall.halts(plan):
        yield from wrap(wall.halt_words(halt), TICK)


def _water(plan: Plan) -> Iterator[str]:
    if not plan.crossings:
        return
    yield from ("", *wrap(f"Water. {work_order.CROSSING_NOTE}"))
    if any(crossing.crossed is None for crossing in plan.crossings):
        yield from wrap(sheet_water.CARD_NOTE)
    for crossing in plan.crossings:
        told = " ".join((sheet_water.facts_short(crossing), *crossing.notes))
        yield from wrap(told, TICK if crossing.crossed is None else "- ")
    if silent := sheet_water.silent(plan):
        yield from wrap(silent)
    for window in sheet_water.windows(sheet_water.met(plan, True)):
        for call in window.calls:
            ticks = " ".join(f"{TICK}{crossing}" for crossing in call.crossings)
            yield from wrap(f"{ticks}: {window.title}. {call.words}.{call.brief}", "", "    ")
        for line in window.referred:
            yield from wrap(line, "- ")


def _slot(plan: Plan, sheet: SlotSheet, notes: Notes) -> Iterator[str]:
    slot = sheet.slot
    if not work_order.has_work(plan, slot):
        yield "Nothing to do here."
        return
    all_day = job_words.day_cautions(sheet.sections)
    yield f"{words.upper_first(', '.join(filter(None, (wall.room(slot), wall.setting_out(slot)))))}."
    if all_day:
        yield from wrap(f"All day: {'; '.join(all_day)}.", "! ", "  ")
    yield from _things(plan, sheet)
    if may_come := sheet_water.may_come(plan, slot):
        yield from wrap(f"May come on top. {may_come}", "", "  ")
    for part in sheet.sections:
        yield from _section(plan, sheet, part, all_day, notes)
    for check in work_order.rechecks_at(plan, slot):
        told = f"Look again: {named(plan, check.name, check.position, check.unit)}, {words.duration(check.minutes)}."
        yield from wrap(f"{told} Follows {check.because_of}.", TICK)
    for sentence in after_return(plan) if slot.kind == "after" else ():
        yield from wrap(sentence)


def _things(plan: Plan, sheet: SlotSheet) -> Iterator[str]:
    """What to put ready, or for the work after the return what to buy."""
    needs = buying.after_return(plan) if sheet.slot.kind == "after" else ()
    for need in needs:
        yield from wrap(buying.to_buy([need]), TICK)
    if not needs and sheet.materials:
        yield from wrap(f"Lay out: {job_words.lay_out(sheet.slot)}", "", "  ")


def _section(plan: Plan, sheet: SlotSheet, part: Section, all_day: Sequence[str], notes: Notes) -> Iterator[str]:
    yield ""
    if part.is_walk_round:
        yield from wrap(f"Walk round the rig: {part.time}")
        for block in part.blocks:
            yield from wrap(wall.doing(plan, block), TICK)
        return
    yield from wrap(f"{words.upper_first(part.title)}: {part.time}")
    if care := job_words.part_cautions(part, all_day):
        yield from wrap(f"Take care: {'; '.join(care)}.", "! ", "  ")
    for step in part.openings:
        yield from wrap(f"{_opening_boxes(step)}: {step.words}, {step.time}", "", "    ")
    for block in part.blocks:
        told = job_words.day_words(plan, sheet.slot, part, block, all_day, notes)
        yield from _block(wall.doing(plan, block), block, told)


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


def _block(title: str, block: Block, told: Sequence[tuple[str, str]]) -> Iterator[str]:
    """Title with its boxes, ruled room for what is found, and the details."""
    time = f", {block.time}" if block.time else ""
    lines = wrap(f"{title}{time}.", boxes(block.sides), "    ")
    if len(block.sides) < 2:
        yield from with_rule(lines)
    else:
        yield from (*lines, _rules(block.sides))
    if told:
        yield from wrap(runs(told), "    ")


def runs(told: Sequence[tuple[str, str]]) -> str:
    """Names and texts as running words."""
    return " ".join(f"{name}: {text}" if name else text for name, text in told)


def _rules(sides: Sequence[str]) -> str:
    """One line with ruled room for every side."""
    room = max((COLUMNS - 4 - sum(len(side) + 2 for side in sides)) // len(sides), 6)
    return "    " + " ".join(f"{words.upper_first(words.printable(side))} {'_' * room}" for side in sides)
