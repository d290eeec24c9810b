"""Which lines of a track file are the way, where it holds recorded tracks and drawn routes.

What a receiver recorded is the road as it was driven, and is used. A recorded stub beside a
long route is no such thing: then the route is. What is left out is told.
"""

from collections.abc import Sequence

from tripplan.files.tracks.points import Oddities
from tripplan.records.track import DRAWN, RECORDED, Point
from tripplan.trip.route.geodesic import length_km

STUB_SHARE = 0.1  # judgement: under a tenth of the route a recording is not the way
ACCEPTED = "one way in a file: a recorded track, or a route"
Lines = tuple[tuple[Point, ...], ...]


def chosen(
    recorded: Sequence[tuple[Point, ...]], drawn: Sequence[tuple[Point, ...]], odd: Oddities
) -> tuple[str, Lines]:
    """The kind and the lines that are used; those of one point are no lines."""
    tracks = tuple(line for line in recorded if len(line) > 1)
    routes = tuple(line for line in drawn if len(line) > 1)
    if not tracks or not routes:
        return (DRAWN, routes) if routes else (RECORDED, tracks)
    track_km, route_km = (sum(length_km(line) for line in lines) for lines in (tracks, routes))
    is_stub = track_km < STUB_SHARE * route_km
    track = _said(len(tracks), "recorded line", track_km)
    route = _said(len(routes), "drawn line or route", route_km)
    left, used = (track, route) if is_stub else (route, track)
    odd.tell("X14", f"{left}, left out beside {used}", ACCEPTED, "give each a file of its own to use the other")
    return (DRAWN, routes) if is_stub else (RECORDED, tracks)


def _said(count: int, what: str, km: float) -> str:
    many = what.replace("line", "lines").replace("route", "routes") if count > 1 else what
    return f"{count} {many} of {km:.0f} km"
