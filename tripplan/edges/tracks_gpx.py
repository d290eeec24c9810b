"""GPX 1.1 (and 1.0, which differs in its namespace only for what is read here)."""

from pathlib import Path
from typing import Any

from tripplan.edges.track_points import Oddities, point_of
from tripplan.edges.tracks_xml import elements, local_name
from tripplan.track_records import DRAWN, RECORDED, Point, Track, Waypoint

NAMES = ("trkpt", "trkseg", "rtept", "rte", "wpt")


def read_gpx(path: Path, file: str, odd: Oddities) -> Track:
    """All tracks of the file in order, or its routes when it has no track, and its waypoints."""
    pieces: dict[str, list[tuple[Point, ...]]] = {"trkseg": [], "rte": []}
    waypoints: list[Waypoint] = []
    points: list[Point] = []
    for name, element in elements(path, file, NAMES):
        if name in pieces:
            pieces[name].append(tuple(points))
            points = []
            continue
        found, label = _point(element, odd)
        if found is None:
            continue
        label = "" if name == "trkpt" else " ".join(label.split())
        if label:
            waypoints.append(Waypoint(label, found.lat, found.lon))
        if name != "wpt":
            points.append(found)
    recorded = tuple(piece for piece in pieces["trkseg"] if piece)
    drawn = tuple(piece for piece in pieces["rte"] if piece)
    return Track(
        file=file, kind=RECORDED if recorded else DRAWN, segments=recorded or drawn,
        waypoints=tuple(dict.fromkeys(waypoints)),
    )  # fmt: skip


def _point(element: Any, odd: Oddities) -> tuple[Point | None, str]:
    """The point and its name. The children are walked once, since there may be a million."""
    ele = time = None
    label = ""
    for child in element:
        name = local_name(child.tag)
        if name == "ele":
            ele = child.text
        elif name == "time":
            time = child.text
        elif name == "name":
            label = child.text or ""
    return point_of(element.get("lat"), element.get("lon"), ele, time, odd, element), label
