"""From a track to a measured way: its length, its climb, and the standing still taken out.

Rules, each stated because each changes the number:
- between two segments nothing was recorded and nothing is counted; the gap is told;
- a point that could only be reached and left at more than 250 km/h, while its neighbours fit
  together without it, is a jump of the receiver and is left out, and counted;
- while the rig stands, 60 s or more within 25 m, only the first and last point count: a
  receiver's wander in camp would otherwise add kilometres;
- a climb counts once it exceeds 10 m from the last turn, since heights waver by metres;
- a way drawn with points far apart is shorter than the road: it is multiplied by the
  winding factor (road length over straight length, >= 1), which has a low and a high.
The figures 250 km/h, 25 m, 60 s and 10 m are judgement.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from math import cos, hypot, radians
from typing import Any

from msgspec import Struct

from tripplan.records.track import DRAWN, Point, Track
from tripplan.trip.route.geodesic import degrees_of, distance_km, steps_km

STANDING_WITHIN_M = 25.0
STANDING_LONGER = timedelta(seconds=60)
CLIMB_COUNTS_FROM_M = 10.0
FASTEST_KMH = 250.0
SPARSE_STEP_KM = 1.0
METRES_PER_DEGREE = 111_195.0
MPS_AS_KMH = 3.6


class Winding(Struct, frozen=True, kw_only=True):
    """Road length over straight length, with its spread; all 1 where the road itself was recorded."""

    factor: float = 1.0
    low: float = 1.0
    high: float = 1.0


STRAIGHT = Winding()


class Way(Struct, frozen=True, kw_only=True):
    """A track measured: its points in order and the km at each.

    `winding` is already in the km. `gap_km` is the straight distance between segments,
    which is not in them. `opens` are the points after which something was not recorded.
    `jumps` is how many points were left out as jumps of the receiver.
    """

    points: tuple[Point, ...]
    km: tuple[float, ...]
    opens: frozenset[int]
    gap_km: float
    winding: Winding
    has_times: bool
    jumps: int

    @property
    def length_km(self) -> float:
        """Kilometres from the first point to the last."""
        return self.km[-1] if self.km else 0.0


def measure(track: Track, winding: Winding) -> Way:
    """The way of a track; `winding` is used only where its points are too far apart to show the road."""
    steady = [without_jumps(segment) for segment in track.segments]
    jumps = track.points - sum(map(len, steady))
    segments = [without_standing(segment) for segment in steady]
    if not segments:
        segments = [tuple(Point(mark.lat, mark.lon) for mark in track.waypoints)]
    used = winding if is_sparse(track) else STRAIGHT
    points: list[Point] = []
    km: list[float] = []
    opens: set[int] = set()
    gap_km = 0.0
    for segment in segments:
        if points:
            opens.add(len(points) - 1)
            gap_km += distance_km(points[-1], segment[0])
        km += _marks_km(segment, km[-1] if km else 0.0, used.factor)
        points += segment
    has_times = any(point.time is not None for point in points)
    return Way(points=tuple(points), km=tuple(km), opens=frozenset(opens), gap_km=gap_km,
               winding=used, has_times=has_times, jumps=jumps)  # fmt: skip


def is_sparse(track: Track) -> bool:
    """True when the points are too far apart to follow a road: on average more than 1 km.

    A recorded track is never taken as sparse: its receiver drove the road.
    """
    if not track.segments:
        return True
    if track.kind != DRAWN:
        return False
    steps = [step for segment in track.segments for step in steps_km(segment).tolist()]
    return sum(steps) > SPARSE_STEP_KM * len(steps) if steps else True


def without_jumps(points: Sequence[Point]) -> tuple[Point, ...]:
    """The points without those that no rig could have been at; without times nothing can be known.

    Only single points: where several agree with each other, who is to say which are right.
    """
    import numpy as np

    if len(points) < 3 or not any(point.time for point in points):
        return tuple(points)
    lats, lons = degrees_of(points)
    seconds = np.array([point.time.timestamp() if point.time else np.nan for point in points])

    def kmh(apart: int) -> Any:
        """Speed from each point to the one so many further on; no number where a time is missing."""
        metres = _apart_m(lats[:-apart], lons[:-apart], lats[apart:], lons[apart:])
        return metres / np.maximum(np.abs(seconds[apart:] - seconds[:-apart]), 1.0) * MPS_AS_KMH

    steps, over = kmh(1) > FASTEST_KMH, kmh(2)
    is_jump = steps[:-1] & steps[1:] & (over <= FASTEST_KMH)
    jumps = set((np.flatnonzero(is_jump) + 1).tolist())
    return tuple(point for spot, point in enumerate(points) if spot not in jumps) if jumps else tuple(points)


def without_standing(points: Sequence[Point]) -> tuple[Point, ...]:
    """The points with each halt reduced to its first and last; without times nothing can be known.

    Where the points near one another are no halt, the search goes on from the middle of
    them, so that thousands of points at one place cost no more than as many on the way.
    """
    kept: list[Point] = []
    spot = 0
    for start in _may_stand(points):
        if start < spot:
            continue
        last = _last_near(points, start)
        kept += points[spot:start]
        if _is_halt(points[start].time, points[last].time):
            kept += (points[start], points[last])
            spot = last + 1
        else:
            spot = start + max((last - start) // 2, 1)
            kept += points[start:spot]
    return (*kept, *points[spot:])


def _may_stand(points: Sequence[Point]) -> list[int]:
    """Where a halt may begin: still near at the first point that is late enough for one.

    Asked of all points at once and a little generously, so that driving costs next to nothing.
    """
    import numpy as np

    if not any(point.time for point in points):
        return []
    seconds = np.array([point.time.timestamp() if point.time else -np.inf for point in points])
    spots = np.arange(len(points))
    longer_s = STANDING_LONGER.total_seconds() - 0.001
    later = np.maximum(np.searchsorted(np.maximum.accumulate(seconds), seconds + longer_s), spots)
    begins = np.flatnonzero(np.isfinite(seconds) & (later < len(points)))
    lats, lons = degrees_of(points)
    ends = later[begins]
    apart_m = _apart_m(lats[begins], lons[begins], lats[ends], lons[ends])
    found: list[int] = begins[apart_m <= STANDING_WITHIN_M + 0.1].tolist()
    return found


def _apart_m(lat1: Any, lon1: Any, lat2: Any, lon2: Any) -> Any:
    """Metres between close points, as `_near_m` has it, for whole arrays."""
    import numpy as np

    turn = (lon2 - lon1 + 180.0) % 360.0 - 180.0
    return np.hypot(lat2 - lat1, turn * np.cos(np.radians(lat1))) * METRES_PER_DEGREE


def _marks_km(points: Sequence[Point], start_km: float, factor: float) -> list[float]:
    """The km at each point, from the start on."""
    import numpy as np

    marks: list[float] = np.cumsum(np.concatenate(([start_km], steps_km(points) * factor))).tolist()
    return marks


def _last_near(points: Sequence[Point], spot: int) -> int:
    anchor, last = points[spot], spot
    if anchor.time is None:
        return spot
    while last + 1 < len(points) and _near_m(anchor, points[last + 1]) <= STANDING_WITHIN_M:
        last += 1
    return last


def _near_m(anchor: Point, other: Point) -> float:
    """Metres between close points; good to a metre within a kilometre."""
    turn = (other.lon - anchor.lon + 180.0) % 360.0 - 180.0
    return hypot(other.lat - anchor.lat, turn * cos(radians(anchor.lat))) * METRES_PER_DEGREE


def _is_halt(start: datetime | None, end: datetime | None) -> bool:
    return start is not None and end is not None and end - start >= STANDING_LONGER


def climb_and_descent_m(points: Iterable[Point]) -> tuple[float, float] | None:
    """Metres gone up and metres gone down; None when fewer than two points have a height."""
    heights = [point.ele_m for point in points if point.ele_m is not None]
    if len(heights) < 2:
        return None
    up = down = 0.0
    turn = heights[0]
    for height in heights[1:]:
        if abs(height - turn) < CLIMB_COUNTS_FROM_M:
            continue
        up += max(height - turn, 0.0)
        down += max(turn - height, 0.0)
        turn = height
    return up, down


def moving_speed_kmh(way: Way, first: int, last: int) -> float | None:
    """Average speed without halts between two points of the way; None without times."""
    hours = 0.0
    driven_km = 0.0
    for spot in range(first, last):
        start, end = way.points[spot], way.points[spot + 1]
        if spot in way.opens or start.time is None or end.time is None or end.time <= start.time:
            continue
        if _near_m(start, end) <= STANDING_WITHIN_M and _is_halt(start.time, end.time):
            continue
        hours += (end.time - start.time).total_seconds() / 3600
        driven_km += way.km[spot + 1] - way.km[spot]
    return driven_km / hours if hours > 0 and driven_km > 0 else None
