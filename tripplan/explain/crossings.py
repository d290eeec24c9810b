"""The crossings as they go into the plan: what is under water, what to do, and by when."""

from collections.abc import Sequence

from msgspec.structs import replace

from tripplan.due.faults import ItemAt
from tripplan.due.standing import Situation
from tripplan.explain.naming import is_one_unit, named
from tripplan.explain.reasons import amount
from tripplan.explain.slots import materials
from tripplan.placing.problem import PlacementProblem, Placing, once_done
from tripplan.placing.tasks import place_for
from tripplan.records.facts_in import Crossing
from tripplan.records.plain_words import day_and_month, lower_first
from tripplan.records.plan_work import Contingent, PlanCrossing, Slot, WaterAct
from tripplan.records.units import STANDARD_ATMOSPHERE_KPA, ZERO_CELSIUS_K
from tripplan.records.words import WaterWindow
from tripplan.water.crossing import Call, crossing_date, crossing_grade, immersed_items, unknown_points, wets_unit
from tripplan.water.grades import GRADE_WORDS, HUB_POINTS, WHEEL, Grade, easy_limits
from tripplan.water.lines import INTAKE_POINTS

HOT_HUB_C, COLD_WATER_C = 80.0, 20.0
# Ideal gas at constant volume, no leak and no breather, an upper bound: p (1 - Tw / Th). tests/published/test_ideal_gas.py
HOT_HUB_SUCTION_KPA = STANDARD_ATMOSPHERE_KPA * (1 - (COLD_WATER_C + ZERO_CELSIUS_K) / (HOT_HUB_C + ZERO_CELSIUS_K))
ORDER = tuple(WaterWindow)
WORDS: dict[str, str] = {
    WaterWindow.BANK: "at the bank, before driving on",
    WaterWindow.HALT: "at the first halt, 10 to 50 km on",
    WaterWindow.NIGHT: "the same night",
    WaterWindow.BEFORE_REMOTE: "before the next remote leg",
}
HOT_OR_COOL = "TM 9-2330-331-14&P WP 0022, notes 1 to 5"
LIKELY = {
    True: ("hubs that went in hot: a good chance that water was drawn in", HOT_OR_COOL),
    False: ("hubs that went in cold or warm should be all right", HOT_OR_COOL),
}
NOT_STATED = ("no document says how often", "none")


def plan_crossings(
    pairs: Sequence[ItemAt], called: Sequence[Call], problem: PlacementProblem, placing: Placing, s: Situation
) -> tuple[PlanCrossing, ...]:
    """Every crossing of the trip, in order, with its immersed items and its acts."""
    slot_of = {
        call: problem.sites[site].id
        for index, task in enumerate(problem.tasks)
        for call in task.calls
        for site in once_done(problem, placing, index)[:1]
    }
    found = []
    for index, crossing in enumerate(s.timeline.crossings):
        own = [(number, call) for number, call in enumerate(called) if call.crossing == index]
        own.sort(key=lambda numbered, stalled=crossing.stalled: _rank(numbered, bool(stalled)))  # type: ignore[misc]
        acts = tuple(_act(call, slot_of.get(n)) for n, call in own if not call.contingent)
        hardest = _grade(crossing, pairs, s)
        found.append(PlanCrossing(
            leg=crossing.leg, at_km=crossing.at_km, trip_km=s.timeline.crossing_km[index], depth_m=crossing.depth_m,
            water=crossing.water, date=crossing_date(index, s.timeline), crossed=crossing.crossed,
            immersed=immersed_items(index, pairs, s.timeline, s.allowance_m), acts=acts,
            unknown_points=_unknown(index, pairs, s), origin=crossing.origin,
            notes=(*crossing_notes(crossing), *_missed_notes([call for _, call in own], s)), grade=hardest.number,
            grade_words=GRADE_WORDS[hardest.number], because=hardest.because,
            contingent=tuple(_contingent(c, problem, s) for _, c in own if c.contingent),
        ))  # fmt: skip
    return tuple(found)


def with_contingent(slots: Sequence[Slot], crossings: Sequence[PlanCrossing]) -> tuple[Slot, ...]:
    """The slots with what might come on top in each, none of it counted."""
    every = [may_be for crossing in crossings for may_be in crossing.contingent]
    return tuple(replace(slot, contingent=tuple(one for one in every if one.slot == slot.id)) for slot in slots)


def _grade(crossing: Crossing, pairs: Sequence[ItemAt], s: Situation) -> Grade:
    """The grade on the unit that the crossing was hardest on."""
    limits = easy_limits(s.catalogue)
    found = [
        crossing_grade(crossing, unit, [i for u, i, _ in pairs if u.id == unit.id], s.history, limits, s.allowance_m)
        for unit in s.rig.units
        if wets_unit(crossing, unit, s.timeline)
    ]
    return max(found, key=lambda grade: grade.number, default=Grade(WHEEL, ()))


