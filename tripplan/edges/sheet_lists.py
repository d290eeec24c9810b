"""The lists of the work sheet in as few lines as they need: re-checks, water, needs, what lasts."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from tripplan.edges import say, work_order
from tripplan.edges.materials import amount
from tripplan.plan import LASTS, Need, Plan, PlanCrossing, PlanItem, Recheck, RunsOut, WaterAct

PLACED_IN = re.compile(r"^(?P<what>.*) \((?P<unit>[^,()]+)(?:, (?P<side>[^,()]+))?\)$")


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


def same_calls(acts: Iterable[WaterAct]) -> tuple[tuple[WaterAct, ...], ...]:
    """Acts of one window with the same act, signs and answer as one group each."""
    found: dict[tuple[object, ...], list[WaterAct]] = {}
    for act in acts:
        found.setdefault((act.act, act.look_for, act.if_found, act.by), []).append(act)
    return tuple(map(tuple, found.values()))


def call_words(plan: Plan, acts: Sequence[WaterAct]) -> str:
    """The act and its items: Exercise: Park brake; Trailer brake action (camper)."""
    names = "; ".join(named(plan, act.name, act.position, act.unit) for act in acts)
    return f"{say.upper_first(acts[0].act)}: {names}"


def referred(plan: Plan, acts: Iterable[WaterAct]) -> tuple[str, ...]:
    """Acts that stand with the work of a slot, one line for each slot, by act."""
    names = {slot.id: work_order.slot_name(slot) for slot in plan.slots}
    slots: dict[str, dict[str, list[WaterAct]]] = {}
    for act in acts:
        if act.slot is not None:
            slots.setdefault(act.slot, {}).setdefault(act.act, []).append(act)
    return tuple(
        f"With the work of {names.get(slot, slot)}. "
        + " ".join(f"{call_words(plan, same)}." for same in by_act.values())
        for slot, by_act in slots.items()
    )


def crossing_facts(crossing: PlanCrossing) -> str:
    """Day, water and depth of a crossing."""
    known = "crossed" if crossing.crossed else "expected"
    return f"{say.day(crossing.date)}, {crossing.water} water, {say.figure(crossing.depth_m)} m deep as {known}"


def is_quiet(crossing: PlanCrossing) -> bool:
    """True for a crossing that wets no item of known height and calls for nothing."""
    return not (crossing.immersed or crossing.acts or crossing.notes or crossing.unknown_points)


def need_amount(need: Need) -> str:
    """How much is needed, in containers where their size is known, and what the shelf gives."""
    told = amount(need.quantity, need.unit_of_measure)
    if need.containers is not None and need.container_size is not None:
        told += f" ({need.containers} of {amount(need.container_size, need.unit_of_measure)} to buy)"
    if need.on_shelf:
        told += f"; the shelf gives {amount(need.on_shelf, need.unit_of_measure)}"
    return told


def need_jobs(plan: Plan, need: Need) -> str:
    """The jobs a need is for, left and right made one, the main unit left unnamed."""
    main = work_order.main_unit(plan) or ""
    spares = [job.removeprefix("spare for ") for job in need.jobs if job.startswith("spare for ")]
    work = [job for job in need.jobs if not job.startswith("spare for ")]
    told = [_jobs(work, main)] if work else []
    return "; ".join((*told, *([f"spare for {_jobs(spares, main)}"] if spares else [])))


def _jobs(texts: Iterable[str], main: str) -> str:
    sides: dict[tuple[str, str], list[str]] = {}
    for text in texts:
        found = PLACED_IN.match(text)
        key = (found["what"], found["unit"]) if found else (text, main)
        sides.setdefault(key, []).extend([found["side"]] if found and found["side"] else [])
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
