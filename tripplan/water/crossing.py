"""Water: which item points a crossing puts under, and which acts that calls for, by when.

A point is under water when depth + bow-wave allowance reaches its height; of several
points of an item the lowest counts. Hub and axle centres not given are taken as half the
tyre diameter. What a crossing calls for goes by its grade (`grades.py`). A crossing still ahead
asks for nothing above an easy one; what a look decides is contingent: told, and not booked.
Nothing here says, or can be read as saying, that a crossing is safe.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from itertools import pairwise

from msgspec import Struct

from tripplan.records.catalogue import Catalogue, Item, WaterRule
from tripplan.records.facts_in import Crossing, TrailerHubs, Unit, as_day
from tripplan.records.plan_work import Immersed
from tripplan.records.words import BAD_FINDINGS, ENTERED_FINDINGS, LOOKS, WaterWindow
from tripplan.trip.timeline import Timeline
from tripplan.water.grades import EASY, STOOD, Easy, Grade, easy_limits, grade, one_side_tells
from tripplan.water.lines import INTAKE_POINTS, BowWave, is_under
from tripplan.water.lines import point_height_m as point_height_m
from tripplan.water.settling import FOUND, is_done, looked_again, seal_leaks, seen, worst_side
from tripplan.wear.last_done import History

RELAXED_WHEN = WaterWindow.BEFORE_REMOTE
AGAIN_LATER = WaterWindow.LATER
EACH_TIME = (WaterWindow.BANK, WaterWindow.HALT)
REPACK = "repack"
Spans = tuple[tuple[float, float], ...]


class Wetting(Struct, frozen=True):
    """What one crossing does to one item on one unit: 0 nothing, 1 splash, 2 immersed."""

    grade: int
    point: str | None
    height_m: float | None
    water_line_m: float


class PointMark(Struct, frozen=True):
    """A named height on a unit, and whether the typical water line reached it; no height = not given.

    `wave_m` is what the bow wave adds there. `perhaps` is true where only the high line reaches.
    """

    unit: str
    point: str
    height_m: float | None
    under: bool
    wave_m: float = 0.0
    perhaps: bool = False


class Call(Struct, frozen=True):
    """One act called for at one item position because a crossing reached it.

    To be done after `after_km` of the trip and not beyond `by_km` or `by_date`; None means
    that side does not bind. `crossing` is the deciding crossing's index, `grade` how hard it was.
    A `contingent` call is told and not booked: looks have still to decide it. A `missed` one is booked
    because its look was not made in time. `towed` is true where a trailer was behind in the water.
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
    grade: int = EASY
    contingent: bool = False
    missed: bool = False
    towed: bool = False

    @property
    def look_for(self) -> str:
        """What shows that the act is needed, with what a trailer adds where one was behind."""
        added = self.rule.look_for_towed if self.towed else ""
        return "; ".join(text for text in (self.rule.look_for, added) if text)

    @property
    def uses(self) -> dict[str, float]:
        """What the act takes at one position, by consumable: the item's own materials and what it needs beside."""
        found: dict[str, float] = {}
        for amount in (*(self.item.consumables if self.rule.resets else ()), *self.rule.parts):
            found[amount.what] = found.get(amount.what, 0.0) + amount.quantity
        return found


def wetting(item: Item, unit: Unit, crossing: Crossing, allowance_m: BowWave, high: bool = False) -> Wetting:
    """How far a crossing reaches an item: water line = depth + bow-wave allowance at its point."""
    if crossing.depth_m == 0 or not item.points:
        return Wetting(0, None, None, crossing.depth_m)
    heights = [
        (height_m - allowance_m.at(unit, point, high), height_m, point)
        for point in item.points
        if (height_m := point_height_m(unit, point)) is not None
    ]
    if not heights:
        return Wetting(1, None, None, crossing.depth_m + allowance_m.at(unit, item.points[0], high))
    _, height_m, point = min(heights)
    under = is_under(unit, point, crossing.depth_m, allowance_m, high)
    return Wetting(2 if under else 1, point, height_m, crossing.depth_m + allowance_m.at(unit, point, high))


