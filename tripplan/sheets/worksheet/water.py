"""Water crossings on the work sheet: each act once, with the crossings it belongs to."""

from collections import Counter
from collections.abc import Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tripplan.records.grouped import grouped
from tripplan.records.plan import Plan
from tripplan.records.plan_work import Contingent, Immersed, PlanCrossing, Slot, WaterAct
from tripplan.sheets import words as say
from tripplan.sheets.materials import short
from tripplan.sheets.worksheet import work_order
from tripplan.sheets.worksheet.lists import named

CARD_NOTE = (
    "At the bank, at the first halt and the same evening, do as the card of the crossing says (cards.html); then record "
    "how deep it was."
)


class Call(Struct, frozen=True, kw_only=True):
    """The same act, signs and answer at some items, after one or more crossings."""

    words: str
    look_for: str
    if_clean: str
    if_found: str
    crossings: tuple[str, ...]

    @property
    def brief(self) -> str:
        """What to look for, and what to do where it is found, as sentences."""
        return replace(self, if_clean="").told

    @property
    def told(self) -> str:
        """What to look for and what to do then, as sentences."""
        parts = (("Look for", self.look_for), ("Clean:", self.if_clean), ("If found:", self.if_found))
        return "".join(f" {name} {text}." for name, text in parts if text)


class Window(Struct, frozen=True, kw_only=True):
    """The acts of one time window: those to be done by themselves, and where the others stand."""

    title: str
    calls: tuple[Call, ...]
    referred: tuple[str, ...]


def label(crossing: PlanCrossing) -> str:
    """A crossing as its tick box names it: leg 7, km 95."""
    return f"leg {crossing.leg}, km {crossing.at_km:.0f}"


def facts(crossing: PlanCrossing) -> str:
    """Place, day, water and depth of a crossing, and what is not known about it."""
    points = "; ".join(point.replace("_", " ") for point in crossing.unknown_points)
    return facts_known(crossing) + (f" Heights nobody has measured, so not judged: {points}." if points else "")


def facts_known(crossing: PlanCrossing) -> str:
    """Place, day, water and depth of a crossing, and what it reached."""
    known = "crossed" if crossing.crossed else "expected"
    told = (
        f"{say.upper_first(label(crossing))} of the leg: {say.day(crossing.date)}, {crossing.water} water, "
        f"{say.figure(crossing.depth_m)} m deep as {known}."
    )
    if crossing.immersed:
        told += f" {_line_told(crossing)}"
        told += f" {grade_told(crossing)}" if crossing.grade_words else ""
    else:
        told += " No item with a known height is under water."
    return told


def _line_told(crossing: PlanCrossing) -> str:
    """How high the water is counted at what is under: as it stands, and where the bow wave adds to it."""
    still = say.figure(crossing.depth_m)
    lines = dict.fromkeys(say.figure(line_m) for line_m in sorted({wet.water_line_m for wet in crossing.immersed}))
    raised = [f"{line_m} m" for line_m in lines if line_m != still]
    if not raised:
        return f"Counted to {still} m; the bow wave at the front reaches nothing more."
    start = f"Counted to {still} m, and" if still in lines else "Counted"
    return f"{start} to {say.listed(raised)} with the bow wave."


def facts_short(crossing: PlanCrossing) -> str:
    """Place, day, water and depth of a crossing in a line, and what nobody measured."""
    known = "as crossed" if crossing.crossed else "as expected"
    return f"{say.short_day(crossing.date)}, {label(crossing)}: {crossing.water} water, {say.figure(crossing.depth_m)} m {known}."


def silent(plan: Plan) -> str:
    """Heights that nobody measured, in one sentence for all crossings; empty where there are none."""
    points = dict.fromkeys(point.replace("_", " ") for crossing in plan.crossings for point in crossing.unknown_points)
    return f"Not judged, since nobody measured their height: {'; '.join(points)}." if points else ""


def all_referred(windows: Iterable[Window]) -> str:
    """Where the acts that stand in full with the work of a day are found, in one sentence."""
    lines = dict.fromkeys(line for window in windows for line in window.referred)
    return " ".join(lines)


def grade_told(crossing: PlanCrossing) -> str:
    """The grade in words, and what made it so."""
    why = f": {say.listed(crossing.because)}" if crossing.because else ""
    return f"Grade {crossing.grade} of 5, {crossing.grade_words}{why}."


def contingent_lines(plan: Plan, found: Iterable[Contingent]) -> tuple[str, ...]:
    """What looks may call for, equal work at several places made one line, with minutes and materials for each side."""
    groups = grouped(
        ((one.act, one.name, one.unit, one.look_for, one.if_found, one.minutes, one.opening_minutes), one)
        for one in found
    )  # fmt: skip
    return tuple(_contingent_line(plan, same) for same in groups.values())


