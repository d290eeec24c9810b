"""The route as a map: land, legs by surface and washboard, stops, crossings, where items run out.

One ink and no colour: surfaces are dashes, washboard is ticks beside the line, remote is
thick, as on the trip line. Numbers and letters on the map are told in words below it.
"""

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise
from math import cos, hypot, radians

from tripplan.along import LegLine, Position
from tripplan.edges import say
from tripplan.edges.route_land import Window, land_in
from tripplan.edges.route_places import BY_HERE, CROSSING, RUNS_OUT, STOP, Mark, Places
from tripplan.edges.trip_line_route import DASHES, TOOTH_SPACING, line, words
from tripplan.geodesic import distance_km
from tripplan.plan import Plan

PAPER = "var(--paper, #fff)"
LEAST_SPAN_DEG = 0.3
MARGIN_SHARE = 0.09
TALLEST, FLATTEST = 1.15, 0.6
SAME_PLACE = 15.0
GRID_STEPS_DEG = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0)
SCALE_STEPS_KM = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000)
ASIDE = ((0, 0), (0, -22), (0, 22), (24, 0), (-24, 0), (22, -22), (22, 22), (-22, -22), (-22, 22),
         (0, -44), (0, 44), (46, 0), (-46, 0), (44, -30), (44, 30), (-44, -30), (-44, 30))  # fmt: skip
