"""A plain leg for tests of wear, with any column changed. Invented."""

from datetime import date
from typing import Any

from tripplan.records.facts_in import Leg, Origin


def a_leg(**columns: Any) -> Leg:
    """A neutral sealed leg, with the given columns in place of its own."""
    plain: dict[str, Any] = {
        "leg": 1, "from": "A", "to": "B", "depart": date(2026, 7, 1), "distance_km": 300, "speed_kmh": 60,
        "surface": "sealed", "corrugation": "none", "dust": "none", "heat_c": 25, "load": "normal",
        "towing": False, "hubs": 0, "low_range_km": 0, "remote": False,
        "origin": Origin(file="legs.csv", row=2),
    }  # fmt: skip
    return Leg(**(plain | columns))
