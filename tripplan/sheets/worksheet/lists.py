"""The lists of the work sheet in as few lines as they need: re-checks, needs, what lasts."""

from collections.abc import Sequence
from datetime import date

from msgspec import Struct

from tripplan.records.grouped import grouped
from tripplan.records.plain_words import km_past
from tripplan.records.plan import DUE, LASTS, NO_RECORD, Need, Plan, PlanItem, RunsOut
from tripplan.records.plan_work import Recheck
from tripplan.sheets import words
from tripplan.sheets.worksheet import work_order
from tripplan.sheets.worksheet.buying import BEFORE
from tripplan.sheets.worksheet.buying import need_amount as need_amount
from tripplan.sheets.worksheet.buying import need_name as need_name

ALMOST = 0.99  # what lasts is never said to be used up
LASTING_NOTE = "The share used at the return, and about how much normal use is left then."


def named(plan: Plan, name: str, position: str | None, unit: str) -> str:
    """An item with its side, and its unit where that is not plain."""
    return words.item(name, position) + work_order.unit_told(plan, name, unit)


class RoadCheck(Struct, frozen=True, kw_only=True):
    """Re-checks of one item that fall between the same km, away from any slot."""

    name: str
    after: str
    from_km: float
    to_km: float
    minutes: float
    is_of_record: bool


def road_checks(plan: Plan) -> tuple[RoadCheck, ...]:
    """Re-checks outside the slots with left and right made one, in the order of the road."""
    found = grouped(
        ((check.item, check.unit, check.where, check.from_km, check.to_km, check.work_day), check)
        for check in plan.rechecks if check.slot is None
    )  # fmt: skip
    return tuple(_road_check(plan, same) for same in found.values())


def _road_check(plan: Plan, same: Sequence[Recheck]) -> RoadCheck:
    first = same[0]
    sides = tuple(dict.fromkeys(check.position for check in same if check.position))
    return RoadCheck(
        name=named(plan, first.name, sides[0] if len(sides) == 1 else None, first.unit), after=_after(plan, first),
        from_km=first.from_km, to_km=first.to_km, minutes=sum(check.minutes for check in same),
        is_of_record=first.work_day is not None,
    )  # fmt: skip


def _after(plan: Plan, check: Recheck) -> str:
    """From where its km count: 50 to 100 km after Home yard, 17 August, or after the work of 17 August."""
    if check.work_day is not None:
        base, since = check.work_km or 0.0, f"the work of {words.short_day(check.work_day)}"
        if check.from_km >= check.to_km:
            return f"At once, {check.from_km - base:.0f} km after {since}"
        return f"{check.from_km - base:.0f} to {check.to_km - base:.0f} km after {since}"
    slot = next((slot for slot in plan.slots if slot.id == check.after_slot), None)
    base = slot.trip_km if slot else 0.0
    span = f"{check.from_km - base:.0f} to {check.to_km - base:.0f} km"
    if slot is None or slot.kind == "workshop":
        return f"{span} after departure"
    return f"{span} after {slot.place}, {words.short_day(slot.date)}"


def after_return(plan: Plan) -> tuple[str, ...]:
    """Re-checks due after the return, one sentence for each stretch of km."""
    end = plan.trip_km
    checks = (check for check in road_checks(plan) if check.from_km >= end)
    found = grouped((_after_end(check, end), check) for check in checks)
    return tuple(
        f"{after}, look again at: " + "; ".join(words.lower_first(check.name) for check in checks) + "."
        for after, checks in found.items()
    )


def _after_end(check: RoadCheck, end_km: float) -> str:
    """Work of the trip counts from the return, work on record from its own day."""
    if check.is_of_record:
        return check.after
    return f"{check.from_km - end_km:.0f} to {check.to_km - end_km:.0f} km after the return"


def on_the_road(plan: Plan) -> tuple[RoadCheck, ...]:
    """Re-checks that fall on the trip itself, at a halt."""
    return tuple(check for check in road_checks(plan) if check.from_km < plan.trip_km)


