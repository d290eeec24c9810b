"""What `tripplan plan` prints: the plan in short, at most 80 columns, made to be read aloud."""

import textwrap
from collections.abc import Iterable, Iterator
from pathlib import Path

from tripplan.edges import say, work_order
from tripplan.plan import NO_RECORD, Plan, PlanItem, Slot

COLUMNS = 80


def terminal_summary(plan: Plan, written: Iterable[Path] = ()) -> str:
    """The summary with a line feed after every line; `written` lists the files, if any."""
    parts = (
        _head(plan), _verdicts(plan), _due(plan), _on_the_way(plan), _slots(plan), _unmet(plan),
        _look(plan), _files(written),
    )  # fmt: skip
    lines = [say.printable(line).rstrip() for part in parts for line in part]
    return "\n".join(lines) + "\n"


def _wrap(text: str, first: str = "") -> list[str]:
    return textwrap.wrap(
        " ".join(text.split()), COLUMNS, initial_indent=first, subsequent_indent=" " * len(first)
    )


def _named(plan: Plan, item: PlanItem) -> str:
    main = work_order.main_unit(plan)
    return say.item(item.name, item.position) + (f" ({item.unit})" if main and item.unit != main else "")


def _head(plan: Plan) -> Iterator[str]:
    yield from _wrap(f"{plan.trip}, {plan.rig}")
    yield from _wrap(f"{say.day(plan.depart)} to {say.day(plan.return_)}, as of {say.day(plan.today)}")


def _verdicts(plan: Plan) -> Iterator[str]:
    yield ""
    for sentence in work_order.verdict_counts(plan):
        yield from _wrap(sentence)


def _due(plan: Plan) -> Iterator[str]:
    items = work_order.due(plan)
    if items:
        yield from ("", "Due before departure")
    for item in items:
        told = ", no record" if item.verdict == NO_RECORD else ""
        yield from _wrap(f"{_named(plan, item)}: {item.act}{told}", "  ")
    yield from _wrap(work_order.due_walkround(plan), "  ")


def _on_the_way(plan: Plan) -> Iterator[str]:
    items = work_order.on_the_way(plan)
    if items:
        yield from ("", "Runs out on the way without work")
    for item in items:
        yield from _wrap(f"{_named(plan, item)}: {work_order.runs_out_words(plan, item)}", "  ")


def _slots(plan: Plan) -> Iterator[str]:
    yield from ("", "Where the work is placed")
    for slot in plan.slots:
        yield from _wrap(_slot_words(slot), "  ")


def _slot_words(slot: Slot) -> str:
    jobs = say.count(len(slot.jobs), "job", "jobs") if slot.jobs else "no work"
    room = "" if slot.minutes_available is None else f" of {say.duration(slot.minutes_available)} there"
    minutes = f", {say.duration(slot.minutes_planned)}{room}" if slot.jobs or room else ""
    return f"{say.day(slot.date)}, {work_order.slot_title(slot)}: {jobs}{minutes}"


def _unmet(plan: Plan) -> Iterator[str]:
    items = work_order.unmet(plan)
    if items:
        yield from ("", "Not met: no slot before the return takes this work")
    for item in items:
        yield from _wrap(f"{_named(plan, item)}: {item.act}", "  ")
    if plan.ways_out:
        yield from ("", "Ways out")
    for way in plan.ways_out:
        yield from _wrap(way, "  ")


def _look(plan: Plan) -> Iterator[str]:
    if plan.warnings or plan.problems:
        yield from ("", "Worth a look")
    for warning in plan.warnings:
        yield from _wrap(warning, "  ")
    for problem in plan.problems:
        yield from _wrap(f"{problem.place} ({problem.code}): {problem.found}", "  ")


def _files(written: Iterable[Path]) -> Iterator[str]:
    paths = list(written)
    if paths:
        yield from ("", f"Written to {paths[0].parent}")
        yield from _wrap(", ".join(path.name for path in paths), "  ")
