"""The places of a plan as files of two open standards: GPX 1.1 and GeoJSON (RFC 7946)."""

import json
from collections.abc import Sequence
from html import escape
from itertools import pairwise
from typing import Any

from tripplan.records.plan import Plan
from tripplan.sheets import words
from tripplan.sheets.route_places import PlaceMark, Places
from tripplan.trip.route.leg_on_map import LegLine, Position

GPX_SPACE = "http://www.topografix.com/GPX/1/1"
ROUGHLY = "Place approximate: only the ends of the leg are known."


def places_gpx(plan: Plan, places: Places) -> str:
    """Waypoints in the order they are reached, then each leg as a track, in the order GPX 1.1 asks for."""
    told = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<gpx version="1.1" creator="tripplan" xmlns="{GPX_SPACE}" '
        'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" '
        f'xsi:schemaLocation="{GPX_SPACE} http://www.topografix.com/GPX/1/1/gpx.xsd">',
        f"  <metadata><name>{_xml(plan.trip)}</name></metadata>",
        *(_wpt(mark) for mark in places.marks),
        *(_trk(plan, line) for line in places.lines.values()),
        "</gpx>",
    ]
    return "\n".join(told) + "\n"


def places_geojson(plan: Plan, places: Places) -> str:
    """A FeatureCollection: a point for each place and a line for each leg, cut at the antimeridian."""
    features = [_point(mark) for mark in places.marks]
    features += [_line(plan, line) for line in places.lines.values()]
    return json.dumps({"type": "FeatureCollection", "features": features}, indent=1, ensure_ascii=False) + "\n"


def _wpt(mark: PlaceMark) -> str:
    return (
        f"  <wpt {_lat_lon(mark.position)}><name>{_xml(mark.name)}</name>"
        f"<desc>{_xml(chr(10).join(_told(mark)))}</desc><type>{mark.kind}</type></wpt>"
    )


def _lat_lon(place: Position) -> str:
    """Both attributes; GPX has no longitude 180, which is -180 there."""
    lon = f"{place[1]:.6f}"
    return f'lat="{place[0]:.6f}" lon="{"-180.000000" if lon == "180.000000" else lon}"'


def _trk(plan: Plan, line: LegLine) -> str:
    points = "".join(f"<trkpt {_lat_lon(place)}/>" for place in line.positions)
    desc = "" if line.is_recorded else f"<desc>{ROUGHLY}</desc>"
    return f"  <trk><name>{_xml(_leg_name(plan, line))}</name>{desc}<trkseg>{points}</trkseg></trk>"


def _told(mark: PlaceMark) -> tuple[str, ...]:
    return (*mark.lines, ROUGHLY) if mark.approximate else mark.lines


def _leg_name(plan: Plan, line: LegLine) -> str:
    leg = next(leg for leg in plan.legs if leg.number == line.leg)
    return f"Leg {leg.number}: {leg.from_} to {leg.to}, {words.km(leg.distance_km)}"


def _xml(text: str) -> str:
    return escape(words.printable(text), quote=False)


def _point(mark: PlaceMark) -> dict[str, Any]:
    properties = {
        "kind": mark.kind, "name": mark.name, "lines": list(_told(mark)), "trip_km": round(mark.trip_km, 1),
        "approximate": mark.approximate,
    }  # fmt: skip
    return {"type": "Feature", "properties": properties,
            "geometry": {"type": "Point", "coordinates": _lon_lat(mark.position)}}  # fmt: skip


def _line(plan: Plan, line: LegLine) -> dict[str, Any]:
    leg = next(leg for leg in plan.legs if leg.number == line.leg)
    properties = {
        "kind": "leg", "leg": leg.number, "name": _leg_name(plan, line), "surface": leg.surface,
        "corrugation": leg.corrugation, "dust": leg.dust, "remote": leg.remote, "recorded": line.is_recorded,
        "help_km": leg.help_km, "help_hours": leg.help_hours, "remote_stretches_km": leg.remote_stretches_km,
    }  # fmt: skip
    parts = [[_lon_lat(place) for place in part] for part in cut_at_antimeridian(line.positions)]
    shape = {"type": "LineString", "coordinates": parts[0]}
    if len(parts) > 1:
        shape = {"type": "MultiLineString", "coordinates": parts}
    return {"type": "Feature", "properties": properties, "geometry": shape}


def _lon_lat(place: Position) -> list[float]:
    return [round(place[1], 6), round(place[0], 6)]


def cut_at_antimeridian(positions: Sequence[Position]) -> list[list[Position]]:
    """The line in pieces that do not cross longitude 180, as RFC 7946 section 3.1.9 asks."""
    parts = [[positions[0]]]
    for (lat1, lon1), (lat2, lon2) in pairwise(positions):
        if abs(lon2 - lon1) > 180:
            edge = 180.0 if lon1 > 0 else -180.0
            turn = (lon2 - lon1 + 180.0) % 360.0 - 180.0
            lat = lat1 + (lat2 - lat1) * ((edge - lon1) / turn if turn else 0.0)
            parts[-1].append((lat, edge))
            parts.append([(lat, -edge)])
        parts[-1].append((lat2, lon2))
    return parts
