"""Track files as text for tests; every place in them is invented."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

GPX_HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1">'
)
KML_HEAD = '<kml xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="urn:timed-tracks"><Document>'
Row = Sequence[object]


def trkpt(row: Row, name: str = "trkpt") -> str:
    """A point from lat, lon and, where given, height and time."""
    lat, lon, ele, time = (*row, None, None)[:4]
    inner = "" if ele is None else f"<ele>{ele}</ele>"
    inner += "" if time is None else f"<time>{time}</time>"
    return f'<{name} lat="{lat}" lon="{lon}">{inner}</{name}>'


def gpx(*segments: Iterable[Row], waypoints: Iterable[Row] = (), head: str = GPX_HEAD) -> str:
    """A GPX file with one track of these segments; a waypoint is lat, lon, name."""
    marks = "".join(f'<wpt lat="{lat}" lon="{lon}"><name>{name}</name></wpt>' for lat, lon, name in waypoints)
    body = "".join(f"<trkseg>{''.join(map(trkpt, rows))}</trkseg>" for rows in segments)
    return f"{head}{marks}<trk>{body}</trk></gpx>"


def gpx_route(rows: Iterable[Row]) -> str:
    """A GPX file with a route only."""
    return f"{GPX_HEAD}<rte>{''.join(trkpt(row, 'rtept') for row in rows)}</rte></gpx>"


def eastward(count: int, lat: float = -23.0, lon: float = 133.0, step_deg: float = 0.001) -> list[tuple[float, float]]:
    """Points due east of each other."""
    return [(lat, round(lon + spot * step_deg, 6)) for spot in range(count)]


def timed(
    rows: Iterable[tuple[float, float]], start: datetime, seconds: float, ele_m: float = 500.0
) -> list[tuple[float, float, float, str]]:
    """The points with a height and a time each, so many seconds apart."""
    return [
        (lat, lon, ele_m, f"{start + timedelta(seconds=seconds * spot):%Y-%m-%dT%H:%M:%SZ}")
        for spot, (lat, lon) in enumerate(rows)
    ]
