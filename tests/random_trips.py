"""Random trips of a whole rig with the shipped tables, for rules that must hold for each. All invented.

The rig is that of a demo; a seed draws how much of its history is kept, the legs, the stops, the
days at home and the crossings. Equal seeds give equal trips.
"""

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache
from random import Random
from typing import TypeAlias

from tests.small import crossing, leg, stop, trip, workshop
from tripplan.files.demos import DEMOS, demo_folder
from tripplan.files.folder import Inputs, load
from tripplan.planner import make_plan
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import Crossing, HistoryRow, Leg, Origin, Rig, Stop, Trip, Unit
from tripplan.records.plan import Plan

Thing: TypeAlias = tuple[Item, Unit, str | None]
TODAY = date(2026, 6, 1)
COUNT = "TRIPPLAN_RANDOM_TRIPS"
MORE, LOOK = 10**6, "look"
FINDINGS = ("serviceable", "as new", "worn", "failed", "water", "contaminated")
GRADES = {
    "dust": ("none", "light", "heavy", "bulldust"), "corrugation": ("none", "light", "moderate", "severe"),
    "surface": ("sealed", "gravel", "track", "sand", "rock"), "heat_c": (20.0, 33.0, 42.0),
    "load": ("light", "normal", "heavy"), "towing": (False, True), "hubs": (0.0, 0.4, 1.0), "remote": (False, True),
}  # fmt: skip


@dataclass(frozen=True)
class RandomTrip:
    """One set of inputs to `make_plan`, with the seed that made it."""

    seed: int
    rig: Rig
    history: tuple[HistoryRow, ...]
    trip: Trip
    catalogue: Catalogue
    today: date

    def plan(self, other: Trip | None = None) -> Plan:
        """Its plan, or the same rig's plan of another trip."""
        return make_plan(self.rig, self.history, other or self.trip, self.catalogue, self.today)


def how_many(in_ci: int) -> int:
    """The bounded number of CI, or what the environment asks for."""
    return int(os.environ.get(COUNT, in_ci))


@cache
def _rigs() -> tuple[tuple[Inputs, Catalogue, date], ...]:
    found = []
    for name in sorted(DEMOS):
        inputs, catalogue, _ = load(demo_folder(name), DEMOS[name])
        assert inputs is not None
        found.append((inputs, catalogue, DEMOS[name]))
    return tuple(found)


def random_trip(seed: int) -> RandomTrip:
    """The trip of this seed."""
    draw = Random(seed)
    inputs, catalogue, today = draw.choice(_rigs())
    kept = draw.choice((0.0, 0.3, 0.8, 1.0))
    history = tuple(row for row in inputs.history if row.item is None or draw.random() < kept)
    depart = today + timedelta(days=draw.randint(1, 30))
    legs = _legs(draw, depart)
    home = legs[-1].date + timedelta(days=draw.randint(2, 9))
    days = sorted({draw.randint(0, (depart - today).days) for _ in range(draw.randint(0, 4))})
    made = trip(
        *legs, stops=_stops(draw, legs, home), crossings=_crossings(draw, legs),
        workshop_days=tuple(workshop(today + timedelta(days=n), draw.choice((60, 180, 300, 480))) for n in days),
        shakedown_km=draw.choice((0, 90)), depart=depart, rate_per_hour=draw.choice((20, 60, 120)),
        cost_per_stranded_hour=draw.choice((0, 90, 300)), **{"return": home},
    )  # fmt: skip
    return RandomTrip(seed, inputs.rig, history, made, catalogue, today)


def with_findings(seed: int) -> RandomTrip:
    """The trip of this seed by an owner who has been round the rig: up to five things more were looked at."""
    return _looked_round(seed, Random(MORE + seed))


def _looked_round(seed: int, draw: Random) -> RandomTrip:
    case = random_trip(seed)
    things = _things(case)
    seen = [
        _line(number, case.today - timedelta(days=draw.randint(0, 60)), thing, draw, (LOOK, thing[0].act))
        for number, thing in ((n, draw.choice(things)) for n in range(1, draw.randint(0, 5) + 1))
    ]
    return replace(case, history=(*case.history, *seen))


def _things(case: RandomTrip) -> list[Thing]:
    """Every position of every item, unit by unit."""
    return [
        (item, unit, side) for unit in case.rig.units for item in case.catalogue.items if item.fits(unit)
        for side in item.positions or (None,)
    ]  # fmt: skip


