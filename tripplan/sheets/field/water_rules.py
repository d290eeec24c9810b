"""The rules of the water as data for the phone: the very tables, levels and points that `water/` goes by.

Only what can matter to this rig and trip is handed on: items with a rule, the looks that decide one, seals and
bearings at the hubs, what sits beside a hub that may stand for the others, and the history that speaks of them.
"""

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

from tripplan.due.standing import Situation
from tripplan.explain.crossings import WORDS, crossing_notes
from tripplan.records.catalogue import Item, WaterRule
from tripplan.records.facts_in import Crossing, HistoryRow, Origin, Unit, as_day
from tripplan.records.lookups import HALF_TYRE_POINTS, SERVICE
from tripplan.records.words import BAD_FINDINGS, ENTERED_FINDINGS, GOOD_FINDINGS, LOOKS, WaterWindow
from tripplan.water.crossing import AGAIN_LATER, EACH_TIME, RELAXED_WHEN, REPACK, crossing_date
from tripplan.water.grades import (
    BESIDE_HUBS,
    BREATHERS,
    FLOOR_POINTS,
    GRADE_WORDS,
    HUB_POINTS,
    NIPPLE_POINTS,
    easy_limits,
)
from tripplan.water.lines import FRONT_POINTS, INTAKE_POINTS
from tripplan.water.settling import TELLING_FAMILY

SEALS, BEARINGS = "seal", "bearing"
LEVELS = ("wheel", "nipple", "easy", "hard", "floor", "stood")


def water_data(s: Situation) -> dict[str, Any]:
    """All that the interpreter on the phone reads, as plain values for JSON."""
    items = _items_that_matter(s)
    limits = easy_limits(s.catalogue)
    return {
        "first_day": _first_day(s).isoformat(),
        "repacks": s.trip.trailer_hubs_after_water == REPACK,
        "wave": {"front_m": s.allowance_m.front_m, "front_high_m": s.allowance_m.front_high_m,
                 "elsewhere_m": s.allowance_m.elsewhere_m, "elsewhere_high_m": s.allowance_m.elsewhere_high_m},
        "easy": {"depth_m": limits.depth_m, "minutes": limits.minutes, "stood_minutes": limits.stood_minutes},
        "points": _points(),
        "levels": dict(zip(LEVELS, range(len(LEVELS)), strict=True)), "grade_words": list(GRADE_WORDS),
        "windows": [[str(when), WORDS.get(when, "")] for when in WaterWindow],
        "each_time": list(EACH_TIME), "relaxed_when": RELAXED_WHEN, "again_later": AGAIN_LATER, "looks": list(LOOKS),
        "findings": {"good": sorted(GOOD_FINDINGS), "bad": sorted(BAD_FINDINGS), "entered": sorted(ENTERED_FINDINGS)},
        "tells": {"family": TELLING_FAMILY, "seal": SEALS, "bearing": BEARINGS, "service": SERVICE},
        "done_by": {act: sorted(by) for act, by in s.history.done_by.items() if by},
        "units": [_unit(unit) for unit in s.rig.units],
        "items": {item.id: _item(item, s) for item in items},
        "fits": {unit.id: [item.id for item in items if item.fits(unit)] for unit in s.rig.units},
        "rules": [_rule(rule, s) for rule in s.catalogue.water_rules if rule.item in {item.id for item in items}],
        "rows": list(_rows(items, s)),
        "legs": [
            {"leg": leg.leg, "from": leg.from_, "to": leg.to, "day": leg.date.isoformat(),
             "depart": leg.depart.isoformat()[:16], "start_km": start_km,
             "distance_km": leg.distance_km, "towing": leg.towing, "remote": leg.remote}
            for leg, start_km in zip(s.timeline.legs, s.timeline.starts_km, strict=True)
        ],
        "crossings": [_crossing(index, s) for index in range(len(s.timeline.crossings))],
        "notes": _notes(),
    }  # fmt: skip


def _points() -> dict[str, list[str]]:
    return {
        "front": sorted(FRONT_POINTS), "intake": sorted(INTAKE_POINTS), "half_tyre": list(HALF_TYRE_POINTS),
        "hub": list(HUB_POINTS), "beside": list(BESIDE_HUBS), "breather": list(BREATHERS),
        "floor": list(FLOOR_POINTS), "nipple": list(NIPPLE_POINTS),
    }  # fmt: skip


def _notes() -> dict[str, list[str]]:
    """What is said at once about a crossing, by what happened in it."""
    plain = {"leg": 1, "at_km": 0, "depth_m": 0, "water": "fresh", "origin": Origin(file="crossings.csv")}
    kinds: dict[str, dict[str, Any]] = {
        "stalled": {"stalled": True}, "hubs_hot": {"hubs_hot": True}, "salt": {"water": "salt"},
    }  # fmt: skip
    return {name: list(crossing_notes(Crossing.model_validate(plain | told))) for name, told in kinds.items()}


