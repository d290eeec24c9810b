"""What `tripplan plan` prints: the plan in short, at most 80 columns, made to be read aloud."""

import textwrap
from collections.abc import Iterable, Iterator
from pathlib import Path

from tripplan.records.grouped import grouped
from tripplan.records.plan import DUE, NO_RECORD, Plan, PlanItem, RunsOut
from tripplan.sheets import words
from tripplan.sheets.worksheet import lists as sheet_lists
from tripplan.sheets.worksheet import work_order
from tripplan.sheets.worksheet.text import day_words
from tripplan.sheets.worksheet.waits import waits

COLUMNS = 80
WIDEST_ITEM = 52
ROW = "  {item:<52} {leg:>3} {km:>4}  {typical:<6}  {reserve}"
FEW_LOOKS = 6
MOST_NAMED, MOST_ROWS = 12, 20
REST = "in worksheet.txt"


def terminal_summary(plan: Plan, written: Iterable[Path] = (), asked: str = "") -> str:
    """The summary with a line feed after every line; `written` lists the files, if any. What is `asked` comes first."""
    parts = (
        _head(plan), ["", *asked.splitlines()] if asked else [], _look(plan), _due(plan), _slots(plan), _on_the_way(plan), _waits(plan), _files(written),
    )  # fmt: skip
    lines = [words.printable(line).rstrip() for part in parts for line in part]
    return "\n".join(lines) + "\n"


def _wrap(text: str, first: str = "", rest: str | None = None) -> list[str]:
    following = " " * len(first) if rest is None else rest
    return textwrap.wrap(" ".join(text.split()), COLUMNS, initial_indent=first, subsequent_indent=following)


def _named(plan: Plan, item: PlanItem) -> str:
    return sheet_lists.named(plan, item.name, item.position, item.unit)


def _head(plan: Plan) -> Iterator[str]:
    yield from _wrap(f"{plan.trip}, {plan.rig}")
    yield from _wrap(f"{words.day(plan.depart)} to {words.day(plan.return_)}, as of {words.day(plan.today)}")
    yield from _wrap(" ".join(work_order.verdict_counts(plan)))


def _look(plan: Plan) -> Iterator[str]:
    if plan.warnings or plan.problems:
        yield ""
    for warning in (told.text for told in plan.warnings):
        yield from _wrap(f"Warning: {warning}", "", "  ")
    for way in plan.ways_out:
        yield from _wrap(f"Way out: {way}", "", "  ")
    for line in _worth_a_look(plan):
        yield from _wrap(f"Worth a look: {line}", "", "  ")


def _worth_a_look(plan: Plan) -> Iterator[str]:
    """Where, what stands there and what should; rows of one table that have the same thing wrong are told together."""
    found = grouped(((one.file, one.column or "", one.code, one.hint or one.accepted), one) for one in plan.problems)
    for (_, _, code, wanted), same in found.items():
        told = "; ".join(f"{problem.place}: {problem.found}" for problem in same[:1])
        more = f", and {len(same) - 1} more like it" if len(same) > 1 else ""
        yield f"{told}{more} ({code}). {words.sentence(wanted)}"


def _due(plan: Plan) -> Iterator[str]:
    """What is due, and what nobody has a record of; not for a trip that is over, where all of it waits at home."""
    if plan.is_over:
        return
    due, unknown = _due_items(plan, DUE), _due_items(plan, NO_RECORD)
    looks = _due_looks(plan)
    if due or unknown or looks:
        yield ""
    for title, told in (
        (words.upper_first(work_order.due_words(plan)), due),
        ("No record, so treated as due", unknown),
    ):
        if told:
            yield from _wrap(f"{title}: {'; '.join(told)}.", "", "  ")
    yield from _wrap(looks, "", "  ")


def _due_items(plan: Plan, verdict: str) -> list[str]:
    """The items of a verdict with their act, what can hurt somebody first where they are too many to name."""
    items = [item for item in sheet_lists.due_together(plan) if item.verdict == verdict]
    if len(items) > MOST_NAMED:
        items.sort(key=lambda item: (not item.harms, -item.strands))
    told = [f"{_named(plan, item)}: {item.said_act}" for item in items]
    left = len(told) - MOST_NAMED
    return told if left <= 0 else [*told[:MOST_NAMED], f"and {left} more, {REST}"]


def _due_looks(plan: Plan) -> str:
    """The due looks of the walk-round by name, or counted when they are many and all of them."""
    if len(plan.walkround) > FEW_LOOKS and work_order.is_all_due(plan):
        return f"Also due: all {len(plan.walkround)} looks of the walk-round, as the worksheet lists them."
    return work_order.due_walkround(plan)


def _slots(plan: Plan) -> Iterator[str]:
    yield from ("", "Where the work is placed")
    for slot in plan.slots:
        yield from _wrap(day_words(slot), "  ")


def _on_the_way(plan: Plan) -> Iterator[str]:
    """What still needs work on the way as a table; what is done before departure in one paragraph."""
    rows = sheet_lists.on_the_way(plan)
    open_rows = [row.item for row in rows if not row.is_done_before]
    items = [item for item in open_rows if item.rhythm != work_order.WALK_ROUND]
    if items:
        yield ""
        head = "Runs out without work; leg and km with reserve"
        yield ROW.format(item=head, leg="leg", km="km", typical="usual", reserve="reserve")
    for item in items[:MOST_ROWS]:
        yield from _row(plan, item)
    if len(items) > MOST_ROWS:
        yield f"  and {len(items) - MOST_ROWS} more, {REST}"
    if looks := len(open_rows) - len(items):
        told = words.count(
            looks, "look of the walk-round runs out too, and is", "looks of the walk-round run out too, and are"
        )
        yield from () if items else ("",)
        yield from _wrap(f"{told} made every morning.", "  ")
    names = "; ".join(_named(plan, item) for row in rows if (item := row.item) and row.is_done_before)
    if names:
        yield from _wrap(f"Done before departure, as it would run out on the way too: {names}.", "  ")


def _waits(plan: Plan) -> Iterator[str]:
    told = waits(plan, MOST_NAMED, REST)
    if told:
        yield ""
    for line in told:
        yield from _wrap(line, "", "  ")


def _row(plan: Plan, item: PlanItem) -> Iterator[str]:
    *above, last = textwrap.wrap(_named(plan, item), WIDEST_ITEM) or [""]
    yield from (f"  {line}" for line in above)
    first = item.runs_out_reserve or item.runs_out
    yield ROW.format(
        item=last, leg=first.leg if first else "", km=f"{first.leg_km:.0f}" if first else "",
        typical=_day(item.runs_out), reserve=_day(item.runs_out_reserve),
    )  # fmt: skip


def _day(point: RunsOut | None) -> str:
    return "" if point is None else words.axis_day(point.date)


def _files(written: Iterable[Path]) -> Iterator[str]:
    paths = list(written)
    if paths:
        yield from _wrap(f"Written to {paths[0].parent}: {', '.join(path.name for path in paths)}", "", "  ")
