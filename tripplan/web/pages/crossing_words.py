"""What a crossing calls for, window by window, with equal calls made one; told in the words of the work sheet."""

from collections.abc import Iterator
from dataclasses import dataclass

from tripplan.records.plan import Plan
from tripplan.records.plan_work import PlanCrossing, WaterAct
from tripplan.sheets import words as say
from tripplan.sheets.worksheet import water as sheet_water
from tripplan.sheets.worksheet import work_order


@dataclass(frozen=True, slots=True, kw_only=True)
class Called:
    """The same act at several items, what to look for, and what finding it means."""

    words: str
    act: WaterAct


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossingTold:
    """One crossing in words, and what it calls for by window, the most pressing first."""

    crossing: PlanCrossing
    facts: str
    windows: tuple[tuple[str, tuple[Called, ...]], ...]
    under: tuple[str, ...]
    contingent: tuple[str, ...]


def told(plan: Plan, crossing: PlanCrossing) -> CrossingTold:
    """The crossing as the page tells it."""
    windows = tuple((window, _called(plan, acts)) for window, acts in work_order.by_window(crossing.acts))
    return CrossingTold(
        crossing=crossing,
        facts=sheet_water.facts(crossing),
        windows=windows,
        under=tuple(_under(crossing)),
        contingent=sheet_water.contingent_lines(plan, crossing.contingent),
    )


def _under(crossing: PlanCrossing) -> Iterator[str]:
    """What sits at each point that the water reached, one line for each point."""
    points: dict[tuple[str, str, float], dict[str, None]] = {}
    for wet in crossing.immersed:
        points.setdefault((wet.unit, wet.point, wet.height_m), {})[wet.name] = None
    for (unit, point, height_m), names in points.items():
        yield f"{unit}, {point.replace('_', ' ')} {say.figure(height_m)} m: {'; '.join(names)}"


def _called(plan: Plan, acts: tuple[WaterAct, ...]) -> tuple[Called, ...]:
    found: dict[tuple[object, ...], list[WaterAct]] = {}
    for act in acts:
        found.setdefault((act.act, act.look_for, act.if_found, act.by), []).append(act)
    return tuple(Called(words=sheet_water.call_words(plan, same), act=same[0]) for same in found.values())
