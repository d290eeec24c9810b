"""Cutting a measured way into legs, and holding a track against what the owner typed.

A leg ends at an overnight halt, at a named waypoint, or after so many km a day. What a leg
is like, no track tells: those columns stay empty for the owner.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from msgspec import Struct

from tripplan.records.facts_in import Leg
from tripplan.records.problem_codes import figure, problem
from tripplan.records.problems import Problem
from tripplan.records.track import Waypoint
from tripplan.trip.route.geodesic import between, distance_km
from tripplan.trip.route.leg_on_map import ends_of
from tripplan.trip.route.measured_way import CLIMB_COUNTS_FROM_M, Way, Winding, climb_and_descent_m, moving_speed_kmh

OVERNIGHT_LONGER = timedelta(hours=4)
WHOLE_DAY = timedelta(hours=24)
NIGHT_FROM_HOUR, NIGHT_TO_HOUR = 20.0, 8.0
NAMED_WITHIN_KM = 2.0
SHORTEST_LEG_KM = 1.0
DISAGREES_FROM_SHARE = 0.10


class Cut(Struct, frozen=True, kw_only=True):
    """A place where one leg ends and the next begins: after which point, at which km."""

    spot: int
    km: float
    lat: float
    lon: float
    name: str | None = None


class ProposedLeg(Struct, frozen=True, kw_only=True):
    """A leg as the track shows it. Times carry their zone; None where the track does not tell.

    `low_km` and `high_km` differ from `distance_km` only where a winding factor is in it.
    """

    from_: str
    to: str
    start: tuple[float, float]
    end: tuple[float, float]
    depart: datetime | None
    arrive: datetime | None
    distance_km: float
    low_km: float
    high_km: float
    speed_kmh: float | None
    climb_m: float | None
    descent_m: float | None


def overnight_cuts(way: Way) -> tuple[Cut, ...]:
    """Cuts where more than 4 h pass between two points and the middle of them is by night.

    Night is 20 to 8 h by the sun's mean time at the longitude. A whole day counts as well.
    """
    found = []
    for spot, (start, end) in enumerate(zip(way.points, way.points[1:], strict=False)):
        if start.time is None or end.time is None:
            continue
        gap = end.time - start.time
        if gap > OVERNIGHT_LONGER and (gap >= WHOLE_DAY or _is_night(start.time + gap / 2, start.lon)):
            found.append(Cut(spot=spot, km=way.km[spot], lat=start.lat, lon=start.lon))
    return tuple(found)


def _is_night(when: datetime, lon: float) -> bool:
    utc = when.utctimetuple()
    hour = (utc.tm_hour + utc.tm_min / 60 + lon / 15) % 24
    return hour >= NIGHT_FROM_HOUR or hour < NIGHT_TO_HOUR


def waypoint_cuts(way: Way, waypoints: Iterable[Waypoint]) -> tuple[tuple[Cut, ...], tuple[str, ...]]:
    """Cuts at the point nearest to each waypoint, and the names of those over 2 km off the way.

    A way that passes a waypoint twice is cut where it comes nearest.
    """
    import numpy as np

    lats, lons = (np.array([point[axis] for point in way.points]) for axis in (0, 1))
    cuts, missed = [], []
    for mark in waypoints:
        turn = (lons - mark.lon + 180.0) % 360.0 - 180.0
        spot = int(np.argmin((lats - mark.lat) ** 2 + (turn * np.cos(np.radians(mark.lat))) ** 2))
        near = way.points[spot]
        if distance_km((mark.lat, mark.lon), near) > NAMED_WITHIN_KM:
            missed.append(mark.name)
        else:
            cuts.append(Cut(spot=spot, km=way.km[spot], lat=near.lat, lon=near.lon, name=mark.name))
    return tuple(sorted(cuts, key=lambda cut: cut.km)), tuple(missed)


def km_cuts(way: Way, km_a_day: float) -> tuple[Cut, ...]:
    """Cuts after every so many km, each at its place between two points of the way."""
    if not km_a_day > 0:
        raise ValueError("km_a_day must be above 0")
    found = []
    spot = 0
    for day in range(1, int(way.length_km / km_a_day) + 1):
        while way.km[spot + 1] < day * km_a_day and spot + 2 < len(way.km):
            spot += 1
        start, end, step_km = way.points[spot], way.points[spot + 1], way.km[spot + 1] - way.km[spot]
        lat, lon = between(start, end, (day * km_a_day - way.km[spot]) / step_km if step_km else 0.0)
        found.append(Cut(spot=spot, km=day * km_a_day, lat=lat, lon=lon))
    return tuple(found)


def propose(way: Way, cuts: Sequence[Cut], names: Iterable[Waypoint] = ()) -> tuple[ProposedLeg, ...]:
    """The legs between the cuts. An end takes the name of a waypoint within 2 km, else a plain one."""
    first, last = way.points[0], way.points[-1]
    start = Cut(spot=-1, km=0.0, lat=first.lat, lon=first.lon)
    end = Cut(spot=len(way.points) - 1, km=way.length_km, lat=last.lat, lon=last.lon)
    ends = [start]
    for cut in sorted(cuts, key=lambda each: each.km):
        if cut.km - ends[-1].km >= SHORTEST_LEG_KM and way.length_km - cut.km >= SHORTEST_LEG_KM:
            ends.append(cut)
    ends.append(end)
    marks = tuple(names)
    named = [_name(cut, spot, marks, len(ends) - 1) for spot, cut in enumerate(ends)]
    pairs = zip(ends, ends[1:], named, named[1:], strict=False)
    return tuple(_leg(way, *pair) for pair in pairs)


def _name(cut: Cut, spot: int, marks: Sequence[Waypoint], last: int) -> str:
    if cut.name:
        return cut.name
    off_km = [(distance_km((cut.lat, cut.lon), (mark.lat, mark.lon)), mark.name) for mark in marks]
    near = min(off_km, default=(NAMED_WITHIN_KM + 1, ""))
    if near[0] <= NAMED_WITHIN_KM:
        return near[1]
    return "start of the track" if spot == 0 else "end of the track" if spot == last else f"halt {spot}"


def _leg(way: Way, start: Cut, end: Cut, from_: str, to: str) -> ProposedLeg:
    """The leg from one cut to the next; its own points lie after the first and up to the second."""
    first, last = start.spot + 1, end.spot
    own = way.points[first : last + 1]
    km, winding = end.km - start.km, way.winding
    heights = climb_and_descent_m(own)
    times = [point.time for point in own if point.time is not None]
    return ProposedLeg(
        from_=from_, to=to, start=(start.lat, start.lon), end=(end.lat, end.lon),
        depart=times[0] if times else None, arrive=times[-1] if times else None,
        distance_km=km, low_km=km * winding.low / winding.factor, high_km=km * winding.high / winding.factor,
        speed_kmh=moving_speed_kmh(way, first, last),
        climb_m=heights[0] if heights else None, descent_m=heights[1] if heights else None,
    )  # fmt: skip


def compare_distance(legs: Sequence[Leg], way: Way, file: str) -> Problem | None:
    """A question when the legs that share a track add up to something else than it, by over a tenth."""
    typed_km = sum(leg.distance_km for leg in legs)
    low_km, high_km = spread_km(way)
    if not way.length_km:
        return None
    if low_km * (1 - DISAGREES_FROM_SHARE) <= typed_km <= high_km * (1 + DISAGREES_FROM_SHARE):
        return None
    short = "shorter" if typed_km < way.length_km else "longer"
    spread = f", {low_km:.0f} to {high_km:.0f} km as roads wind" if high_km > low_km else ""
    numbers = ", ".join(str(leg.leg) for leg in legs)
    gap = f"; {way.gap_km:.0f} km between its pieces are not counted" if way.gap_km >= 1 else ""
    return problem(
        "X08", legs[0].origin, "distance_km", f"{figure(typed_km)} km for leg {numbers}",
        f"about {way.length_km:.0f} km, the length of {file}{spread}",
        f"{abs(typed_km - way.length_km):.0f} km {short} than the track{gap}",
    )  # fmt: skip


def compare_ends(leg: Leg, winding: Winding) -> Problem | None:
    """A question when a typed distance does not fit the straight line of the leg's ends, by over a tenth.

    Asked only where the two ends are known and no track is; a round trip has no such line.
    """
    ends = ends_of(leg)
    straight_km = distance_km(*ends) if ends and leg.track is None else 0.0
    if straight_km < SHORTEST_LEG_KM:
        return None
    low_km, high_km = straight_km * winding.low, straight_km * winding.high
    if low_km * (1 - DISAGREES_FROM_SHARE) <= leg.distance_km <= high_km * (1 + DISAGREES_FROM_SHARE):
        return None
    off_km = straight_km * winding.factor - leg.distance_km
    return problem(
        "X08", leg.origin, "distance_km", f"{figure(leg.distance_km)} km for leg {leg.leg}",
        f"about {straight_km * winding.factor:.0f} km, {low_km:.0f} to {high_km:.0f} km as roads wind",
        f"its ends are {straight_km:.0f} km apart in a straight line; {abs(off_km):.0f} km "
        f"{'short of' if off_km > 0 else 'over'} the estimate",
    )  # fmt: skip


def compare_descent(legs: Sequence[Leg], way: Way, file: str) -> tuple[Problem, ...]:
    """A question for each leg whose typed descent and the heights of its track differ by over a tenth.

    Differences under the 10 m from which a climb counts at all are none.
    """
    whole_km = sum(leg.distance_km for leg in legs)
    found, done_km = [], 0.0
    for leg in legs:
        low, high = (km / whole_km * way.length_km for km in (done_km, done_km + leg.distance_km))
        done_km += leg.distance_km
        heights = climb_and_descent_m(way.points[bisect_left(way.km, low) : bisect_right(way.km, high)])
        if leg.descent_m is None or heights is None:
            continue
        if abs(leg.descent_m - heights[1]) > max(DISAGREES_FROM_SHARE * heights[1], CLIMB_COUNTS_FROM_M):
            accepted = f"about {heights[1]:.0f} m, from the heights in {file}"
            found.append(problem("X13", leg.origin, "descent_m", f"{figure(leg.descent_m)} m", accepted))
    return tuple(found)


def spread_km(way: Way) -> tuple[float, float]:
    """The shortest and longest that the way may be; equal where the road itself was recorded."""
    straight_km = way.length_km / way.winding.factor
    return straight_km * way.winding.low, straight_km * way.winding.high


def winding_of(value: float, low: float | None, high: float | None) -> Winding:
    """The winding factor with its spread; a bound that is not given is the value itself."""
    return Winding(factor=value, low=low if low is not None else value, high=high if high is not None else value)
