"""What is done later than its interval says, because waiting is cheaper or road time is short."""

from collections.abc import Iterable, Sequence

from tripplan.records.grouped import grouped
from tripplan.records.plan import NO_RECORD, Plan, PlanItem
from tripplan.records.plan_work import Slot
from tripplan.sheets import words
from tripplan.sheets.worksheet.work_order import unit_told, used_share


def waits(plan: Plan, most: int = 1000, rest: str = "listed behind the sheets") -> tuple[str, ...]:
    """What waits for each place, with the share of its interval it reaches there; what is left shut; what the road keeps out.

    At most `most` things of a place are named, the furthest gone first, and the others counted; `rest` says where they stand.
    """
    told = (_waits_for(plan, slot, most, rest) for slot in plan.slots)
    return (*(line for line in told if line), *_left_shut(plan), *_kept_out(plan))


def _waits_for(plan: Plan, slot: Slot, most: int, rest: str) -> str:
    reached = [(item, wait.share) for item in plan.items for wait in item.waits if wait.slot == slot.id]
    if not reached:
        return ""
    known = sorted((pair for pair in reached if pair[0].verdict != NO_RECORD), key=lambda pair: -pair[1])
    unknown = sorted((item for item, _ in reached if item.verdict == NO_RECORD), key=lambda item: not item.harms)
    found = grouped(((item.name, item.unit), (item, share)) for item, share in known)
    told = [
        f"{_named(plan, [item for item, _ in same])} {words.percent(same[0][1])}{_by_age(same[0][0], slot)}"
        for same in found.values()
    ]
    where = "home" if slot.kind == "after" else slot.place
    until = f"Left until {where}, {words.short_day(slot.date)}, as waiting costs less"
    why = "Share of the interval used by now" if plan.is_over else f"{until}; interval used by then"
    lines = [f"{why}: {_first(told, most, rest)}."] if told else []
    if unknown:
        begin = "No record, and" if told or plan.is_over else f"{until}, with no record of them:"
        middle = " so counted as used up:" if plan.is_over else " left until then as well:" if told else ""
        lines.append(f"{begin}{middle} {_first(_by_name(plan, unknown), most, rest)}.")
    return " ".join(lines)


def _first(told: list[str], most: int, rest: str) -> str:
    more = [f"and {len(told) - most} more, {rest}"] if len(told) > most else []
    return "; ".join([*told[:most], *more])


def _by_age(item: PlanItem, slot: Slot) -> str:
    """What is said where only the months are over: how far gone it is by use, so that nobody wonders why it waits."""
    legs, has_months = (
        None if slot.kind == "after" else slot.after_leg,
        any(one.meter == "months" for one in item.limits),
    )
    shares = [
        used_share(item, one, legs) for one in item.limits
        if has_months and one.meter != "months" and one.at_departure is not None
    ]  # fmt: skip
    return f" by age, {words.percent(max(shares))} by use" if shares and max(shares) < 1.0 else ""


def _left_shut(plan: Plan) -> tuple[str, ...]:
    """Overhauls that nobody has a record of and that no look has asked for."""
    shut = [item for item in plan.items if item.left_shut and not item.unmet]
    found = grouped((_seen(plan, item), item) for item in shut)
    told = "; ".join(words.listed(_by_name(plan, same)) + look for look, same in found.items())
    return (f"No record, but left shut until a look finds leaks, play or noise: {told}.",) if told else ()


def _seen(plan: Plan, item: PlanItem) -> str:
    """The look that stands in for opening it: (rear wheel bearing play, 6 June, home)."""
    if item.look_instead is None:
        return ""
    slot = next(slot for slot in plan.slots if slot.id == item.look_instead.slot)
    where = ", ".join(filter(None, (words.short_day(slot.date), slot.place)))
    return f" (looked at on {where}: {words.lower_first(item.look_instead.name)})"


def _kept_out(plan: Plan) -> tuple[str, ...]:
    """Jobs that would pay for themselves on the road, had the owner given the road more minutes; the most gained first."""
    items, slots = {(i.item, i.unit, i.position): i for i in plan.items}, {slot.id: slot for slot in plan.slots}
    told = []
    for one in sorted(plan.beyond_road_time, key=lambda one: one.cost - one.leaving_costs):
        names = words.listed(_by_name(plan, (items[(x.item, x.unit, x.position)] for x in one.about)))
        told.append(
            f"{names} at {slots[one.slot].place} ({words.duration(one.minutes)}, saves {max(one.leaving_costs - one.cost, 1):.0f})"
        )
    money = plan.currency or "the money of trip.toml"
    return (
        (f"Your limits on road work leave no time for these, each saving a little (in {money}): "
         f"{'; '.join(told)}.",) if told else ()
    )  # fmt: skip


def _by_name(plan: Plan, items: Iterable[PlanItem]) -> list[str]:
    return [_named(plan, same) for same in grouped(((item.name, item.unit), item) for item in items).values()]


def _named(plan: Plan, same: Sequence[PlanItem]) -> str:
    sides = tuple(dict.fromkeys(item.position for item in same if item.position))
    side = sides[0] if len(sides) == 1 else None
    return words.item(words.lower_first(same[0].name), side) + unit_told(plan, same[0].name, same[0].unit)
