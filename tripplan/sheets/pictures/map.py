"""The route as a map: land, legs by surface and washboard, stops, crossings, where items run out.

One ink and no colour: surfaces are dashes on a tone, washboard is ticks beside the line,
remote is thick, as on the trip line. `route_map_key` tells every sign in words below it.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from math import hypot

from tripplan.records.plan import Plan, PlanLeg
from tripplan.sheets import words
from tripplan.sheets.pictures.map_ground import Frame, frame_of, grid, land, scale_and_inset
from tripplan.sheets.pictures.map_key import PAPER, Path, Sign, haloed, key, labelled, leg_strokes
from tripplan.sheets.pictures.trip_line_route import line, svg
from tripplan.sheets.route_places import CROSSING, RUNS_OUT, STOP, PlaceMark, Places
from tripplan.trip.route.leg_on_map import LegLine, part

TALLEST_WIDE, TALLEST_NARROW = 0.62, 1.15
SAME_PLACE = 15.0
ASIDE = ((0, 0), (0, -22), (0, 22), (24, 0), (-24, 0), (22, -22), (22, 22), (-22, -22), (-22, 22),
         (0, -44), (0, 44), (46, 0), (-46, 0), (44, -30), (44, 30), (-44, -30), (-44, 30))  # fmt: skip
LABEL_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)


def route_map_svg(plan: Plan, places: Places, *, narrow: bool = False) -> str | None:
    """The map as one SVG element, or None where no leg and no stop has coordinates."""
    spots = [place for leg in places.lines.values() for place in leg.positions]
    spots += [mark.position for mark in places.marks]
    if not spots:
        return None
    frame = frame_of(spots, TALLEST_NARROW, 340.0, 14.0) if narrow else frame_of(spots, TALLEST_WIDE, 760.0, 12.5)
    signs = _signs(places.marks, frame)
    drawn = [*land(frame), *grid(frame)]
    paths = {number: _thinned([frame.at(place) for place in line.positions]) for number, line in places.lines.items()}
    for leg in plan.legs:
        for path, is_remote in _pieces(leg, places.lines.get(leg.number), frame):
            drawn += leg_strokes(path, leg.surface, leg.corrugation, is_remote)
    drawn += [*_ends(plan, places, signs, frame), *_leg_numbers(paths, signs, frame)]
    drawn += [mark for sign in signs for mark in _leader(sign)]
    drawn += [mark for sign in signs for mark in _sign(sign, frame)]
    drawn += scale_and_inset(frame, paths.values(), [sign.drawn_at for sign in signs])
    told, bottom = key(plan, places, signs, frame.width, frame.height, frame.font)
    name = f"route-map-{'narrow' if narrow else 'wide'}"
    clip = f'<clipPath id="{name}-clip"><rect width="{frame.width:g}" height="{frame.height:.1f}"/></clipPath>'
    inside = f'{clip}<g clip-path="url(#{name}-clip)">{"".join(drawn)}</g>'
    return svg(name, f"Map of {plan.trip}", _told(plan, places), (inside, *told), frame.width, bottom)


def _pieces(leg: PlanLeg, line: LegLine | None, frame: Frame) -> Iterator[tuple[Path, bool]]:
    """A leg cut where its remote stretches begin and end; all of it remote where none are known."""
    if line is None:
        return
    end_km = line.km[-1]
    stretches = [(low, min(high, end_km)) for low, high in leg.remote_stretches_km if leg.remote and low < end_km]
    edges = sorted({0.0, end_km, *(km for stretch in stretches for km in stretch)})
    for low, high in pairwise(edges):
        path = _thinned([frame.at(place) for place in part(line, low, high)])
        is_far = any(start <= low and high <= end for start, end in stretches)
        yield path, is_far if stretches else leg.remote


def _leg_numbers(paths: Mapping[int, Path], signs: Sequence[Sign], frame: Frame) -> Iterator[str]:
    """The number of each leg beside its line, as near its middle as the signs leave room."""
    taken = [sign.drawn_at for sign in signs]
    for number, path in paths.items():
        spots = [_beside(path, share, 14.0) for share in LABEL_SHARES]
        x, y = next((spot for spot in spots if all(_apart(spot, other) >= 20 for other in taken)), spots[0])
        taken.append((x, y))
        yield haloed(x, y + 4, str(number), frame.font - 1)


def _ends(plan: Plan, places: Places, signs: Sequence[Sign], frame: Frame) -> Iterator[str]:
    """The names of departure and return by their ends, clear of the signs; one name where both are one place."""
    first, last = plan.legs[0], plan.legs[-1]
    told: list[tuple[float, float]] = []
    for leg, spot, text in ((first, 0, first.from_), (last, -1, last.to)):
        if leg.number in places.lines:
            x, y = frame.at(places.lines[leg.number].positions[spot])
            if any(_apart((x, y), other) < 3 * SAME_PLACE for other in told):
                continue
            told.append((x, y))
            yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="{PAPER}" stroke="currentColor" stroke-width="2.5"/>'
            yield haloed(*_name_spot((x, y), len(text) * frame.font * 0.3, signs, frame), text, frame.font)


def _name_spot(
    at: tuple[float, float], half: float, signs: Sequence[Sign], frame: Frame
) -> tuple[float, float]:  # fmt: skip
    """Where a name of that half width touches the fewest signs, the nearest such place to its point first."""
    beside = half + 14
    asides = ((0, 22), (0, -14), (beside, 4), (-beside, 4), (0, 34), (0, -36), (beside, -16), (-beside, -16))
    spots = [
        (min(max(at[0] + dx, half + 4), frame.width - half - 4), min(max(at[1] + dy, 14), frame.height - 16))
        for dx, dy in asides
    ]  # fmt: skip

    def touched(spot: tuple[float, float]) -> int:
        return sum(abs(s.drawn_at[0] - spot[0]) < half + 10 and abs(s.drawn_at[1] + 4 - spot[1]) < 17 for s in signs)

    return min(spots, key=touched)


def _thinned(path: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The path without points too near to be told apart on paper."""
    kept = [path[0]]
    for spot in path[1:-1]:
        if hypot(spot[0] - kept[-1][0], spot[1] - kept[-1][1]) >= 1.5:
            kept.append(spot)
    return [*kept, path[-1]]


