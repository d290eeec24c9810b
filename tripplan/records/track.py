"""What a track file holds, as frozen records: points, the unbroken pieces they form, waypoints.

`Point` and `Waypoint` are named tuples, since a file may hold some hundred thousand.
Degrees are WGS-84, north and east positive. Unknown height or time is None.
"""

from datetime import datetime
from typing import NamedTuple

from msgspec import Struct

RECORDED = "recorded"
DRAWN = "drawn"


class Point(NamedTuple):
    """One position on the way; the time carries its zone."""

    lat: float
    lon: float
    ele_m: float | None = None
    time: datetime | None = None


class Waypoint(NamedTuple):
    """A named position beside or on the way."""

    name: str
    lat: float
    lon: float


class Track(Struct, frozen=True, kw_only=True):
    """A whole track file. Between two segments nothing was recorded, and nothing is counted.

    `kind` is `recorded` for what a receiver wrote and `drawn` for a route laid on a map.
    """

    file: str
    kind: str
    segments: tuple[tuple[Point, ...], ...]
    waypoints: tuple[Waypoint, ...]

    @property
    def points(self) -> int:
        """How many points all segments hold."""
        return sum(len(segment) for segment in self.segments)
