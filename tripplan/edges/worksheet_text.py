"""`worksheet.txt`: the work sheet as plain text, 78 columns, made to be read aloud."""

import textwrap
from collections.abc import Iterable, Iterator

from tripplan.edges import say, work_order
from tripplan.edges.worksheet_html import lasting, stations, ways
from tripplan.plan import NO_RECORD, Job, Plan, PlanCrossing, PlanItem, Slot

COLUMNS = 78
TICK = "[ ] "
FOUND_LINE = "Found: ______________________________________________________"


def worksheet_text(plan: Plan) -> str:
    """The whole sheet as text with a line feed after every line."""
    parts = (
        _top(plan), _read_first(plan), _in_short(plan), _work(plan), _walkround(plan), _rechecks(plan),
        _crossings(plan), _needs(plan), _lasting(plan), _numbers(plan),
    )  # fmt: skip
    lines = [say.printable(line).rstrip() for part in parts for line in part]
    return "\n".join(lines).strip() + "\n"


def wrap(text: str, first: str = "", rest: str | None = None) -> list[str]:
    """A paragraph of at most 78 columns; `first` and `rest` begin its lines."""
    following = " " * len(first) if rest is None else rest
    return textwrap.wrap(
        " ".join(text.split()), COLUMNS, initial_indent=first, subsequent_indent=following
    ) or [first.rstrip()]


def heading(text: str, mark: str = "=") -> list[str]:
    """A heading with a rule under it and a free line above."""
    lines = wrap(text)
    return ["", *lines, mark * max(len(line) for line in lines), ""]


def _named(plan: Plan, name: str, position: str | None, unit: str) -> str:
    main = work_order.main_unit(plan)
    return say.item(name, position) + (f" ({unit})" if main and unit != main else "")


def _item(plan: Plan, item: PlanItem) -> str:
    return _named(plan, item.name, item.position, item.unit)


def _top(plan: Plan) -> Iterator[str]:
    yield from heading(f"Work sheet: {plan.trip}")
    yield from wrap(f"Rig: {plan.rig}")
    if main := work_order.main_unit(plan):
        yield from wrap(f"Where no unit is named: {main}")
    yield f"Departure: {say.day(plan.depart)}"
    yield f"Return: {say.day(plan.return_)}"
    yield f"As of: {say.day(plan.today)}"


def _read_first(plan: Plan) -> Iterator[str]:
    yield from heading("Read first")
    unmet = work_order.unmet(plan)
    if not (plan.warnings or plan.problems or unmet):
        yield "No warnings, and nothing in the files was worth a look."
    if unmet:
        yield from wrap("These need work before the return, and no slot before it takes them:")
        for item in unmet:
            where = work_order.runs_out_words(plan, item)
            placed = work_order.placed_words(plan, item)
            yield from wrap(f"{_item(plan, item)}: {item.act}. Runs out {where}. Work: {placed}.", "- ")
    for warning in plan.warnings:
        yield from wrap(f"Warning: {warning}", "- ")
    for way in plan.ways_out:
        yield from wrap(f"Way out: {way}", "- ")
    for problem in plan.problems:
        yield from wrap(f"{problem.place} ({problem.code}, {problem.weight})", "- ")
        yield from wrap(f"found {problem.found}", "  ")
        yield from wrap(f"accepted {problem.accepted}", "  ")
        if problem.hint:
            yield from wrap(f"look at {problem.hint}", "  ")
    yield ""
    yield from wrap(work_order.MANUAL_NOTE)


def _in_short(plan: Plan) -> Iterator[str]:
    yield from heading("In short")
    for sentence in work_order.verdict_counts(plan):
        yield from wrap(sentence)
    for item in work_order.due(plan):
        no_record = " (no record)" if item.verdict == NO_RECORD else ""
        yield from wrap(f"Due: {_item(plan, item)}{no_record}", "- ")
    if also := work_order.due_walkround(plan):
        yield from wrap(also, "- ")
    for item in work_order.on_the_way(plan):
        yield from wrap(f"{_item(plan, item)}: runs out {work_order.runs_out_words(plan, item)}.", "- ")


def _work(plan: Plan) -> Iterator[str]:
    yield from heading("The work, in order")
    for station in stations(plan):
        yield from heading(f"{station.title}, {station.day}", "-")
        if station.slot is not None:
            yield from _slot(plan, station.slot)


def _slot(plan: Plan, slot: Slot) -> Iterator[str]:
    if not work_order.has_work(plan, slot):
        yield "No work placed here."
        return
    available = "" if slot.minutes_available is None else f" of {say.duration(slot.minutes_available)}"
    yield f"Work {say.duration(slot.minutes_planned)}{available}."
    for group in work_order.groups(slot):
        yield ""
        yield from wrap(f"{say.upper_first(group.title)}: {say.duration(group.minutes)} in all")
        for step in group.opened:
            yield from wrap(f"Open: {step.words}, {say.duration(step.minutes)} both ways", TICK)
        for job in group.jobs:
            yield from _look(plan, job) if group.is_walk_round else _job(job)
        if group.opened:
            yield from wrap(f"Close again: {group.title}", TICK)
    for check in work_order.rechecks_at(plan, slot):
        told = f"Re-check: {_named(plan, check.name, check.position, check.unit)}, after {check.because_of}"
        yield from wrap(f"{told}, {say.duration(check.minutes)}", TICK)
    for act in work_order.water_acts_at(plan, slot):
        yield from wrap(
            f"After water, {act.act}: {_named(plan, act.name, act.position, act.unit)}. "
            f"Look for {act.look_for}.",
            TICK,
        )