def wets_unit(crossing: Crossing, unit: Unit, timeline: Timeline) -> bool:
    """True when the unit is there: the vehicle always, a trailer only where it is towed."""
    return unit.kind == "vehicle" or is_towing(crossing, timeline)


def is_towing(crossing: Crossing, timeline: Timeline) -> bool:
    """True when a trailer is towed through it."""
    return next(leg for leg in timeline.legs if leg.leg == crossing.leg).towing


def water_grades(item: Item, unit: Unit, timeline: Timeline, allowance_m: BowWave, splash_m: float) -> tuple[int, ...]:
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


def wet_spans(grades: Sequence[int], timeline: Timeline, reach_km: Sequence[float]) -> tuple[tuple[Spans, ...], ...]:
    """For each crossing the trip km behind it that it keeps wet, by how wet crossings before it had them already.

    `reach_km` is the distance by grade. Entry 0 are km that nothing had reached, entry 1 km that were only
    splashed. Km that one before kept as wet are that one's: a later crossing adds to it and takes nothing away,
    so that no water makes anything last longer.
    """
    ends = [min(at + reach_km[g], timeline.total_km) for g, at in zip(grades, timeline.crossing_km, strict=True)]
    edges = sorted({*timeline.crossing_km, *ends})
    found: list[list[list[tuple[float, float]]]] = [[[] for _ in reach_km] for _ in grades]
    for low_km, high_km in pairwise(edges):
        wet = 0
        for index, (own, at, end) in enumerate(zip(grades, timeline.crossing_km, ends, strict=True)):
            if own > wet and at <= low_km and high_km <= end:
                found[index][wet].append((low_km, high_km))
                wet = own
    return tuple(tuple(map(tuple, spans)) for spans in found)


def water_marks(unit: Unit, items: Iterable[Item], crossing: Crossing, allowance_m: BowWave) -> tuple[PointMark, ...]:
    """Every point of a unit that has a height or matters to an item, the lowest first."""
    points = {*unit.heights_mm, *(point for item in items for point in item.points)}
    heights = {point: point_height_m(unit, point) for point in points}
    found = [
        PointMark(
            unit.id,
            point,
            height_m,
            under=(under := is_under(unit, point, crossing.depth_m, allowance_m)),
            wave_m=allowance_m.at(unit, point),
            perhaps=not under and is_under(unit, point, crossing.depth_m, allowance_m, high=True),
        )
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
    index: int, pairs: Iterable[tuple[Unit, Item, str | None]], timeline: Timeline, allowance_m: BowWave
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
                    name=item.said,
                    unit=unit.id,
                    position=position,
                    point=wet.point or "",
                    height_m=wet.height_m or 0.0,
                    water_line_m=wet.water_line_m,
                )
            )
    return tuple(found)


def unknown_points(unit: Unit, items: Sequence[Item]) -> tuple[str, ...]:
    """Points that matter to the unit's items and whose height nobody gave, all in one text; none where each item has one."""
    silent = sorted({point for item in items if item.points and not _any_height(item, unit) for point in item.points})
    return (f"{unit.id}: {', '.join(silent)}",) if silent else ()


def _any_height(item: Item, unit: Unit) -> bool:
    return any(point_height_m(unit, point) is not None for point in item.points)


def crossing_grade(
    crossing: Crossing, unit: Unit, items: Iterable[Item], history: History, limits: Easy, allowance_m: BowWave,
    high: bool = False,
) -> Grade:  # fmt: skip
    """How hard a crossing was on a unit, what is on record about its seals counted in."""
    return grade(crossing, unit, allowance_m, limits, seal_leaks(items, unit, crossing, history), high)


class _Ford(Struct, frozen=True):
    """One crossing as a unit met it: its place and day in the trip, where the next remote leg starts, its grade by both lines.

    `towed` is true where a trailer was behind.
    """

    index: int
    crossing: Crossing
    unit: Unit
    at_km: float
    day: date
    next_remote_km: float | None
    grade: int
    grade_high: int
    towed: bool


