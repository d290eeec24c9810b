"""What a TOML file says where it can be read, so that a slip in it hides no slip in another file.

A refused or missing key is stood in for, and `Unsure` says which contradictions hang on it:
those are not told until it is put right. Nothing is ever planned with a stand-in.
"""

from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from msgspec import Struct
from pydantic import ValidationError

from tripplan.files.refusals import columns_of
from tripplan.files.tables import SomeRecord
from tripplan.files.toml_files import refused_keys, toml_or_nothing
from tripplan.files.way_in import NotRead, read_file
from tripplan.files.zones import listed_zone
from tripplan.records.facts_in import Origin, Rig, Trip, Unit
from tripplan.records.problems import Problem

ANY_ZONE = "UTC"
MOST_BYTES = 1_000_000
ITEMS_HANG_ON = ("H13", "R16")
# What a refused key leaves open, beside a problem at the key itself.
OPEN_WITH: Mapping[str, tuple[str, ...]] = {
    "unit": ("H10", "H13", "L17", "R10"),
    "id": ("H10", "H13", "R11"),
    "kind": ("H13", "L17", "R10", "R12", "R14", "R16", "R17", "R21"),
    "drive": ITEMS_HANG_ON, "front_axle": ITEMS_HANG_ON, "fuel": ITEMS_HANG_ON, "gearbox": ITEMS_HANG_ON,
    "hubs": ITEMS_HANG_ON, "fitted": ITEMS_HANG_ON,
    "heights_mm": ("R16", "R20"), "tyre_diameter_mm": ("R16", "R20"),
    "home_zone": ("B14",), "country": ("R18", "R19"), "region": ("R19",),
    "depart": ("T10", "L14", "W10", "B14", "B15"), "return": ("T10", "L14", "C18"),
    "remote_beyond_km": ("X09",), "workshop_from_hour": ("B14",),
}  # fmt: skip


class Unsure(Struct, frozen=True):
    """The codes that cannot be told yet, and the places whose own slip has been told."""

    codes: frozenset[str] = frozenset()
    places: frozenset[tuple[str, str]] = frozenset()

    def and_of(self, other: "Unsure") -> "Unsure":
        """What either leaves open."""
        return Unsure(self.codes | other.codes, self.places | other.places)

    def certain(self, told: Iterable[Problem]) -> tuple[Problem, ...]:
        """The problems that hold whatever the refused keys were meant to say."""
        return tuple(
            one for one in told if one.code not in self.codes and (one.file, one.column or "") not in self.places
        )


def sound_rig(path: Path) -> tuple[Rig, Unsure]:
    """The rig as far as its file can be read."""
    data, origin = _keys_of(path), Origin(file=path.name)
    sections = data.pop("unit", None)
    listed = sections if isinstance(sections, list) and all(isinstance(one, dict) for one in sections) else None
    units: list[Unit] = []
    refused, places = set() if listed else {"unit"}, set()
    for spot, section in enumerate(listed or (), 1):
        is_first = not any(unit.kind == "vehicle" for unit in units)
        stand_ins = {"id": f"unit {spot}", "kind": "vehicle" if is_first else "trailer"}
        unit, odd = _sound(section, Unit, {"origin": origin}, stand_ins)
        units.append(unit)
        refused |= odd
        places |= {f"unit[{spot}].{key}" for key in odd}
    rig, odd = _sound(data, Rig, {"origin": origin, "units": tuple(units)}, {"name": "?", "home_zone": ANY_ZONE})
    if listed_zone(rig.home_zone) is None:
        rig, odd = rig.model_copy(update={"home_zone": ANY_ZONE}), odd | {"home_zone"}
    return rig, _unsure(path.name, refused | odd, places | odd)


def sound_trip(path: Path, given: Mapping[str, Any], depart: date, home: date) -> tuple[Trip, Unsure]:
    """The trip as far as its file can be read, with the days that its legs speak for where it has none."""
    stand_ins = {
        "name": "?", "depart": depart, "return": home, "shakedown_km": 0.0, "remote_beyond_km": 1.0,
        "rate_per_hour": 0.0, "cost_per_stranded_hour": 0.0,
    }  # fmt: skip
    trip, refused = _sound(_keys_of(path), Trip, {**given, "origin": Origin(file=path.name)}, stand_ins)
    return trip, _unsure(path.name, refused, refused)


def _unsure(file: str, refused: Iterable[str], places: Iterable[str]) -> Unsure:
    codes = frozenset(code for key in refused for code in OPEN_WITH.get(key, ()))
    return Unsure(codes, frozenset((file, place) for place in places))


def _keys_of(path: Path) -> dict[str, Any]:
    try:
        return toml_or_nothing(read_file(path, MOST_BYTES))
    except NotRead:
        return {}


def _sound(
    data: Mapping[str, Any], record: type[SomeRecord], given: Mapping[str, Any], stand_ins: Mapping[str, Any]
) -> tuple[SomeRecord, set[str]]:
    """The record of what can be read, and the keys that were stood in for or left out."""
    known = {key for key in columns_of(record) if key not in given}
    refused = {key.partition(".")[0] for key in refused_keys(data, record, known)}
    refused |= {key for key in stand_ins if key not in data}
    while True:
        values = {key: value for key, value in data.items() if key in known - refused}
        values |= {key: value for key, value in stand_ins.items() if key in refused}
        try:
            return record.model_validate({**values, **given}), refused
        except ValidationError as error:
            odd = {str(entry["loc"][0]) for entry in error.errors(include_url=False)} - refused
            if not odd:
                raise
            refused |= odd
