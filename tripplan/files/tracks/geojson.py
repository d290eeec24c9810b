"""GeoJSON (RFC 7946): lines and named points. The positions are longitude, latitude, height."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tripplan.files.tracks.points import Oddities, point_of, refusal
from tripplan.files.way_in import NotRead, json_of, read_file
from tripplan.records.track import DRAWN, Point, Track, Waypoint

ACCEPTED = "a GeoJSON text of type FeatureCollection, Feature or a geometry"
DEEPEST_COLLECTION = 64
# Systems in degrees that lie within some two metres of WGS-84 on the ground (EPSG registry, from memory).
IN_DEGREES = re.compile(r"(?:CRS:?84|EPSG:(?:[\d.]*:)?(?:4326|4979|4258|4269|4283|7844))$", re.IGNORECASE)
CRS_ACCEPTED = "longitude and latitude in WGS-84, without a member crs (RFC 7946, section 4)"
Shapes = Iterator[tuple[dict[str, Any], str]]


def read_geojson(path: Path, file: str, odd: Oddities) -> Track:
    """All lines of the file in order, and its named points."""
    lines: list[tuple[Point, ...]] = []
    waypoints: list[Waypoint] = []
    found = _parsed(path, file)
    _tell_system(found, file, odd)
    for geometry, label in _geometries(found, "", 0, file):
        kind, places = geometry.get("type"), geometry.get("coordinates")
        if kind in ("Point", "MultiPoint") and label:
            listed = [places] if kind == "Point" else places
            waypoints += [Waypoint(label, point.lat, point.lon) for point in _points(listed, odd)]
        elif kind in ("LineString", "MultiLineString"):
            parts = [places] if kind == "LineString" else places if isinstance(places, list) else []
            lines += [points for part in parts if (points := tuple(_points(part, odd)))]
    return Track(file=file, kind=DRAWN, segments=tuple(lines), waypoints=tuple(dict.fromkeys(waypoints)))


def _parsed(path: Path, file: str) -> Any:
    try:
        return json_of(read_file(path))
    except NotRead as why:
        code = "X03" if why.is_too_much else "X04"
        raise refusal(file, code, why.found, ACCEPTED, row=why.row) from None


def _tell_system(found: Any, file: str, odd: Oddities) -> None:
    """The older member `crs`: a system in degrees is read as WGS-84 and told, any other refused."""
    if not isinstance(found, dict) or "crs" not in found:
        return
    crs = found["crs"]
    properties = crs.get("properties") if isinstance(crs, dict) else None
    name = properties.get("name") if isinstance(properties, dict) else None
    said = f"the member crs: {str(name or crs)[:60]}"
    if crs is None or (isinstance(name, str) and IN_DEGREES.search(name.strip())):
        odd.tell("X15", f"{said}; read as WGS-84", CRS_ACCEPTED)
        return
    raise refusal(file, "X16", said, CRS_ACCEPTED, "export it in longitude and latitude, WGS-84")


def _geometries(found: Any, label: str, depth: int, file: str) -> Shapes:
    """Geometries with the name of the feature they belong to."""
    if depth > DEEPEST_COLLECTION:
        raise refusal(file, "X03", f"collections more than {DEEPEST_COLLECTION} deep", ACCEPTED)
    if not isinstance(found, dict):
        return
    if found.get("type") == "Feature":
        properties = found.get("properties")
        named = properties.get("name") if isinstance(properties, dict) else None
        own = " ".join(named.split()) if isinstance(named, str) else label
        yield from _geometries(found.get("geometry"), own, depth + 1, file)
        return
    members = found.get({"FeatureCollection": "features", "GeometryCollection": "geometries"}.get(
        str(found.get("type")), ""))  # fmt: skip
    if isinstance(members, list):
        for member in members:
            yield from _geometries(member, label, depth + 1, file)
    else:
        yield found, label


def _points(places: Any, odd: Oddities) -> Iterator[Point]:
    for place in places if isinstance(places, list) else []:
        values = place if isinstance(place, list) else []
        lon, lat, ele = (*(_number_text(value) for value in values), None, None, None)[:3]
        if point := point_of(lat, lon, ele, None, odd):
            yield point


def _number_text(value: Any) -> str | None:
    return str(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None