def _look(plan: Plan, job: Job) -> Iterator[str]:
    """A small look of the walk-round, in one paragraph."""
    title = f"{say.upper_first(job.act)}: {_named(plan, job.name, job.position, job.unit)}"
    cautions = "; ".join(job.cautions)
    care = f" Take care: {cautions}." if cautions else ""
    signs = f" Look for: {job.early_signs}." if job.early_signs else ""
    yield from wrap(f"{title}, {say.duration(job.minutes)}.{signs}{care}", TICK)


def _job(job: Job) -> Iterator[str]:
    kind = "" if job.kind == "service" else f" ({job.kind})"
    title = f"{say.upper_first(job.act)}: {say.item(job.name, job.position)}{kind}"
    yield from wrap(f"{title}, {say.duration(job.minutes)}", TICK)
    details = (
        ("How", say.sentence(job.act_note)), ("Take care", say.sentence("; ".join(job.cautions))),
        ("Use", ", ".join(job.consumables)), ("Look for", say.sentence(job.early_signs)),
        ("Why now", say.sentence(job.why)),
    )  # fmt: skip
    for name, text in details:
        if text:
            yield from wrap(f"{name}: {text}", "    ", "      ")
    yield f"    {FOUND_LINE}"


def _walkround(plan: Plan) -> Iterator[str]:
    if plan.walkround:
        yield from heading("Each morning, walk round")
        for text in plan.walkround:
            yield from wrap(say.upper_first(text), TICK)


def _rechecks(plan: Plan) -> Iterator[str]:
    if not plan.rechecks:
        return
    names = {slot.id: work_order.slot_name(slot) for slot in plan.slots}
    yield from heading("Re-checks")
    for check in plan.rechecks:
        name = _named(plan, check.name, check.position, check.unit)
        if check.slot is None:
            where = f"{check.where}, between trip km {check.from_km:.0f} and {check.to_km:.0f}"
            yield from wrap(f"{name}: {where}. Follows {check.because_of}.", TICK)
        else:
            where = f"with the work of {names.get(check.slot, check.where)}"
            yield from wrap(f"{name}: {where}. Follows {check.because_of}.", "- ")


def _crossings(plan: Plan) -> Iterator[str]:
    if plan.crossings:
        yield from heading("Water crossings")
        yield from wrap(work_order.CROSSING_NOTE)
        for crossing in plan.crossings:
            yield from _crossing(plan, crossing)


def _crossing(plan: Plan, crossing: PlanCrossing) -> Iterator[str]:
    yield from heading(f"Leg {crossing.leg}, km {crossing.at_km:.0f} of the leg", "-")
    names = {slot.id: work_order.slot_name(slot) for slot in plan.slots}
    known = "crossed" if crossing.crossed else "expected"
    depth = f"{say.figure(crossing.depth_m)} m deep as {known}"
    yield from wrap(f"{say.day(crossing.date)}, {crossing.water} water, {depth}.")
    for told in work_order.wetted(plan, crossing):
        yield from wrap(f"Under water: {told}", "- ")
    if not crossing.immersed:
        yield "No item with a known height is under water."
    if crossing.unknown_points:
        points = "; ".join(point.replace("_", " ") for point in crossing.unknown_points)
        yield from wrap(f"Heights nobody has measured, so not judged: {points}.")
    for window, acts in work_order.by_window(crossing.acts):
        yield from ("", f"{say.upper_first(window)}:")
        for act in acts:
            by = f" by {say.day(act.by)}" if act.by else ""
            look = f" Look for {act.look_for}." if act.look_for else ""
            found = f" If found: {act.if_found}." if act.if_found else ""
            name = _named(plan, act.name, act.position, act.unit)
            by += f" ({names.get(act.slot, act.slot)})" if act.slot else ""
            yield from wrap(f"{say.upper_first(act.act)}: {name}{by}.{look}{found}", TICK)


def _needs(plan: Plan) -> Iterator[str]:
    names = {slot.id: work_order.slot_name(slot) for slot in plan.slots}
    if plan.orders or plan.shopping or plan.carry:
        yield from heading("Buy and carry")
    for part in plan.orders:
        yield from wrap(
            f"Order by {say.day(part.order_by)} for {names.get(part.slot, part.slot)}: "
            f"{', '.join(part.what)}",
            TICK,
        )
    for verb, needs in (("Buy", plan.shopping), ("Carry", plan.carry)):
        for need in needs:
            amount = f"{say.figure(need.quantity)} {need.unit_of_measure} {need.name}"
            order = f"; order by {say.short_day(need.order_by)}" if need.order_by else ""
            yield from wrap(f"{verb}: {amount}, for {', '.join(need.jobs)}{order}", TICK)


def _lasting(plan: Plan) -> Iterator[str]:
    items = lasting(plan)
    if items:
        yield from heading("What lasts the trip")
    for item in items:
        share = item.share_used_at_return
        used = "share used not known" if share is None else f"{say.percent(share)} used at the return"
        end = work_order.left_at_return(item)
        yield from wrap(f"{_item(plan, item)}: {used}; would run out {end}.", "- ")


def _numbers(plan: Plan) -> Iterator[str]:
    yield from heading("How the numbers were combined")
    yield from wrap(plan.product_rule)
    for name, total in ways(plan):
        yield from wrap(f"{name}: {say.duration(total.minutes)}, cost {say.figure(total.cost)}", "- ")
    gap = plan.totals.gap
    proven = (
        "" if gap is None else f" No way of placing can cost less by more than {say.figure(gap * 100)} %."
    )
    yield from wrap(f"Placed by: {plan.totals.method}.{proven}")
    yield from _listed("Assumed:", plan.assumptions)
    yield from wrap(f"Edition of the tables: {plan.edition}")


def _listed(title: str, texts: Iterable[str]) -> Iterator[str]:
    told = list(texts)
    if told:
        yield title
        for text in told:
            yield from wrap(text, "- ")
