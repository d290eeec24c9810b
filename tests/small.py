"""Plain small records for the core tests: a wagon, a camper, neutral legs, a few tables.

All of it is invented. The neutral leg has only grades that wear nothing extra, so a test
that changes one thing sees that one thing.
"""

from collections.abc import Sequence
from datetime import date
from typing import Any

from tripplan.due.standing import Situation, Standing, assess, item_positions
from tripplan.placing.problem import PlacementProblem
from tripplan.placing.tasks import placement_problem
from tripplan.planner import look_around, make_plan
from tripplan.records.catalogue import (
    ActRule,
    Assumption,
    Catalogue,
    ConditionGrade,
    Consumable,
    Item,
    Multiplier,
    ServiceSheet,
    Teardown,
    WaterRule,
)
from tripplan.records.facts_in import Crossing, HistoryRow, Leg, Origin, Rig, Stop, Trip, Unit, WorkshopDay
from tripplan.records.plan import Plan, PlanItem
from tripplan.water.crossing import calls

HERE = Origin(file="here", row=2)
SOURCED: dict[str, Any] = {"basis": "judgement", "source": "none", "origin": HERE}
DEPART = date(2026, 7, 1)
RETURN = date(2026, 7, 31)
TODAY = date(2026, 6, 20)
SHARE = {"low": 0.2, "medium": 0.5, "high": 1.0}
# condition, grade, which sensitivity of the item counts, typical and high for a high sensitivity
GRADES: tuple[tuple[str, str, str, float, float], ...] = (
    ("dust", "none", "dust", 1, 1), ("dust", "light", "dust", 1.25, 1.5), ("dust", "heavy", "dust", 2, 3),
    ("dust", "bulldust", "dust", 3, 5),
    ("corrugation", "none", "corrugation", 1, 1), ("corrugation", "light", "corrugation", 1.25, 1.5),
    ("corrugation", "moderate", "corrugation", 1.75, 2.25), ("corrugation", "severe", "corrugation", 2.5, 4),
    ("surface", "sealed", "corrugation", 1, 1), ("surface", "gravel", "corrugation", 1.25, 1.5),
    ("surface", "track", "corrugation", 1.5, 2), ("surface", "sand", "corrugation", 1.5, 2),
    ("surface", "rock", "corrugation", 2, 3),
    ("heat", "normal", "heat", 1, 1), ("heat", "warm", "heat", 1.25, 1.5), ("heat", "hot", "heat", 1.75, 2.25),
    ("load", "light", "load", 1, 1), ("load", "normal", "load", 1, 1), ("load", "heavy", "load", 1.5, 1.8),
    ("towing", "no", "load", 1, 1), ("towing", "yes", "load", 1.25, 1.5),
    ("mud", "none", "dust", 1, 1), ("mud", "light", "dust", 1.25, 1.5), ("mud", "deep", "dust", 1.5, 2),
    ("low range", "no", "load", 1, 1), ("low range", "yes", "load", 2, 3),
    ("water", "none", "water", 1, 1), ("water", "splash", "water", 1.1, 1.3), ("water", "immersed", "water", 1.5, 3),
)  # fmt: skip
REACHED = {("towing", "yes"): ("driveline", "engine", "rear_axle", "brake_rear_drums")}
HEAT_BOUNDS = {"normal": (-40.0, 30.0), "warm": (30.0, 38.0), "hot": (38.0, 60.01)}
ASSUMED = {
    "bow_wave_elsewhere": 0.10, "bow_wave_front": 0.10, "easy_depth": 0.51, "easy_minutes": 5.0, "stood_minutes": 30.0,
    "carry_share_threshold": 0.8, "driving_hours_per_day": 8.0,
    "bad_finding_share": 1.5, "harm_factor": 2.0, "holiday_hour_factor": 1.0, "hours_to_help_home": 3.0,
    "limit_broken_price_hours": 100.0, "look_again_late_factor": 2.0, "repair_after_failure_hours": 5.0, "road_long_spell_minutes": 1000.0,
    "road_day_limit_minutes": 1440.0, "road_daily_minutes": 1000.0, "short_time_share": 0.25,
    "unknown_overhaul_share": 0.5, "water_entered_share": 0.2, "wet_left_share": 2.0, "water_found_days": 5.0, "hours_to_help_near": 6.0, "hours_to_help_remote": 48.0, "interval_percentile_of_life": 0.1,
    "place_factor_camp": 2.0, "place_factor_halt": 2.0, "place_factor_town": 1.5, "place_factor_workshop": 1.2,
    "set_out_minutes": 0.0, "clean_up_minutes": 0.0, "reading_slack_share": 0.05,
    "interval_spread_share": 0.5, "life_error_factor": 1.5, "opening_near_departure_days": 2.0,
    "tolerance_share": 0.1,
    "splash_affected_km": 50.0, "splash_height": 0.4, "walk_round_minutes": 20.0, "water_affected_km": 500.0,
}  # fmt: skip
DONE_BY = {
    "look": ("measure", "clean", "grease", "adjust", "repack", "renew", "drain and refill"),
    "measure": ("adjust", "repack", "renew"),
    "grease": ("repack", "renew"),
    "adjust": ("repack", "renew"),
    "drain and refill": ("renew",),
    "clean": ("repack", "renew"),
    "repack": ("renew",),
    "renew": ("renew",),
}
PUTS_RIGHT = {
    "grease": ("water", "contaminated"), "clean": ("water", "contaminated"),
    **dict.fromkeys(("drain and refill", "repack", "renew"), ("worn", "failed", "water", "contaminated")),
}  # fmt: skip
WHEEL_END = "front wheel end"
# place, state, parent, minutes to open, minutes to close
STATES: tuple[tuple[str, str, str | None, float, float], ...] = (
    (WHEEL_END, "wheel raised", None, 4, 3),
    (WHEEL_END, "wheel off", "wheel raised", 5, 5),
    (WHEEL_END, "hub off", "wheel off", 10, 13),
    (WHEEL_END, "knuckle open", "hub off", 20, 30),
    ("trailer wheel end", "hub off", None, 10, 12),
    ("engine sump", "drained", None, 10, 5),
)


