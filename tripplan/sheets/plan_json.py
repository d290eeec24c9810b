"""`plan.json`: the whole plan as one JSON document, field names as the contract has them.

Built by hand, one function a record, because a plan of 200 items on 60 legs holds tens of
thousands of wear records. One array element a line, so that two plans compare by line.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields
from datetime import date, datetime
from functools import lru_cache
from math import isfinite
from typing import Any

from tripplan.files.plan_file import PASSED
from tripplan.records.facts_in import Origin
from tripplan.records.plan import Factor, Limit, Need, Plan, PlanItem, PlanLeg, PlanWarning, Reason, Total, Totals, Wear
from tripplan.records.plan_work import Slot
from tripplan.sheets.materials import full
from tripplan.sheets.words import use_text

DECIMALS = 6


def plan_json(plan: Plan, passed: Sequence[Mapping[str, Any]] = ()) -> str:
    """The plan as JSON text: stable order, ISO dates, no NaN, a line for each array element.

    `passed` are slots of an earlier plan that are past and of which nobody has said that they were done.
    """
    head = _head(plan) | ({PASSED: list(passed)} if passed else {})
    parts = [f"{_encode(key)}: {_lines(value)}" for key, value in head.items()]
    seen: dict[object, str] = {}
    items = ",\n".join(_item_text(item, seen) for item in plan.items)
    parts.append(f'"items": [\n{items}\n]')
    return "{\n" + ",\n".join(parts) + "\n}\n"


def plan_dict(plan: Plan) -> dict[str, Any]:
    """What a reader of `plan.json` gets: plain dicts, lists, text and numbers."""
    document: dict[str, Any] = json.loads(plan_json(plan))
    return document


def outline(plan: Plan) -> dict[str, Any]:
    """The plan in the form of `plan.json` without the wear of each leg, for comparing one with another."""
    texts = [_encode(_head(plan)), _encode([_item(item) for item in plan.items])]
    head, items = (json.loads(text) for text in texts)
    return {**head, "items": items}


def _head(plan: Plan) -> dict[str, Any]:
    """Everything but the items, in the order it is written."""
    return {
        "schema": plan.schema,
        "rig": plan.rig,
        "trip": plan.trip,
        "today": plan.today.isoformat(),
        "depart": plan.depart.isoformat(),
        "return": plan.return_.isoformat(),
        "home_zone": plan.home_zone,
        "edition": plan.edition,
        "product_rule": plan.product_rule,
        "solver": _flat(plan.solver),
        "totals": _totals(plan.totals),
        "risk": _plain(plan.risk),
        "warnings": [warning_row(warning) for warning in plan.warnings],
        "ways_out": list(plan.ways_out),
        "beyond_road_time": [_flat(one) for one in plan.beyond_road_time],
        "problems": [_flat(problem) for problem in plan.problems],
        "assumptions": list(plan.assumptions),
        "legs": [_leg(leg) for leg in plan.legs],
        "slots": [_slot(slot) for slot in plan.slots],
        "crossings": [_flat(crossing) for crossing in plan.crossings],
        "rechecks": [_flat(recheck) for recheck in plan.rechecks],
        "currency": plan.currency,
        "walkround": list(plan.walkround),
        "walkround_minutes": _number(plan.walkround_minutes),
        "shopping": [_need(need) for need in plan.shopping],
        "carry": [_need(need) for need in plan.carry],
        "orders": [_flat(order) for order in plan.orders],
        "spares": [_flat(part) for part in plan.spares],
    }


_encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode


def _lines(value: Any) -> str:
    if isinstance(value, list) and value:
        return "[\n" + ",\n".join(_encode(element) for element in value) + "\n]"
    return _encode(value)


@lru_cache(maxsize=8192)
def _number(value: float | None) -> float | int | None:
    """At most six decimals; whole numbers without a point; never minus zero, NaN or endless."""
    if value is None:
        return None
    if not isfinite(value):
        raise ValueError(f"plan.json holds finite numbers only, found {value}")
    rounded = round(value, DECIMALS)
    return int(rounded) if rounded == int(rounded) else rounded


def _plain(value: Any) -> Any:
    """One field's value as JSON knows it."""
    if isinstance(value, bool) or value is None or isinstance(value, str):
        return value
    if isinstance(value, int | float):
        return _number(value)
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, Origin):
        return _origin(value)
    if isinstance(value, tuple):
        return [_plain(element) for element in value]
    return _flat(value)


def _flat(record: Any) -> dict[str, Any]:
    """A small record whose field names are written unchanged."""
    return {entry.name: _plain(getattr(record, entry.name)) for entry in fields(record)}


def warning_row(warning: PlanWarning) -> dict[str, Any]:
    """A warning as JSON has it; item, unit and position where it is about one thing."""
    only = warning.only
    return {
        "kind": warning.kind,
        "item": only.item if only else None,
        "unit": only.unit if only else None,
        "position": only.position if only else None,
        "text": warning.text,
        "about": [_flat(thing) for thing in warning.about],
    }