def _contingent_line(plan: Plan, same: Sequence[Contingent]) -> str:
    first = same[0]
    sides = say.sides(one.position for one in same)
    each = " a side" if sides and len({one.position for one in same}) > 1 else ""
    opening = f" and {say.duration(first.opening_minutes)} to open and close" if first.opening_minutes else ""
    source = first.likelihood_source
    likely = "" if source == "none" else f" {say.upper_first(first.likelihood)} ({source})."
    decided = f" Decided by: {'; '.join(first.decided_by)}." if first.decided_by else ""
    nowhere = "" if any(one.slot for one in same) else " No stop in its window can take it."
    takes = f" Takes {', '.join(map(short, first.materials))}{each}." if first.materials else ""
    return (
        f"{say.doing(first.act, named(plan, first.name, sides, first.unit))}, {say.duration(first.minutes)}"
        f"{each}{opening}. If there is {first.look_for}: {first.if_found}.{decided}{takes}{likely}{nowhere}"
    )


def may_come(plan: Plan, slot: Slot) -> str:
    """What might come on top in a slot, in a sentence; empty where nothing might."""
    if not slot.contingent:
        return ""
    most = sum(one.minutes + one.opening_minutes for one in slot.contingent)
    things = len({(one.act, one.item, one.unit) for one in slot.contingent})
    return (
        f"What a look after water finds: {say.count(things, 'job', 'jobs')}, up to {say.duration(most)} if every look found "
        "water. Not booked. Write down what is found, log it, and plan again."
    )


def wetted_items(plan: Plan) -> tuple[str, ...]:
    """What sits at the points that any crossing covers, one line for each point and its height."""

    def of(unit: str) -> str:
        return f" of the {unit}" if work_order.has_units(plan) else ""

    points = grouped(
        ((wet.unit, wet.point.replace("_", " "), wet.height_m), wet)
        for crossing in plan.crossings for wet in crossing.immersed
    )  # fmt: skip
    return tuple(
        f"{say.upper_first(point)}{of(unit)}, {say.figure(height)} m: {_names(wetted)}"
        for (unit, point, height), wetted in points.items()
    )


def _names(wetted: Iterable[Immersed]) -> str:
    """Items with their sides joined."""
    items = grouped(((wet.name, wet.item), wet.position) for wet in wetted)
    return "; ".join(say.item(name, say.sides(held)) for (name, _), held in items.items())


def met(plan: Plan, is_met: bool) -> Plan:
    """The plan with only the crossings that are made, or only those still ahead."""
    return replace(plan, crossings=tuple(c for c in plan.crossings if (c.crossed is not None) == is_met))


def windows(plan: Plan) -> tuple[Window, ...]:
    """All acts by window, the most pressing first, each told once for all crossings that call for it."""
    titles = work_order.by_window(act for crossing in plan.crossings for act in crossing.acts)
    return tuple(
        Window(title=say.upper_first(title), calls=_calls(plan, title), referred=referred(plan, acts))
        for title, acts in titles
    )


def _calls(plan: Plan, title: str) -> tuple[Call, ...]:
    """Acts of a window that no slot takes: first one act with its crossings, then equal ones joined."""
    called = grouped(
        (replace(act, by=None, origins=(), basis="", source="", window_basis=""), _with_day(crossing, act))
        for crossing in plan.crossings for act in crossing.acts if act.window == title and act.slot is None
    )  # fmt: skip
    joined = grouped(
        ((act.said_act, act.look_for, act.if_clean, act.if_found, tuple(dict.fromkeys(crossings))), act)
        for act, crossings in called.items()
    )
    return tuple(
        Call(words=call_words(plan, acts), look_for=look_for, if_clean=clean, if_found=found, crossings=crossings)
        for (_, look_for, clean, found, crossings), acts in joined.items()
    )


def _with_day(crossing: PlanCrossing, act: WaterAct) -> str:
    """The crossing's label, with the day an act is due by where that is a later one."""
    is_later = act.by is not None and act.by > crossing.date
    return label(crossing) + (f", by {say.short_day(act.by)}" if act.by and is_later else "")


def call_words(plan: Plan, acts: Sequence[WaterAct]) -> str:
    """The act and its items: Work the park brake; trailer brake action (camper)."""
    found = grouped(((act.name, act.unit), act.position) for act in acts)
    return say.doing_each(
        acts[0].said_act, [named(plan, name, say.sides(held), unit) for (name, unit), held in found.items()]
    )


def referred(plan: Plan, acts: Iterable[WaterAct]) -> tuple[str, ...]:
    """Acts that stand in full with the work of a slot, counted, one sentence for each slot."""
    counts = Counter(act.slot for act in work_order.sides_joined(acts) if act.slot is not None)
    names = {slot.id: work_order.slot_name(slot) for slot in plan.slots}
    return tuple(
        f"{say.count(number, 'look or job', 'looks and jobs')} after water: on the sheet of {names.get(slot, slot)}."
        for slot, number in counts.items()
    )
