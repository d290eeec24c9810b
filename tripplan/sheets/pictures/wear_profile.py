"""Wear multipliers along the trip, one small picture for each item: 1 = normal wear.

The line is the typical value, the tinted band the low to high one. One ink.
"""

from collections.abc import Callable, Iterator, Sequence
from math import ceil

from tripplan.records.plan import Plan, PlanItem, Wear
from tripplan.sheets import words as say
from tripplan.sheets.pictures.trip_line_route import LANE, Sheet, dates, km_step, line, sheet_for, svg, words

MOST_ITEMS = 4
PANEL_HEIGHT = 60.0
HEAD = 22.0
LEFT, GUTTER = 34.0, 24.0
Step = tuple[float, float, Wear]


def wear_profile_svg(plan: Plan, items: Sequence[str] = (), *, narrow: bool = False) -> str:
    """The profile of these item ids, or of the four that wear fastest above normal; two columns on the wide sheet."""
    whole = sheet_for(plan, narrow)
    columns = 1 if narrow else 2
    width = (whole.width - (columns - 1) * GUTTER) / columns
    sheet = Sheet(width=width, label_width=0, depart_x=LEFT, return_x=width - 12, font=whole.font,
                  trip_km=whole.trip_km)  # fmt: skip
    chosen = chosen_items(plan, items)
    steps = [_steps(plan, item) for item in chosen]
    top = max((wear.high for panel in steps for _, _, wear in panel), default=2.0)
    highest = float(max(ceil(top), 2))
    drawn: list[str] = []
    bottom = 4.0
    for column in range(columns):
        own = list(zip(chosen, steps, strict=True))[column::columns]
        marks, y = _column(plan, sheet, own, highest) if own or column == 0 else ([], 0.0)
        drawn.append(f'<g transform="translate({column * (width + GUTTER):.1f} 0)">{"".join(marks)}</g>')
        bottom = max(bottom, y)
    drawn += _legend(sheet, bottom + 6)
    return svg(
        f"wear-profile-{'narrow' if narrow else 'wide'}", f"Wear along {plan.trip}", _told(chosen, steps), drawn,
        whole.width, bottom + 18,
    )  # fmt: skip


def _column(
    plan: Plan, sheet: Sheet, panels: Sequence[tuple[PlanItem, Sequence[Step]]], highest: float
) -> tuple[list[str], float]:
    """Panels under each other over one axis of km, legs and dates, and the y below it."""
    drawn: list[str] = []
    y = 4.0
    for item, panel in panels:
        told = sheet.folded(f"{say.upper_first(item.name)} ({item.unit}), by {say.meter(_meter(item) or 'km')}")
        drawn += sheet.rows(0, y + 13, told)
        y += HEAD + (len(told) - 1) * LANE
        drawn += _panel(plan, sheet, panel, highest, y)
        y += PANEL_HEIGHT + 12
    return [*drawn, *_axis(plan, sheet, y), *dates(plan, sheet, y + 48)], y + 60


def chosen_items(plan: Plan, items: Sequence[str]) -> tuple[PlanItem, ...]:
    """One position of each item asked for; without any, of those that wear fastest, each profile once."""
    first: dict[tuple[str, str], PlanItem] = {}
    for item in plan.items:
        if _meter(item) and (not items or item.item in items):
            first.setdefault((item.unit, item.item), item)
    if items:
        return tuple(sorted(first.values(), key=lambda item: items.index(item.item)))
    ranked = sorted(first.values(), key=lambda item: -max(wear.multiplier for wear in _worn(item)))
    different = {_profile(item): item for item in reversed(ranked)}
    return tuple(item for item in ranked if different[_profile(item)] is item)[:MOST_ITEMS]


def _profile(item: PlanItem) -> tuple[tuple[int, float], ...]:
    return tuple((wear.leg, round(wear.multiplier, 2)) for wear in _worn(item))


def _meter(item: PlanItem) -> str | None:
    """The meter whose multiplier is drawn: the item's first that is worn on a leg."""
    return next((wear.meter for wear in item.wear if wear.meter != "months"), None)


def _worn(item: PlanItem) -> tuple[Wear, ...]:
    meter = _meter(item)
    return tuple(wear for wear in item.wear if wear.meter == meter)


def _steps(plan: Plan, item: PlanItem) -> list[Step]:
    legs = {leg.number: leg for leg in plan.legs}
    return [(legs[wear.leg].trip_km_start, legs[wear.leg].end_km, wear) for wear in _worn(item) if wear.leg in legs]


