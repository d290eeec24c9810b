"""Which field of a record's form a problem is about: closing a day, and a crossing that was made."""

from tripplan.records.problems import Problem
from tripplan.web.forms.slips import FORM, Field

LEG, DEPTH, MINUTES = ("leg", "Leg"), ("depth", "Depth, m"), ("minutes", "Minutes in the water")
WATER, AT_KM, DAY = ("water", "What water"), ("at_km", "Km from the start of the leg"), ("at_day", "Day and time")
CROSSING = {"leg": LEG, "depth_m": DEPTH, "minutes": MINUTES, "water": WATER, "at_km": AT_KM, "crossed": DAY}
CROSSING_CODES = {"A01": DAY, "C10": LEG, "C17": AT_KM, "C16": AT_KM}
ONE_LISTED = "one of the legs listed"
CLOSING = {"date": ("date", "Day of the work"), "odometer_km": ("odometer_km", "Odometer, km")}
CLOSING_CODES = {"A01": CLOSING["date"], "A06": CLOSING["date"]}
UNITS = {"depth": "m", "minutes": "min", "at_km": "km", "odometer_km": "km"}


def crossing_field(problem: Problem) -> Field | None:
    """The field of the page After water."""
    if problem.code in CROSSING_CODES:
        return _field(CROSSING_CODES[problem.code])
    known = CROSSING.get(problem.column or "") if problem.file in ("crossings.csv", FORM) else None
    return _field(known) if known else None


def closing_field(problem: Problem) -> Field | None:
    """The field with which a day is closed."""
    if problem.code in CLOSING_CODES:
        return _field(CLOSING_CODES[problem.code])
    known = CLOSING.get(problem.column or "") if problem.file.startswith("history.") else None
    return _field(known) if known else None


def _field(known: tuple[str, str]) -> Field:
    name, label = known
    return Field(place=f"{name}-wrong", label=label, accepted=ONE_LISTED if known is LEG else "")
