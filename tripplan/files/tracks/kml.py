"""KML 2.2: lines, timed tracks of the gx extension, and named points.

A height counts only where the file says it is absolute: KML ignores it otherwise.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tripplan.files.tracks.points import Oddities, chosen, point_of
from tripplan.files.tracks.xml import elements, local_name
from tripplan.records.track import DRAWN, RECORDED, Point, Track, Waypoint

LINES = ("LineString", "LinearRing")


def read_kml(path: Path, file: str, odd: Oddities) -> Track:
    """All lines of the file in order, and its named points."""
    found: dict[str, list[tuple[Point, ...]]] = {"Point": [], RECORDED: [], DRAWN: []}
    waypoints: list[Waypoint] = []
    for _, placemark, _ in elements(path, file, ("Placemark",)):
        label = " ".join((_text(placemark, "name") or "").split())
        for kind, points in _read_shapes(placemark, odd):
            if kind == "Point" and label:
                waypoints += [Waypoint(label, point.lat, point.lon) for point in points[:1]]
            elif points:
                found[kind].append(points)
    kind, lines = chosen(found[RECORDED], found[DRAWN], odd)
    return Track(file=file, kind=kind, segments=lines, waypoints=tuple(dict.fromkeys(waypoints)))


def _read_shapes(placemark: Any, odd: Oddities) -> list[tuple[str, tuple[Point, ...]]]:
    """What each shape is, and its points. Each is emptied at once: the parser takes the square
    of their number to drop children of which one is still in hand."""
    read = []
    for shape in _shapes(placemark):
        name = local_name(shape.tag)
        points = tuple(_timed(shape, odd) if name == "Track" else _listed(shape, odd))
        read.append(({"Point": "Point", "Track": RECORDED}.get(name, DRAWN), points))
        del shape[:]
    return read


def _shapes(element: Any) -> Iterator[Any]:
    """Points, lines and tracks, also inside a collection; areas are not ways and are passed over."""
    for child in element:
        if not isinstance(child.tag, str) or local_name(child.tag) == "Polygon":
            continue
        if local_name(child.tag) in (*LINES, "Point", "Track"):
            yield child
        elif local_name(child.tag) in ("MultiGeometry", "MultiTrack"):
            yield from _shapes(child)


def _text(element: Any, name: str) -> str | None:
    return next((child.text for child in element if isinstance(child.tag, str) and local_name(child.tag) == name), None)


def _listed(shape: Any, odd: Oddities) -> Iterator[Point]:
    has_height = (_text(shape, "altitudeMode") or "").strip() == "absolute"
    for entry in (_text(shape, "coordinates") or "").split():
        lon, lat, ele = (*entry.split(","), "", "", "")[:3]
        if point := point_of(lat, lon, ele if has_height else None, None, odd, shape):
            yield point


def _timed(shape: Any, odd: Oddities) -> Iterator[Point]:
    has_height = (_text(shape, "altitudeMode") or "").strip() == "absolute"
    named = [child for child in shape if isinstance(child.tag, str)]
    times = [child.text for child in named if local_name(child.tag) == "when"]
    places = [child for child in named if local_name(child.tag) == "coord"]
    if len(times) != len(places):
        if times:
            odd.value(f"{len(times)} times for {len(places)} positions", shape)
        times = [None] * len(places)
    for time, place in zip(times, places, strict=True):
        lon, lat, ele = (*(place.text or "").split(), "", "", "")[:3]
        if point := point_of(lat, lon, ele if has_height else None, time, odd, place):
            yield point
