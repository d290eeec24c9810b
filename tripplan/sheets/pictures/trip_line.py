"""The trip line: the route from departure to return, and every item drawn to where it runs out.

Our own picture, as SVG text in one ink. Open mark = runs out typically, bar = with
reserve, filled square = work placed, arrow = lasts to the return. Left and right are one
line where they are equal. Long plans become several pictures, each short of a page.
"""

from collections.abc import Iterable, Sequence

from tripplan.records.plan import DUE, LASTS, NO_RECORD, Plan, PlanItem
from tripplan.sheets import words as say
from tripplan.sheets.pictures.trip_line_route import DASHES, LANE, Sheet, line, route, sheet_for, slot_x, svg, words
from tripplan.sheets.worksheet.work_order import WALK_ROUND, first_km, is_done_at_home, merged, verdict_counts

TALLEST = 960.0
SHORT_LINE = 30.0
ROW_LANE, ROW_PAD, LEAST_ROW = 13.0, 2.4, 15.4
SHORT_COLUMNS = 3
NO_HEAD: tuple[list[str], float] = ([], 0.0)
WITHOUT_WORK = "2 3"
DONE_AT_HOME = "Due, done before departure, then lasts to the return: "
WELL_BEYOND = "Last beyond the return; the thick part is the share used by then:"
ON_WALK_ROUND = "Looked at on the walk-round, again and again: "
Drawn = tuple[float, list[str]]


def trip_line_pictures(plan: Plan, *, narrow: bool = False) -> tuple[str, ...]:
    """The whole trip line as one or more SVG elements, in reading order.

    The wide form is cut into pictures no taller than a printed page.
    """
    sheet = sheet_for(plan, narrow)
    head = route(plan, sheet)
    first, second = split_items(plan)
    looks = [item for item in second if item.rhythm == WALK_ROUND]
    rows = [*(_row(plan, sheet, item) for item in first), _legend(plan, sheet)]
    grouped = [item for item in merged(plan.items) if _is_plain_start(plan, item)]
    cells = _paragraph(sheet, DONE_AT_HOME, grouped)
    cells += _short_rows(sheet, WELL_BEYOND, [item for item in second if item not in looks])
    cells += _paragraph(sheet, ON_WALK_ROUND, looks)
    room = float("inf") if narrow else TALLEST
    pages = _pages([*rows, *cells], room - head[1])
    bodies = [(head if number == 0 or page[0] in rows else NO_HEAD, page) for number, page in enumerate(pages)]
    return tuple(
        _picture(plan, sheet, own_head, page, number, len(bodies)) for number, (own_head, page) in enumerate(bodies, 1)
    )


def split_items(plan: Plan) -> tuple[tuple[PlanItem, ...], tuple[PlanItem, ...]]:
    """Lines for the first block, by where they run out, and the short lines below it.

    What is due, done before departure and then lasts is told in words. The second holds
    what lasts beyond the return, and the looks of the walk-round.
    """
    lines = [item for item in merged(plan.items) if not _is_plain_start(plan, item)]
    second = [item for item in lines if _lasts_well(plan, item)]
    first = sorted((item for item in lines if not _lasts_well(plan, item)), key=_rank)
    return tuple(first), tuple(sorted(second, key=lambda item: -(item.share_used_at_return or 0.0)))


def _is_plain_start(plan: Plan, item: PlanItem) -> bool:
    """True when the line of an item would only say: due, done at home, then lasts."""
    is_at_start = first_km(item) in (0.0, float("inf"))
    return item.verdict == DUE and is_at_start and is_done_at_home(plan, item) and item.rhythm != WALK_ROUND


def _paragraph(sheet: Sheet, heading: str, items: Sequence[PlanItem]) -> list[Drawn]:
    """Items in running words across the sheet."""
    if not items:
        return []
    text = heading + "; ".join(say.item(item.name, item.position) for item in items) + "."
    told = sheet.folded(text)
    return [(len(told) * LANE + 4, sheet.rows(0, 13, told))]


def _lasts_well(plan: Plan, item: PlanItem) -> bool:
    if item.rhythm == WALK_ROUND:
        return True
    placed = set(item.placed)
    before_return = placed - {slot.id for slot in plan.slots if slot.kind == "after"}
    return item.verdict == LASTS and not before_return and first_km(item) == float("inf")


def _rank(item: PlanItem) -> tuple[bool, float, float]:
    return item.verdict not in (DUE, NO_RECORD), first_km(item), -(item.share_used_at_return or 0.0)


def _pages(blocks: Sequence[Drawn], room: float) -> list[list[Drawn]]:
    pages: list[list[Drawn]] = [[]]
    used = 0.0
    for block in blocks:
        if used + block[0] > room and pages[-1]:
            pages.append([])
            used = 0.0
        pages[-1].append(block)
        used += block[0]
    return pages


