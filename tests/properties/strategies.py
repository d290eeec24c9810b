"""Random trips, histories and tables that are always valid. All invented."""

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from tests.small import DEPART, TODAY, crossing, leg, row, stop, tables, thing, trip, wagon, water_rule, workshop
from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import HistoryRow, Leg, Trip, Unit

GRADES: dict[str, tuple[Any, ...]] = {
    "dust": ("none", "light", "heavy", "bulldust"),
    "corrugation": ("none", "light", "moderate", "severe"),
    "surface": ("sealed", "gravel", "track", "rock"),
    "heat_c": (20, 33, 40),
    "load": ("light", "normal", "heavy"),
    "towing": (False, True),
    "mud": ("none", "light", "deep"),
}
SENSITIVITY = st.sampled_from(("none", "low", "medium", "high"))
STATES = st.sampled_from(("closed", "wheel raised", "wheel off", "hub off", "knuckle open"))
KM = st.integers(1, 120).map(lambda tens: tens * 10.0)
FIRST = date(2026, 1, 1)


@dataclass(frozen=True)
class Case:
    """One set of inputs to `make_plan`."""

    unit: Unit
    rows: tuple[HistoryRow, ...]
    trip: Trip
    catalogue: Catalogue = field(repr=False)


def grades() -> st.SearchStrategy[dict[str, Any]]:
    """A grade for every condition of a leg."""
    return st.fixed_dictionaries({name: st.sampled_from(values) for name, values in GRADES.items()})


@st.composite
def legs(draw: st.DrawFn, most: int = 4) -> tuple[Leg, ...]:
    """Legs numbered 10, 20, 30, each starting when the one before can have been driven."""
    found, day = [], DEPART
    for number in range(1, draw(st.integers(1, most)) + 1):
        distance_km, speed_kmh = draw(KM), draw(st.sampled_from((30.0, 50.0, 80.0)))
        low_km = draw(st.sampled_from((0.0, 0.0, 0.1))) * distance_km
        more = {"hubs": draw(st.sampled_from((0.0, 0.3, 1.0))), "remote": draw(st.booleans()), "low_range_km": low_km}
        found.append(leg(number * 10, distance_km, day, speed_kmh=speed_kmh, **draw(grades()), **more))
        day += timedelta(days=int(distance_km / speed_kmh / 8) + draw(st.integers(1, 3)))
    return tuple(found)


@st.composite
def trips(draw: st.DrawFn, most_legs: int = 4) -> Trip:
    """Legs with stops behind some of them, a few workshop days and a crossing or two."""
    drawn = draw(legs(most_legs))
    stops = [
        stop(f"S{one.leg}", one.leg, draw_day(one, drawn), facility=draw(st.sampled_from(("camp", "town", "workshop"))),
             minutes=draw(st.sampled_from((0, 60, 200, 600))))
        for one in drawn if draw(st.booleans())
    ]  # fmt: skip
    days = draw(st.lists(st.integers(0, 11), max_size=3, unique=True))
    wet = [
        crossing(one.leg, draw(st.integers(0, 10)) / 10 * one.distance_km, draw(st.sampled_from((0.1, 0.4, 0.8))))
        for one in drawn if draw(st.integers(0, 3)) == 0
    ]  # fmt: skip
    home = max(one.date for one in drawn) + timedelta(days=10)
    return trip(
        *drawn, stops=tuple(stops), crossings=tuple(wet), shakedown_km=draw(st.sampled_from((0, 80))),
        workshop_days=tuple(workshop(TODAY + timedelta(days=n), draw(st.sampled_from((60, 240, 600)))) for n in days),
        **{"return": home},
    )  # fmt: skip


def draw_day(one: Leg, all_legs: tuple[Leg, ...]) -> date:
    """The day before the next leg starts, or days after the last one."""
    later = [other.date for other in all_legs if other.leg > one.leg]
    return max(one.date, min(later) - timedelta(days=1)) if later else one.date + timedelta(days=9)


@st.composite
def items(draw: st.DrawFn, item_id: str) -> Item:
    """An item of the wagon with one or two meters."""
    meters: dict[str, Any] = {"km": draw(st.integers(3, 80)) * 100}
    if draw(st.booleans()):
        meters = {draw(st.sampled_from(("engaged_km", "months", "km", "engine_hours"))): draw(st.integers(2, 60))}
        if "months" not in meters:
            meters = {name: value * 100 for name, value in meters.items()}
    names = ("dust", "corrugation", "heat", "load", "water")
    return thing(
        item_id, **meters, consumables="seal 1", **{name: draw(SENSITIVITY) for name in names}, state=draw(STATES),
        positions=draw(st.sampled_from(("", "left;right"))), minutes=draw(st.sampled_from((10, 40, 120))),
        facility=draw(st.sampled_from(("camp", "town", "workshop"))), points="hub_centre",
        strands=draw(st.sampled_from((0.0, 0.25, 0.5, 1.0))),
        parts_lead_days=draw(st.sampled_from((0, 0, 5))), harms=draw(st.booleans()),
        spread_low=draw(st.sampled_from((0.3, 0.5, 1))), spread_high=draw(st.sampled_from((1, 1.5, 2))),
    )  # fmt: skip


@st.composite
def histories(draw: st.DrawFn, item_ids: tuple[str, ...]) -> tuple[HistoryRow, ...]:
    """Readings that only grow, and work on some of the items, one row a day."""
    found, day, odometer_km = [row(FIRST, 0.0)], FIRST, 0.0
    for number in range(3, draw(st.integers(3, 9))):
        day += timedelta(days=draw(st.integers(1, 20)))
        odometer_km += draw(st.integers(0, 12)) * 100
        item = draw(st.sampled_from((None, *item_ids)))
        side = draw(st.sampled_from((None, "left", "right", "both")))
        shown = draw(st.booleans()) or item is None
        finding = draw(st.sampled_from((None, "serviceable", "worn")))
        more = {"position": side, "finding": finding} if item else {}
        act = "repack" if item else "reading"
        found.append(row(day, odometer_km if shown else None, item, act, number, **more))
    return (*found, row(TODAY, odometer_km, number=99))


@st.composite
def cases(draw: st.DrawFn, most_legs: int = 4, most_items: int = 4) -> Case:
    """A whole set of inputs, with water rules for the first item and one item covering another."""
    ids = tuple(f"item{number}" for number in range(1, draw(st.integers(1, most_items)) + 1))
    drawn = [draw(items(item_id)) for item_id in ids]
    if len(drawn) > 1 and draw(st.booleans()):
        drawn[0] = drawn[0].model_copy(update={"covers": (ids[1],)})
    rules = (
        water_rule(ids[0], "night", "look", within_hours=24),
        water_rule(ids[0], "before remote", "repack", within_days=5, resets=True, minutes=30),
    )
    unit = wagon(usual_km_per_week=draw(st.sampled_from((0, 140))), odometer_factor=draw(st.sampled_from((1, 1.02))))
    return Case(unit, draw(histories(ids)), draw(trips(most_legs)), tables(*drawn, water_rules=rules))
