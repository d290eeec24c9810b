"""The crossings as they go into the plan: what is under water, what to do, and by when."""

from collections.abc import Sequence

from tripplan.due.standing import ItemAt, Situation
from tripplan.explain.reasons import amount
from tripplan.placing.problem import PlacementProblem, Placing, once_done
from tripplan.records.facts_in import Crossing
from tripplan.records.plan import PlanCrossing, WaterAct
from tripplan.water.crossing import Call, crossing_date, immersed_items, unknown_points, wets_unit
from tripplan.wear.mechanisms.water_entry import cooling_suction_kpa

HOT_HUB_C, COLD_WATER_C = 80.0, 20.0
ORDER = ("bank", "night", "days", "before remote", "later")
WORDS = {
    "bank": "at the bank, before driving on",
    "night": "the same night",
    "before remote": "before the next remote leg",
}


def plan_crossings(
    pairs: Sequence[ItemAt],
    called: Sequence[Call],
    problem: PlacementProblem,
    placing: Placing,
    s: Situation,
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
        acts = tuple(_act(call, slot_of.get(number)) for number, call in sorted(own, key=_rank))
        found.append(
            PlanCrossing(
                leg=crossing.leg,
                at_km=crossing.at_km,
                trip_km=s.timeline.crossing_km[index],
                depth_m=crossing.depth_m,
                water=crossing.water,
                date=crossing_date(index, s.timeline),
                crossed=crossing.crossed,
                immersed=immersed_items(index, pairs, s.timeline, s.allowance_m),
                acts=acts,
                unknown_points=_unknown(index, pairs, s),
                origin=crossing.origin,
                notes=crossing_notes(crossing),
            )  # fmt: skip
        )
    return tuple(found)


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
        suction_kpa = cooling_suction_kpa(HOT_HUB_C, COLD_WATER_C)
        found.append(
            f"Hubs went in hot: air trapped at {HOT_HUB_C:g} deg C and cooled to {COLD_WATER_C:g} pulls about "
            f"{float(suction_kpa):.0f} kPa inward (ideal gas), more than the depth does. No hub stands for another."
        )
    if crossing.water == "salt":
        found.append("Salt water: rinse the underside and brakes with fresh water at once, wherever there is any.")
    return tuple(found)


def _unknown(index: int, pairs: Sequence[ItemAt], s: Situation) -> tuple[str, ...]:
    crossing = s.timeline.crossings[index]
    there = [unit for unit in s.rig.units if wets_unit(crossing, unit, s.timeline)]
    return tuple(
        text for unit in there for text in unknown_points(unit, [item for u, item, _ in pairs if u.id == unit.id])
    )


def _rank(numbered: tuple[int, Call]) -> tuple[int, str, str, str]:
    call = numbered[1]
    return (ORDER.index(call.rule.when), call.unit.id, call.item.id, call.position or "")


def _act(call: Call, slot: str | None) -> WaterAct:
    rule = call.rule
    return WaterAct(
        item=call.item.id, name=call.item.name, unit=call.unit.id, position=call.position, act=rule.act,
        window=window_words(call), within_days=rule.within_days, within_km=rule.within_km,
        look_for=rule.look_for, if_found=rule.if_found, slot=slot, by=call.by_date, basis=rule.basis,
        source=rule.source if rule.locator is None else f"{rule.source}, {rule.locator}",
        origins=(rule.origin,),
    )  # fmt: skip


def window_words(call: Call) -> str:
    """The window of an act in words, with its date and km where they bind."""
    rule = call.rule
    if rule.when == "later":
        return f"again after about {amount(rule.within_km)} km"
    limits = []
    if rule.within_days is not None:
        limits.append(f"{amount(rule.within_days)} days ({call.by_date})")
    if rule.within_km is not None:
        limits.append(f"{amount(rule.within_km)} km")
    if rule.when == "days":
        return "within " + " or ".join(limits)
    tail = f", at the latest {' or '.join(limits)}" if limits and rule.when == "before remote" else ""
    return WORDS[rule.when] + tail