def _picture(
    plan: Plan, sheet: Sheet, head: tuple[list[str], float], page: Sequence[Drawn], number: int, of: int
) -> str:
    drawn, y = list(head[0]), head[1] + 6
    for height, marks in page:
        drawn.append(f'<g transform="translate(0 {y:.1f})">{"".join(marks)}</g>')
        y += height
    return _svg(plan, sheet, drawn, y + 6, number, of)


def _svg(plan: Plan, sheet: Sheet, drawn: Iterable[str], height: float, number: int, of: int) -> str:
    part = f", part {number} of {of}" if of > 1 else ""
    told = (
        f"From {say.day(plan.depart)} to {say.day(plan.return_)}, {say.km(sheet.trip_km)} in "
        f"{say.count(len(plan.legs), 'leg', 'legs')}. {' '.join(verdict_counts(plan))} "
        "The tables of this sheet say the same in words."
    )
    key = f"trip-line-{'wide' if sheet.label_width else 'narrow'}-{number}"
    return svg(key, f"Trip line of {plan.trip}{part}", told, drawn, sheet.width, height)


def _row(plan: Plan, sheet: Sheet, item: PlanItem) -> Drawn:
    """One item's label and line, in a space of its own whose top is 0."""
    size = sheet.font
    room = sheet.label_width or sheet.width
    name = say.upper_first(say.item(item.name, item.position))
    told = sheet.folded(name, room)
    lane = ROW_LANE if sheet.label_width else LANE
    if sheet.label_width:
        height = max(len(told) * lane + ROW_PAD, LEAST_ROW)
        middle = height / 2
        first = middle - (len(told) - 1) * lane / 2 + size * 0.35
    else:
        height = len(told) * lane + 24
        middle, first = height - 13, size
    labels = sheet.rows(0, first, told, lane)
    top = 0.0 if sheet.label_width else middle - 9
    return height, labels + _guides(plan, sheet, top, height) + _life(plan, sheet, item, middle)


def _guides(plan: Plan, sheet: Sheet, top: float, bottom: float) -> list[str]:
    """Thin uprights at departure, stops and return, so that the eye finds the place."""
    stops = (slot_x(plan, sheet, slot) for slot in plan.slots if slot.kind == "stop")
    ends = [line(x, top, x, bottom, 0.7) for x in (sheet.depart_x, sheet.return_x)]
    return ends + [line(x, top, x, bottom, 0.7, "1 3") for x in stops]


def _life(plan: Plan, sheet: Sheet, item: PlanItem, y: float) -> list[str]:
    """The line to where the item runs out, its marks, and the lines after work."""
    squares = [slot_x(plan, sheet, slot) for slot in plan.slots if slot.id in item.placed]
    drawn = []
    if item.verdict in (DUE, NO_RECORD) and item.runs_out is None:
        x = sheet.depart_x - 36
        is_known = item.verdict == DUE
        drawn.append(_open_mark(x, y) if is_known else words(x, y + 5, "?", sheet.font + 2, "middle"))
    elif item.runs_out is None:
        end = sheet.return_x + 8
        drawn += [*_old_line(sheet, squares, end - 5, y), _arrow(end, y)]
    else:
        end = sheet.at(item.runs_out.trip_km)
        drawn += [*_old_line(sheet, squares, end - 4, y), _open_mark(end, y)]
    if item.runs_out_reserve is not None:
        x = sheet.at(item.runs_out_reserve.trip_km)
        drawn.append(line(x, y - 6, x, y + 6, 3))
    return drawn + _renewed(sheet, squares, y)


def _old_line(sheet: Sheet, squares: Sequence[float], end: float, y: float) -> list[str]:
    """Solid up to the first work, dotted beyond it: what would be without the work."""
    turn = min(max(min(squares, default=end), sheet.depart_x), end)
    solid = [line(sheet.depart_x, y, turn, y)] if turn > sheet.depart_x else []
    return solid + ([line(turn, y, end, y, 1.5, WITHOUT_WORK)] if end > turn else [])


def _renewed(sheet: Sheet, squares: Sequence[float], y: float) -> list[str]:
    drawn = []
    for start, end in zip(squares, (*squares[1:], sheet.return_x), strict=False):
        if start < sheet.return_x:
            drawn.append(line(start, y + 5, min(end, sheet.return_x), y + 5))
        drawn.append(f'<rect x="{start - 4.5:.1f}" y="{y - 4:.1f}" width="9" height="11"/>')
    return drawn


def _open_mark(x: float, y: float) -> str:
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="none" stroke="currentColor" stroke-width="1.8"/>'