def wagon(**changes: Any) -> Unit:
    """A part-time four-wheel-drive with free-wheeling hubs, 0.80 m tyres, reading true, standing still at home."""
    values: dict[str, Any] = {
        "id": "wagon", "kind": "vehicle", "drive": "part-time", "front_axle": "closed-knuckle", "fuel": "diesel",
        "gearbox": "manual", "hubs": "free-wheeling", "tyre_diameter_mm": 800, "odometer_factor": 1,
        "usual_km_per_week": 0, "usual_engaged_share": 0, "usual_towing_share": 0, "usual_low_range_share": 0,
        "usual_speed_kmh": 50, "origin": HERE,
    }  # fmt: skip
    return Unit.model_validate({**values, **changes})


def camper(**changes: Any) -> Unit:
    """A trailer that moves only on towed legs."""
    values = {"id": "camper", "kind": "trailer", "usual_km_per_week": 0, "origin": HERE}
    return Unit.model_validate({**values, **changes})


def rig(*units: Unit) -> Rig:
    """The wagon alone, or the units given."""
    return Rig(name="Rig", home_zone="Australia/Darwin", units=units or (wagon(),), origin=HERE)


def leg(number: int, distance_km: float, day: date = DEPART, **changes: Any) -> Leg:
    """A neutral leg at 50 km/h, hubs free, nothing towed."""
    values: dict[str, Any] = {
        "leg": number, "from": f"P{number}", "to": f"P{number + 1}", "depart": day, "distance_km": distance_km,
        "speed_kmh": 50, "surface": "sealed", "corrugation": "none", "dust": "none", "heat_c": 20,
        "load": "normal", "towing": False, "hubs": 0.0, "low_range_km": 0, "remote": False, "origin": HERE,
    }  # fmt: skip
    return Leg.model_validate({**values, **changes})


