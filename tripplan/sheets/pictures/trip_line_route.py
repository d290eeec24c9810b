"""The head of the trip line: the route, its legs, stops, crossings, km and dates as SVG.

Everything is told by shape and words; the picture has one ink, `currentColor`.
"""

import textwrap
from collections.abc import Iterable, Iterator
from html import escape

from msgspec import Struct

from tripplan.records.plan import Plan, PlanLeg
from tripplan.records.plan_work import Slot
from tripplan.sheets import words as say

DASHES = {"sealed": "", "gravel": "11 3", "track": "5 3", "sand": "2 3", "rock": "9 2 2 2"}
TOOTH_SPACING = {"light": 15.0, "moderate": 9.0, "severe": 5.0}
CHARACTER_WIDTH = 0.56
LANE = 16.0
TICK_STEPS_KM = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000)


class Sheet(Struct, frozen=True, kw_only=True):
    """Where things go across the picture, in SVG units. `label_width` 0 stacks labels."""

    width: float
    label_width: float
    depart_x: float
    return_x: float
    font: float
    trip_km: float

    def at(self, trip_km: float) -> float:
        """The x of a km of the trip; points past the ends sit on the ends."""
        share = min(max(trip_km / self.trip_km, 0.0), 1.0)
        return self.depart_x + share * (self.return_x - self.depart_x)

    def folded(self, text: str, room: float | None = None) -> list[str]:
        """The text in as many lines as fit side by side with so much room, or across the sheet."""
        return textwrap.wrap(text, max(int((room or self.width) / self.text_width("x")), 8)) or [""]

    def rows(self, x: float, y: float, texts: Iterable[str], lane: float = LANE) -> list[str]:
        """Lines of text under each other, the first on that baseline."""
        return [words(x, y + n * lane, text, self.font) for n, text in enumerate(texts)]

    def text_width(self, text: str) -> float:
        """A generous estimate, since no font is at hand."""
        return len(text) * self.font * CHARACTER_WIDTH


def sheet_for(plan: Plan, narrow: bool) -> Sheet:
    """The wide sheet for a page or desk, the narrow one for a phone."""
    trip_km = plan.trip_km if plan.legs else 1.0
    if narrow:
        return Sheet(width=340, label_width=0, depart_x=42, return_x=312, font=14, trip_km=trip_km)
    return Sheet(width=760, label_width=262, depart_x=302, return_x=736, font=12.5, trip_km=trip_km)


def line(x1: float, y1: float, x2: float, y2: float, width: float = 1.5, dash: str = "") -> str:
    """A straight stroke."""
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}" fill="none" stroke="currentColor" '
        f'stroke-width="{width:g}"{dashed}/>'
    )


def words(x: float, y: float, text: str, size: float, anchor: str = "start") -> str:
    """A piece of text on its baseline."""
    place = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}"{place}>{escape(say.printable(text))}</text>'


def clear(texts: str) -> str:
    """Pieces of text with the paper around their letters, so that no line runs through them."""
    return f'<g stroke="Canvas" stroke-width="4" paint-order="stroke">{texts}</g>'


