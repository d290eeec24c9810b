"""What is done later than its interval says, because waiting is cheaper or road time is short."""

from collections.abc import Sequence

from tripplan.records.plan import NO_RECORD, Plan, PlanItem
from tripplan.records.plan_work import Slot
from tripplan.sheets import words
from tripplan.sheets.worksheet.work_order import WALK_ROUND, main_unit


def waits(plan: Plan) -> tuple[str, ...]:
    """What waits for each place, with the share of its interval it reaches there; what is left shut; what the road keeps out."""
    return (*(told for slot in plan.slots if (told := _waits_for(plan, slot))), *_left_shut(plan), *_kept_out(plan))


def _waits_for(plan: Plan, slot: Slot) -> str:
    reached = [(item, wait.share) for item in plan.items for wait in item.waits if wait.slot == slot.id]
    found: dict[tuple[str, str, str], list[PlanItem]] = {}
    for item, share in sorted(reached, key=lambda pair: -pair[1]):
        found.setdefault((item.name, item.unit, words.percent(share)), []).append(item)
    if not found:
        return ""
    told = "; ".join(f"{_named(plan, same)} {percent}" for (_, _, percent), same in found.items())
    where = "home" if slot.kind == "after" else slot.place
    return f"Waits until {where}, {words.short_day(slot.date)}, because that is cheaper; used of its interval by then: {told}."


def _left_shut(plan: Plan) -> tuple[str, ...]:
    """Overhauls that nobody has a record of and that no look has asked for."""
    found: dict[tuple[str, str], list[PlanItem]] = {}
    for item in plan.items:
        is_open = item.placed or item.unmet or item.waits or item.rhythm == WALK_ROUND
        if item.verdict == NO_RECORD and not is_open:
            found.setdefault((item.name, item.unit), []).append(item)
    told = "; ".join(_named(plan, same) for same in found.values())
    return (f"No record, and left shut unless a look finds leaks, play or noise: {told}.",) if told else ()


def _kept_out(plan: Plan) -> tuple[str, ...]:
    """Jobs that would pay for themselves on the road, had the owner given the road more minutes."""
    items, slots = {(i.item, i.unit, i.position): i for i in plan.items}, {slot.id: slot for slot in plan.slots}
    told = []
    for one in plan.beyond_road_time:
        same: dict[tuple[str, str], list[PlanItem]] = {}
        for thing in one.about:
            item = items[(thing.item, thing.unit, thing.position)]
            same.setdefault((item.name, item.unit), []).append(item)
        names = words.listed(_named(plan, group) for group in same.values())
        told.append(
            f"{names}, {slots[one.slot].place}: {words.duration(one.minutes)}, "
            f"would cost {one.cost:.0f}, leaving it costs {one.leaving_costs:.0f}"
        )
    return (f"More than the minutes given to the road, each by itself: {'; '.join(told)}.",) if told else ()


def _named(plan: Plan, same: Sequence[PlanItem]) -> str:
    main = main_unit(plan)
    sides = words.listed(dict.fromkeys(item.position for item in same if item.position))
    return words.item(same[0].name, sides or None) + (f" ({same[0].unit})" if main and same[0].unit != main else "")
