"""Water: which item points a crossing puts under, and which acts that calls for, by when.

A point is under water when depth + bow-wave allowance reaches its height; of several
points of an item the lowest counts. Hub and axle centres not given are taken as half the
tyre diameter. Nothing here says, or can be read as saying, that a crossing is safe.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from tripplan.records.catalogue import Catalogue, Item, WaterRule
from tripplan.records.facts_in import Crossing, HistoryRow, Unit, as_day
from tripplan.records.lookups import HALF_TYRE_POINTS
from tripplan.records.plan import Immersed
from tripplan.records.words import BAD_FINDINGS, GOOD_FINDINGS
from tripplan.trip.timeline import Timeline
from tripplan.wear.last_done import History

RELAXED_WHEN = "before remote"
EASY_MINUTES = 5.0
TELLING_FAMILY = "fluid"


@dataclass(frozen=True, slots=True)
class Wetting:
    """What one crossing does to one item on one unit: 0 nothing, 1 splash, 2 immersed."""

    grade: int
    point: str | None
    height_m: float | None
    water_line_m: float


@dataclass(frozen=True, slots=True)
class Mark:
    """A named height on a unit, and whether the water line reached it; no height = not given."""

    unit: str
    point: str
    height_m: float | None
    under: bool


@dataclass(frozen=True, slots=True)
class Call:
    """One act called for at one item position because a crossing reached it.

    To be done after `after_km` of the trip and not beyond `by_km` or `by_date`; None means
    that side does not bind. `for_reason` is the deciding crossing's index.
    """

    item: Item
    unit: Unit
    position: str | None
    rule: WaterRule
    crossing: int
    after_km: float
    by_km: float | None
    after_date: date
    by_date: date | None


def point_height_m(unit: Unit, point: str) -> float | None:
    """Height of a named point above ground, from rig.toml or half the tyre; None = not given."""
    if point in unit.heights_mm:
        return unit.heights_mm[point] / 1000
    if point in HALF_TYRE_POINTS and unit.tyre_diameter_mm:
        return unit.tyre_diameter_mm / 2000
    return None


def wetting(item: Item, unit: Unit, crossing: Crossing, allowance_m: float) -> Wetting:
    """How far a crossing reaches an item: water line = depth + bow-wave allowance."""
    line_m = crossing.depth_m + allowance_m
    heights = [(h, point) for point in item.points if (h := point_height_m(unit, point)) is not None]
    if crossing.depth_m == 0 or not item.points:
        return Wetting(0, None, None, line_m)
    if not heights:
        return Wetting(1, None, None, line_m)
    height_m, point = min(heights)
    return Wetting(2 if line_m >= height_m else 1, point, height_m, line_m)


def wets_unit(crossing: Crossing, unit: Unit, timeline: Timeline) -> bool:
    """True when the unit is there: the vehicle always, a trailer only where it is towed."""
    leg = next(leg for leg in timeline.legs if leg.leg == crossing.leg)
    return unit.kind == "vehicle" or leg.towing


def water_grades(item: Item, unit: Unit, timeline: Timeline, allowance_m: float, splash_m: float) -> tuple[int, ...]:
    """One grade a crossing, in the timeline's order: 0 nothing, 1 splash, 2 immersed.

    Splash reaches `splash_m` above the water line; a point of unknown height counts as splashed.
    """
    found = []
    for crossing in timeline.crossings:
        wet = wetting(item, unit, crossing, allowance_m)
        too_high = wet.height_m is not None and wet.height_m > wet.water_line_m + splash_m
        is_dry = (wet.grade == 1 and too_high) or not wets_unit(crossing, unit, timeline)
        found.append(0 if is_dry else wet.grade)
    return tuple(found)


def wet_km(grades: Sequence[int], timeline: Timeline, reach_km: Sequence[float]) -> tuple[float, ...]:
    """For each crossing the km behind it over which the wet wears the item, each km counted once.

    `reach_km` is the distance by grade. Where two overlap the harder counts, then the later.
    """
    ends = [min(at + reach_km[g], timeline.total_km) for g, at in zip(grades, timeline.crossing_km, strict=True)]
    spans = [
        (g, i, at, end) for i, (g, at, end) in enumerate(zip(grades, timeline.crossing_km, ends, strict=True)) if g
    ]
    edges = sorted({km for _, _, at, end in spans for km in (at, end)})
    found = [0.0] * len(grades)
    for low_km, high_km in pairwise(edges):
        over = [(grade, index) for grade, index, at, end in spans if at <= low_km and high_km <= end]
        if over:
            found[max(over)[1]] += high_km - low_km
    return tuple(found)


def water_marks(unit: Unit, items: Iterable[Item], crossing: Crossing, allowance_m: float) -> tuple[Mark, ...]:
    """Every point of a unit that has a height or matters to an item, the lowest first."""
    line_m = crossing.depth_m + allowance_m
    points = {*unit.heights_mm, *(point for item in items for point in item.points)}
    heights = {point: point_height_m(unit, point) for point in points}
    found = [
        Mark(unit.id, point, height_m, crossing.depth_m > 0 and height_m is not None and line_m >= height_m)
        for point, height_m in heights.items()
    ]
    return tuple(sorted(found, key=lambda mark: (mark.height_m is None, mark.height_m or 0.0, mark.point)))


def crossing_date(index: int, timeline: Timeline) -> date:
    """The day a crossing was made, or is expected to be made."""
    crossing = timeline.crossings[index]
    if crossing.crossed:
        return as_day(crossing.crossed)
    leg_index = timeline.leg_at(timeline.crossing_km[index])
    return timeline.date_at(leg_index, crossing.at_km)


def immersed_items(
    index: int, pairs: Iterable[tuple[Unit, Item, str | None]], timeline: Timeline, allowance_m: float
) -> tuple[Immersed, ...]:
    """The item positions under water at one crossing, with the point that decides."""
    crossing = timeline.crossings[index]
    found = []
    for unit, item, position in pairs:
        wet = wetting(item, unit, crossing, allowance_m)
        if wet.grade == 2 and wets_unit(crossing, unit, timeline):
            found.append(
                Immersed(
                    item=item.id,
                    name=item.name,
                    unit=unit.id,
                    position=position,
                    point=wet.point or "",
                    height_m=wet.height_m or 0.0,
                    water_line_m=wet.water_line_m,
                )
            )
    return tuple(found)


def unknown_points(unit: Unit, items: Sequence[Item]) -> tuple[str, ...]:
    """Points that matter to the unit's items and whose height nobody gave."""
    silent = [item for item in items if item.points and not _any_height(item, unit)]
    return tuple(sorted({f"{unit.id}: {' or '.join(item.points)}" for item in silent}))


