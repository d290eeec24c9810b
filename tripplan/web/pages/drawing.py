"""What a save moved, drawn on the trip line: hollow where it was, filled where it is now.

Rounds are where an item runs out without work, squares are work placed.
"""

from collections.abc import Iterable, Mapping, Sequence
from html import escape
from typing import Any

from tripplan.records.plan import Plan
from tripplan.records.words import JobKind, Verdict
from tripplan.sheets import words as say
from tripplan.sheets.pictures.trip_line_route import Sheet, line, route, sheet_for, words

Point = Mapping[str, Any]
DUE, LASTS, SHED, AFTER = "due", "lasts", "shed", "after"
SAME_KM = 1.0
MOST_ROWS = 10
ROW = 30.0
TOLD = ("round: runs out, without work", "square: work placed", "hollow: before", "filled: now")


def moved_points(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Items that run out elsewhere, or whose work moved, between two plans in the form of `plan.json`.

    No checks of the walk-round: they run out every day, and are made every morning.
    """
    before = {_thing(item): item for item in old["items"]}
    found: dict[tuple[Any, ...], dict[str, Any]] = {}
    for item in new["items"]:
        was = before.get(_thing(item))
        if was is None or item["rhythm"] == JobKind.WALK_ROUND:
            continue
        ends, work = (_end(was), _end(item)), (_work(old, was), _work(new, item))
        if _same(*ends) and work[0] == work[1]:
            continue
        point = dict(zip(("was", "now", "was_at", "now_at"), (*ends, *work), strict=True))
        alike = (item["unit"], item["item"], *(str(value) for value in point.values()))
        sides = [*found.get(alike, {}).get("sides", []), *([item["position"]] if item["position"] else [])]
        found[alike] = {"name": item["name"], "unit": item["unit"], "sides": sides, **point}
    return sorted(found.values(), key=lambda point: (_order(point["now"]), point["name"]))


def moved_picture(plan: Plan, points: Sequence[Point], narrow: bool = False) -> str:
    """The points on the line of this plan, as one SVG element; empty when none moved."""
    if not points:
        return ""
    sheet = sheet_for(plan, narrow)
    drawn, y = route(plan, sheet)
    for point in points[:MOST_ROWS]:
        y += ROW + (16 if narrow else 0)
        drawn += _row(sheet, point, y)
    y += 14
    for told in TOLD if narrow else ("; ".join(TOLD),):
        y += 18
        drawn.append(words(0, y, told, sheet.font - 1))
    return _named(sheet, "What moved on the trip line; the same is told in words below.", drawn, y + 10)


def _named(sheet: Sheet, name: str, drawn: Iterable[str], height: float) -> str:
    """What was drawn as one SVG element with that name."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {sheet.width:g} {height:.0f}" role="img" '
        f'aria-label="{escape(name)}" fill="currentColor" font-family="inherit">{"".join(drawn)}</svg>'
    )


def _row(sheet: Sheet, point: Point, y: float) -> Iterable[str]:
    sides = f", {' and '.join(point['sides'])}" if point["sides"] else ""
    name = say.upper_first(f"{point['name']}{sides}")
    room = int((sheet.label_width or sheet.width) / sheet.text_width("x"))
    name = name if len(name) <= room else f"{name[: room - 1].rstrip()}…"
    yield words(0, y + 4 if sheet.label_width else y - 14, name, sheet.font)
    yield line(sheet.depart_x, y, sheet.return_x, y, 0.8)
    was, now = _x(sheet, point["was"]), _x(sheet, point["now"])
    if abs(was - now) > 1:
        yield line(was, y, now, y, 3)
        yield _round(was, y, "hollow")
    yield _round(now, y, "")
    gone = [at for at in point["was_at"] if at not in point["now_at"]]
    come = [at for at in point["now_at"] if at not in point["was_at"]]
    yield from (_square(_x(sheet, at), y, "hollow") for at in gone)
    yield from (_square(_x(sheet, at), y, "") for at in come)


def _round(x: float, y: float, name: str) -> str:
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" class="{name}" stroke="currentColor" stroke-width="1.8"/>'


def _square(x: float, y: float, name: str) -> str:
    return (
        f'<rect x="{x - 4.5:.1f}" y="{y + 4:.1f}" width="9" height="9" class="{name}" stroke="currentColor" '
        'stroke-width="1.8"/>'
    )


def _x(sheet: Sheet, place: str | float) -> float:
    ends = {DUE: sheet.depart_x - 30, SHED: sheet.depart_x - 18, LASTS: sheet.return_x + 10, AFTER: sheet.return_x + 10}
    return ends[place] if isinstance(place, str) else sheet.at(place)


def _end(item: Mapping[str, Any]) -> str | float:
    if item["runs_out"] is not None:
        return float(item["runs_out"]["trip_km"])
    return DUE if item["verdict"] in (Verdict.DUE, Verdict.NO_RECORD) else LASTS


def _work(plan: Mapping[str, Any], item: Mapping[str, Any]) -> list[str | float]:
    slots = {slot["id"]: slot for slot in plan["slots"]}
    own = [slots[name] for name in item["placed"] if name in slots]
    kinds = {"workshop": SHED, "after": AFTER}
    return list(dict.fromkeys(kinds.get(slot["kind"], slot["trip_km"]) for slot in own))


def _same(one: str | float, other: str | float) -> bool:
    if isinstance(one, str) or isinstance(other, str):
        return one == other
    return abs(one - other) < SAME_KM


def _order(place: str | float) -> float:
    return {DUE: -1.0, LASTS: 1e9}.get(place, 0.0) if isinstance(place, str) else place


def _thing(item: Mapping[str, Any]) -> tuple[str, str, str | None]:
    return item["unit"], item["item"], item["position"]


def route_picture(plan: Plan) -> str:
    """The head of the trip line as one SVG element: legs, stops, crossings and days."""
    sheet = sheet_for(plan, True)
    drawn, y = route(plan, sheet)
    return _named(sheet, f"The way of {plan.trip}: legs and stops from departure to return.", drawn, y + 6)
