"""`worksheet.txt`: the work sheet as plain text, 78 columns, made to be read aloud."""

from collections.abc import Iterable, Iterator

from tripplan.records.plan import NO_RECORD, Plan, PlanItem
from tripplan.records.plan_work import Slot
from tripplan.sheets import words
from tripplan.sheets.materials import grades
from tripplan.sheets.text_lines import TICK, heading, wrap
from tripplan.sheets.worksheet import lists as sheet_lists
from tripplan.sheets.worksheet import water as sheet_water
from tripplan.sheets.worksheet import work_order
from tripplan.sheets.worksheet.html import ways
from tripplan.sheets.worksheet.text_work import grease_lines, work_lines
from tripplan.sheets.worksheet.waits import waits


def worksheet_text(plan: Plan) -> str:
    """The whole sheet as text with a line feed after every line."""
    parts = (
        _top(plan), _read_first(plan), _days(plan), _due(plan), _needs(plan), work_lines(plan), _rechecks(plan),
        _crossings(plan), _walkround(plan), grease_lines(plan), _lasting(plan), _on_the_way(plan), _waits(plan),
        _numbers(plan),
    )  # fmt: skip
    lines = [words.printable(line).rstrip() for part in parts for line in part]
    return "\n".join(lines).strip() + "\n"


def _item(plan: Plan, item: PlanItem) -> str:
    return sheet_lists.named(plan, item.name, item.position, item.unit)


def _top(plan: Plan) -> Iterator[str]:
    yield from heading(f"Work sheet: {plan.trip}")
    yield from wrap(f"Rig: {plan.rig}")
    if main := work_order.main_unit(plan):
        yield from wrap(f"Where no unit is named: {main}")
    yield f"Departure: {words.day(plan.depart)}"
    yield f"Return: {words.day(plan.return_)}"
    yield f"As of: {words.day(plan.today)}"


def _read_first(plan: Plan) -> Iterator[str]:
    yield from heading("Read first")
    if not (plan.warnings or plan.problems):
        yield "No warnings, and nothing in the files was worth a look."
    for warning in (told.text for told in plan.warnings):
        yield from wrap(f"Warning: {warning}", "- ")
    for way in plan.ways_out:
        yield from wrap(f"Way out: {way}", "- ")
    yield from ("", *wrap(work_order.MANUAL_NOTE))


def _days(plan: Plan) -> Iterator[str]:
    yield from heading("The days")
    for slot in plan.slots:
        yield from wrap(day_words(slot), "- ")


def day_words(slot: Slot) -> str:
    """One slot in a line: day, place, jobs, minutes of those there are."""
    jobs = words.count(len(slot.jobs), "job", "jobs") if slot.jobs else "no work"
    room = "" if slot.minutes_available is None else f" of {words.duration(slot.minutes_available)}"
    minutes = f", {words.duration(slot.minutes_planned)}{room}" if slot.jobs else ""
    return f"{words.day(slot.date)}, {work_order.slot_title(slot)}: {jobs}{minutes}"


def _due(plan: Plan) -> Iterator[str]:
    yield from heading("Due before departure")
    yield from wrap(" ".join(work_order.verdict_counts(plan)))
    for item in sheet_lists.due_together(plan):
        no_record = " (no record)" if item.verdict == NO_RECORD else ""
        placed = work_order.placed_days(plan, item)
        yield from wrap(f"{_item(plan, item)}{no_record}: {item.act}, {placed}", "- ")
    for problem in plan.problems:
        hint = f" Look at: {problem.hint}." if problem.hint else ""
        yield from wrap(
            f"{problem.place} ({problem.code}, {problem.weight}). Found: {problem.found}. "
            f"Accepted: {problem.accepted}.{hint}",
            "- ",
        )


def _walkround(plan: Plan) -> Iterator[str]:
    if not plan.walkround:
        return
    yield from heading("Each morning, walk round")
    yield from wrap(f"About {plan.walkround_minutes:.0f} minutes as a whole. {work_order.walkround_due(plan)}")
    yield from wrap(f"{'; '.join(map(words.upper_first, plan.walkround))}.")
    mornings = work_order.driving_days(plan)
    if mornings:
        yield from wrap("  ".join(f"{TICK}{morning}" for morning in mornings))


