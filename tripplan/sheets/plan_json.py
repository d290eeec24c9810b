"""`plan.json`: the whole plan as one JSON document, field names as the contract has them.

Records are written field by field in the order they stand in `records/`. A plan of 200 items on 60 legs holds
tens of thousands of wear records, so those are put together by hand. One array element a line, so that two plans
compare by line.
"""

import json
from collections import deque
from collections.abc import Mapping, Sequence
from datetime import date
from functools import cache, lru_cache
from math import isfinite
from typing import Any

from tripplan.files.plan_file import PASSED
from tripplan.records.facts_in import Origin
from tripplan.records.plan import Factor, Need, Plan, PlanItem, PlanWarning, Wear
from tripplan.records.plan_work import Job
from tripplan.sheets.materials import full
from tripplan.sheets.words import use_text

DECIMALS = 6
AS_THEY_ARE, NUMBERS = (str, bool, type(None)), (int, float)
_LAST_TOLD: deque[tuple[Plan, dict[str, Any]]] = deque(maxlen=2)


def plan_json(plan: Plan, passed: Sequence[Mapping[str, Any]] = ()) -> str:
    """The plan as JSON text: stable order, ISO dates, no NaN, a line for each array element.

    `passed` are slots of an earlier plan that are past and of which nobody has said that they were done.
    """
    told = outline(plan)
    head = {key: value for key, value in told.items() if key != "items"} | ({PASSED: list(passed)} if passed else {})
    parts = [f"{_encode(key)}: {_lines(value)}" for key, value in head.items()]
    seen: dict[int, str] = {}
    items = ",\n".join(_item_text(own, item.wear, seen) for own, item in zip(told["items"], plan.items, strict=True))
    parts.append(f'"items": [\n{items}\n]')
    return "{\n" + ",\n".join(parts) + "\n}\n"


def plan_dict(plan: Plan) -> dict[str, Any]:
    """What a reader of `plan.json` gets: plain dicts, lists, text and numbers."""
    document: dict[str, Any] = json.loads(plan_json(plan))
    return document


def outline(plan: Plan) -> dict[str, Any]:
    """The plan in the form of `plan.json` without the wear of each leg, for comparing one with another.

    It is for reading only: one plan is compared and written, and the new one of a save is the old one of the next.
    """
    known = next((told for one, told in tuple(_LAST_TOLD) if one is plan), None)
    if known is None:
        known = document_of(plan, "items") | {"items": [document_of(item, "wear") for item in plan.items]}
        _LAST_TOLD.append((plan, known))
    return known


def document_of(record: Any, *left_out: str) -> dict[str, Any]:
    """Any record of the plan by itself, as `plan.json` writes such a one, with words beside materials and uses."""
    if isinstance(record, PlanWarning):
        return warning_row(record)
    told = {
        name.rstrip("_"): _plain(getattr(record, name)) for name in _names(record.__class__) if name not in left_out
    }
    if isinstance(record, PlanItem):
        told["strands"] = record.strands  # written with its point from the first version on
    if isinstance(record, Job):
        told["consumables"] = [full(one) for one in record.materials]
    if isinstance(record, Need):
        told["jobs"] = [use_text(use) for use in record.uses]
    return told


@cache
def _names(kind: type[Any]) -> tuple[str, ...]:
    return tuple(kind.__struct_fields__)


def warning_row(warning: PlanWarning) -> dict[str, Any]:
    """A warning as JSON has it; item, unit and position where it is about one thing."""
    thing = {name: getattr(warning.only, name, None) for name in ("item", "unit", "position")}
    return {"kind": warning.kind, **thing, "text": warning.text, "about": _plain(warning.about)}


_encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode


def _lines(value: Any) -> str:
    if isinstance(value, list) and value:
        return "[\n" + ",\n".join(_encode(element) for element in value) + "\n]"
    return _encode(value)


@lru_cache(maxsize=8192)
def _number(value: float) -> float | int:
    """At most six decimals; whole numbers without a point; never minus zero, NaN or endless."""
    if not isfinite(value):
        raise ValueError(f"plan.json holds finite numbers only, found {value}")
    rounded = round(value, DECIMALS)
    return int(rounded) if rounded == int(rounded) else rounded


def _plain(value: Any) -> Any:
    """One field's value as JSON knows it."""
    if isinstance(value, AS_THEY_ARE):
        return value
    if isinstance(value, NUMBERS):
        return _number(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return [_plain(element) for element in value]
    return value.model_dump() if isinstance(value, Origin) else document_of(value)


def _item_text(own: dict[str, Any], wear: Sequence[Wear], seen: dict[int, str]) -> str:
    return f'{_encode(own)[:-1]}, "wear": [{", ".join([_wear_text(one, seen) for one in wear])}]}}'


def _wear_text(wear: Wear, seen: dict[int, str]) -> str:
    return (
        f'{{"leg": {wear.leg}, "meter": "{wear.meter}", "use": {_number(wear.use)}, '
        f'"multiplier": {_number(wear.multiplier)}, "low": {_number(wear.low)}, '
        f'"high": {_number(wear.high)}, "reserve": {_number(wear.reserve)}, "water_use": {_number(wear.water_use)}, '
        f'"parts": {_parts_text(wear.parts, seen)}, "water": {_parts_text(wear.water, seen)}}}'
    )


def _parts_text(parts: tuple[Factor, ...], seen: dict[int, str]) -> str:
    """The parts as JSON text. `seen` keeps for one plan what was written, tuples and factors by identity,
    since thousands of wear records lean on a few table rows."""
    if id(parts) not in seen:
        for part in parts:
            if id(part) not in seen:
                seen[id(part)] = _encode(document_of(part))
        seen[id(parts)] = f"[{', '.join([seen[id(part)] for part in parts])}]"
    return seen[id(parts)]
