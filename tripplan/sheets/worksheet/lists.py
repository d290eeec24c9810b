"""The lists of the work sheet in as few lines as they need: re-checks, needs, what lasts."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from tripplan.records.plan import DUE, LASTS, NO_RECORD, Need, Plan, PlanItem, RunsOut, Use
from tripplan.records.plan_work import Recheck
from tripplan.sheets import words
from tripplan.sheets.materials import amount
from tripplan.sheets.worksheet import work_order

MOST_NAMED = 1
LASTING_NOTE = "The share used at the return, and about how much normal use is left then."


def named(plan: Plan, name: str, position: str | None, unit: str) -> str:
    """An item with its side, and its unit where that is not the main one."""
    main = work_order.main_unit(plan)
    return words.item(name, position) + (f" ({unit})" if main and unit != main else "")


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
    sides = words.listed(dict.fromkeys(check.position for check in same if check.position))
    return RoadCheck(
        name=named(plan, first.name, sides or None, first.unit),
        because_of=words.listed(dict.fromkeys(check.follows for check in same)),
        where=first.where, from_km=first.from_km, to_km=first.to_km,
        minutes=sum(check.minutes for check in same),
    )  # fmt: skip


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
        is_first = need.when in ("before", "before departure")
        lists.setdefault("To buy" if is_first else f"To buy, {need.when}", []).append(need)
    lists["To carry"] = list(plan.carry)
    order = sorted(lists, key=lambda title: (title != "To buy", title == "To carry", title))
    return tuple((title, tuple(lists[title])) for title in order if lists[title])


def need_days(need: Need) -> str:
    """By when to order a thing, else when it is needed; empty where the list itself tells the day."""
    if need.order_by is not None:
        return f"order by {words.short_day(need.order_by)}"
    is_known = need.when in ("carry", "after return", "at the stop") or need.needed_by is None
    return "" if is_known or need.needed_by is None else f"needed {words.short_day(need.needed_by)}"


def need_jobs(plan: Plan, need: Need) -> str:
    """The job a need is for, or the item it is a spare for, as an ending to its amount.

    Several jobs are not named: each tells its own amount where it is done.
    """
    main = work_order.main_unit(plan) or ""
    spares = [use for use in need.uses if use.act is None]
    work = _jobs((use for use in need.uses if use.act is not None), main)
    spare = _jobs(spares, main)
    return (f", for {work}" if work else "") + (f"; spare{f' for {spare}' if spare else ''}" if spares else "")


def _jobs(uses: Iterable[Use], main: str) -> str:
    """One or few jobs by name with their sides joined; empty for none and for many."""
    sides: dict[tuple[str, str], list[str]] = {}
    for use in uses:
        what = f"{use.act} {use.name}" if use.act else use.name
        sides.setdefault((what, use.unit), []).extend([use.position] if use.position else [])
    if len(sides) > MOST_NAMED:
        return ""
    return ", ".join(
        words.item(what, words.listed(dict.fromkeys(held)) or None) + (f" ({unit})" if unit != main else "")
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
        used = "not known" if share is None else words.percent(share)
        left = work_order.left_at_return(item)
        found.setdefault((used, left), []).append(item)
    return tuple(
        (used if left == used else f"{used}, {left}", "; ".join(named(plan, i.name, i.position, i.unit) for i in items))
        for (used, left), items in found.items()
    )


def point_words(point: RunsOut | None) -> str:
    """A point of the trip for a table: leg 5, km 198, 24 Jun."""
    return "" if point is None else f"leg {point.leg}, km {point.leg_km:.0f}, {words.short_day(point.date)}"


def ends_words(item: PlanItem) -> str:
    """Where an item runs out, typically and with reserve, once where both are the same."""
    typical, reserve = point_words(item.runs_out), point_words(item.runs_out_reserve)
    if typical and typical == reserve:
        return f"{typical}, also with reserve"
    told = (("typically", typical), ("with reserve", reserve))
    return "; ".join(f"{name} {text}" for name, text in told if text)


@dataclass(frozen=True, slots=True, kw_only=True)
class WayRow:
    """Items that run out on the way at the same points, and all the days they are worked on."""

    item: PlanItem
    days: str
    is_done_before: bool


def on_the_way(plan: Plan) -> tuple[WayRow, ...]:
    """What runs out on the way, the sides that run out together made one row."""
    before = {slot.id for slot in plan.slots if slot.kind == "workshop"}
    found: dict[tuple[object, ...], list[PlanItem]] = {}
    for item in work_order.on_the_way(plan):
        found.setdefault((item.item, item.unit, item.act, item.runs_out, item.runs_out_reserve), []).append(item)
    return tuple(
        WayRow(
            item=(whole := _together(same)),
            days=work_order.placed_days(plan, whole),
            is_done_before=bool(whole.placed) and before.issuperset(whole.placed),
        )
        for same in found.values()
    )


def due_together(plan: Plan) -> tuple[PlanItem, ...]:
    """What is due or without record, the walk-round left out, sides made one wherever they are worked on."""
    found: dict[tuple[object, ...], list[PlanItem]] = {}
    for item in plan.items:
        if item.verdict in (DUE, NO_RECORD) and item.rhythm != work_order.WALK_ROUND:
            found.setdefault((item.item, item.unit, item.act, item.verdict), []).append(item)
    return tuple(map(_together, found.values()))


def _together(same: Sequence[PlanItem]) -> PlanItem:
    """Sides as one item with the slots of them all."""
    sides = dict.fromkeys(item.position or "" for item in same)
    placed = dict.fromkeys(slot for item in same for slot in item.placed)
    return replace(same[0], position=words.listed(sides) or None, placed=tuple(placed))