def _rechecks(plan: Plan) -> Iterator[str]:
    if not plan.rechecks:
        return
    yield from heading("Re-checks")
    if told := sheet_lists.at_slots(plan):
        yield from wrap(told)
    for check in sheet_lists.on_the_road(plan):
        between = f"between trip km {check.from_km:.0f} and {check.to_km:.0f}"
        yield from wrap(f"{check.name}: {check.where}, {between}. Follows {check.because_of}.", TICK)
    for sentence in sheet_lists.after_return(plan):
        yield from wrap(sentence)


def _crossings(plan: Plan) -> Iterator[str]:
    if not plan.crossings:
        return
    yield from heading("Water crossings")
    yield from wrap(work_order.CROSSING_NOTE)
    for crossing in plan.crossings:
        yield from wrap(" ".join((sheet_water.facts(crossing), *crossing.notes)), "- ")
    for window in sheet_water.windows(plan):
        yield from ("", f"{window.title}:")
        for call in window.calls:
            ticks = " ".join(f"{TICK}{crossing}" for crossing in call.crossings)
            yield from wrap(f"{ticks}: {call.words}.{call.told}", "", "    ")
        for line in window.referred:
            yield from wrap(line, "- ")
    for crossing in plan.crossings:
        if crossing.contingent:
            yield from ("", *wrap(f"If a look finds it, {sheet_water.label(crossing)} (not booked):"))
            for line in sheet_water.contingent_lines(plan, crossing.contingent):
                yield from wrap(line, "- ")
    told = sheet_water.wetted_items(plan)
    if told:
        yield from ("", *wrap(f"What sits under water. {'. '.join(told)}."))


def _needs(plan: Plan) -> Iterator[str]:
    names = {slot.id: work_order.slot_name(slot) for slot in plan.slots}
    if plan.orders or plan.shopping or plan.carry:
        yield from heading("Buy and carry")
    for part in plan.orders:
        slot = names.get(part.slot, part.slot)
        yield from wrap(f"Order by {words.day(part.order_by)} for {slot}: {', '.join(part.what)}", TICK)
    for title, needs in sheet_lists.need_lists(plan):
        yield from ("", f"{title}:")
        for need in needs:
            days = sheet_lists.need_days(need)
            told = f"{need.name} {sheet_lists.need_amount(need)}{sheet_lists.need_jobs(plan, need)}"
            yield from wrap(f"{told}{f'; {days}' if days else ''}", TICK)
    must_be = [f"{name}: {grade}" for name, grade in grades(job for slot in plan.slots for job in slot.jobs)]
    if must_be:
        yield from ("", *wrap(f"What the materials must be. {'. '.join(map(words.upper_first, must_be))}."))


def _lasting(plan: Plan) -> Iterator[str]:
    groups = sheet_lists.lasting_groups(plan)
    if groups:
        yield from heading("What lasts the trip")
        yield from wrap(sheet_lists.LASTING_NOTE)
    for share, items in groups:
        yield from wrap(f"{share}: {items}.", "- ")


def _on_the_way(plan: Plan) -> Iterator[str]:
    rows = sheet_lists.on_the_way(plan)
    if rows:
        yield from heading("What runs out on the way")
    for row in rows:
        yield from wrap(f"{_item(plan, row.item)}: {sheet_lists.ends_words(row.item)}. Work: {row.days}.", "- ")


def _waits(plan: Plan) -> Iterator[str]:
    told = waits(plan)
    if told:
        yield from heading("What waits")
    for line in told:
        yield from wrap(line, "- ")


def _numbers(plan: Plan) -> Iterator[str]:
    yield from heading("How the numbers were combined")
    yield from wrap(plan.product_rule)
    for name, total in ways(plan):
        yield from wrap(f"{name}: {words.duration(total.minutes)}, cost {words.figure(total.cost)}", "- ")
    gap = plan.totals.gap
    proven = "" if gap is None else f" No way of placing can cost less by more than {words.figure(gap * 100)} %."
    yield from wrap(f"Placed by: {plan.totals.method}.{proven}")
    yield from _listed("Assumed:", plan.assumptions)
    yield from wrap(f"Edition of the tables: {plan.edition}")


def _listed(title: str, texts: Iterable[str]) -> Iterator[str]:
    told = list(texts)
    if told:
        yield title
        for text in told:
            yield from wrap(text, "- ")
