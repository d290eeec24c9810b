"""Water crossings on the work sheet: each act once, with the crossings it belongs to."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from tripplan.records.plan import Plan, PlanCrossing, WaterAct
from tripplan.sheets import words as say
from tripplan.sheets.worksheet import work_order
from tripplan.sheets.worksheet.lists import named


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """The same act, signs and answer at some items, after one or more crossings."""

    words: str
    look_for: str
    if_found: str
    crossings: tuple[str, ...]

    @property
    def told(self) -> str:
        """What to look for and what to do then, as sentences."""
        look = f" Look for {self.look_for}." if self.look_for else ""
        return look + (f" If found: {self.if_found}." if self.if_found else "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The acts of one time window: those to be done by themselves, and where the others stand."""

    title: str
    calls: tuple[Call, ...]
    referred: tuple[str, ...]


def label(crossing: PlanCrossing) -> str:
    """A crossing as its tick box names it: leg 7, km 95."""
    return f"leg {crossing.leg}, km {crossing.at_km:.0f}"


def facts(crossing: PlanCrossing) -> str:
    """Place, day, water and depth of a crossing, and what is not known about it."""
    known = "crossed" if crossing.crossed else "expected"
    told = (
        f"{say.upper_first(label(crossing))} of the leg: {say.day(crossing.date)}, {crossing.water} water, "
        f"{say.figure(crossing.depth_m)} m deep as {known}."
    )
    if crossing.immersed:
        lines = dict.fromkeys(say.figure(wet.water_line_m) for wet in crossing.immersed)
        told += f" Water line {say.listed(lines)} m, with the bow wave."
    else:
        told += " No item with a known height is under water."
    if crossing.unknown_points:
        points = "; ".join(point.replace("_", " ") for point in crossing.unknown_points)
        told += f" Heights nobody has measured, so not judged: {points}."
    return told


def wetted_items(plan: Plan) -> tuple[str, ...]:
    """What sits at the points that any crossing covers, one line for each point and its height."""
    points: dict[tuple[str, str, float], dict[tuple[str, str], dict[str, None]]] = {}
    for wet in (wet for crossing in plan.crossings for wet in crossing.immersed):
        names = points.setdefault((wet.unit, wet.point.replace("_", " "), wet.height_m), {})
        names.setdefault((wet.name, wet.item), {})[wet.position or ""] = None
    return tuple(
        f"{say.upper_first(point)} of the {unit}, {say.figure(height)} m: " + _names(names)
        for (unit, point, height), names in points.items()
    )


def _names(names: Mapping[tuple[str, str], Iterable[str]]) -> str:
    """Items with their sides joined."""
    return "; ".join(
        say.item(name, say.listed(side for side in sides if side) or None) for (name, _), sides in names.items()
    )


def windows(plan: Plan) -> tuple[Window, ...]:
    """All acts by window, the most pressing first, each told once for all crossings that call for it."""
    titles = work_order.by_window(act for crossing in plan.crossings for act in crossing.acts)
    return tuple(
        Window(
            title=say.upper_first(title),
            calls=_calls(plan, title),
            referred=referred(plan, acts),
        )
        for title, acts in titles
    )


def _calls(plan: Plan, title: str) -> tuple[Call, ...]:
    """Acts of a window that no slot takes: first one act with its crossings, then equal ones joined."""
    called: dict[WaterAct, dict[str, None]] = {}
    for crossing in plan.crossings:
        own = [act for act in crossing.acts if act.window == title and act.slot is None]
        for _, acts in work_order.by_window(own):
            for act in acts:
                key = replace(act, by=None, origins=(), basis="", source="")
                called.setdefault(key, {})[_with_day(crossing, act)] = None
    joined: dict[tuple[str, str, str, tuple[str, ...]], list[WaterAct]] = {}
    for act, crossings in called.items():
        joined.setdefault((act.act, act.look_for, act.if_found, tuple(crossings)), []).append(act)
    return tuple(
        Call(words=call_words(plan, acts), look_for=look_for, if_found=if_found, crossings=crossings)
        for (_, look_for, if_found, crossings), acts in joined.items()
    )


def _with_day(crossing: PlanCrossing, act: WaterAct) -> str:
    """The crossing's label, with the day an act is due by where that is a later one."""
    is_later = act.by is not None and act.by > crossing.date
    return label(crossing) + (f", by {say.short_day(act.by)}" if is_later and act.by is not None else "")


def call_words(plan: Plan, acts: Sequence[WaterAct]) -> str:
    """The act and its items: Exercise: Park brake; Trailer brake action (camper)."""
    sides: dict[tuple[str, str], dict[str, None]] = {}
    for act in acts:
        held = sides.setdefault((act.name, act.unit), {})
        held.update(dict.fromkeys((act.position or "").split(" and ")))
    names = (
        named(plan, name, say.listed(side for side in held if side) or None, unit)
        for (name, unit), held in sides.items()
    )
    return f"{say.upper_first(acts[0].act)}: {'; '.join(names)}"


def referred(plan: Plan, acts: Iterable[WaterAct]) -> tuple[str, ...]:
    """Acts that stand in full with the work of a slot, counted, one sentence for each slot."""
    counts = Counter(act.slot for act in acts if act.slot is not None)
    names = {slot.id: work_order.slot_name(slot) for slot in plan.slots}
    return tuple(
        f"{say.count(number, 'act stands', 'acts stand')} with the work of {names.get(slot, slot)}."
        for slot, number in counts.items()
    )
