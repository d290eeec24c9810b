"""GPX 1.1 (and 1.0, which differs in its namespace only for what is read here).

A recorded track may hold some hundred thousand points, so those of a segment are read as
columns (all latitudes, all times, ...) while the file is still being read. A stretch of it
in which a point lacks what its neighbours have, or says something odd, is read one by one.
"""

from collections.abc import Sequence
from datetime import UTC, datetime
from functools import lru_cache, partial
from math import isnan
from pathlib import Path
from typing import Any

from msgspec import Struct

from tripplan.files.tracks.points import HEIGHTS_M, Oddities, chosen, point_of
from tripplan.files.tracks.xml import elements, local_name
from tripplan.records.track import Point, Track, Waypoint

NAMES = ("trkseg", "rtept", "rte", "wpt")
VALUES = ("@lat", "@lon", "g:ele/text()", "g:time/text()")
# As fast as a plain tuple; the named call would be a third of the time of the whole reading.
AS_POINT = partial(tuple.__new__, Point)


def read_gpx(path: Path, file: str, odd: Oddities) -> Track:
    """All tracks of the file in order, or its routes where those are the way, and its waypoints."""
    recorded: list[tuple[Point, ...]] = []
    drawn: list[tuple[Point, ...]] = []
    waypoints: list[Waypoint] = []
    segment: list[Point] = []
    route: list[Point] = []
    for name, element, is_whole in elements(path, file, NAMES, grown="trkseg"):
        if name == "trkseg":
            segment += _taken(element, len(element) if is_whole else len(element) - 1, odd)
            if is_whole:
                recorded.append(tuple(segment))
                segment = []
        elif name == "rte":
            drawn.append(tuple(route))
            route = []
        else:
            found, label = _point(element, odd)
            if found and label:
                waypoints.append(Waypoint(label, found.lat, found.lon))
            if found and name == "rtept":
                route.append(found)
    kind, lines = chosen(recorded, drawn, odd)
    return Track(file=file, kind=kind, segments=lines, waypoints=tuple(dict.fromkeys(waypoints)))


def _taken(segment: Any, count: int, odd: Oddities) -> list[Point]:
    """The points of the first `count` children of a segment, which are taken out of it."""
    if count < 1:
        return []
    points = _in_columns(segment, count)
    if points is None:
        children = [child for child in segment[:count] if local_name(child.tag) == "trkpt"]
        points = [found for child in children if (found := _point(child, odd)[0])]
    del segment[:count]
    return points


def _in_columns(segment: Any, count: int) -> list[Point] | None:
    """The points at once, or None where one of them is odd or unlike the others."""
    columns = [column.read(segment, count) for column in _columns(segment.tag.rpartition("}")[0][1:])]
    lat_texts, lon_texts, height_texts, time_texts = columns
    if not lat_texts or not lon_texts or height_texts is None or time_texts is None:
        return None
    if any("_" in "".join(texts) for texts in (lat_texts, lon_texts, height_texts)):
        return None
    try:
        lats, lons, heights = (list(map(float, texts)) for texts in (lat_texts, lon_texts, height_texts))
        times = list(map(datetime.fromisoformat, time_texts))
    except ValueError:
        return None
    if not (_within(lats, -90, 90) and _within(lons, -180, 180) and _within(heights, *HEIGHTS_M)):
        return None
    zoned = [time if time.tzinfo else time.replace(tzinfo=UTC) for time in times]
    nothing = [None] * count
    return list(map(AS_POINT, zip(lats, lons, heights or nothing, zoned or nothing, strict=True)))


class Column(Struct, frozen=True):
    """One value of the points of a segment: the texts of all, of the last alone, and who lacks it."""

    all: Any
    in_last: Any
    lacking: Any

    def read(self, segment: Any, count: int) -> list[str] | None:
        """The texts of the first `count` children: one for each, or none at all; None where it is mixed.

        As many texts as points, and no point without one, means one text for each point.
        """
        texts: list[str] = self.all(segment)
        if not texts:
            return texts
        beyond = 1 if len(segment) > count and self.in_last(segment) else 0
        is_even = len(texts) == count + beyond and not self.lacking(segment, n=count)
        return texts[:count] if is_even else [] if len(texts) == beyond else None


@lru_cache(maxsize=8)
def _columns(namespace: str) -> tuple[Column, ...]:
    """Latitude, longitude, height and time."""
    from lxml import etree

    def path(text: str) -> Any:
        spaces = {"g": namespace} if namespace else {}
        return etree.XPath(text if namespace else text.replace("g:", ""), namespaces=spaces, smart_strings=False)

    lacking = "boolean(g:trkpt[not({})][count(preceding-sibling::*) < $n])"
    return tuple(
        Column(
            path(f"g:trkpt/{value}"), path(f"boolean(g:trkpt[last()]/{value})"),
            path("false()" if value.startswith("@") else lacking.format(value)),  # no attribute stands twice
        ) for value in VALUES
    )  # fmt: skip


def _within(values: Sequence[float], low: float, high: float) -> bool:
    """True when every value lies in the range. What is no number makes the sum no number."""
    return not values or (low <= min(values) and max(values) <= high and not isnan(sum(values)))


def _point(element: Any, odd: Oddities) -> tuple[Point | None, str]:
    """The point and its name."""
    ele = time = None
    label = ""
    for child in element:
        name = local_name(child.tag)
        if name == "ele":
            ele = child.text
        elif name == "time":
            time = child.text
        elif name == "name":
            label = " ".join((child.text or "").split())
    return point_of(element.get("lat"), element.get("lon"), ele, time, odd, element), label
