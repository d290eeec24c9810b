"""Every physical model is there because a plan asks it."""

import importlib
import inspect
import pkgutil
import sys
from datetime import date
from types import FrameType
from typing import Any

from tests.small import crossing, leg, rig, row, trip, wagon
from tripplan.explain.shelf import Kit
from tripplan.files.data_tables import read_catalogue
from tripplan.planner import make_plan
from tripplan.records.facts_in import Origin
from tripplan.records.lubricants import GreaseGun
from tripplan.wear import from_mechanisms, mechanisms

TODAY = date(2026, 6, 20)
STATED: dict[str, Any] = {
    "silt_percent": 8.0, "moisture_percent": 0.5, "following_m": 50.0, "corrugation_mm": 10.0,
    "corrugation_wavelength_m": 0.7, "sump_temp_c": 115.0, "wheel_load_factor": 1.1, "descent_m": 900.0,
    "towing": True, "trailer_mass_kg": 1200.0, "vehicle_mass_kg": 3000.0,
}  # fmt: skip


def public() -> set[tuple[str, str]]:
    """Module and name of every public function of the models."""
    found = set()
    for info in pkgutil.iter_modules(mechanisms.__path__, f"{mechanisms.__name__}."):
        module = importlib.import_module(info.name)
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ == info.name and not name.startswith("_"):
                found.add((info.name, name))
    return found


def called_by_a_plan() -> set[tuple[str, str]]:
    """Module and name of what runs while a plan is made of a trip that states all it can."""
    found: set[tuple[str, str]] = set()

    def note(frame: FrameType, event: str, _: object) -> None:
        if event == "call":
            found.add((frame.f_globals.get("__name__", ""), frame.f_code.co_name))

    for name in ("_dust_in_air", "_equivalent"):
        getattr(from_mechanisms, name).cache_clear()
    gun = GreaseGun.model_validate(
        {"g_per_stroke": 1.1, "strokes": 10, "date": "2026-06-01", "origin": Origin(file="gun")}
    )
    wet = (crossing(1, 100, 0.9, hubs_hot=True),)
    legs = (leg(1, 300, **STATED), leg(2, 300, date(2026, 7, 3), roughness_iri_m_per_km=7.0))
    known = read_catalogue()[0]
    sys.setprofile(note)
    try:
        make_plan(
            rig(wagon(fitted=("leaf-springs",))),
            (row(TODAY, 1000),),
            trip(*legs, crossings=wet),
            known,
            TODAY,
            kit=Kit(gun=gun),
        )
    finally:
        sys.setprofile(None)
    return found


def test_every_model_is_reached_from_a_plan() -> None:
    """If not, half the models would be looked after for no owner's sake."""
    assert public() - called_by_a_plan() == set()