WAVE = "q2.25 -4 4.5 0t4.5 0t4.5 0t4.5 0"


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The window of degrees and how it lies on the picture; longitudes run on past 180."""

    west: float
    north: float
    span_lon: float
    span_lat: float
    width: float
    height: float
    font: float

    def at(self, place: Position) -> tuple[float, float]:
        """Where a position lies on the picture."""
        turn = (place[1] - self.west) % 360.0
        turn -= 360.0 if turn > 180.0 + self.span_lon / 2 else 0.0
        return self.spot(self.west + turn, place[0])

    def spot(self, lon: float, lat: float) -> tuple[float, float]:
        """Where a longitude that may run past 180 and a latitude lie."""
        return ((lon - self.west) / self.span_lon * self.width, (self.north - lat) / self.span_lat * self.height)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """One sign on the map: its letter or number, the marks it stands for, where it is and is drawn."""

    label: str
    marks: tuple[Mark, ...]
    at: tuple[float, float]
    drawn_at: tuple[float, float]


def route_map_svg(plan: Plan, places: Places, *, narrow: bool = False) -> str | None:
    """The map as one SVG element, or None where no leg and no stop has coordinates."""
    spots = [place for leg in places.lines.values() for place in leg.positions]
    spots += [mark.position for mark in places.marks]
    if not spots:
        return None
    frame = _frame(spots, 340.0 if narrow else 760.0, 14.0 if narrow else 12.5)
    signs = _signs(places.marks, frame)
    drawn = [*_land(frame), *_grid(frame)]
    for leg_line in places.lines.values():
        drawn += _leg(plan, leg_line, frame)
    drawn += _ends(plan, places, frame)
    drawn += [mark for sign in signs for mark in _sign(sign, frame)]
    drawn += _scale_bar(frame)
    key, bottom = _key(plan, places, signs, frame)
    return _svg(plan, places, frame, drawn, key, bottom, "narrow" if narrow else "wide")


def _frame(spots: Sequence[Position], width: float, font: float) -> Frame:
    """A window round all places with a margin, neither very flat nor very tall."""
    first = spots[0][1]
    lons = [first + (lon - first + 180.0) % 360.0 - 180.0 for _, lon in spots]
    lats = [lat for lat, _ in spots]
    middle_lat, middle_lon = (min(lats) + max(lats)) / 2, (min(lons) + max(lons)) / 2
    squeeze = max(cos(radians(middle_lat)), 0.05)
    across = max((max(lons) - min(lons)) * squeeze, LEAST_SPAN_DEG) * (1 + 2 * MARGIN_SHARE)
    along = max(max(lats) - min(lats), LEAST_SPAN_DEG) * (1 + 2 * MARGIN_SHARE)
    across, along = max(across, along / TALLEST), max(along, across * FLATTEST)
    return Frame(
        west=middle_lon - across / squeeze / 2, north=middle_lat + along / 2, span_lon=across / squeeze,
        span_lat=along, width=width, height=width * along / across, font=font,
    )  # fmt: skip


def _land(frame: Frame) -> Iterator[str]:
    window: Window = (frame.west, frame.north - frame.span_lat, frame.west + frame.span_lon, frame.north)
    path = ""
    for part in land_in(window):
        path += "M" + "L".join("{:.1f} {:.1f}".format(*frame.spot(lon, lat)) for lon, lat in part) + "z"
    if path:
        yield (f'<path d="{path}" fill="currentColor" fill-opacity="0.07" fill-rule="evenodd" '
               'stroke="currentColor" stroke-opacity="0.55" stroke-width="0.8"/>')  # fmt: skip


def _grid(frame: Frame) -> Iterator[str]:
    """Thin lines at whole degrees, named at the edge, and the border of the map."""
    step = next((s for s in GRID_STEPS_DEG if frame.span_lat / s <= 5), GRID_STEPS_DEG[-1])
    size = frame.font - 2.5
    lon = step * -(-frame.west // step)
    while lon < frame.west + frame.span_lon:
        x, _ = frame.spot(lon, 0)
        yield _thin(x, 0, x, frame.height)
        if 24 < x < frame.width - 24:
            yield words(x, frame.height - 4, _degrees((lon + 180) % 360 - 180, "E", "W"), size, "middle")
        lon += step
    lat = step * -(-(frame.north - frame.span_lat) // step)
    while lat < frame.north:
        _, y = frame.spot(0, lat)
        yield _thin(0, y, frame.width, y)
        if 20 < y < frame.height - 24:
            yield words(4, y - 3, _degrees(lat, "N", "S"), size)
        lat += step
    yield (f'<rect x="0.5" y="0.5" width="{frame.width - 1:.1f}" height="{frame.height - 1:.1f}" fill="none" '
           'stroke="currentColor"/>')  # fmt: skip


def _thin(x1: float, y1: float, x2: float, y2: float) -> str:
    return (f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}" stroke="currentColor" stroke-opacity="0.28" '
            'stroke-width="0.6"/>')  # fmt: skip


def _degrees(value: float, positive: str, negative: str) -> str:
    size = round(abs(value), 2)
    return f"{size:g}°" if size == 0 else f"{size:g}° {positive if value > 0 else negative}"


def _leg(plan: Plan, leg_line: LegLine, frame: Frame) -> Iterator[str]:
    leg = next(leg for leg in plan.legs if leg.number == leg_line.leg)
    path = _thinned([frame.at(place) for place in leg_line.positions])
    way = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in path)
    width = 7 if leg.remote else 3
    dash = f' stroke-dasharray="{DASHES[leg.surface]}"' if DASHES.get(leg.surface) else ""
    yield f'<path d="{way}" fill="none" stroke="currentColor" stroke-width="{width}"{dash}/>'
    spacing = TOOTH_SPACING.get(leg.corrugation)
    if spacing:
        off = 7.0 if leg.remote else 5.0
        yield f'<path d="{_ticks(path, spacing, off)}" fill="none" stroke="currentColor" stroke-width="1.3"/>'
    x, y = _beside_middle(path, 14.0)
    yield _haloed(x, y + 4, str(leg.number), frame.font - 1)


def _ends(plan: Plan, places: Places, frame: Frame) -> Iterator[str]:
    """The names of departure and return beside their ends, one name where both are one place."""
    first, last = plan.legs[0], plan.legs[-1]
    told: list[tuple[float, float]] = []
    for leg, spot, text in ((first, 0, first.from_), (last, -1, last.to)):
        if leg.number in places.lines:
            x, y = frame.at(places.lines[leg.number].positions[spot])
            if any(_apart((x, y), other) < 3 * SAME_PLACE for other in told):
                continue
            told.append((x, y))
            half = len(text) * frame.font * 0.3
            yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="{PAPER}" stroke="currentColor" stroke-width="2.5"/>'
            middle = min(max(x, half + 4), frame.width - half - 4)
            yield _haloed(middle, y + 20 if y < frame.height - 40 else y - 12, text, frame.font)


def _thinned(path: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The path without points too near to be told apart on paper."""
    kept = [path[0]]
    for spot in path[1:-1]:
        if hypot(spot[0] - kept[-1][0], spot[1] - kept[-1][1]) >= 1.5:
            kept.append(spot)
    return [*kept, path[-1]]