def _line(number: int, day: date, thing: Thing, draw: Random, acts: Sequence[str]) -> HistoryRow:
    """A row of the history about one thing, with a finding."""
    item, unit, side = thing
    return _row(
        number, day, unit.id, item.id, draw.choice(acts) if len(acts) > 1 else acts[0], side, draw.choice(FINDINGS)
    )


def _row(
    number: int, day: date, unit: str, item: str, act: str, side: str | None, finding: str | None
) -> HistoryRow:  # fmt: skip
    values = {"date": day, "unit": unit, "item": item, "act": act, "position": side, "finding": finding}
    return HistoryRow.model_validate({**values, "origin": Origin(file="history.csv", row=9000 + number)})


def under_way(seed: int) -> RandomTrip:
    """The same once the trip has begun: none, half or all of the work so far on record, fords crossed, more seen."""
    draw = Random(MORE + seed)
    case = _looked_round(seed, draw)
    number = len([row for row in case.history if (row.origin.row or 0) > 9000])
    plan = case.plan()
    today = case.trip.depart + timedelta(days=draw.randint(0, (case.trip.return_ - case.trip.depart).days))
    rows, share = [], draw.choice((0, 0.5, 1))
    for slot in plan.slots:
        for job in slot.jobs if slot.kind in ("workshop", "stop") and slot.date <= today else ():
            if job.kind in ("service", "after water") and draw.random() < share:
                number += 1
                found = draw.choice(FINDINGS if job.act == LOOK else (None, None, "serviceable", "worn"))
                rows.append(_row(number, slot.date, job.unit, job.item, job.act, job.position, found))
    fords = tuple(_crossed(ford, case, today, draw) for ford in case.trip.crossings)
    things = _things(case)
    for _ in range(draw.randint(0, 3)):
        thing, number = draw.choice(things), number + 1
        rows.append(_line(number, today - timedelta(days=draw.randint(0, 3)), thing, draw, (LOOK,)))
    trip_now = case.trip.model_copy(update={"crossings": fords})
    return replace(case, history=(*case.history, *rows), trip=trip_now, today=today)


def _crossed(ford: Crossing, case: RandomTrip, today: date, draw: Random) -> Crossing:
    """The crossing as it was made, mostly, where its day has come: as deep as expected, or deeper."""
    day = next(one.date for one in case.trip.legs if one.leg == ford.leg)
    if day > today or draw.random() >= 0.8:
        return ford
    depth_m = draw.choice((ford.depth_m, min(1.4, ford.depth_m + 0.3)))
    made = {"crossed": day, "depth_m": depth_m, "stalled": draw.random() < 0.1, "hubs_hot": draw.random() < 0.3}
    return ford.model_copy(update=made)


def _legs(draw: Random, depart: date) -> tuple[Leg, ...]:
    found, day = [], depart
    for number in range(1, draw.randint(1, 9) + 1):
        graded = {name: draw.choice(values) for name, values in GRADES.items()}
        distance_km, speed_kmh = float(draw.randint(5, 90) * 10), draw.choice((35.0, 60.0, 85.0))
        found.append(leg(number, distance_km, day, speed_kmh=speed_kmh, **graded, low_range_km=draw.choice((0.0, 5.0))))
        day += timedelta(days=int(distance_km / speed_kmh / 8) + draw.randint(1, 3))
    return tuple(found)


def _stops(draw: Random, legs: Sequence[Leg], home: date) -> tuple[Stop, ...]:
    found = []
    for one, after in zip(legs, [*(other.date for other in legs[1:]), home], strict=True):
        if draw.random() < 0.5:
            arrive = max(one.date, after - timedelta(days=1))
            minutes, facility = draw.choice((30, 120, 240, 480)), draw.choice(("camp", "town", "workshop"))
            found.append(stop(f"Place {one.leg}", one.leg, arrive, facility=facility, minutes=minutes))
    return tuple(found)


def _crossings(draw: Random, legs: Sequence[Leg]) -> tuple[Crossing, ...]:
    return tuple(
        crossing(one.leg, round(draw.randint(1, 9) / 10 * one.distance_km, 1), draw.choice((0.2, 0.45, 0.7, 1.0)),
                 water=draw.choice(("fresh", "muddy")), minutes=draw.choice((2, 4, 12)))
        for one in legs if draw.random() < 0.25
    )  # fmt: skip
