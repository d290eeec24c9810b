"""Random crossings of the demo rigs, asked of the plan's own rules and of the phone's. All invented.

A seed draws the rig's heights, the owner's choice for trailer hubs, what is crossed where and how, and what is found
or done afterwards. Equal seeds give equal cases. `told_by_plan` is what `water/` says of a case; `case_for_phone` is
the same case as the file on the phone has it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from random import Random
from typing import Any

from msgspec.structs import replace

from tripplan.due.standing import Situation, item_positions
from tripplan.files.demos import DEMOS, demo_folder
from tripplan.files.folder import load
from tripplan.planner import look_around
from tripplan.records.facts_in import Crossing, HistoryRow, Leg, Origin, Rig, Unit
from tripplan.sheets.field.water_rules import water_data
from tripplan.trip.timeline import Timeline, build_timeline
from tripplan.water.crossing import Call, calls, crossing_grade, wets_unit
from tripplan.water.grades import easy_limits
from tripplan.wear.last_done import read_history

FINDINGS = ("as new", "serviceable", "worn", "failed", "water", "contaminated")
ROW_BEHIND_ALL = 100_000


@dataclass(frozen=True)
class Chance:
    """One case: the situation the file was made from, then what was crossed and recorded, and the day it is asked."""

    base: Situation
    crossings: tuple[Crossing, ...]
    rows: tuple[HistoryRow, ...]
    today: date

    @property
    def timeline(self) -> Timeline:
        """The trip with these crossings."""
        trip = self.base.trip.model_copy(update={"crossings": self.crossings})
        return build_timeline(trip, self.base.timeline.driving_hours_per_day)


def cases(rigs: int, each: int) -> Iterator[tuple[Situation, list[Chance]]]:
    """So many rigs, each with so many cases; rigs share the demos in turn."""
    for seed in range(rigs):
        chance = Random(seed)
        base = _base(sorted(DEMOS)[seed % len(DEMOS)], chance)
        yield base, [_case(base, chance) for _ in range(each)]


@cache
def _read(name: str) -> Any:
    return load(demo_folder(name), DEMOS[name])


def _base(name: str, chance: Random) -> Situation:
    inputs, catalogue, _ = _read(name)
    units = tuple(_odd(unit, chance) for unit in inputs.rig.units)
    rig: Rig = inputs.rig.model_copy(update={"units": units})
    trip = inputs.trip.model_copy(update={"trailer_hubs_after_water": chance.choice((None, "look", "repack"))})
    first = look_around(rig, inputs.history, trip, catalogue, DEMOS[name])
    start = min(DEMOS[name], trip.depart)
    rows = tuple(inputs.history) + tuple(_row(first, chance, n, start - timedelta(days=400), 430) for n in range(12))
    return look_around(rig, rows, trip, catalogue, DEMOS[name])


def _odd(unit: Unit, chance: Random) -> Unit:
    """The unit with some of its heights changed, some not known, and now and then no tyre."""
    heights = {
        p: mm + chance.choice((0, 0, -40, 25, 110)) for p, mm in unit.heights_mm.items() if chance.random() > 0.1
    }
    tyre = unit.tyre_diameter_mm if chance.random() > 0.15 else None
    return unit.model_copy(update={"heights_mm": heights, "tyre_diameter_mm": tyre})


def _case(base: Situation, chance: Random) -> Chance:
    found = list(base.trip.crossings)
    for number in range(chance.choice((1, 1, 1, 2, 3))):
        made = _made(base, chance, chance.choice(base.timeline.legs), number)
        planned = [spot for spot, one in enumerate(found) if one.leg == made.leg and one.crossed is None]
        if planned and chance.random() < 0.5:
            found[planned[0]] = made.model_copy(update={"at_km": found[planned[0]].at_km})
        else:
            found.append(made)
    days = [one.crossed for one in found if isinstance(one.crossed, datetime)]
    first = min(days).date()
    rows = tuple(
        _row(base, chance, ROW_BEHIND_ALL + n, first - timedelta(days=2), 12)
        for n in range(chance.choice((0, 0, 3, 9, 30)))
    )
    return Chance(base, tuple(found), rows, first + timedelta(days=chance.randrange(0, 15)))


def _made(base: Situation, chance: Random, leg: Leg, number: int) -> Crossing:
    day = max(base.timeline.legs[0].date, leg.date) + timedelta(days=chance.choice((0, 0, 0, 1)))
    start = datetime(day.year, day.month, day.day, chance.randrange(6, 20), 5 * number)
    depth_m = chance.choice((0.0, chance.randrange(5, 60) / 100, chance.randrange(30, 130) / 100, 0.3, 0.4, 0.41, 0.51))
    return Crossing(
        leg=leg.leg, at_km=chance.choice((0.0, *(round(chance.random() * leg.distance_km, 1) for _ in range(6)))), depth_m=depth_m,
        minutes=chance.choice((None, 0, 1, 3, 5, 5.5, 12, 30, 31, 60)), water=chance.choice(("fresh", "fresh", "muddy", "salt")),
        crossed=start, stalled=chance.random() < 0.15, hubs_hot=chance.random() < 0.3,
        origin=Origin(file="crossings.csv", row=ROW_BEHIND_ALL + number),
    )  # fmt: skip


def _row(base: Situation, chance: Random, number: int, start: date, days: int) -> HistoryRow:
    """Something done or seen at an item that the rules speak of, or at one that covers it."""
    rules = base.catalogue.water_rules
    names = {rule.item for rule in rules} | {name for rule in rules for name, _ in rule.deciding}
    every = [(unit, item) for unit, item, _ in item_positions(base.rig, base.catalogue)]
    at_hubs = [(u, i) for u, i in every if i.family in ("seal", "bearing") and "hub_centre" in i.points]
    unit, item = chance.choice(at_hubs if chance.random() < 0.35 else [(u, i) for u, i in every if i.id in names])
    by = chance.choice((item, item, item, *base.history.covered_by.get(item.id, ())))
    acts = [by.act, "look", "measure", *(rule.act for rule in rules if rule.item == item.id)]
    return HistoryRow(
        date=start + timedelta(days=chance.randrange(days)), unit=unit.id, item=by.id,
        position=chance.choice((None, "both", *by.positions)) if by.positions else None, act=chance.choice(acts),
        finding=chance.choice((None, None, *FINDINGS)), odometer_km=chance.choice((None, None, 230_000.0)) if number >= ROW_BEHIND_ALL else None,
        origin=Origin(file="history.csv", row=number),
    )  # fmt: skip


def told_by_plan(case: Chance) -> dict[str, Any]:
    """Every call and every grade, as plain values."""
    base = replace(case.base, timeline=case.timeline, history=read_history(_all_rows(case), case.base.catalogue))
    pairs = item_positions(base.rig, base.catalogue)
    found = calls(
        pairs, base.timeline, base.catalogue, base.history, base.allowance_m, base.trip.trailer_hubs_after_water,
        case.today,
    )  # fmt: skip
    limits = easy_limits(base.catalogue)
    grades = []
    for crossing in base.timeline.crossings:
        for unit in base.rig.units:
            if wets_unit(crossing, unit, base.timeline):
                items = [item for owner, item, _ in pairs if owner.id == unit.id]
                one = crossing_grade(crossing, unit, items, base.history, limits, base.allowance_m)
                grades.append([crossing.origin.row, unit.id, one.number, list(one.because)])
    return {"calls": [_call(one, base.timeline) for one in found], "grades": grades}


def _all_rows(case: Chance) -> tuple[HistoryRow, ...]:
    """The rows the situation was made of, each once however many items a sheet does, and the new ones."""
    rows: dict[int, HistoryRow] = {id(row): row for kept in case.base.history.rows.values() for row in kept}
    return (*rows.values(), *case.rows)


def _call(call: Call, timeline: Timeline) -> list[Any]:
    rule, crossing = call.rule, timeline.crossings[call.crossing]
    return [
        crossing.origin.row, call.unit.id, call.item.id, call.position, rule.when, rule.water, rule.act, call.grade,
        call.contingent, call.missed, call.by_km, call.by_date and call.by_date.isoformat(),
    ]  # fmt: skip


def case_for_phone(case: Chance) -> dict[str, Any]:
    """The crossings and the rows as the file on the phone keeps them."""
    told = water_data(replace(case.base, timeline=case.timeline))["crossings"]
    rows = [[one.origin.row, *told[at].items()] for at, one in enumerate(case.timeline.crossings)]
    return {
        "crossings": [{"row": row, **dict(items)} for row, *items in rows], "today": case.today.isoformat(),
        "rows": [
            [row.unit, row.item, row.position, row.act, row.finding and str(row.finding), row.date.isoformat(),
             row.origin.row]
            for row in case.rows
        ],
    }  # fmt: skip
