"""The lists of the work sheet in as few lines as they need: re-checks, needs, what lasts."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from tripplan.edges import say, work_order
from tripplan.edges.materials import amount
from tripplan.plan import LASTS, Need, Plan, PlanItem, Recheck, RunsOut

PLACED_IN = re.compile(r"^(?P<what>.*) \((?P<unit>[^,()]+)(?:, (?P<side>[^,()]+))?\)$")
MOST_NAMED = 1


def named(plan: Plan, name: str, position: str | None, unit: str) -> str:
    """An item with its side, and its unit where that is not the main one."""
    main = work_order.main_unit(plan)
    return say.item(name, position) + (f" ({unit})" if main and unit != main else "")


@dataclass(frozen=True, slots=True, kw_only=True)
class RoadCheck:
    """Re-checks of one item that fall between the same km, away from any slot."""

    name: str
    because_of: str
    where: str
    from_km: float
    to_km: float
    minutes: float


def road_checks(plan: Plan) -> tuple[RoadCheck, ...]:
    """Re-checks outside the slots with left and right made one, in the order of the road."""
    found: dict[tuple[object, ...], list[Recheck]] = {}
    for check in plan.rechecks:
        if check.slot is None:
            key = (check.item, check.unit, check.where, check.from_km, check.to_km)
            found.setdefault(key, []).append(check)
    return tuple(_road_check(plan, same) for same in found.values())


def _road_check(plan: Plan, same: Sequence[Recheck]) -> RoadCheck:
    first = same[0]
    sides = say.listed(dict.fromkeys(check.position for check in same if check.position))
    return RoadCheck(
        name=named(plan, first.name, sides or None, first.unit),
        because_of=joined_sides(check.because_of for check in same),
        where=first.where, from_km=first.from_km, to_km=first.to_km,
        minutes=sum(check.minutes for check in same),
    )  # fmt: skip


def joined_sides(texts: Iterable[str]) -> str:
    """Names joined, those that differ in their side only said once: Trailer brakes, left and right."""
    found: dict[str, list[str]] = {}
    for text in dict.fromkeys(texts):
        name, comma, side = text.rpartition(", ")
        is_sided = bool(comma) and side.split(" ")[-1] in ("left", "right", "front", "rear")
        found.setdefault(name if is_sided else text, []).extend([side] if is_sided else [])
    return "; ".join(say.item(name, say.listed(sides) or None) for name, sides in found.items())


def trip_km(plan: Plan) -> float:
    """The length of the whole trip."""
    return max((leg.trip_km_start + leg.distance_km for leg in plan.legs), default=0.0)


def after_return(plan: Plan) -> tuple[str, ...]:
    """Re-checks due after the return, one sentence for each stretch of km."""
    end = trip_km(plan)
    found: dict[tuple[float, float], list[RoadCheck]] = {}
    for check in road_checks(plan):
        if check.from_km >= end:
            found.setdefault((check.from_km - end, check.to_km - end), []).append(check)
    return tuple(
        f"{low:.0f} to {high:.0f} km after the return: "
        + "; ".join(f"{check.name} (follows {check.because_of})" for check in checks) + "."
        for (low, high), checks in found.items()
    )  # fmt: skip


def on_the_road(plan: Plan) -> tuple[RoadCheck, ...]:
    """Re-checks that fall on the trip itself, at a halt."""
    return tuple(check for check in road_checks(plan) if check.from_km < trip_km(plan))


def at_slots(plan: Plan) -> str:
    """Where the re-checks of the slots stand, in one sentence."""
    counts: dict[str, int] = {}
    for check in plan.rechecks:
        if check.slot is not None:
            counts[check.slot] = counts.get(check.slot, 0) + 1
    told = [f"{work_order.slot_name(slot)}: {counts[slot.id]}" for slot in plan.slots if slot.id in counts]
    return f"Listed with the work of their slot, and counted there: {'; '.join(told)}." if told else ""


def need_amount(need: Need) -> str:
    """How much is needed, in containers where their size is known, and what the shelf gives."""
    told = amount(need.quantity, need.unit_of_measure)
    if need.containers is not None and need.container_size is not None:
        told += f" ({need.containers} of {amount(need.container_size, need.unit_of_measure)} to buy)"
    if need.on_shelf:
        told += f"; the shelf gives {amount(need.on_shelf, need.unit_of_measure)}"
    return told


def need_lists(plan: Plan) -> tuple[tuple[str, tuple[Need, ...]], ...]:
    """What to buy before departure, to buy for later, and to carry; an empty list is left out."""
    lists: dict[str, list[Need]] = {}
    for need in plan.shopping:
        lists.setdefault("To buy" if need.when in ("before", "before departure") else f"To buy, {need.when}", []).append(need)
    lists["To carry"] = list(plan.carry)
    first = sorted(lists, key=lambda title: ("before" not in title, title == "To carry"))
    return tuple((title, tuple(lists[title])) for title in first if lists[title])


def need_days(need: Need) -> str:
    """By when to order a thing, else by when it is needed, as words; empty when no day is known."""
    if need.order_by is not None:
        return f"order by {say.short_day(need.order_by)}"
    return f"needed {say.short_day(need.needed_by)}" if need.needed_by is not None else ""


def need_jobs(plan: Plan, need: Need) -> str:
    """The jobs a need is for, left and right made one, the main unit left unnamed; many are counted."""
    main = work_order.main_unit(plan) or ""
    spares = [job.removeprefix("spare for ") for job in need.jobs if job.startswith("spare for ")]
    work = [job for job in need.jobs if not job.startswith("spare for ")]
    told = [_jobs(work, main, "jobs")] if work else []
    return "; ".join((*told, *([f"spare for {_jobs(spares, main, 'items')}"] if spares else [])))


def _jobs(texts: Iterable[str], main: str, many: str) -> str:
    sides: dict[tuple[str, str], list[str]] = {}
    for text in texts:
        found = PLACED_IN.match(text)
        key = (found["what"], found["unit"]) if found else (text, main)
        sides.setdefault(key, []).extend([found["side"]] if found and found["side"] else [])
    if len(sides) > MOST_NAMED:
        return f"{len(sides)} {many}"
    return ", ".join(
        say.item(what, say.listed(dict.fromkeys(held)) or None) + (f" ({unit})" if unit != main else "")
        for (what, unit), held in sides.items()
    )


def lasting(plan: Plan) -> Sequence[PlanItem]:
    """Items that last the trip, the most used first."""
    items = work_order.with_verdict(plan, LASTS)
    return sorted(items, key=lambda item: -(item.share_used_at_return or 0.0))


def lasting_groups(plan: Plan) -> tuple[tuple[str, str], ...]:
    """What lasts by how far it is used: the share with what is left, and the items."""
    found: dict[tuple[str, str], list[PlanItem]] = {}
    for item in lasting(plan):
        share = item.share_used_at_return
        used = "Share used not known" if share is None else f"{say.percent(share)} used"
        found.setdefault((used, work_order.left_at_return(item)), []).append(item)
    return tuple(
        (f"{used}, {left}", "; ".join(named(plan, i.name, i.position, i.unit) for i in items))
        for (used, left), items in found.items()
    )


def point_words(point: RunsOut | None) -> str:
    """A point of the trip for a table: leg 5, km 198, 24 Jun."""
    return "" if point is None else f"leg {point.leg}, km {point.leg_km:.0f}, {say.short_day(point.date)}"


def on_the_way(plan: Plan) -> tuple[tuple[PlanItem, ...], tuple[PlanItem, ...]]:
    """What runs out on the way: items with work on the road or none, and those done before departure."""
    before = {slot.id for slot in plan.slots if slot.kind == "workshop"}
    items = work_order.on_the_way(plan)
    done = tuple(item for item in items if item.placed and before.issuperset(item.placed))
    return tuple(item for item in items if item not in done), done


def without_place(items: Iterable[PlanItem]) -> tuple[PlanItem, ...]:
    """The items without where their work is placed, so that equal rows become one."""
    return work_order.merged(replace(item, placed=()) for item in items)
