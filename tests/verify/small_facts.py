"""A small invented plan as the checker reads it, with one thing changed at a time.

The plan comes from the planner, so that it keeps every rule before something is spoilt; what the spoilt
plan is told to break follows from the tables of `tests/small.py`, reckoned by hand in each test.
"""

from collections.abc import Callable, Iterable, Iterator
from copy import deepcopy
from datetime import date
from functools import cache
from typing import Any

from msgspec.structs import replace

from tests.small import (
    DEPART,
    TODAY,
    camper,
    crossing,
    leg,
    planned,
    rig,
    row,
    stop,
    tables,
    thing,
    trip,
    wagon,
    water_rule,
    workshop,
)
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import Trip
from tripplan.sheets.plan_json import plan_dict
from tripplan.verify.facts import Broken, Facts

Json = dict[str, Any]


def facts(plan: Json | None = None, one_trip: Trip | None = None, *units: Any, **changes: Any) -> Facts:
    """Facts of a plan written by hand: only what a rule reads needs to be there."""
    values: dict[str, Any] = {"history": (), "catalogue": tables(), **changes}
    plan = {"today": TODAY.isoformat(), "items": [], "slots": [], "legs": [], "rechecks": [], "warnings": [],
            "crossings": [], "assumptions": [], **(plan or {})}  # fmt: skip
    return Facts(plan, rig(*units), values["history"], one_trip or trip(), values["catalogue"])


@cache
def sound() -> Facts:
    """Two days in a row at home, a camp, a town, water on the way; both front bearings due, and three acts more.

    Bearings with the hub off (10 + 13 minutes, behind the wheel 5 + 5 and the jack 4 + 3, each side), their nuts
    looked at again after 50 to 100 km, oil, the trailer's coupling, a look at the filter on the day of the water.
    """
    bearings = thing("front_wheel_bearings", positions="left;right", state="hub off", km=40000, harms=True, harms_by="wheels",
                     follow_ups="wheel_nuts 50-100 km", points="hub_centre", minutes=25)  # fmt: skip
    items = (
        bearings,
        thing("wheel_nuts", act="torque", km=5000, minutes=6),
        thing("oil", act="drain and refill", place="engine sump", state="drained", km=10000, months=12,
              facility="town", minutes=20),
        thing("air_filter", act="look", place="engine bay", km=3000, points="airbox_seam", minutes=8),
        thing("coupling", unit_kind="trailer", act="grease", towing_km=2000, minutes=5),
    )  # fmt: skip
    rules = (
        water_rule("front_wheel_bearings", "before remote", "look", from_grade=2, minutes=9, state="closed"),
        water_rule("front_wheel_bearings", "before remote", "repack", from_grade=5, told_from=3, minutes=25, state="hub off", resets=True,
                   decided_by="front_wheel_bearings look"),
        water_rule("air_filter", "night", "look", from_grade=4, minutes=7, within_hours=24),
    )  # fmt: skip
    legs = (
        leg(1, 600, DEPART, towing=True),
        leg(2, 500, date(2026, 7, 6), hubs=1.0, low_range_km=20, corrugation="moderate"),
        leg(3, 700, date(2026, 7, 12), remote=True),
        leg(4, 900, date(2026, 7, 18), dust="light"),
    )
    one_trip = trip(
        *legs,
        stops=(
            stop("Gums", 1, date(2026, 7, 3), leave=date(2026, 7, 5), facility="camp", minutes=300),
            stop("Town", 2, date(2026, 7, 9), leave=date(2026, 7, 11), facility="town", minutes=400),
        ),
        workshop_days=(workshop(date(2026, 6, 24), 300), workshop(date(2026, 6, 25), 300)),
        crossings=(crossing(2, 100, 0.45, minutes=3),),
        shakedown_km=0,
    )
    history = (
        row(date(2024, 5, 1), 1000, "front_wheel_bearings", "repack", position="left"),
        row(date(2024, 5, 1), 1000, "front_wheel_bearings", "repack", position="right"),
        row(date(2026, 5, 1), 42000, "oil", "drain and refill"),
        row(date(2026, 5, 1), 42000, "air_filter", "look"),
        row(date(2026, 5, 1), 42000, "wheel_nuts", "torque"),
        row(date(2026, 5, 1), None, "coupling", "grease", unit="camper"),
        row(date(2026, 6, 19), 42500),
    )
    catalogue = tables(*items, water_rules=rules)
    units = (wagon(heights_mm={"airbox_seam": 1000}), camper())
    plan = planned(one_trip, *history, catalogue=catalogue, units=units)
    return Facts(plan_dict(plan), rig(*units), history, one_trip, catalogue)


def spoilt(good: Facts, change: Callable[[Json], object]) -> Facts:
    """The same with one change made to the plan."""
    plan = deepcopy(dict(good.plan))
    change(plan)
    return replace(good, plan=plan)


def names(found: Iterable[Broken]) -> set[str]:
    """The rules that are broken."""
    return {one.rule for one in found}


def told(found: Iterable[Broken], rule: str) -> list[str]:
    """What is said of one rule."""
    return [one.says for one in found if one.rule == rule]


def jobs(plan: Json, item: str) -> Iterator[tuple[Json, Json]]:
    """Slot and job of every job at an item."""
    for slot in plan["slots"]:
        for job in slot["jobs"]:
            if job["item"] == item:
                yield slot, job


def assuming(good: Facts, **values: float) -> Facts:
    """The same with other assumptions."""
    rows = tuple(
        one.model_copy(update={"value": values.get(one.name, one.value)}) for one in good.catalogue.assumptions
    )
    return replace(good, catalogue=Catalogue(**{**dict(good.catalogue), "assumptions": rows}))


def with_cells(good: Facts, item: str, **cells: object) -> Facts:
    """The same with other cells in the row of an item."""
    rows = tuple(one.model_copy(update=cells) if one.id == item else one for one in good.catalogue.items)
    return replace(good, catalogue=Catalogue(**{**dict(good.catalogue), "items": rows}))
