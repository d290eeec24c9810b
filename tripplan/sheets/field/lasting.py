"""When and where each item runs out, as lines from departure to return: the trip line in the width of a phone."""

from collections.abc import Iterable

from msgspec import Struct

from tripplan.records.grouped import grouped
from tripplan.records.plan import DUE, LASTS, NO_RECORD, ON_THE_WAY, Plan, PlanItem, RunsOut
from tripplan.sheets import words
from tripplan.sheets.worksheet.work_order import due_words

WIDE = 300.0
VERDICT_WORDS = {
    NO_RECORD: "No record, so treated as due", ON_THE_WAY: "Runs out on the way", LASTS: "Lasts the trip",
}  # fmt: skip


class Line(Struct, frozen=True, kw_only=True):
    """One item at its sides: how far along the line it lasts, by the typical value and with reserve, and in words."""

    name: str
    end: float
    reserve: float
    told: str


class Group(Struct, frozen=True, kw_only=True):
    """The items of one verdict, the first to run out first."""

    title: str
    lines: tuple[Line, ...]
    is_open: bool


def groups(plan: Plan) -> tuple[Group, ...]:
    """Every item but those of the walk-round, by verdict."""
    found = grouped((item.verdict, item) for item in plan.items if item.rhythm != "walk-round")
    titles = {**VERDICT_WORDS, DUE: words.upper_first(due_words(plan))}
    return tuple(
        Group(title=f"{titles[verdict]}: {len(lines)}", lines=lines, is_open=verdict != LASTS)
        for verdict in (ON_THE_WAY, DUE, NO_RECORD, LASTS) if verdict in found for lines in [_lines(plan, found[verdict])]
    )  # fmt: skip


def _lines(plan: Plan, items: Iterable[PlanItem]) -> tuple[Line, ...]:
    total_km = plan.trip_km or 1.0

    def along(item: PlanItem, point: RunsOut | None) -> float:
        if item.verdict in (DUE, NO_RECORD):
            return 0.0
        return WIDE * min(1.0, point.trip_km / total_km) if point else WIDE

    def line(item: PlanItem) -> tuple[float, float, str, str]:
        end, reserve = along(item, item.runs_out), along(item, item.runs_out_reserve)
        name = item.name if item.unit == plan.items[0].unit else f"{item.name} ({item.unit})"
        return min(end, reserve), end, name, _told(plan, item)

    sides = grouped((line(item), item.position) for item in items)
    return tuple(
        Line(name=words.item(name, words.sides(held)), end=end, reserve=reserve, told=told)
        for (reserve, end, name, told), held in sorted(sides.items())
    )  # fmt: skip


def _told(plan: Plan, item: PlanItem) -> str:
    parts = []
    if item.verdict not in (DUE, NO_RECORD):
        parts += [_where(plan, item.runs_out, "") or "lasts to the return"]
        early = _where(plan, item.runs_out_reserve, "with reserve ")
        parts += [early] if early and item.runs_out_reserve != item.runs_out else []
    slots = {slot.id: slot for slot in plan.slots}
    places = [f"{slots[slot].place}, {words.short_day(slots[slot].date)}" for slot in item.placed if slot in slots]
    parts += [f"{item.said_act}: {'; '.join(places)}" if places else "no work placed"] if places or not parts else []
    return words.sentence(words.upper_first("; ".join(parts)))


def _where(plan: Plan, point: RunsOut | None, front: str) -> str:
    if point is None:
        return ""
    leg = next(leg for leg in plan.legs if leg.number == point.leg)
    return f"{front}leg {point.leg} at km {point.leg_km:.0f}, {words.short_day(point.date)}, {leg.from_} to {leg.to}"


def stations(plan: Plan) -> tuple[tuple[float, str], ...]:
    """Where the line changes its leg: how far along, and the place."""
    total_km = plan.trip_km or 1.0
    return tuple((WIDE * leg.trip_km_start / total_km, leg.from_) for leg in plan.legs)