def svg(name: str, title: str, told: str, drawn: Iterable[str], width: float, height: float) -> str:
    """What was drawn as one SVG element, with its title and what it tells for whoever cannot see it."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:.0f}" role="img" '
        f'aria-labelledby="{name}-title {name}-desc" fill="currentColor" font-family="inherit">'
        f'<title id="{name}-title">{escape(say.printable(title))}</title>'
        f'<desc id="{name}-desc">{escape(say.printable(told))}</desc>{"".join(drawn)}</svg>'
    )


def km_step(sheet: Sheet) -> int:
    """How many km lie between two marks of the axis, so that their figures do not touch."""
    room = sheet.return_x - sheet.depart_x
    return next((step for step in TICK_STEPS_KM if sheet.trip_km / step * 46 <= room), TICK_STEPS_KM[-1])


def lanes(sheet: Sheet, labels: Iterable[tuple[float, str]]) -> list[tuple[int, float, float, str]]:
    """Labels put in the first lane where they do not touch: lane, text x, mark x, text as the sheet has room for it."""
    ends: list[float] = []
    placed = []
    for mark_x, text in ((mark_x, _shortened(sheet, name)) for mark_x, name in sorted(labels)):
        width = sheet.text_width(text)
        start = max(min(mark_x - width / 2, sheet.width - width), 0.0)
        lane = next((n for n, end in enumerate(ends) if end + 6 <= start), len(ends))
        if lane == len(ends):
            ends.append(0.0)
        ends[lane] = start + width
        placed.append((lane, start, mark_x, text))
    return placed


def _shortened(sheet: Sheet, name: str) -> str:
    """A name that is wider than the sheet without its middle: its end often tells it from the next."""
    most = int(sheet.width / sheet.text_width("x"))
    if len(name) <= most:
        return name
    head, tail = most // 2, most - most // 2 - 1
    return f"{name[:head].rstrip()}…{name[-tail:].lstrip()}"


def stop_labels(plan: Plan, sheet: Sheet) -> list[tuple[float, str]]:
    """The names over the route: where it starts, the stops, where it ends."""
    names = [(sheet.at(slot.trip_km), slot.place) for slot in plan.slots if slot.kind == "stop"]
    if plan.legs:
        names.append((sheet.depart_x, plan.legs[0].from_))
        names.append((sheet.return_x, plan.legs[-1].to))
    return names


def route(plan: Plan, sheet: Sheet, has_km: bool = True) -> tuple[list[str], float]:
    """The strokes of the route head and the y below it; without the km where there is little room."""
    placed = lanes(sheet, stop_labels(plan, sheet))
    depth = max((lane for lane, *_ in placed), default=0) + 1
    y = depth * LANE + 26
    drawn = [line(mark_x, (depth - lane) * LANE, mark_x, y + 7, 1) for lane, _, mark_x, _ in placed]
    names = "".join(words(start, (depth - lane) * LANE - 3, text, sheet.font) for lane, start, _, text in placed)
    drawn.append(clear(names))
    for leg in plan.legs:
        drawn += _leg(leg, sheet, y)
    drawn += _crossings(plan, sheet, y)
    y_axis = y + 24
    drawn += _driven(plan, sheet, y + 12)
    axis, bottom = _axis(plan, sheet, y_axis) if has_km else _days_alone(plan, sheet, y_axis)
    return drawn + axis, bottom


def _leg(leg: PlanLeg, sheet: Sheet, y: float) -> Iterator[str]:
    start, end = sheet.at(leg.trip_km_start), sheet.at(leg.end_km)
    yield line(start, y, end, y, 8 if leg.remote else 3, DASHES.get(leg.surface, ""))
    spacing = TOOTH_SPACING.get(leg.corrugation)
    if spacing:
        top = y - (6 if leg.remote else 4)
        count = max(int((end - start) / spacing), 1)
        step = (end - start) / count
        teeth = "".join(f"l{step / 2:.2f} -4l{step / 2:.2f} 4" for _ in range(count))
        yield f'<path d="M{start:.1f} {top:.1f}{teeth}" fill="none" stroke="currentColor"/>'
    if end - start >= sheet.text_width(str(leg.number)) + 2:
        yield words((start + end) / 2, y + 19, str(leg.number), sheet.font - 1, "middle")


def _crossings(plan: Plan, sheet: Sheet, y: float) -> Iterator[str]:
    for crossing in plan.crossings:
        x = sheet.at(crossing.trip_km)
        for lift in (13, 17):
            yield (
                f'<path d="M{x - 9:.1f} {y - lift}q2.25 -4 4.5 0t4.5 0t4.5 0t4.5 0" fill="none" '
                'stroke="currentColor" stroke-width="1.6"/>'
            )
        yield line(x, y - 11, x, y + 5, 1)


def _driven(plan: Plan, sheet: Sheet, y: float) -> Iterator[str]:
    if plan.driven_km:
        end = sheet.at(plan.driven_km)
        yield line(sheet.depart_x, y - 4, end, y - 4, 2, "1 2")
        yield f'<path d="M{end:.1f} {y - 12:.1f}v12" stroke="currentColor" stroke-width="2"/>'


def _axis(plan: Plan, sheet: Sheet, y: float) -> tuple[list[str], float]:
    """A rule with km above and dates below; labels that would touch are left out."""
    drawn = [line(sheet.depart_x, y + 4, sheet.return_x, y + 4, 1)]
    end = 0.0
    for km in range(0, int(sheet.trip_km) + 1, km_step(sheet)):
        x = sheet.at(km)
        drawn.append(line(x, y + 4, x, y + 8, 1))
        text = f"{km} km" if km == 0 else str(km)
        if x - sheet.text_width(text) / 2 > end:
            drawn.append(words(x, y + 20, text, sheet.font - 1, "middle"))
            end = x + sheet.text_width(text) / 2 + 4
    drawn += dates(plan, sheet, y + 35)
    return drawn, y + 42


def _days_alone(plan: Plan, sheet: Sheet, y: float) -> tuple[list[str], float]:
    """The rule with the days alone below it."""
    return [line(sheet.depart_x, y + 4, sheet.return_x, y + 4, 1), *dates(plan, sheet, y + 18)], y + 22


def dates(plan: Plan, sheet: Sheet, y: float) -> Iterator[str]:
    """The day each leg starts and the day of return; labels that would touch are left out."""
    days = [(sheet.at(leg.trip_km_start), leg.date) for leg in plan.legs]
    days.append((sheet.return_x, plan.return_))
    first, *middle, last = days if len(days) > 1 else [*days, *days]
    closing = min(last[0], sheet.width - sheet.text_width("30 Sep") / 2)
    end = 0.0
    for x, day in (first, *middle):
        half = sheet.text_width(say.axis_day(day)) / 2
        if x - half > end and x + half + 6 < closing - half:
            yield words(x, y, say.axis_day(day), sheet.font - 1, "middle")
            end = x + half + 5
    yield words(closing, y, say.axis_day(last[1]), sheet.font - 1, "middle")


def slot_x(plan: Plan, sheet: Sheet, slot: Slot) -> float:
    """Where a slot sits: workshop days left of the departure, after the return right of it."""
    if slot.kind == "after":
        return sheet.return_x + 12
    if slot.kind == "stop":
        return sheet.at(slot.trip_km)
    days = [other.id for other in plan.slots if other.kind == "workshop"]
    return sheet.depart_x - 28 + 20 * (days.index(slot.id) + 0.5) / len(days)
