"""What `cross` and `log` print: what the water reached, what to do by when, what moved."""

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from tripplan.records.grouped import grouped
from tripplan.records.plan import Plan, PlanItem
from tripplan.records.plan_work import PlanCrossing, Slot, WaterAct
from tripplan.sheets import words
from tripplan.sheets.worksheet import water as sheet_water
from tripplan.sheets.worksheet import work_order
from tripplan.water.crossing import PointMark
from tripplan.water.lines import BowWave

COLUMNS, MOST_SAID = 80, 300
ROUND_DEPTHS_M = (0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.2)
ROUND_MINUTES = ("", "1", "2", "3", "5", "10", "15", "20")
"""What page and phone offer to touch, judgement; the first of the minutes says that they are not known."""
NO_JUDGEMENT = "This records what was done. It does not say whether water can be driven through."


def crossing_text(plan: Plan, crossing: PlanCrossing, marks: Sequence[PointMark], wave: BowWave) -> str:
    """Where the water line was, what it reached, and the acts by their windows."""
    head = [
        f"{words.figure(crossing.depth_m)} m deep, with {words.figure(wave.front_m)} m for the bow wave at the front "
        f"and {words.figure(wave.elsewhere_m)} m elsewhere (our judgement, nobody publishes one).",
        sheet_water.grade_told(crossing),
        *_marks(marks),
    ]
    parts = [line for text in head for line in _wrap(text)]
    for note in crossing.notes:
        parts += ["", *_wrap(note, "! ")]
    for window, acts in work_order.by_window(crossing.acts):
        parts += ["", words.upper_first(window)]
        parts += [line for act in work_order.sides_joined(acts) for line in _act(plan, act)]
    if crossing.contingent:
        told = "Not booked; the looks decide it. Where a look finds what is named, record it with its finding"
        parts += ["", *_wrap(f"{told}, and it is planned:")]
        for line in sheet_water.contingent_lines(plan, crossing.contingent):
            parts += _wrap(line, "  - ")
    if not crossing.acts:
        parts += ["", "Nothing more is called for after this crossing."]
    parts += ["", *_wrap(NO_JUDGEMENT)]
    return "\n".join(parts)


def _marks(marks: Sequence[PointMark]) -> Iterator[str]:
    for unit in dict.fromkeys(mark.unit for mark in marks):
        own = [mark for mark in marks if mark.unit == unit]
        under = [_height(mark) for mark in own if mark.under]
        perhaps = [_height(mark) for mark in own if mark.perhaps]
        above = [_height(mark) for mark in own if mark.height_m is not None and not (mark.under or mark.perhaps)]
        silent = [_name(mark) for mark in own if mark.height_m is None]
        yield f"{unit}, under the water line: {', '.join(under) or 'nothing that has a height'}."
        yield from [f"{unit}, reached by a high wave, so only looked at: {', '.join(perhaps)}."] if perhaps else []
        yield from [f"{unit}, above it: {', '.join(above)}."] if above else []
        yield from [f"{unit}, no height given, so not known: {', '.join(silent)}."] if silent else []


def _height(mark: PointMark) -> str:
    return f"{_name(mark)} {words.figure(mark.height_m or 0.0)} m"


def _name(mark: PointMark) -> str:
    return mark.point.replace("_", " ")


def _act(plan: Plan, act: WaterAct) -> list[str]:
    named = f"{words.doing(act.said_act, act.name, act.position)}{work_order.unit_told(plan, act.name, act.unit)}{_slot(plan, act.slot)}"
    told = f"Look for: {act.look_for}. Clean: {act.if_clean}. Finding it means: {act.if_found}."
    return [*_wrap(named, "  [ ] "), *_wrap(told, "      ")]


def _slot(plan: Plan, slot_id: str | None) -> str:
    slot = next((slot for slot in plan.slots if slot.id == slot_id), None)
    return f"; planned at {_place(slot)}" if slot else ""


def _place(slot: Slot) -> str:
    return f"{work_order.slot_title(slot)}, {words.day(slot.date)}"


def items_text(plan: Plan, items: Iterable[PlanItem]) -> str:
    """How the items just worked on stand now, those together that stand alike."""
    slots = {slot.id: slot for slot in plan.slots}
    alike = grouped(((_stands(plan, item, slots), _why(item)), item) for item in items)
    lines = []
    for (stands, why), several in alike.items():
        names = "; ".join(words.item(one.name, one.position) + work_order.of_unit(plan, one.unit) for one in several)
        lines += _wrap(f"{names}: {stands}" if len(several) == 1 else f"{words.upper_first(stands)}: {names}", "  ")
        lines += _wrap(why if len(several) == 1 else f"Each: {words.lower_first(why)}", "    ") if why else []
    return "\n".join(["Where it stands now", *lines]) if lines else ""


def _stands(plan: Plan, item: PlanItem, slots: Mapping[str, Slot]) -> str:
    """The verdict, and where the item is done next."""
    places = [_place(slots[slot]) for slot in item.placed if slot in slots]
    placed = f"; next {item.said_act}: {' and '.join(places)}" if places else ""
    return f"{work_order.verdict_words(plan, item)}{placed}"


def _why(item: PlanItem) -> str:
    """What was found, else the first reason."""
    spoken = [reason.text for reason in item.reasons if reason.kind == "finding"]
    return (spoken or [reason.text for reason in item.reasons] or [""])[0]


def paper_question(days: Sequence[tuple[str, date | None, date, int | None]]) -> str:
    """What is asked first where days of work are past and nothing is recorded: slot, last record, day, jobs."""
    if not days:
        return ""
    since = days[0][1]
    start = "Nothing is recorded yet" if since is None else f"Nothing is recorded since {words.day(since)}"
    counts = ["" if jobs is None else f", {words.count(jobs, 'job', 'jobs')}" for *_, jobs in days]
    listed = [f"  {words.day(day)}{many}: --done {slot}" for (slot, _, day, _), many in zip(days, counts, strict=True)]
    return "\n".join(
        [*_wrap(f"{start}; were these days of work done? If so, tell it in one go with `tripplan log`:"), *listed,
         "  and --except ITEM for what was left out"]
    )  # fmt: skip


def brief(text: str) -> str:
    """A long list cut off where it still can be read; the whole stands in the work sheet."""
    if len(text) <= MOST_SAID:
        return text
    mark = "; " if text.count("; ") > 1 else ", "
    parts = text.split(mark)
    kept = [parts[0]]
    for part in parts[1:]:
        if sum(map(len, kept)) + len(part) > MOST_SAID:
            break
        kept.append(part)
    left = len(parts) - len(kept)
    return f"{mark.join(kept)}{mark}and {left} more, in the work sheet" if left else text


def marks_rows(marks: Iterable[PointMark]) -> list[dict[str, Any]]:
    """The points of the units as JSON shows them."""
    return [{"unit": m.unit, "point": m.point, "height_m": m.height_m, "under": m.under} for m in marks]


def _wrap(text: str, first: str = "") -> list[str]:
    clean = words.printable(" ".join(text.split()))
    return textwrap.wrap(clean, COLUMNS, initial_indent=first, subsequent_indent=" " * len(first))