def _slot(slot: Slot) -> dict[str, Any]:
    """A slot; each job tells its materials in words too."""
    jobs = [{**_flat(job), "consumables": [full(one) for one in job.materials]} for job in slot.jobs]
    return {**_flat(slot), "jobs": jobs}


def _need(need: Need) -> dict[str, Any]:
    """A need, with its uses in words beside them."""
    return {**_flat(need), "jobs": [use_text(use) for use in need.uses]}


def _origin(origin: Origin) -> dict[str, Any]:
    return {"file": origin.file, "row": origin.row}


def _leg(leg: PlanLeg) -> dict[str, Any]:
    written = _flat(leg)
    return {("from" if key == "from_" else key): value for key, value in written.items()}


def _factor(part: Factor) -> dict[str, Any]:
    return {
        "condition": part.condition,
        "mechanism": part.mechanism,
        "grade": part.grade,
        "multiplier": _number(part.multiplier),
        "low": _number(part.low),
        "high": _number(part.high),
        "source": part.source,
        "basis": part.basis,
        "shared": part.shared,
        "origin": _origin(part.origin),
    }


def _parts_text(parts: tuple[Factor, ...], seen: dict[object, str]) -> str:
    """The parts as JSON text. `seen` keeps for one call what was written: tuples by identity,
    factors by value, since thousands of wear records lean on a few table rows."""
    text = seen.get(id(parts))
    if text is None:
        text = seen[id(parts)] = "[" + ", ".join([_factor_text(part, seen) for part in parts]) + "]"
    return text


def _factor_text(part: Factor, seen: dict[object, str]) -> str:
    origin = part.origin
    key = (
        part.condition, part.mechanism, part.grade, part.multiplier, part.low, part.high, part.basis, part.source,
        part.shared, origin.file, origin.row,
    )  # fmt: skip
    text = seen.get(key)
    if text is None:
        text = seen[key] = _encode(_factor(part))
    return text


def _wear_text(wear: Wear, seen: dict[object, str]) -> str:
    return (
        f'{{"leg": {wear.leg}, "meter": "{wear.meter}", "use": {_number(wear.use)}, '
        f'"multiplier": {_number(wear.multiplier)}, "low": {_number(wear.low)}, '
        f'"high": {_number(wear.high)}, "reserve": {_number(wear.reserve)}, "water_use": {_number(wear.water_use)}, '
        f'"parts": {_parts_text(wear.parts, seen)}, "water": {_parts_text(wear.water, seen)}}}'
    )


def _limit(limit: Limit) -> dict[str, Any]:
    return {
        "meter": limit.meter,
        "interval": _number(limit.interval),
        "used": _number(limit.used),
        "left": _number(limit.left),
        "at_departure": _number(limit.at_departure),
        "at_departure_reserve": _number(limit.at_departure_reserve),
        "unit_of_measure": limit.unit_of_measure,
        "origins": [_origin(origin) for origin in limit.origins],
    }


def _reasons(reasons: Iterable[Reason]) -> list[dict[str, Any]]:
    return [
        {"kind": reason.kind, "text": reason.text, "origins": [_origin(origin) for origin in reason.origins]}
        for reason in reasons
    ]


def _item(item: PlanItem) -> dict[str, Any]:
    return {
        "item": item.item,
        "name": item.name,
        "unit": item.unit,
        "position": item.position,
        "act": item.act,
        "verdict": item.verdict,
        "runs_out": _plain(item.runs_out),
        "runs_out_reserve": _plain(item.runs_out_reserve),
        "placed": list(item.placed),
        "share_used_at_departure": _number(item.share_used_at_departure),
        "share_used_at_return": _number(item.share_used_at_return),
        "rhythm": item.rhythm,
        "harms": item.harms,
        "strands": item.strands,
        "last_done": _plain(item.last_done),
        "last_done_origin": _plain(item.last_done_origin),
        "found": item.found,
        "highest_share": _number(item.highest_share),
        "can_wait": item.can_wait,
        "waits": [{"slot": wait.slot, "share": _number(wait.share)} for wait in item.waits],
        "unmet": item.unmet,
        "risk": _plain(item.risk),
        "limits": [_limit(limit) for limit in item.limits],
        "reasons": _reasons(item.reasons),
    }


def _item_text(item: PlanItem, seen: dict[object, str]) -> str:
    wear = ", ".join([_wear_text(wear, seen) for wear in item.wear])
    return f'{_encode(_item(item))[:-1]}, "wear": [{wear}]}}'


def _total(total: Total) -> dict[str, Any]:
    return {"minutes": _number(total.minutes), "cost": _number(total.cost)}


def _totals(totals: Totals) -> dict[str, Any]:
    return {
        "plan": _total(totals.plan),
        "greedy": _total(totals.greedy),
        "each_alone": _total(totals.each_alone),
        "all_before": _total(totals.all_before),
        "gap": _number(totals.gap),
        "method": totals.method,
    }


def document_of(record: Any) -> dict[str, Any]:
    """Any record of the plan by itself, as `plan.json` writes such a one."""
    return _flat(record)
