"""From a track to a measured way: its length, its climb, and the standing still taken out.

Rules, each stated because each changes the number:
- between two segments nothing was recorded and nothing is counted; the gap is told;
- while the rig stands, 60 s or more within 25 m, only the first and last point count: a
  receiver's wander in camp would otherwise add kilometres;
- a climb counts once it exceeds 10 m from the last turn, since heights waver by metres;
- a way drawn with points far apart is shorter than the road: it is multiplied by the
  winding factor (road length over straight length, >= 1), which has a low and a high.
The figures 25 m, 60 s and 10 m are judgement.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import cos, hypot, radians

from tripplan.geodesic import distance_km, steps_km
from tripplan.track_records import DRAWN, Point, Track

STANDING_WITHIN_M = 25.0
STANDING_LONGER = timedelta(seconds=60)
CLIMB_COUNTS_FROM_M = 10.0
SPARSE_STEP_KM = 1.0
METRES_PER_DEGREE = 111_195.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Winding:
    """Road length over straight length, with its spread; all 1 where the road itself was recorded."""

    factor: float = 1.0
    low: float = 1.0
    high: float = 1.0


STRAIGHT = Winding()


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A track measured: its points in order and the km at each.

    `winding` is already in the km. `gap_km` is the straight distance between segments,
    which is not in them. `opens` are the points after which something was not recorded.
    """

    points: tuple[Point, ...]
    km: tuple[float, ...]
    opens: frozenset[int]
    gap_km: float
    winding: Winding
    has_times: bool

    @property
    def length_km(self) -> float:
        """Kilometres from the first point to the last."""
        return self.km[-1] if self.km else 0.0


def measure(track: Track, winding: Winding) -> Way:
    """The way of a track; `winding` is used only where its points are too far apart to show the road."""
    segments = [without_standing(segment) for segment in track.segments]
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
        at_km = km[-1] if km else 0.0
        km.append(at_km)
        for step_km in steps_km(segment).tolist():
            at_km += step_km * used.factor
            km.append(at_km)
        points += segment
    has_times = any(point.time is not None for point in points)
    return Way(points=tuple(points), km=tuple(km), opens=frozenset(opens), gap_km=gap_km,
               winding=used, has_times=has_times)  # fmt: skip


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


def without_standing(points: Sequence[Point]) -> tuple[Point, ...]:
    """The points with each halt reduced to its first and last; without times nothing can be known.

    Where the points near one another are no halt, the search goes on from the middle of
    them, so that thousands of points at one place cost no more than as many on the way.
    """
    kept: list[Point] = []
    spot = 0
    while spot < len(points):
        last = _last_near(points, spot)
        if last > spot and _is_halt(points[spot].time, points[last].time):
            kept += (points[spot], points[last])
            spot = last + 1
        else:
            onward = spot + max((last - spot) // 2, 1)
            kept += points[spot:onward]
            spot = onward
    return tuple(kept)


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