def need_lists(plan: Plan) -> tuple[tuple[str, tuple[Need, ...]], ...]:
    """What to buy before departure, to buy for later, and to carry; an empty list is left out."""
    lists = grouped(("To buy" if need.when in BEFORE else f"To buy, {need.when}", need) for need in plan.shopping) | {
        "To carry": list(plan.carry)
    }
    order = sorted(lists, key=lambda title: (title != "To buy", title == "To carry", title))
    return tuple((title, tuple(lists[title])) for title in order if lists[title])


def need_days(need: Need, today: date) -> str:
    """By when to order a thing, else when it is needed; empty where the list itself tells the day."""
    if need.order_by is not None:
        told = "order today" if need.order_by <= today else f"order by {words.short_day(need.order_by)}"
        return f"{told}, to be sent to {need.send_to}" if need.send_to else told
    if need.buy_by is not None:
        return f"buy by {words.short_day(need.buy_by)}"
    is_known = need.when in ("carry", "after return", "at the stop") or need.needed_by is None
    return "" if is_known or need.needed_by is None else f"needed {words.short_day(need.needed_by)}"


def lasting_groups(plan: Plan) -> tuple[tuple[str, str], ...]:
    """What lasts by how far it is used, the most used first: the share with what is left, and the items."""
    items = work_order.with_verdict(plan, LASTS)
    most_used = sorted(items, key=lambda item: -(item.share_used_at_return or 0.0))
    found = grouped(((_used(item), work_order.left_at_return(item)), item) for item in most_used)
    return tuple(
        (used if left == used else f"{used}, {left}", "; ".join(named(plan, i.name, i.position, i.unit) for i in items))
        for (used, left), items in found.items()
    )


def _used(item: PlanItem) -> str:
    share = item.share_used_at_return
    return "not known" if share is None else words.percent(min(share, ALMOST))


def point_words(plan: Plan, point: RunsOut | None) -> str:
    """A point of the trip: 24 June, 198 km past Far Ledger."""
    if point is None:
        return ""
    start = next((leg.from_ for leg in plan.legs if leg.number == point.leg), f"the start of leg {point.leg}")
    return f"{words.short_day(point.date)}, {km_past(point.leg_km, start)}"


def ends_words(plan: Plan, item: PlanItem) -> str:
    """Where an item runs out, typically and with reserve, once where both are the same."""
    typical, reserve = point_words(plan, item.runs_out), point_words(plan, item.runs_out_reserve)
    if typical and typical == reserve:
        return f"{typical}, also with reserve"
    told = (("typically", typical), ("with reserve", reserve))
    return "; ".join(f"{name} {text}" for name, text in told if text)


class WayRow(Struct, frozen=True, kw_only=True):
    """Items that run out on the way at the same points, and all the days they are worked on."""

    item: PlanItem
    days: str
    is_done_before: bool


def on_the_way(plan: Plan) -> tuple[WayRow, ...]:
    """What runs out on the way, the sides that run out together made one row."""
    found = grouped(
        ((item.item, item.unit, item.act, item.runs_out, item.runs_out_reserve), item)
        for item in work_order.on_the_way(plan)
    )  # fmt: skip
    return tuple(
        WayRow(
            item=item, days=work_order.placed_days(plan, item),
            is_done_before=work_order.is_done_at_home(plan, item),
        )
        for item in map(work_order.together, found.values())
    )  # fmt: skip


def due_together(plan: Plan) -> tuple[PlanItem, ...]:
    """What is due or without record, the walk-round left out, sides made one wherever they are worked on."""
    found = grouped(
        ((item.item, item.unit, item.act, item.verdict), item) for item in plan.items
        if item.verdict in (DUE, NO_RECORD) and item.rhythm != work_order.WALK_ROUND
    )  # fmt: skip
    return tuple(map(work_order.together, found.values()))