def _beside_middle(path: Sequence[tuple[float, float]], off: float) -> tuple[float, float]:
    """A spot beside the middle of the path, on the side where no ticks are."""
    spot = max(len(path) // 2, 1)
    (x1, y1), (x2, y2) = path[spot - 1], path[spot]
    size = hypot(x2 - x1, y2 - y1) or 1.0
    return (x1 + x2) / 2 - (y2 - y1) / size * off, (y1 + y2) / 2 + (x2 - x1) / size * off


def _ticks(path: Sequence[tuple[float, float]], spacing: float, off: float) -> str:
    """Short ticks on one side of the path, each the same length of path from the last."""
    ticks, left = "", spacing / 2
    for (x1, y1), (x2, y2) in pairwise(path):
        size = hypot(x2 - x1, y2 - y1)
        while size and left <= size:
            share = left / size
            nx, ny = (y2 - y1) / size, -(x2 - x1) / size
            x, y = x1 + share * (x2 - x1), y1 + share * (y2 - y1)
            ticks += f"M{x + nx * (off - 2):.1f} {y + ny * (off - 2):.1f}l{nx * 5:.1f} {ny * 5:.1f}"
            left += spacing
        left -= size
    return ticks


def _signs(marks: Sequence[Mark], frame: Frame) -> list[Sign]:
    """Marks of one kind at one place become one sign; signs that would touch are drawn aside."""
    signs: list[Sign] = []
    for kind in (STOP, RUNS_OUT, CROSSING):
        groups: list[tuple[tuple[float, float], list[Mark]]] = []
        for mark in (each for each in marks if each.kind == kind):
            at = frame.at(mark.position)
            near = next((group for group in groups if kind != STOP and _apart(group[0], at) < SAME_PLACE), None)
            if near:
                near[1].append(mark)
            else:
                groups.append((at, [mark]))
        for number, (at, grouped) in enumerate(groups):
            drawn_at = _free(at, [sign.drawn_at for sign in signs], frame)
            signs.append(Sign(label=_label(kind, number), marks=tuple(grouped), at=at, drawn_at=drawn_at))
    return signs


def _label(kind: str, number: int) -> str:
    if kind == STOP:
        return str(number + 1)
    if kind == CROSSING:
        return f"w{number + 1}"
    letter = chr(ord("A") + number % 26)
    return letter if number < 26 else f"{letter}{number // 26 + 1}"


def _apart(one: tuple[float, float], other: tuple[float, float]) -> float:
    return hypot(one[0] - other[0], one[1] - other[1])


def _free(at: tuple[float, float], taken: Sequence[tuple[float, float]], frame: Frame) -> tuple[float, float]:
    for dx, dy in ASIDE:
        spot = at[0] + dx, at[1] + dy
        inside = 12 < spot[0] < frame.width - 12 and 12 < spot[1] < frame.height - 12
        if inside and all(_apart(spot, other) >= 21 for other in taken):
            return spot
    return at


def _sign(sign: Sign, frame: Frame) -> Iterator[str]:
    x, y = sign.drawn_at
    kind = sign.marks[0].kind
    if sign.drawn_at != sign.at:
        yield line(*sign.at, x, y, 1)
        yield f'<circle cx="{sign.at[0]:.1f}" cy="{sign.at[1]:.1f}" r="2.5"/>'
    yield sample(kind, x, y)
    if kind == CROSSING:
        yield _haloed(x, y - 8, sign.label, frame.font - 2)
    else:
        colour = f' fill="{PAPER}"' if kind == STOP else ""
        yield (f'<text x="{x:.1f}" y="{y + 4:.1f}" font-size="{frame.font - 1:g}" text-anchor="middle" '
               f'font-weight="bold"{colour}>{sign.label}</text>')  # fmt: skip


def sample(kind: str, x: float, y: float) -> str:
    """The sign of a kind: a filled square, an open circle, or two waves."""
    if kind == STOP:
        return f'<rect x="{x - 9:.1f}" y="{y - 9:.1f}" width="18" height="18"/>'
    if kind == RUNS_OUT:
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="9.5" fill="{PAPER}" stroke="currentColor" stroke-width="1.8"/>'
    back = f'<rect x="{x - 11:.1f}" y="{y - 6:.1f}" width="22" height="12" fill="{PAPER}"/>'
    waves = f"M{x - 9:.1f} {y - 2:.1f}{WAVE}M{x - 9:.1f} {y + 4:.1f}{WAVE}"
    return f'{back}<path d="{waves}" fill="none" stroke="currentColor" stroke-width="1.7"/>'


def _haloed(x: float, y: float, text: str, size: float) -> str:
    return (f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="middle" stroke="{PAPER}" '
            f'stroke-width="3.5" paint-order="stroke" stroke-linejoin="round">{escape(text)}</text>')  # fmt: skip


def _scale_bar(frame: Frame) -> Iterator[str]:
    middle = frame.north - frame.span_lat / 2
    span = min(frame.span_lon / 4, 40.0)
    per_unit_km = distance_km((middle, 0.0), (middle, span)) / (span / frame.span_lon * frame.width)
    km = max((step for step in SCALE_STEPS_KM if step / per_unit_km <= frame.width / 4), default=1)
    x, y = frame.width - 14 - km / per_unit_km, 26
    yield f'<path d="M{x:.1f} {y - 5}v5h{km / per_unit_km:.1f}v-5" fill="none" stroke="currentColor" stroke-width="2"/>'
    yield _haloed(x + km / per_unit_km / 2, y - 7, f"{km} km", frame.font - 2)


def _key(plan: Plan, places: Places, signs: Sequence[Sign], frame: Frame) -> tuple[list[str], float]:
    """What every sign says, in words, under the map; two columns on the wide sheet."""
    columns = 2 if frame.width > 500 else 1
    room = frame.width / columns
    drawn, tops = [], [frame.height + 12.0] * columns
    for sign in signs:
        spot = tops.index(min(tops))
        x = spot * room
        told = textwrap.wrap(_told(sign), int((room - 36) / (frame.font * 0.54))) or [""]
        drawn.append(sample(sign.marks[0].kind, x + 11, tops[spot] + 9))
        colour = f' fill="{PAPER}"' if sign.marks[0].kind == STOP else ""
        if sign.marks[0].kind != CROSSING:
            drawn.append(f'<text x="{x + 11:.1f}" y="{tops[spot] + 13:.1f}" font-size="{frame.font - 1:g}" '
                         f'text-anchor="middle" font-weight="bold"{colour}>{sign.label}</text>')  # fmt: skip
        for text in told:
            drawn.append(words(x + 28, tops[spot] + 13, text, frame.font))
            tops[spot] += frame.font * 1.3
        tops[spot] += 8
    signs_row, bottom = _legend(plan, places, frame, max(tops) + 4)
    return drawn + signs_row, bottom


def _told(sign: Sign) -> str:
    if sign.marks[0].kind == STOP:
        mark = sign.marks[0]
        jobs = [text for text in mark.lines[1:] if text != "No work placed here."]
        work = say.count(len(jobs), "job", "jobs") if jobs else "no work placed"
        return f"{mark.name}, {mark.lines[0]}: {work}"
    if sign.marks[0].kind == CROSSING:
        depths = [f"{mark.name}, {mark.lines[0].partition('. ')[0]}" for mark in sign.marks]
        return f"{sign.label}: {'; '.join(depths)}"
    parts = [mark.name.partition(BY_HERE) for mark in sign.marks]
    work = "; ".join(f"{item}: {act.lower()}" for act, _, item in parts)
    return f"By trip km {sign.marks[0].trip_km:.0f}. {work}"


def _legend(plan: Plan, places: Places, frame: Frame, y: float) -> tuple[list[str], float]:
    legs = [leg for leg in plan.legs if leg.number in places.lines]
    entries = [(line(0, 0, 24, 0, 3, dash), surface) for surface, dash in DASHES.items()
               if any(leg.surface == surface for leg in legs)]  # fmt: skip
    if any(leg.remote for leg in legs):
        entries.append((line(0, 0, 24, 0, 7), "thick: remote"))
    if any(leg.corrugation in TOOTH_SPACING for leg in legs):
        ticks = _ticks([(0.0, 3.0), (24.0, 3.0)], 5.0, 5.0)
        marks = line(0, 3, 24, 3, 3) + f'<path d="{ticks}" stroke="currentColor"/>'
        entries.append((marks, "corrugated, closer is worse"))
    if any(not leg_line.is_recorded for leg_line in places.lines.values()):
        entries.append((line(0, 0, 24, 0, 1), "a straight leg: the way between is not known"))
    drawn, x = [], 0.0
    for marks, text in entries:
        width = 36 + len(text) * frame.font * 0.54
        if x and x + width > frame.width:
            x, y = 0.0, y + 18
        drawn.append(f'<g transform="translate({x:.1f} {y + 6:.1f})">{marks}{words(29, 4, text, frame.font - 1)}</g>')
        x += width + 6
    return drawn, y + 20


def _svg(
    plan: Plan, places: Places, frame: Frame, drawn: Sequence[str], key: Sequence[str], bottom: float, form: str
) -> str:
    name = f"route-map-{form}"
    title = escape(say.printable(f"Map of {plan.trip}"))
    kinds = [sum(mark.kind == kind for mark in places.marks) for kind in (STOP, CROSSING, RUNS_OUT)]
    desc = escape(say.printable(
        f"{say.count(len(places.lines), 'leg', 'legs')} of {len(plan.legs)} on the map, with "
        f"{say.count(kinds[0], 'stop', 'stops')}, {say.count(kinds[1], 'water crossing', 'water crossings')} and "
        f"{say.count(kinds[2], 'place', 'places')} where an item runs out. {_in_words(places.marks)} "
        "North is up. The coast is drawn to about 6 km."))  # fmt: skip
    clip = f'<clipPath id="{name}-clip"><rect width="{frame.width:g}" height="{frame.height:.1f}"/></clipPath>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {frame.width:g} {bottom:.0f}" role="img" '
        f'aria-labelledby="{name}-title {name}-desc" fill="currentColor" font-family="inherit">'
        f'<title id="{name}-title">{title}</title><desc id="{name}-desc">{desc}</desc>{clip}'
        f'<g clip-path="url(#{name}-clip)">{"".join(drawn)}</g>{"".join(key)}</svg>'
    )


def _in_words(marks: Sequence[Mark]) -> str:
    return " ".join(f"Trip km {mark.trip_km:.0f}: {mark.name}." for mark in marks)
