"""Every number's name says its unit, or stands in a short list that says why it cannot."""

import dataclasses
import typing
from collections.abc import Iterator

import pytest
from msgspec import Struct
from pydantic import BaseModel

from tripplan.due import runs_out
from tripplan.placing import problem
from tripplan.records import catalogue, facts_in, mending, plan, plan_kit, plan_risk, plan_work
from tripplan.trip import timeline
from tripplan.water import crossing
from tripplan.wear import multipliers, odometer_line

MODULES = (
    facts_in,
    catalogue,
    mending,
    plan,
    plan_kit,
    plan_risk,
    plan_work,
    problem,
    timeline,
    odometer_line,
    runs_out,
    crossing,
    multipliers,
)
UNITS = (
    "km",
    "m",
    "mm",
    "kg",
    "l",
    "litres",
    "c",
    "kmh",
    "percent",
    "share",
    "factor",
    "km_per_week",
    "m_per_km",
    "per_hour",
    "hour",
    "hours",
    "hours_per_day",
    "days",
    "months",
    "minutes",
    "lat",
    "lon",
    "km_start",
    "cost_per_stranded_hour",
    "multiplier",
)
# (record or * for any, field): why the name has no unit of its own
ALLOWED = {
    ("Leg", "hubs"): "a share of the leg or the words locked and free; the contract's own column",
    ("EarlierLeg", "hubs"): "as on the legs of the trip",
    ("WaterRule", "from_grade"): "a grade of a crossing, 0 to 5",
    ("WaterRule", "told_from"): "a grade of a crossing",
    ("WaterRule", "owner_from"): "a grade of a crossing",
    ("Item", "spread_low"): "a share of the interval, no unit",
    ("Item", "spread_high"): "a multiple of the interval, no unit",
    ("Item", "life_shape"): "the shape of a life law, no unit",
    ("Item", "strands"): "a share of the time to help; the contract's own field",
    ("PlanItem", "strands"): "a share of the time to help; the contract's own field",
    ("*", "low"): "a bound of the figure beside it",
    ("*", "high"): "a bound of the figure beside it",
    ("Assumption", "least"): "a bound of the figure beside it",
    ("Assumption", "most"): "a bound of the figure beside it",
    ("*", "typical"): "the middle one of three of a kind; wear piled up in the meter's unit on a Track",
    ("MeterCourse", "reserve"): "wear piled up with reserve, in the meter's unit",
    ("MeterCourse", "sigma"): "standard deviation of a logarithm, no unit",
    ("MeterCourse", "log_sd"): "standard deviation of a logarithm, no unit",
    ("Wear", "reserve"): "in the unit of the field `meter`",
    ("Wear", "water_use"): "in the unit of the field `meter`",
    ("Limit", "at_departure_reserve"): "in `unit_of_measure`",
    ("ConditionGrade", "lower"): "in the row's own column `unit`",
    ("ConditionGrade", "upper"): "in the row's own column `unit`",
    ("Assumption", "value"): "in the row's own column `unit`",
    ("Wear", "use"): "in the unit of the field `meter`",
    ("*", "interval"): "in the unit of the field `meter`",
    ("Limit", "used"): "in `unit_of_measure`",
    ("Limit", "left"): "in `unit_of_measure`",
    ("Limit", "at_departure"): "in `unit_of_measure`",
    ("MeterCourse", "used"): "in the unit of `meter`",
    ("MeterCourse", "used_today"): "in the unit of `meter`",
    ("MeterCourse", "used_reserve"): "in the unit of `meter`",
    ("MeterCourse", "idle_per_day"): "in the unit of `meter`, a day",
    ("MeterCourse", "use_per_stretch"): "in the unit of `meter`",
    ("PlanItem", "share_used_at_departure"): "a share, the word comes first",
    ("PlanItem", "share_used_at_return"): "a share, the word comes first",
    ("Need", "from_opened"): "in `unit_of_measure`",
    ("Need", "price"): "in the trip's own currency",
    ("Need", "cost"): "in the trip's own currency",
    ("Slot", "materials_cost"): "in the trip's own currency",
    ("Consumable", "container_size"): "in the row's own column `unit_of_measure`",
    ("Slot", "minutes_available"): "minutes, the word comes first; the contract's own field",
    ("Slot", "minutes_planned"): "minutes, the word comes first; the contract's own field",
    ("Need", "quantity"): "in `unit_of_measure`",
    ("Material", "quantity"): "in `measure`",
    ("Need", "on_shelf"): "in `unit_of_measure`",
    ("Need", "container_size"): "in `unit_of_measure`",
    ("Total", "cost"): "money of the owner's, whatever it is called",
    ("BeyondRoadTime", "cost"): "money of the owner's, whatever it is called",
    ("BeyondRoadTime", "leaving_costs"): "money of the owner's, whatever it is called",
    ("*", "gap"): "a share; the contract's own field",
    ("Task", "shares"): "shares, one a pair of sites",
    ("PlacementProblem", "hour_price"): "money of the owner's for an hour",
    ("SparePart", "quantity"): "in `unit_of_measure`",
    ("KitLine", "quantity"): "in `unit_of_measure`",
    ("KitLine", "on_shelf"): "in `unit_of_measure`",
    ("KitLine", "to_get"): "in `unit_of_measure`",
    ("*", "demand_expected"): "a count",
    ("Spare", "quantity"): "in the unit of measure of the consumable",
    ("ByCase", "plan"): "in the unit that the field holding it says, or a count",
    ("ByCase", "nothing_done"): "as `plan`",
    ("ByCase", "all_before"): "as `plan`",
    ("ItemRisk", "failures_per_interval"): "a count",
    ("ItemRisk", "power"): "the power of a law, no unit",
    ("ItemRisk", "act_price"): "money of the owner's",
    ("ItemRisk", "failure_price"): "money of the owner's",
    ("*", "standing_hours_expected"): "hours, the word comes first; the contract's own field",
    ("*", "failures_expected"): "a count; the contract's own field",
    ("*", "stops_expected"): "a count",
    ("*", "home_without_a_stop"): "a chance, 0 to 1; the contract's own field",
    ("LegRisk", "standing_hours_each"): "hours, the word comes first",
    ("PlacementProblem", "halt_hour_price"): "money of the owner's for an hour",
    ("PlacementProblem", "legs"): "km at which each leg ends, with its day",
}