def _any_height(item: Item, unit: Unit) -> bool:
    return any(point_height_m(unit, point) is not None for point in item.points)


def calls(
    pairs: Sequence[tuple[Unit, Item, str | None]],
    timeline: Timeline,
    catalogue: Catalogue,
    history: History,
    allowance_m: float,
) -> tuple[Call, ...]:
    """Every act called for by every crossing and not yet done, in the order of the trip."""
    rules: dict[str, list[WaterRule]] = {}
    for rule in catalogue.water_rules:
        rules.setdefault(rule.item, []).append(rule)
    found = []
    for index, crossing in enumerate(timeline.crossings):
        for unit, item, position in pairs:
            there = item.id in rules and wets_unit(crossing, unit, timeline)
            if there and wetting(item, unit, crossing, allowance_m).grade == 2:
                for rule in rules[item.id]:
                    call = _call(rule, index, unit, item, position, timeline)
                    if _holds(rule, crossing, item, position) and not settled(call, crossing, history):
                        found.append(call)
    return tuple(found)


def _holds(rule: WaterRule, crossing: Crossing, item: Item, position: str | None) -> bool:
    """True when the rule is for this water; a sample after an easy crossing takes the first side only."""
    spared = rule.sample and is_easy(crossing) and position not in (None, item.positions[0])
    return rule.water in ("any", crossing.water) and not spared


def is_easy(crossing: Crossing) -> bool:
    """True when one opened hub may stand for the others: clean fresh water, short, cool, not stalled.

    Five minutes at depth need no work to carry on (TM 9-2320-303-10 para 2-36, read in part);
    that one hub may then be the sample is common practice.
    """
    short = crossing.minutes is not None and crossing.minutes <= EASY_MINUTES
    return crossing.water == "fresh" and short and not crossing.stalled and not crossing.hubs_hot


def _call(rule: WaterRule, index: int, unit: Unit, item: Item, position: str | None, timeline: Timeline) -> Call:
    at_km, day = timeline.crossing_km[index], crossing_date(index, timeline)
    limits_km = [at_km + rule.within_km] if rule.within_km is not None else []
    if rule.when == RELAXED_WHEN and (next_km := _next_remote_km(timeline, at_km)) is not None:
        limits_km.append(next_km)
    days = rule.within_days if rule.within_days is not None else (
        None if rule.within_hours is None else int(rule.within_hours // 24)
    )  # fmt: skip
    return Call(
        item=item, unit=unit, position=position, rule=rule, crossing=index, after_km=at_km,
        by_km=min(limits_km, default=None), after_date=day,
        by_date=None if days is None else day + timedelta(days=days),
    )  # fmt: skip


def _next_remote_km(timeline: Timeline, at_km: float) -> float | None:
    for leg, start_km in zip(timeline.legs, timeline.starts_km, strict=True):
        if leg.remote and start_km > at_km:
            return start_km
    return None


def settled(call: Call, crossing: Crossing, history: History) -> bool:
    """True when history shows the act done since the crossing, or a clean look that relaxes it.

    A clean look relaxes what is due before the next remote leg: for an oil or another fluid
    in any water, since a fluid shows what got in wherever it is drawn; for greased parts only
    in fresh water, since silt or salt may sit where the look did not reach (judgement).
    """
    if crossing.crossed is None:
        return False
    rows = [
        row for row in history.of_item(call.item, call.unit.id, call.position) if row.date >= as_day(crossing.crossed)
    ]
    if any(history.does(row.act, call.rule.act) for row in rows):
        return not any(row.finding in BAD_FINDINGS and not _cured(row, rows, call, history) for row in rows)
    tells = crossing.water == "fresh" or call.item.family == TELLING_FAMILY
    return call.rule.when == RELAXED_WHEN and tells and _clean(rows)


def _cured(bad: HistoryRow, rows: Sequence[HistoryRow], call: Call, history: History) -> bool:
    """A bad finding is dealt with by an act that puts it right, in the same row or a later one."""
    later = [row for row in rows if (row.date, row.origin.row or 0) >= (bad.date, bad.origin.row or 0)]
    return any(history.cures(row, call.item, bad.finding or "") for row in later)


def _clean(rows: Sequence[HistoryRow]) -> bool:
    findings = [row.finding for row in rows if row.finding]
    return bool(findings) and all(finding in GOOD_FINDINGS for finding in findings)