def _arrow(x: float, y: float) -> str:
    return f'<path d="M{x - 8:.1f} {y - 4.5:.1f}l8 4.5l-8 4.5z"/>'


def _short_rows(sheet: Sheet, heading: str, items: Sequence[PlanItem]) -> list[Drawn]:
    """Items with a short line each under a heading; its thick part is the share used."""
    if not items:
        return []
    told = sheet.folded(heading)
    columns = SHORT_COLUMNS if sheet.label_width else 1
    room = sheet.width / columns
    blocks: list[Drawn] = [(len(told) * LANE + 10, sheet.rows(0, 18, told))]
    for start in range(0, len(items), columns):
        cells = [_cell(sheet, item, n * room, room) for n, item in enumerate(items[start : start + columns])]
        blocks.append((max(height for height, _ in cells), [mark for _, marks in cells for mark in marks]))
    return blocks


def _cell(sheet: Sheet, item: PlanItem, x: float, room: float) -> Drawn:
    share = item.share_used_at_return
    used = ", not known" if share is None else f", {say.percent(share)}"
    text = f"{say.upper_first(say.item(item.name, item.position))}{used}"
    told = sheet.folded(text, room - SHORT_LINE - 16)
    drawn = [line(x, 9, x + SHORT_LINE, 9)]
    if item.placed:
        drawn.append(f'<rect x="{x + SHORT_LINE - 2:.1f}" y="4" width="9" height="11"/>')
    else:
        drawn.append(_arrow(x + SHORT_LINE + 6, 9))
    if share:
        drawn.append(line(x, 9, x + SHORT_LINE * min(share, 1.0), 9, 6))
    lane = ROW_LANE if sheet.label_width else LANE
    drawn += sheet.rows(x + SHORT_LINE + 12, 13, told, lane)
    return len(told) * lane + 3, drawn


def _legend(plan: Plan, sheet: Sheet) -> Drawn:
    """What each mark means, right below the lines, in as many rows as the width asks for."""
    size = sheet.font - 1
    entries = [(_sample(sign), text) for sign, text in _signs(plan)]
    drawn, x, y = [], 0.0, 18.0
    for marks, text in entries:
        width = 34 + sheet.text_width(text)
        if x and x + width > sheet.width:
            x, y = 0.0, y + 18
        drawn.append(f'<g transform="translate({x:.1f} {y:.1f})">{marks}{words(28, 4, text, size)}</g>')
        x += width + 8
    return y + 12, drawn


def _signs(plan: Plan) -> list[tuple[str, str]]:
    signs = [("open", "runs out, typical"), ("bar", "runs out, with reserve"), ("square", "work placed"),
             ("without", "without the work"), ("arrow", "lasts to the return"),
             ("question", "no record")]  # fmt: skip
    signs += [(surface, surface) for surface in DASHES if any(leg.surface == surface for leg in plan.legs)]
    if any(leg.remote for leg in plan.legs):
        signs.append(("remote", "thick: remote"))
    if any(leg.corrugation not in ("none", "") for leg in plan.legs):
        signs.append(("teeth", "corrugated, closer is worse"))
    if plan.crossings:
        signs.append(("wave", "water crossing"))
    if any(leg.driven for leg in plan.legs):
        signs.append(("driven", "driven"))
    return signs


def _sample(sign: str) -> str:
    if sign in DASHES:
        return line(0, 0, 24, 0, 3, DASHES[sign])
    samples = {
        "open": line(0, 0, 14, 0) + _open_mark(18, 0),
        "bar": line(0, 0, 22, 0) + line(14, -7, 14, 7, 3),
        "square": line(12, 3, 24, 3) + '<rect x="5" y="-5" width="9" height="11"/>',
        "without": line(0, 0, 24, 0, 1.5, WITHOUT_WORK),
        "arrow": line(0, 0, 16, 0) + _arrow(24, 0),
        "question": words(8, 4, "?", 12.5),
        "remote": line(0, 0, 24, 0, 8),
        "teeth": line(0, 3, 24, 3, 3) + '<path d="M0 -1l3 -4l3 4l3 -4l3 4l3 -4l3 4l3 -4l3 4" fill="none" '
        'stroke="currentColor"/>',
        "wave": '<path d="M2 2q2.25 -4 4.5 0t4.5 0t4.5 0t4.5 0M2 -3q2.25 -4 4.5 0t4.5 0t4.5 0t4.5 0" '
        'fill="none" stroke="currentColor" stroke-width="1.6"/>',
        "driven": line(0, 0, 22, 0, 2, "1 2") + line(22, -6, 22, 6, 2),
    }
    return samples[sign]
