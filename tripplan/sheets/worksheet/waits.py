"""What is done later than its interval says, because waiting is cheaper or road time is short."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from tripplan.records.grouped import grouped
from tripplan.records.plan import NO_RECORD, BeyondRoadTime, Plan, PlanItem
from tripplan.records.plan_work import Slot
from tripplan.sheets import words
from tripplan.sheets.worksheet.work_order import unit_told, used_share

LITTLE_SHARE = 0.01
"""Of what the whole plan costs: below it a saving is little. Judgement."""


def waits(plan: Plan, most: int = 1000, rest: str = "listed behind the sheets") -> tuple[str, ...]:
    """What waits for each place, with the share of its interval it reaches there; what is left shut; what the road keeps out.

    At most `most` things of a place are named, the furthest gone first, and the others counted; `rest` says where they stand.
    What is done before and comes round again is named only where these leave room. What a limit on road work has pass a limit
    comes before all else.
    """
    told = [
        _waits_for(plan, slot, day, most, rest)
        for slot in plan.slots
        for day in sorted(
            {wait.parts_from for item in plan.items for wait in item.waits if wait.slot == slot.id}, key=str
        )
    ]
    passed, dear = _kept_out(plan)
    return tuple(line for line in (passed, *told, *_left_shut(plan), dear) if line)


def _waits_for(plan: Plan, slot: Slot, parts_from: date | None, most: int, rest: str) -> str:
    reached = sorted(_reached(plan, slot, parts_from), key=lambda pair: -pair[1])
    again = [pair for pair in reached if _done_before(plan, pair[0], slot)]
    first = [pair for pair in reached if pair not in again]
    known = sorted((pair for pair in first if pair[0].verdict != NO_RECORD), key=lambda pair: pair[0].found is None)
    unknown = sorted((item for item, _ in first if item.verdict == NO_RECORD), key=lambda item: not item.harms)
    until = f"{_where(slot)}, {words.short_day(slot.date)}"
    left, told, lines = f"Left until {until}, as {_cause(parts_from)}", _with_shares(plan, slot, known), []
    if known:
        used = "" if all(item.found for item, _ in known) else "; interval used by then"
        why = "Share of the interval used by now" if plan.is_over and used else f"{left}{used}"
        lines.append(f"{why}: {_first(told, most, rest)}.")
    if unknown:
        begin = "No record, and" if lines or plan.is_over else f"{left}, with no record of them:"
        middle = " so counted as used up:" if plan.is_over else " left until then as well:" if lines else ""
        lines.append(f"{begin}{middle} {_first(_by_name(plan, unknown), most, rest)}.")
    return " ".join((*lines, *_done_again(plan, slot, again, "then" if lines else until, most - len(told), rest)))


def _reached(plan: Plan, slot: Slot, parts_from: date | None) -> list[tuple[PlanItem, float]]:
    """What waits for that place past its interval, for parts that can be there on that day or for none, with the share it reaches."""
    return [
        (item, wait.share) for item in plan.items for wait in item.waits
        if wait.slot == slot.id and wait.parts_from == parts_from
    ]  # fmt: skip


def _where(slot: Slot) -> str:
    return "home" if slot.kind == "after" else slot.place


def _done_before(plan: Plan, item: PlanItem, slot: Slot) -> Slot | None:
    """The last place before this one at which this plan does it already; None where it only waits."""
    earlier = plan.slots[: plan.slots.index(slot)]
    return next((one for one in reversed(earlier) if one.id in item.placed), None)


def _with_shares(plan: Plan, slot: Slot, reached: Sequence[tuple[PlanItem, float]]) -> list[str]:
    """Each thing with the share it reaches, the sides of one together."""
    found = grouped(((item.name, item.unit, item.found, item.found_on), (item, share)) for item, share in reached)
    return [f"{_named(plan, [item for item, _ in same])} {_state(*same[0], slot)}" for same in found.values()]


def _state(item: PlanItem, share: float, slot: Slot) -> str:
    """How far gone it is there. What was found bad is due whatever its interval says: no share tells anything of it."""
    if item.found and item.found_on:
        return f"(found {item.found} on {words.short_day(item.found_on)})"
    return words.percent(share) + _by_age(item, slot)


def _done_again(
    plan: Plan, slot: Slot, reached: Sequence[tuple[PlanItem, float]], by: str, room: int, rest: str
) -> Iterator[str]:
    """What this plan does before and has to do again there, with the share used since: a sentence a day it is done on."""
    dated = [(before.date, item, share) for item, share in reached if (before := _done_before(plan, item, slot))]
    sides = grouped(((day, item.name, item.unit), (item, share)) for day, item, share in dated)
    told = [
        (day, f"{_named(plan, [item for item, _ in same])} {words.percent(same[0][1])}")
        for (day, _, _), same in sides.items()
    ]
    more = f"; and {len(told) - room} more, {rest}" if len(told) > room else ""
    days = grouped(told[: max(room, 0)])
    for day, things in days.items():
        end = more if day == list(days)[-1] else ""
        yield f"Done on {words.short_day(day)}, and used up again by {by}: {'; '.join(things)}{end}."


def _cause(parts_from: date | None) -> str:
    if parts_from is None:
        return "waiting costs less"
    return f"parts that shelf.csv does not hold can be there on {words.short_day(parts_from)} at the soonest"


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


def _kept_out(plan: Plan) -> tuple[str, str]:
    """What the road would take, had the owner given it more minutes: limits that would be kept, and what would pay for itself.

    The price of a limit that is passed is no money that anybody saves, so it is not told.
    """
    slots = {slot.id: slot for slot in plan.slots}
    kept = [one for one in plan.beyond_road_time if one.keeps_limit]
    dear = [one for one in plan.beyond_road_time if not one.keeps_limit]
    first = "; ".join(f"{_about(plan, one)} at {slots[one.slot].place} ({words.duration(one.minutes)})" for one in kept)
    rest = "; ".join(
        f"{_about(plan, one)} at {slots[one.slot].place} ({words.duration(one.minutes)}, saves {max(_saved(one), 1):.0f})"
        for one in sorted(dear, key=lambda one: -_saved(one))
    )
    each = (
        "each saving a little"
        if all(_saved(one) < LITTLE_SHARE * plan.totals.plan.cost for one in dear)
        else "each with what it would save"
    )
    no_time = "Your limits on road work leave no time for"
    return (
        f"{no_time} what is past its limit otherwise, or left with a known fault: {first}." if first else "",
        f"{no_time} these, {each} (in {plan.currency or 'the money of trip.toml'}): {rest}." if rest else "",
    )


def _saved(one: BeyondRoadTime) -> float:
    return one.leaving_costs - one.cost


def _about(plan: Plan, one: BeyondRoadTime) -> str:
    items = {(i.item, i.unit, i.position): i for i in plan.items}
    return words.listed(_by_name(plan, (items[(x.item, x.unit, x.position)] for x in one.about)))


def _by_name(plan: Plan, items: Iterable[PlanItem]) -> list[str]:
    return [_named(plan, same) for same in grouped(((item.name, item.unit), item) for item in items).values()]


def _named(plan: Plan, same: Sequence[PlanItem]) -> str:
    sides = tuple(dict.fromkeys(item.position for item in same if item.position))
    side = sides[0] if len(sides) == 1 else None
    return words.item(words.lower_first(same[0].name), side) + unit_told(plan, same[0].name, same[0].unit)