def calls(
    pairs: Sequence[tuple[Unit, Item, str | None]],
    timeline: Timeline,
    catalogue: Catalogue,
    history: History,
    allowance_m: BowWave,
    trailer_hubs: TrailerHubs | None = None,
    today: date | None = None,
) -> tuple[Call, ...]:
    """Every act called for by every crossing and not yet done, in the order of the trip.

    Contingent calls are among them. `trailer_hubs` is the owner's switch; None means look first.
    Looks whose time was over before `today` count as not made; without it none does.
    """
    rules: dict[str, list[WaterRule]] = {}
    for rule in catalogue.water_rules:
        rules.setdefault(rule.item, []).append(rule)
    high_looks = frozenset(rule.item for rule in catalogue.water_rules if rule.line == "high")
    desk = _Desk(timeline, catalogue, history, allowance_m, trailer_hubs == REPACK, high_looks, today)
    found = []
    for ford in _fords(pairs, desk):
        for unit, item, position in pairs:
            if unit.id == ford.unit.id:
                for rule in rules.get(item.id, ()):
                    call = _asked(rule, ford, item, position, desk)
                    if call is not None:
                        found.append(call)
    return _once_a_wet_day(found)


class _Desk(Struct, frozen=True):
    """What every call is worked out from."""

    timeline: Timeline
    catalogue: Catalogue
    history: History
    allowance_m: BowWave
    repacks: bool
    high_looks: frozenset[str]
    today: date | None


def _fords(pairs: Sequence[tuple[Unit, Item, str | None]], desk: _Desk) -> Iterator[_Ford]:
    """Every crossing for every unit that is there."""
    units = {unit.id: unit for unit, _, _ in pairs}
    limits = easy_limits(desk.catalogue)
    line = desk.timeline
    for index, (crossing, at_km) in enumerate(zip(line.crossings, line.crossing_km, strict=True)):
        day, next_km = crossing_date(index, line), _next_remote_km(line, at_km)
        for unit in units.values():
            if crossing.depth_m > 0 and wets_unit(crossing, unit, line):
                leaks = seal_leaks((item for u, item, _ in pairs if u.id == unit.id), unit, crossing, desk.history)
                low, high = (
                    grade(crossing, unit, desk.allowance_m, limits, leaks, high).number for high in (False, True)
                )
                yield _Ford(index, crossing, unit, at_km, day, next_km, low, high, is_towing(crossing, line))


def _asked(rule: WaterRule, ford: _Ford, item: Item, position: str | None, desk: _Desk) -> Call | None:
    """The call of one rule at one place, outright or contingent; None when nothing is asked for.

    Where only the high line reaches, looks are asked for and what they decide is told. An engine that
    stopped in the water may have drawn it in, wherever it was counted to: its intake counts as reached. Water or dirt that a
    look found outweighs both lines: it is asked for wherever the water was counted to. What is found worn there tells of none.
    """
    crossing, unit, is_high = ford.crossing, ford.unit, rule.line == "high"
    number = ford.grade_high if is_high else ford.grade
    if not _holds(rule, ford, number, item, position, desk):
        return None
    side = None if rule.once else position
    drawn_in = crossing.stalled and unit.kind == "vehicle" and not INTAKE_POINTS.isdisjoint(item.points)
    reached = not rule.own_point or drawn_in or wetting(item, unit, crossing, desk.allowance_m, is_high).grade == 2
    tells = BAD_FINDINGS if reached else ENTERED_FINDINGS
    word = seen(rule, unit, side, crossing, desk.history, desk.catalogue, tells)
    if not reached and word != FOUND:
        if not desk.high_looks.intersection(name for name, _ in rule.deciding):
            return None
        if wetting(item, unit, crossing, desk.allowance_m, high=True).grade < 2:
            return None
        number = ford.grade_high
    if rule.when == AGAIN_LATER and rule.decided_by and word != FOUND:
        return None
    start = rule.owner_from if desk.repacks and rule.owner_from is not None else rule.first_grade
    is_ahead = crossing.crossed is None
    outright = reached and start is not None and (min(number, EASY) if is_ahead else number) >= start
    told = rule.told_from is not None and (word == FOUND or (word is None and number >= rule.told_from))
    if not outright and not told:
        return None
    missed = not outright and word is None and reached and _is_missed(rule, ford, side, desk)
    call = _call(
        rule, ford, item, side, number, contingent=not outright and word != FOUND and not missed, missed=missed
    )
    return None if settled(call, crossing, desk.history) else call