def _beside(path: Path, share: float, off: float) -> tuple[float, float]:
    """A spot beside a share of the path, on the side where no ticks are."""
    spot = max(int(len(path) * share), 1)
    (x1, y1), (x2, y2) = path[spot - 1], path[spot]
    size = hypot(x2 - x1, y2 - y1) or 1.0
    return (x1 + x2) / 2 - (y2 - y1) / size * off, (y1 + y2) / 2 + (x2 - x1) / size * off


def _signs(marks: Sequence[PlaceMark], frame: Frame) -> list[Sign]:
    """Marks of one kind at one place become one sign; signs that would touch are drawn aside."""
    signs: list[Sign] = []
    for kind in (STOP, RUNS_OUT, CROSSING):
        groups: list[tuple[tuple[float, float], list[PlaceMark]]] = []
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


def _leader(sign: Sign) -> Iterator[str]:
    """From the place to a sign that is drawn aside."""
    if sign.drawn_at != sign.at:
        yield line(*sign.at, *sign.drawn_at, 1)
        yield f'<circle cx="{sign.at[0]:.1f}" cy="{sign.at[1]:.1f}" r="2.5"/>'


def _sign(sign: Sign, frame: Frame) -> Iterator[str]:
    x, y = sign.drawn_at
    yield labelled(sign, x, y, frame.font - 1)
    if sign.marks[0].kind == CROSSING:
        yield haloed(x, y - 8, sign.label, frame.font - 2)


def _told(plan: Plan, places: Places) -> str:
    stops, crossings, ends = (sum(mark.kind == kind for mark in places.marks) for kind in (STOP, CROSSING, RUNS_OUT))
    marks = " ".join(f"Trip km {mark.trip_km:.0f}: {mark.name}." for mark in places.marks)
    return (
        f"{words.count(len(places.lines), 'leg', 'legs')} of {len(plan.legs)} on the map, with "
        f"{words.count(stops, 'stop', 'stops')}, {words.count(crossings, 'water crossing', 'water crossings')} and "
        f"{words.count(ends, 'place', 'places')} where an item runs out. {marks} "
        "North is up. The coast is drawn to about 6 km."
    )
