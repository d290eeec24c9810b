"""What the phone needs at the water: the rules as data, the rig from the side, and what sits at which height."""

from collections.abc import Iterable
from typing import Any

from msgspec import Struct

from tripplan.due.standing import Situation
from tripplan.files.folder import Inputs
from tripplan.records.facts_in import Crossing, Origin, Unit
from tripplan.sheets.field.water_rules import water_data
from tripplan.sheets.pictures.side_view import side_view
from tripplan.water.crossing import water_marks
from tripplan.water.lines import BowWave, point_height_m


class Height(Struct, frozen=True, kw_only=True):
    """One height on a unit and what sits there."""

    unit: str
    point: str
    height_m: float
    names: tuple[str, ...]


class Bank(Struct, frozen=True, kw_only=True):
    """All that the page tells and computes about water, and what the folder has: `taken` are its records from a phone.

    `readings` are the last odometer readings, km and day by unit.
    """

    data: dict[str, Any]
    views: tuple[tuple[str, str, str], ...]
    heights: tuple[Height, ...]
    taken: tuple[str, ...]
    readings: dict[str, dict[str, Any]]
    wave: BowWave


def bank_of(s: Situation, inputs: Inputs) -> Bank:
    """The rules, a drawing of each unit with the water of the first crossing, and the heights, the lowest first."""
    first = next(iter(s.timeline.crossings), None)
    depth_m = first.depth_m if first else 0.0
    drawn = tuple((unit.id, unit.kind, _drawn(unit, depth_m, s, f"unit{n}")) for n, unit in enumerate(s.rig.units))
    rows = [row.record for row in (*inputs.history, *inputs.undone)]
    fords = [row.record for row in inputs.trip.crossings]
    return Bank(
        data=water_data(s), views=drawn, heights=tuple(_heights(s)),
        taken=tuple(sorted({name for name in (*rows, *fords) if name})), wave=s.allowance_m,
        readings=dict(_last_readings(s)),
    )  # fmt: skip


def _last_readings(s: Situation) -> Iterable[tuple[str, dict[str, Any]]]:
    for unit, line in s.ledgers.items():
        if line.marks:
            last = line.marks[-1]
            yield unit, {"km": last.row.odometer_km, "day": last.day.isoformat()}


def _drawn(unit: Unit, depth_m: float, s: Situation, key: str) -> str:
    plain = {"leg": 1, "at_km": 0, "depth_m": depth_m, "water": "fresh", "origin": Origin(file="crossings.csv")}
    crossing = Crossing.model_validate(plain)
    items = [item for item in s.catalogue.items if item.fits(unit)]
    wave_m = s.allowance_m.front_m if unit.kind == "vehicle" else s.allowance_m.elsewhere_m
    return side_view([unit], water_marks(unit, items, crossing, s.allowance_m), depth_m, wave_m, key)


def _heights(s: Situation) -> Iterable[Height]:
    for unit in s.rig.units:
        items = [item for item in s.catalogue.items if item.fits(unit)]
        found = []
        for point in sorted({*unit.heights_mm, *(point for item in items for point in item.points)}):
            height_m = point_height_m(unit, point)
            names = tuple(dict.fromkeys(item.name for item in items if point in item.points))
            if height_m is not None and names:
                found.append(Height(unit=unit.id, point=point, height_m=height_m, names=names))
        yield from sorted(found, key=lambda one: (one.height_m, one.point))