def crossing(leg_number: int, at_km: float, depth_m: float, **changes: Any) -> Crossing:
    """A planned ford in fresh water."""
    values = {"leg": leg_number, "at_km": at_km, "depth_m": depth_m, "water": "fresh", "origin": HERE}
    return Crossing.model_validate({**values, **changes})


def stop(name: str, after_leg: int, arrive: date, **changes: Any) -> Stop:
    """A workshop stop of one day with plenty of time."""
    values: dict[str, Any] = {
        "stop": name, "after_leg": after_leg, "arrive": arrive, "leave": arrive, "facility": "workshop",
        "minutes": 1000, "origin": HERE,
    }  # fmt: skip
    return Stop.model_validate({**values, **changes})


def workshop(day: date, minutes: float = 1000) -> WorkshopDay:
    """A day at home with time for work."""
    return WorkshopDay(date=day, minutes=minutes, origin=HERE)


def trip(*legs: Leg, **changes: Any) -> Trip:
    """A trip through July with those legs; an hour of work is worth 60."""
    values: dict[str, Any] = {
        "name": "Trip", "depart": DEPART, "return": RETURN, "shakedown_km": 0, "remote_beyond_km": 150,
        "rate_per_hour": 60, "cost_per_stranded_hour": 90, "legs": legs, "origin": HERE,
    }  # fmt: skip
    return Trip.model_validate({**values, **changes})


def row(
    day: date, odometer_km: float | None, item: str | None = None, act: str = "reading", number: int = 2, **more: Any
) -> HistoryRow:
    """One history row of the wagon; without an item a bare reading."""
    values: dict[str, Any] = {
        "date": day, "unit": "wagon", "odometer_km": odometer_km, "item": item, "act": act,
        "origin": Origin(file="history.csv", row=number),
    }  # fmt: skip
    return HistoryRow.model_validate({**values, **more})


def thing(item_id: str = "bearings", **changes: Any) -> Item:
    """An item without intervals that no condition touches, done anywhere with nothing opened."""
    values: dict[str, Any] = {
        "id": item_id, "name": item_id.capitalize(), "system": "axle", "unit_kind": "vehicle", "act": "repack",
        "spread_low": 1, "spread_high": 1, "dust": "none", "water": "none", "corrugation": "none", "heat": "none",
        "load": "none", "family": "bearing", "place": WHEEL_END, "state": "closed", "minutes": 30,
        "facility": "camp", "rhythm": "service", "harms": False, "strands": 1,
        "if_it_fails": "it seizes", "failure_basis": "judgement", "failure_source": "none",
        "minutes_basis": "judgement", "minutes_source": "none",
        "life_shape": 2, "parts_lead_days": 0, **SOURCED,
    }  # fmt: skip
    return Item.model_validate({**values, **changes})


def water_rule(item: str, when: str, act: str, **changes: Any) -> WaterRule:
    """What a crossing calls for at an item."""
    values: dict[str, Any] = {
        "item": item, "when": when, "water": "any", "act": act, "minutes": 10, "facility": "camp",
        "state": "closed", "look_for": "milk", "if_clean": "carry on", "if_found": "renew", "resets": False,
        "sample": False, **SOURCED,
    }  # fmt: skip
    return WaterRule.model_validate({**values, **changes})


def sheet(sheet_id: str, items: str, includes: str = "") -> ServiceSheet:
    """A periodic service of the vehicle."""
    values = {
        "id": sheet_id,
        "name": sheet_id,
        "unit_kind": "vehicle",
        "months": 6,
        "items": items,
        "includes": includes,
    }
    return ServiceSheet.model_validate({**values, **SOURCED})


def consumable(name: str, kind: str = "seal") -> Consumable:
    """Something a job uses up."""
    values = {"id": name, "name": name, "kind": kind, "unit_of_measure": "piece", **SOURCED}
    return Consumable.model_validate(values)


