"""`worksheet.txt`: the work sheet as plain text, 78 columns, made to be read aloud, in the order of the page."""

from collections.abc import Iterable, Iterator, Sequence
from functools import partial

from tripplan.records.plan import Plan
from tripplan.records.plan_work import Slot
from tripplan.sheets import words
from tripplan.sheets.grease_notes import grease_notes
from tripplan.sheets.materials import grades
from tripplan.sheets.text_lines import TICK, heading, wrap
from tripplan.sheets.worksheet import buying, job_words, wall, work_order
from tripplan.sheets.worksheet import lists as sheet_lists
from tripplan.sheets.worksheet import water as sheet_water
from tripplan.sheets.worksheet.html import COST_NOTE, Station, stations, ways
from tripplan.sheets.worksheet.text_work import runs, work_lines


def worksheet_text(plan: Plan) -> str:
    """The whole sheet as text with a line feed after every line."""
    own = stations(plan)
    parts = (
        _top(plan), _days(plan, own), _listed("Not to forget", wall.remember(plan), first=TICK),
        _listed("Not done on time, and why", wall.not_done(plan)), _buy(plan), work_lines(plan, own),
        _behind(plan, own),
    )  # fmt: skip
    lines = [words.printable(line).rstrip() for part in parts for line in part]
    return "\n".join(lines).strip() + "\n"


def _top(plan: Plan) -> Iterator[str]:
    yield from heading(plan.trip)
    yield from wrap(f"{plan.rig}, {words.week_day(plan.depart)} to {words.day(plan.return_)}.")
    main = work_order.main_unit(plan)
    unit = f" Where no unit is named: {main}." if main else ""
    if plan.over:
        yield from ("", *wrap(plan.over), "")
    yield from wrap(f"Planned {words.day(plan.today)}.{unit} {work_order.MANUAL_NOTE}")


def _days(plan: Plan, own: Sequence[Station]) -> Iterator[str]:
    yield from heading("The days")
    for sheet in (station.sheet for station in own if station.sheet):
        slot = sheet.slot
        if slot.jobs or slot.opened:
            day = f"{words.week_day(slot.date)}, {slot.place}: {wall.room(slot)}."
            told = " ".join(f"{act} {', '.join(things)}." for act, things in wall.wall_jobs(plan, sheet))
            yield from wrap(f"{day} {told}", TICK, "    ")
    if idle := wall.idle(plan):
        yield from wrap(idle)


def day_words(slot: Slot) -> str:
    """One slot in a line: day, place, jobs, minutes of those there are."""
    jobs = words.count(len(slot.jobs), "job", "jobs") if slot.jobs else "no work"
    room = "" if slot.minutes_available is None else f" of {words.duration(slot.minutes_available)}"
    minutes = f", {words.duration(slot.minutes_planned)}{room}" if slot.jobs else ""
    return f"{words.day(slot.date)}, {work_order.slot_title(slot)}: {jobs}{minutes}"


def _listed(title: str, lines: Iterable[str], rule: str = "=", first: str = "- ") -> Iterator[str]:
    told = list(lines)
    if told:
        yield from heading(title, rule)
    for line in told:
        yield from wrap(line, first)


def _buy(plan: Plan) -> Iterator[str]:
    found = buying.errands(plan)
    if found:
        yield from heading("Buy")
    for errand in found:
        yield from wrap(f"{errand.title}:")
        for thing in errand.things:
            yield from wrap(thing, TICK)
    if told := buying.costs(plan):
        yield from wrap(told)


