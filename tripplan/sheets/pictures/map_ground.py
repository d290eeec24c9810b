"""The ground of the route map: its frame, land, degrees and scale, and where on earth it lies."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from math import cos, hypot, radians

from msgspec import Struct

from tripplan.sheets.pictures.map_key import PAPER, haloed
from tripplan.sheets.pictures.map_land import Spot, Window, land_in
from tripplan.sheets.pictures.trip_line_route import words
from tripplan.trip.route.geodesic import distance_km
from tripplan.trip.route.leg_on_map import Position

LEAST_SPAN_DEG = 0.3
MARGIN_SHARE = 0.09
FLATTEST = 0.55
GRID_STEPS_DEG = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0)
SCALE_STEPS_KM = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000)
AROUND_DEG = 32.0
EDGE_DEG = 1e-6
GAP = 7.0
Box = tuple[float, float, float, float]


class Frame(Struct, frozen=True, kw_only=True):
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


def frame_of(spots: Sequence[Position], tallest: float, width: float, font: float) -> Frame:
    """A window round all places with a margin, neither very flat nor very tall."""
    first = spots[0][1]
    lons = [first + (lon - first + 180.0) % 360.0 - 180.0 for _, lon in spots]
    lats = [lat for lat, _ in spots]
    middle_lat, middle_lon = (min(lats) + max(lats)) / 2, (min(lons) + max(lons)) / 2
    squeeze = max(cos(radians(middle_lat)), 0.05)
    across = max((max(lons) - min(lons)) * squeeze, LEAST_SPAN_DEG) * (1 + 2 * MARGIN_SHARE)
    along = max(max(lats) - min(lats), LEAST_SPAN_DEG) * (1 + 2 * MARGIN_SHARE)
    across, along = max(across, along / tallest), max(along, across * FLATTEST)
    return Frame(
        west=middle_lon - across / squeeze / 2, north=middle_lat + along / 2, span_lon=across / squeeze,
        span_lat=along, width=width, height=width * along / across, font=font,
    )  # fmt: skip


def land(frame: Frame) -> Iterator[str]:
    """The land within the frame, tinted, its points no nearer to each other than can be seen."""
    window: Window = (frame.west, frame.north - frame.span_lat, frame.west + frame.span_lon, frame.north)
    path = ""
    for ring in land_in(window):
        spots = dict.fromkeys("{:.1f} {:.1f}".format(*frame.spot(lon, lat)) for lon, lat in ring)
        path += f"M{'L'.join(spots)}z" if len(spots) > 2 else ""
    if path:
        yield (f'<path d="{path}" fill="currentColor" fill-opacity="0.07" fill-rule="evenodd" '
               'stroke="currentColor" stroke-opacity="0.55" stroke-width="0.8"/>')  # fmt: skip


def grid(frame: Frame) -> Iterator[str]:
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


def scale_and_inset(frame: Frame, paths: Iterable[Sequence[Spot]], signs: Sequence[Spot]) -> Iterator[str]:
    """A bar of whole kilometres; and where no coast is on the map but a corner is free, the lands around it.

    Both stand in the corners where the least is drawn, the bar never on the inset.
    """
    drawn = [*signs, *(spot for path in paths for spot in _dense(path))]
    width = frame.width * (0.15 if frame.width > 500 else 0.24)
    height = width * 0.8
    (x, y), crowd = _emptiest(frame, width, height, drawn, None)
    shut = None
    if crowd == 0 and not has_coast(frame):
        shut = (x, y, width, height)
        yield f'<g transform="translate({x:.1f} {y:.1f})">{"".join(_inset(frame, width, height))}</g>'
    yield from _scale_bar(frame, drawn, shut)


def _dense(path: Sequence[Spot]) -> Iterator[Spot]:
    """Spots along the path close enough that none of it can hide in a corner."""
    for (x1, y1), (x2, y2) in pairwise(path):
        count = int(hypot(x2 - x1, y2 - y1) / 10.0) + 1
        yield from ((x1 + (x2 - x1) * n / count, y1 + (y2 - y1) * n / count) for n in range(count + 1))


def has_coast(frame: Frame) -> bool:
    """True when a shore lies within the window, so that the map itself shows where it is."""
    south, east = frame.north - frame.span_lat, frame.west + frame.span_lon
    return any(
        frame.west + EDGE_DEG < lon < east - EDGE_DEG and south + EDGE_DEG < lat < frame.north - EDGE_DEG
        for ring in land_in((frame.west, south, east, frame.north)) for lon, lat in ring
    )  # fmt: skip


def _emptiest(frame: Frame, width: float, height: float, drawn: Sequence[Spot], shut: Box | None) -> tuple[Spot, int]:
    """The upper left of a box in the corner where the least is drawn, and how much is; never on the shut box."""
    corners = [
        (x, y) for y in (GAP, frame.height - height - GAP - 14)
        for x in (frame.width - width - GAP, GAP + 34)
        if shut is None or not (abs(x - shut[0]) < max(width, shut[2]) and abs(y - shut[1]) < max(height, shut[3]))
    ]  # fmt: skip

    def crowd(corner: Spot) -> int:
        return sum(-14 < x - corner[0] < width + 14 and -14 < y - corner[1] < height + 14 for x, y in drawn)

    best = min(corners, key=crowd)
    return best, crowd(best)


def _inset(frame: Frame, width: float, height: float) -> Iterator[str]:
    """The lands around the map, the map's own window drawn as a small open square."""
    middle = frame.north - frame.span_lat / 2
    span_lon = min(max(AROUND_DEG, 4 * frame.span_lon), 180.0)
    span_lat = span_lon * height / width * max(cos(radians(middle)), 0.2)
    around = Frame(
        west=frame.west + frame.span_lon / 2 - span_lon / 2, north=middle + span_lat / 2, span_lon=span_lon,
        span_lat=span_lat, width=width, height=height, font=frame.font,
    )  # fmt: skip
    yield f'<rect width="{width:.1f}" height="{height:.1f}" fill="{PAPER}"/>'
    yield from land(around)
    size = max(frame.span_lon / span_lon * width, 6.0)
    yield (f'<rect x="{width / 2 - size / 2:.1f}" y="{height / 2 - size / 2:.1f}" width="{size:.1f}" '
           f'height="{size:.1f}" fill="{PAPER}" stroke="currentColor" stroke-width="1.8"/>'
           f'<rect width="{width:.1f}" height="{height:.1f}" fill="none" stroke="currentColor"/>')  # fmt: skip


def _scale_bar(frame: Frame, drawn: Sequence[Spot], shut: Box | None) -> Iterator[str]:
    middle = frame.north - frame.span_lat / 2
    span = min(frame.span_lon / 4, 40.0)
    per_unit_km = distance_km((middle, 0.0), (middle, span)) / (span / frame.span_lon * frame.width)
    km = max((step for step in SCALE_STEPS_KM if step / per_unit_km <= frame.width / 4), default=1)
    long = km / per_unit_km
    (x, y), _ = _emptiest(frame, long, 24.0, drawn, shut)
    yield f'<path d="M{x:.1f} {y + 14:.1f}v5h{long:.1f}v-5" fill="none" stroke="currentColor" stroke-width="2"/>'
    yield haloed(x + long / 2, y + 12, f"{km} km", frame.font - 2)