def _panel(plan: Plan, sheet: Sheet, steps: Sequence[Step], highest: float, y: float) -> Iterator[str]:
    def up(value: float) -> float:
        return y + PANEL_HEIGHT * (1 - (min(value, highest) / highest))

    for value in range(0, int(highest) + 1, max(int(highest) // 4, 1)):
        yield line(sheet.depart_x, up(value), sheet.return_x, up(value), 0.5, "" if value == 0 else "1 3")
        yield words(sheet.depart_x - 5, up(value) + 4, str(value), sheet.font - 2, "end")
    yield line(sheet.depart_x, up(1), sheet.return_x, up(1), 1, "4 3")
    for start, end, wear in steps:
        x, width = sheet.at(start), sheet.at(end) - sheet.at(start)
        yield (f'<rect x="{x:.1f}" y="{up(wear.high):.1f}" width="{width:.1f}" '
               f'height="{max(up(wear.low) - up(wear.high), 0.5):.1f}" fill-opacity="0.2"/>')  # fmt: skip
        yield line(x, up(wear.high), x + width, up(wear.high), 0.8)
        yield line(x, up(wear.low), x + width, up(wear.low), 0.8)
    yield _typical(sheet, steps, up)
    for slot in plan.slots:
        if slot.kind == "stop":
            yield line(sheet.at(slot.trip_km), y, sheet.at(slot.trip_km), y + PANEL_HEIGHT, 0.8, "1 3")
    driven = sheet.at(plan.driven_km)
    if driven - sheet.depart_x > sheet.text_width("driven"):
        yield words((sheet.depart_x + driven) / 2, y + PANEL_HEIGHT / 2, "driven", sheet.font - 1, "middle")


def _typical(sheet: Sheet, steps: Sequence[Step], up: Callable[[float], float]) -> str:
    path, before = "", None
    for start, end, wear in steps:
        y = up(wear.multiplier)
        path += f"{'L' if before == start else 'M'}{sheet.at(start):.1f} {y:.1f}L{sheet.at(end):.1f} {y:.1f}"
        before = end
    return f'<path d="{path}" fill="none" stroke="currentColor" stroke-width="2.6"/>' if path else ""


def _axis(plan: Plan, sheet: Sheet, y: float) -> Iterator[str]:
    """Kilometres of the trip, and below them the numbers of the legs; dates follow below both."""
    yield line(sheet.depart_x, y, sheet.return_x, y, 1)
    for km in range(0, int(sheet.trip_km) + 1, km_step(sheet)):
        yield line(sheet.at(km), y, sheet.at(km), y + 4, 1)
        text = f"{km} km" if km == 0 else str(km)
        x = min(sheet.at(km), sheet.width - sheet.text_width(text) / 2)
        yield words(x, y + 16, text, sheet.font - 1, "middle")
    end = 0.0
    for leg in plan.legs:
        x = sheet.at(leg.trip_km_start + leg.distance_km / 2)
        if x - end > sheet.text_width("leg 10"):
            yield words(x, y + 32, f"leg {leg.number}" if end == 0.0 else str(leg.number), sheet.font - 1, "middle")
            end = x


def _legend(sheet: Sheet, y: float) -> Iterator[str]:
    x = 0.0
    samples = (
        (line(0, 0, 22, 0, 2.6), "typical"),
        ('<rect y="-5" width="22" height="10" fill-opacity="0.2"/>' + line(0, -5, 22, -5, 0.8) + line(0, 5, 22, 5, 0.8),
         "low to high"),
        (line(0, 0, 22, 0, 1, "4 3"), "1 = normal"),
    )  # fmt: skip
    for marks, text in samples:
        yield f'<g transform="translate({x:.1f} {y:.1f})">{marks}{words(27, 4, text, sheet.font - 1)}</g>'
        x += 36 + sheet.text_width(text)


def _told(items: Sequence[PlanItem], steps: Sequence[Sequence[Step]]) -> str:
    panels = (
        f"{item.name} ({item.unit}): " + ", ".join(
            f"leg {wear.leg} {wear.multiplier:.1f} ({wear.low:.1f} to {wear.high:.1f})" for _, _, wear in panel) + "."
        for item, panel in zip(items, steps, strict=True)
    )  # fmt: skip
    return f"Wear multiplier by leg, typical with low and high; 1 is normal. {' '.join(panels)}"