def _behind(plan: Plan, own: Sequence[Station]) -> Iterator[str]:
    yield from heading("Behind the sheet")
    yield from wrap(
        "Why any job stands here, with every row and number: tripplan why FOLDER, and the name of the item."
    )
    yield from _whys(plan, own)
    if found := job_words.signs(plan):
        yield from heading("Early signs that the days leave out", "-")
        yield from wrap(" ".join(f"{name}: {text}." for name, text in found))
    yield from _listed(
        "The looks of the walk-round", (f"{title}. {runs(told)}" for title, told in job_words.looks(plan)), "-"
    )
    for part in (_crossings, _grease, _materials, _lasting):
        yield from part(plan)
    yield from _listed("What runs out on the way", map(partial(_way, plan), sheet_lists.on_the_way(plan)), "-")
    yield from _listed("What waits, in full", wall.waits_behind(plan), "-")
    yield from _numbers(plan)


def _whys(plan: Plan, own: Sequence[Station]) -> Iterator[str]:
    yield from heading("Why each job is on the list", "-")
    for station in own:
        if station.sheet and station.sheet.slot.jobs:
            told = job_words.reasons_of(station.sheet)
            yield from wrap(f"{station.short}. " + " ".join(
                f"{why} {words.upper_first('; '.join(names))}." for why, names in told
            ), "- ")  # fmt: skip
    yield from wrap(" ".join(work_order.verdict_counts(plan)))


def _crossings(plan: Plan) -> Iterator[str]:
    if plan.crossings:
        yield from heading("The crossings in full", "-")
    for crossing in plan.crossings:
        yield from wrap(" ".join((sheet_water.facts_known(crossing), *crossing.notes)), "- ")
    if silent := sheet_water.silent(plan):
        yield from wrap(silent)
    for window in sheet_water.windows(plan):
        for call in window.calls:
            yield from wrap(f"{window.title}: {call.words} ({'; '.join(call.crossings)}).{call.told}", "- ")
    for crossing in plan.crossings:
        if crossing.contingent:
            yield from ("", *wrap(f"If a look finds it, {sheet_water.label(crossing)} (not booked):"))
            for line in sheet_water.contingent_lines(plan, crossing.contingent):
                yield from wrap(line, "- ")
    told = sheet_water.wetted_items(plan)
    if told:
        yield from ("", *wrap(f"What sits at the points under water. {'. '.join(told)}."))


def _grease(plan: Plan) -> Iterator[str]:
    notes = grease_notes(plan)
    if notes.notes:
        yield from heading("Grease and oil notes", "-")
    for note in notes.notes:
        yield from wrap(f"{note.name}: {note.text}", f"{note.number}. ")
    for numbers, text in notes.shared:
        yield from wrap(f"{numbers}: {text}")


def _materials(plan: Plan) -> Iterator[str]:
    must_be = [f"{name}: {grade}" for name, grade in grades(job for slot in plan.slots for job in slot.jobs)]
    if must_be:
        yield from heading("What the materials must be", "-")
        yield from wrap(f"{'. '.join(map(words.upper_first, must_be))}.")


def _lasting(plan: Plan) -> Iterator[str]:
    groups = sheet_lists.lasting_groups(plan)
    if groups:
        yield from heading("What lasts the trip", "-")
        yield from wrap(sheet_lists.LASTING_NOTE)
    for share, items in groups:
        yield from wrap(f"{share}: {items}.", "- ")


def _way(plan: Plan, row: sheet_lists.WayRow) -> str:
    name = sheet_lists.named(plan, row.item.name, row.item.position, row.item.unit)
    return f"{name}: {sheet_lists.ends_words(plan, row.item)}. Work: {row.days}."


def _numbers(plan: Plan) -> Iterator[str]:
    yield from heading("How the numbers were combined", "-")
    yield from wrap(plan.product_rule)
    for name, total in ways(plan):
        yield from wrap(f"{name}: {words.duration(total.minutes)}, cost {total.cost:.0f}", "- ")
    yield from wrap(f"{COST_NOTE} {words.proven(plan.totals.gap)} Placed by: {plan.totals.method}.")
    if plan.assumptions:
        yield "Assumed:"
    for text in plan.assumptions:
        yield from wrap(text, "- ")
    yield from wrap(f"Edition of the tables: {plan.edition}")