def _items_that_matter(s: Situation) -> list[Item]:
    """In the order of the tables."""
    there = [item for item in s.catalogue.items if any(item.fits(unit) for unit in s.rig.units)]
    ruled = {rule.item for rule in s.catalogue.water_rules}
    ruled |= {name for rule in s.catalogue.water_rules for name, _ in rule.deciding}
    sampled = {s.catalogue.item(rule.item).place for rule in s.catalogue.water_rules if rule.sample}
    return [
        item for item in there
        if item.id in ruled or item.place in sampled or _may_leak(item)
    ]  # fmt: skip


def _may_leak(item: Item) -> bool:
    return item.family in (SEALS, BEARINGS) and not set(HUB_POINTS).isdisjoint(item.points)


def _unit(unit: Unit) -> dict[str, Any]:
    return {"id": unit.id, "kind": unit.kind, "tyre_mm": unit.tyre_diameter_mm, "heights_mm": dict(unit.heights_mm)}


def _item(item: Item, s: Situation) -> dict[str, Any]:
    by = [
        {"item": other.id, "act": other.act, "positions": list(other.positions)}
        for other in s.history.covered_by.get(item.id, ())
    ]
    return {
        "name": item.name, "act": item.act, "verb": item.verb, "family": item.family, "place": item.place,
        "points": list(item.points), "positions": list(item.positions), "by": by,
        "ends": {finding: sorted(s.history.ends[(item.id, finding)]) for finding in sorted(BAD_FINDINGS)},
    }  # fmt: skip


def _rule(rule: WaterRule, s: Situation) -> dict[str, Any]:
    """One row of the rules, with the minutes of opening and closing for it alone; what is empty is left out."""
    place = s.catalogue.item(rule.item).place
    told = {
        "item": rule.item, "when": rule.when, "water": rule.water, "act": rule.act, "first_grade": rule.first_grade,
        "told_from": rule.told_from, "owner_from": rule.owner_from, "own_point": rule.own_point, "line": rule.line,
        "deciding": [list(pair) for pair in rule.deciding], "within_hours": rule.within_hours,
        "within_days": rule.within_days, "within_km": rule.within_km, "minutes": rule.minutes,
        "open_minutes": s.catalogue.opening_minutes(place, rule.state), "name": rule.name,
        "look_for": rule.look_for, "look_for_towed": rule.look_for_towed, "if_clean": rule.if_clean, "if_found": rule.if_found,
        "sample": rule.sample, "once": rule.once,
    }  # fmt: skip
    return {name: value for name, value in told.items() if name == "own_point" or not _says_nothing(value)}


def _says_nothing(value: object) -> bool:
    return value is None or value is False or value in ("", [])


def _rows(items: Iterable[Item], s: Situation) -> Iterator[list[Any]]:
    """History rows that a crossing may ask for: unit, item, position, act, finding, day, row.

    Rows before any crossing can have been made count only for what leaks: hub seals and bearings.
    """
    first = _first_day(s)
    wanted: dict[str, bool] = {}
    for item in items:
        for name in (item.id, *(by.id for by in s.history.covered_by.get(item.id, ()))):
            wanted[name] = wanted.get(name, False) or _may_leak(item)
    for (unit, name), rows in s.history.rows.items():
        for row in rows:
            if name in wanted and (wanted[name] or row.date >= first):
                yield _row(unit, name, row)


def _first_day(s: Situation) -> date:
    """No crossing that the phone is told of was made before this day."""
    return min([s.today, s.trip.depart, *(as_day(c.crossed) for c in s.timeline.crossings if c.crossed)])


def _row(unit: str, item: str, row: HistoryRow) -> list[Any]:
    finding = None if row.finding is None else str(row.finding)
    return [unit, item, row.position, row.act, finding, row.date.isoformat(), row.origin.row or 0]


def _crossing(index: int, s: Situation) -> dict[str, Any]:
    crossing = s.timeline.crossings[index]
    day: date = crossing_date(index, s.timeline)
    return {
        "leg": crossing.leg, "at_km": crossing.at_km, "depth_m": crossing.depth_m, "length_m": crossing.length_m,
        "minutes": crossing.minutes, "water": crossing.water, "day": day.isoformat(),
        "made": crossing.crossed is not None, "at": crossing.crossed and crossing.crossed.isoformat(),
        "stalled": bool(crossing.stalled), "hubs_hot": bool(crossing.hubs_hot), "note": crossing.note or "",
    }  # fmt: skip
