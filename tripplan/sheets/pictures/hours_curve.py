"""What each hour of work buys: work hours across, standing hours to be expected upwards, and where this plan stands.

The line runs from nothing done to all work at home and, on the way, what the plan does there; it is steep where an
hour saves much. One ink.
"""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from tripplan.records.plan import Plan
from tripplan.records.plan_risk import CurvePoint, Risk
from tripplan.sheets.pictures.trip_line_route import LANE, Sheet, clear, line, sheet_for, svg, words

HEIGHT = {True: 190.0, False: 210.0}
TOP, LEFT, RIGHT = 24.0, 40.0, 14.0
STEPS = (0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500)
ALL_WORK = "all work there is"
HALF, MOST = 0.5, 0.9
"""Shares of all that can be saved at which the line is read off in words."""


class _Frame(Struct, frozen=True):
    """The picture's measures: hours to places on the sheet."""

    sheet: Sheet
    work_hours: float
    standing_hours: float
    height: float

    def at(self, work_hours: float, standing_hours: float) -> tuple[float, float]:
        """The place of a point."""
        x = LEFT + work_hours / self.work_hours * (self.sheet.width - LEFT - RIGHT)
        return x, TOP + (1 - standing_hours / self.standing_hours) * self.height


def hours_curve_svg(plan: Plan, *, narrow: bool = False) -> str | None:
    """The picture; None where the plan tells no risk, or no work saves anything."""
    risk = plan.risk
    if risk is None or len(risk.curve) < 2 or risk.curve[0].standing_hours_expected <= 0:
        return None
    sheet = sheet_for(plan, narrow)
    most = max(risk.curve[-1].work_hours, risk.planned_work_hours)
    frame = _Frame(sheet, most * 1.02, risk.curve[0].standing_hours_expected * 1.05, HEIGHT[narrow])
    drawn = [*_axes(frame), _line(frame, risk.curve), *_ends(frame, risk), *_plan_mark(frame, risk)]
    bottom = TOP + frame.height + 40
    lines = [piece for text in savings(risk.curve) for piece in sheet.folded(text)]
    drawn += sheet.rows(0, bottom, lines)
    name, title = f"hours-curve-{'narrow' if narrow else 'wide'}", f"What each hour of work buys, {plan.trip}"
    return svg(name, title, _told(risk), drawn, sheet.width, bottom + LANE * len(lines))


def savings(curve: Sequence[CurvePoint]) -> tuple[str, ...]:
    """What the first, the next and the last hours save, a sentence each."""
    top, low = curve[0].standing_hours_expected, curve[-1].standing_hours_expected
    if top <= low:
        return ("No work on this trip saves any standing.",)
    spots = [
        next(n for n, point in enumerate(curve) if top - point.standing_hours_expected >= share * (top - low) - 1e-9)
        for share in (HALF, MOST, 1.0)
    ]
    found, before = [], curve[0]
    for name, spot in zip(("The first", "The next", "The rest,"), spots, strict=True):
        point = curve[spot]
        work = point.work_hours - before.work_hours
        saved = before.standing_hours_expected - point.standing_hours_expected
        if work > 0 and saved > 0:
            found.append(f"{name} {work:.1f} h of work: {saved / work:.1f} h of standing saved by each hour.")
        before = point
    return tuple(found)


def _axes(frame: _Frame) -> Iterator[str]:
    font = frame.sheet.font
    left, bottom = frame.at(0, 0)
    right, _ = frame.at(frame.work_hours, 0)
    yield line(left, bottom, right, bottom, 1)
    yield line(left, TOP, left, bottom, 1)
    yield words(0, 12, "h of standing to be expected", font - 1)
    for hours in _ticks(frame.standing_hours, 4):
        _, y = frame.at(0, hours)
        yield line(left - 4, y, left, y, 1)
        yield words(left - 7, y + 4, f"{hours:g}", font - 1, "end")
    for hours in _ticks(frame.work_hours, 5 if frame.sheet.width < 500 else 9):
        x, _ = frame.at(hours, 0)
        yield line(x, bottom, x, bottom + 4, 1)
        told = f"{hours:g} h of work" if hours == 0 else f"{hours:g}"
        yield words(left if hours == 0 else x, bottom + 18, told, font - 1, "start" if hours == 0 else "middle")


def _ticks(most: float, count: int) -> list[float]:
    step = next((s for s in STEPS if most / s <= count), STEPS[-1])
    return [step * n for n in range(int(most / step) + 1)]


def _line(frame: _Frame, curve: Sequence[CurvePoint]) -> str:
    places = [frame.at(point.work_hours, point.standing_hours_expected) for point in curve]
    path = "L".join(f"{x:.1f} {y:.1f}" for x, y in places)
    return f'<path d="M{path}" fill="none" stroke="currentColor" stroke-width="2.6" stroke-linejoin="round"/>'


def _ends(frame: _Frame, risk: Risk) -> Iterator[str]:
    first, last = risk.curve[0], risk.curve[-1]
    x, y = frame.at(first.work_hours, first.standing_hours_expected)
    yield words(x + 8, y + 4, f"nothing done: {first.standing_hours_expected:.0f} h", frame.sheet.font)
    x, y = frame.at(last.work_hours, last.standing_hours_expected)
    yield words(x, y - 8, f"{ALL_WORK}: {last.standing_hours_expected:.0f} h", frame.sheet.font, "end")


def _plan_mark(frame: _Frame, risk: Risk) -> Iterator[str]:
    x, y = frame.at(risk.planned_work_hours, risk.standing_hours_expected.plan)
    _, bottom = frame.at(0, 0)
    yield line(x, y, x, bottom, 1, "2 3")
    yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5"/>'
    told = f"this plan: {risk.planned_work_hours:.0f} h of work, {risk.standing_hours_expected.plan:.0f} h"
    half = frame.sheet.text_width(told) / 2
    middle = min(max(x, LEFT + half + 4), frame.sheet.width - half)
    spot = _clear(frame, risk.curve, (middle - half, middle + half), y)
    yield clear(words(middle, spot, told, frame.sheet.font, "middle"))


def _clear(frame: _Frame, curve: Sequence[CurvePoint], between: tuple[float, float], y: float) -> float:
    """A baseline for words between two places: below the line, which falls, or above it where there is no room."""
    left, right = between
    places = [frame.at(point.work_hours, point.standing_hours_expected) for point in curve]
    near = [y, *(height for place, height in places if left <= place <= right)]
    below = max(near) + 24
    if below < TOP + frame.height - 6:
        return below
    before = [height for place, height in places if place <= left][-1:]
    return min([*near, *before]) - 12


def _told(risk: Risk) -> str:
    first, last = risk.curve[0], risk.curve[-1]
    return (
        f"With nothing done {first.standing_hours_expected:.1f} h of standing are to be expected, with this plan "
        f"({risk.planned_work_hours:.1f} h of work) {risk.standing_hours_expected.plan:.1f} h, with {ALL_WORK}, at home and on "
        f"the way ({last.work_hours:.1f} h of work) {last.standing_hours_expected:.1f} h. "
        + " ".join(savings(risk.curve))
    )