def _is_missed(rule: WaterRule, ford: _Ford, side: str | None, desk: _Desk) -> bool:
    """True when a look that decides the work was asked for outright, its days are over, and no row tells of it.

    Only for what is opened before the next remote leg: grease that stood wet cannot be looked at from
    outside later on, while an oil shows what got in whenever its plug is cracked (judgement).
    """
    if rule.when != RELAXED_WHEN or desk.today is None or ford.crossing.crossed is None:
        return False
    for look in desk.catalogue.water_rules:
        item = desk.catalogue.find(look.item)
        if item is not None and look.act in LOOKS and (look.item, look.act) in rule.deciding and item.fits(ford.unit):
            asked = _asked(look, ford, item, side if item.positions else None, desk)
            if asked and not asked.contingent and asked.by_date is not None and asked.by_date < desk.today:
                return True
    return False


def _holds(rule: WaterRule, ford: _Ford, number: int, item: Item, position: str | None, desk: _Desk) -> bool:
    """True when the rule is for this water, and this side is the one to speak of."""
    if rule.water not in ("any", ford.crossing.water):
        return False
    if not item.positions or position is None:
        return True
    if rule.once:
        return position == item.positions[0]
    if rule.sample and one_side_tells(ford.crossing) and number < STOOD:
        return position == worst_side(item, ford.unit, ford.crossing, desk.history, desk.catalogue)
    return True


def _once_a_wet_day(found: Sequence[Call]) -> tuple[Call, ...]:
    """What is done in the evening or later is done once for all crossings of a day, behind the last.

    The greasing schedule of a light truck says daily where it runs in water, not after each ford.
    An act asked for outright by one of them stands before the same act told as contingent by another.
    """
    best: dict[tuple[object, ...], Call] = {}
    for call in found:
        once = call.crossing if call.rule.when in EACH_TIME else call.after_date
        key = (once, call.unit.id, call.item.id, call.position, call.rule.when, call.rule.water)
        before = best.get(key)
        if before is None or not call.contingent or before.contingent:
            best[key] = call
    kept = {id(call) for call in best.values()}
    return tuple(call for call in found if id(call) in kept)


def _call(
    rule: WaterRule, ford: _Ford, item: Item, position: str | None, number: int, contingent: bool, missed: bool
) -> Call:
    limits_km = [ford.at_km + rule.within_km] if rule.within_km is not None else []
    if rule.when == RELAXED_WHEN and ford.next_remote_km is not None:
        limits_km.append(ford.next_remote_km)
    days = rule.within_days if rule.within_days is not None else (
        None if rule.within_hours is None else int(rule.within_hours // 24)
    )  # fmt: skip
    return Call(
        item=item, unit=ford.unit, position=position, rule=rule, crossing=ford.index, after_km=ford.at_km,
        by_km=min(limits_km, default=None), after_date=ford.day,
        by_date=None if days is None else ford.day + timedelta(days=days),
        grade=number, contingent=contingent, missed=missed, towed=ford.towed,
    )  # fmt: skip


def _next_remote_km(timeline: Timeline, at_km: float) -> float | None:
    for leg, start_km in zip(timeline.legs, timeline.starts_km, strict=True):
        if leg.remote and start_km > at_km:
            return start_km
    return None


def settled(call: Call, crossing: Crossing, history: History) -> bool:
    """True when history shows the act done since the crossing, or a clean look that relaxes it.

    A clean look into the thing itself relaxes what is due before the next remote leg: for an oil or
    another fluid in any water, since a fluid shows what got in wherever it is drawn; for greased parts
    only in fresh water, since silt or salt may sit where the look did not reach (judgement).
    """
    if call.rule.when == AGAIN_LATER and call.rule.decided_by:
        return looked_again(call.item, call.unit, call.position, call.rule, crossing, history)
    return crossing.crossed is not None and is_done(
        call.item, call.unit, call.position, call.rule, crossing, history, call.rule.when == RELAXED_WHEN
    )