def holds_float(kind: object) -> bool:
    """True for float and for anything made of floats."""
    return kind is float or any(holds_float(part) for part in typing.get_args(kind))


def number_fields() -> Iterator[tuple[str, str]]:
    """Record and field of every number of the core's records."""
    for module in MODULES:
        for name, kind in vars(module).items():
            if not isinstance(kind, type) or kind.__module__ != module.__name__:
                continue
            if issubclass(kind, BaseModel):
                hints = {field: info.annotation for field, info in kind.model_fields.items()}
            elif dataclasses.is_dataclass(kind) or issubclass(kind, Struct):
                hints = typing.get_type_hints(kind)
            else:
                continue
            yield from ((name, field) for field, hint in hints.items() if holds_float(hint))


FIELDS = sorted(set(number_fields()))


def says_unit(field: str) -> bool:
    """True when the name is a unit word or ends with one."""
    return any(field == unit or field.endswith(f"_{unit}") for unit in UNITS)


@pytest.mark.parametrize(("record", "field"), FIELDS)
def test_a_number_says_its_unit(record: str, field: str) -> None:
    """Otherwise kilometres could be added to miles, or hours to minutes, and nobody would see it."""
    assert says_unit(field) or (record, field) in ALLOWED or ("*", field) in ALLOWED


def test_the_list_of_exceptions_is_kept_short_and_true() -> None:
    """Otherwise the list would outlive its fields and excuse new ones by chance."""
    names = {field for _, field in FIELDS}
    gone = [key for key in ALLOWED if key not in FIELDS and not (key[0] == "*" and key[1] in names)]
    assert gone == []
    needless = [key for key in ALLOWED if says_unit(key[1])]
    assert needless == []