def _contingent(call: Call, problem: PlacementProblem, s: Situation) -> Contingent:
    rule, item = call.rule, call.item
    crossing = s.timeline.crossings[call.crossing]
    likely = (
        LIKELY[bool(crossing.hubs_hot)]
        if item.family == "bearing" and set(HUB_POINTS).intersection(item.points)
        else NOT_STATED
    )
    return Contingent(
        item=item.id, name=rule.name or item.said, unit=call.unit.id, position=call.position, act=rule.act,
        minutes=rule.minutes, opening_minutes=s.catalogue.opening_minutes(item.place, rule.state), look_for=call.look_for,
        if_found=rule.if_found, crossing=call.crossing,
        decided_by=tuple(_look_words(item_id, act, s) for item_id, act in rule.deciding if _is_there(item_id, call, s)),
        materials=materials(item, s.catalogue, rule.parts) if rule.resets else materials(None, s.catalogue, rule.parts),
        likelihood=likely[0], likelihood_source=likely[1], window=window_words(call), slot=site.id if (site := place_for(call, problem.sites)) else None,
        basis=rule.basis, source=_source(call), origins=(rule.origin,),
    )  # fmt: skip


def _is_there(item_id: str, call: Call, s: Situation) -> bool:
    item = s.catalogue.find(item_id)
    return item is not None and item.fits(call.unit)


def _look_words(item_id: str, act: str, s: Situation) -> str:
    return f"{act} {lower_first(s.catalogue.item(item_id).said)}"


def crossing_notes(crossing: Crossing) -> tuple[str, ...]:
    """What to know at once about this crossing, with the reason."""
    found = []
    if crossing.stalled:
        found.append(
            "Engine stopped in the water: do not crank it. Water in a cylinder cannot be pressed together and "
            "bends rods; look at the air cleaner, plugs or injectors and oil first (TM 9-2320-280-10 p. 2-146: "
            "if it will not crank, stop trying)."
        )
    if crossing.hubs_hot:
        found.append(
            f"Hubs went in hot: air trapped at {HOT_HUB_C:g} deg C and cooled to {COLD_WATER_C:g} pulls about "
            f"{HOT_HUB_SUCTION_KPA:.0f} kPa inward (ideal gas), more than the depth does. Look at every hub: one that is dry says nothing of the others."
        )
    if crossing.water == "salt":
        found.append("Salt water: rinse the underside and brakes with fresh water at once, wherever there is any.")
    return tuple(found)


def _missed_notes(own: Sequence[Call], s: Situation) -> tuple[str, ...]:
    """What is opened because nobody wrote down the look that would have decided it."""
    names = dict.fromkeys(named(call.item.said, call.unit.id, is_one_unit(s.rig)) for call in own if call.missed)
    if not names:
        return ()
    return (
        f"No look is on record in its time at {', '.join(names)}: opened and repacked before the next remote leg. "
        "A look that was made and not written down settles it: record it on its day, with its finding.",
    )


def _unknown(index: int, pairs: Sequence[ItemAt], s: Situation) -> tuple[str, ...]:
    crossing = s.timeline.crossings[index]
    there = [unit for unit in s.rig.units if wets_unit(crossing, unit, s.timeline)]
    return tuple(
        text for unit in there for text in unknown_points(unit, [item for u, item, _ in pairs if u.id == unit.id])
    )


def _rank(numbered: tuple[int, Call], stalled: bool) -> tuple[int, bool, bool, str, str, str]:
    """By window; in each the acts of the whole rig first, so that brakes are dried before a plug is looked at.

    Before them, where the engine stopped in the water, what is looked at before it turns again.
    """
    call = numbered[1]
    waits = not (stalled and not INTAKE_POINTS.isdisjoint(call.item.points))
    return (ORDER.index(call.rule.when), waits, not call.rule.once, call.unit.id, call.item.id, call.position or "")


def _act(call: Call, slot: str | None) -> WaterAct:
    rule = call.rule
    return WaterAct(
        item=call.item.id, name=rule.name or call.item.said, unit=call.unit.id, position=call.position, act=rule.act,
        window=window_words(call), window_kind=rule.when, within_days=rule.within_days, within_km=rule.within_km,
        look_for=call.look_for, if_found=rule.if_found, slot=slot, by=call.by_date, basis=rule.basis,
        source=_source(call), origins=(rule.origin,), if_clean=rule.if_clean, window_basis=rule.window_basis,
        verb="" if rule.name else call.item.verb_of(rule.act),
    )  # fmt: skip


def _source(call: Call) -> str:
    rule = call.rule
    return rule.source if rule.locator is None else f"{rule.source}, {rule.locator}"


def window_words(call: Call) -> str:
    """The window of an act in words, with its date and km where they bind."""
    rule = call.rule
    if rule.when == WaterWindow.LATER:
        return f"again after about {amount(rule.within_km)} km"
    limits = []
    if rule.within_days is not None:
        by = f" ({day_and_month(call.by_date)})" if call.by_date else ""
        limits.append(f"{amount(rule.within_days)} days{by}")
    if rule.within_km is not None:
        limits.append(f"{amount(rule.within_km)} km")
    if rule.when == WaterWindow.DAYS:
        return "within " + " or ".join(limits)
    tail = f", at the latest {' or '.join(limits)}" if limits and rule.when == WaterWindow.BEFORE_REMOTE else ""
    return WORDS[rule.when] + tail