def multipliers() -> tuple[Multiplier, ...]:
    """A row for every grade that wears and every sensitivity; a fifth and a half of the excess over 1."""
    found = []
    for condition, grade, _, typical, high in GRADES:
        for sensitivity, share in SHARE.items() if typical > 1 else ():
            middle, upper = 1 + share * (typical - 1), 1 + share * (high - 1)
            found.append(
                Multiplier(
                    condition=condition,
                    grade=grade,
                    sensitivity=sensitivity,
                    typical=middle,
                    high=upper,
                    low=middle * middle / upper,
                    **SOURCED,
                )
            )
    return tuple(found)


def grades() -> tuple[ConditionGrade, ...]:
    """Every grade, with the bounds of heat."""
    found = []
    for condition, grade, sensitivity, _, _ in GRADES:
        low, high = HEAT_BOUNDS[grade] if condition == "heat" else (None, None)
        found.append(
            ConditionGrade(
                condition=condition,
                grade=grade,
                words=grade,
                sensitivity=sensitivity,
                lower=low,
                upper=high,
                reaches=REACHED.get((condition, grade), ()),
                **SOURCED,
            )
        )
    return tuple(found)


def tables(*items: Item, assumed: dict[str, float] | None = None, **changes: Any) -> Catalogue:
    """A catalogue of those items with the small tables; assumptions and other tables as given."""
    numbers = {**ASSUMED, **(assumed or {})}
    values: dict[str, Any] = {
        "edition": "2026-01-01 00000000",
        "items": items or (thing(km=10000),),
        "multipliers": multipliers(),
        "grades": grades(),
        "teardown": tuple(
            Teardown(place=place, state=state, parent=parent, open_minutes=opening, close_minutes=closing,
                     words=state, **SOURCED)  # type: ignore[arg-type]
            for place, state, parent, opening, closing in STATES
        ),
        "acts": tuple(ActRule(act=act, words=act, done_by=by, puts_right=PUTS_RIGHT.get(act, ()), **SOURCED) for act, by in DONE_BY.items()),
        "consumables": (consumable("seal"), consumable("grease", "grease"), consumable("oil", "oil")),
        "water_rules": (),
        "assumptions": tuple(
            Assumption(name=name, value=value, unit="1", meaning=name, **SOURCED) for name, value in numbers.items()
        ),
        "sources": (),
    }  # fmt: skip
    return Catalogue.model_validate({**values, **changes})


def looked_at(
    one_trip: Trip,
    *rows: HistoryRow,
    catalogue: Catalogue | None = None,
    units: Sequence[Unit] = (),
    today: date = TODAY,
) -> tuple[Situation, tuple[Standing, ...]]:
    """The situation and the standing of every item position on the rig."""
    some_rig, known = rig(*units), catalogue or tables()
    situation = look_around(some_rig, rows, one_trip, known, today)
    return situation, tuple(assess(at, situation) for at in item_positions(situation.rig, known))


def stated(
    one_trip: Trip,
    *rows: HistoryRow,
    catalogue: Catalogue | None = None,
    units: Sequence[Unit] = (),
    today: date = TODAY,
) -> PlacementProblem:
    """The placement problem of that situation."""
    s, standings = looked_at(one_trip, *rows, catalogue=catalogue, units=units, today=today)
    pairs = item_positions(s.rig, s.catalogue)
    called = calls(pairs, s.timeline, s.catalogue, s.history, s.allowance_m, s.trip.trailer_hubs_after_water, today)
    return placement_problem(standings, called, s)


def planned(
    one_trip: Trip,
    *rows: HistoryRow,
    catalogue: Catalogue | None = None,
    units: Sequence[Unit] = (),
    today: date = TODAY,
) -> Plan:
    """The whole plan of that situation."""
    return make_plan(rig(*units), rows, one_trip, catalogue or tables(), today)


def jobs(plan: Plan) -> list[tuple[str, str, str | None, str]]:
    """Slot, item, position and kind of every job of a plan."""
    return [(slot.id, job.item, job.position, job.kind) for slot in plan.slots for job in slot.jobs]


def only(plan: Plan, item: str, position: str | None = None) -> PlanItem:
    """The plan's line for one item position."""
    (found,) = [one for one in plan.items if (one.item, one.position) == (item, position)]
    return found
