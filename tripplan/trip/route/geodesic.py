"""Distances on the earth's ellipsoid for many steps at once, and places along a line.

Longitudes may jump at the antimeridian; the shorter way round is always meant.
"""

from collections.abc import Sequence
from typing import Any

from tripplan.records.track import Point

WGS84 = (6_378_137.0, 1 / 298.257223563)
Position = tuple[float, float]
Place = tuple[float, ...] | Point
MOST_ROUNDS = 200
SETTLED_RAD = 1e-12


def steps_km(points: Sequence[Point]) -> Any:
    """How far each point is from the one before it; one number fewer than there are points.

    Gives      kilometres along the ellipsoid, a NumPy array of len(points) - 1
    Takes      points   positions in degrees, WGS-84
    Formula    Vincenty's inverse solution, all steps at once; the few that do not settle,
               because they end nearly opposite on the globe, are handed to geopy
    Holds for  any two positions
    Refuses    nothing: positions outside the range cannot be Points of a read track
    Worked     Point(0, 0), Point(0, 1) -> 111.319491 km, a degree of the equator, pi a / 180
    Source     T. Vincenty, Survey Review 23 (176), 1975, from memory
    Basis      published
    Checked    tests/published/test_geodesic_lines.py
    """
    lats, lons = degrees_of(points)
    return inverse_m(lats[:-1], lons[:-1], lats[1:], lons[1:]) / 1000.0


def degrees_of(points: Sequence[Point]) -> tuple[Any, Any]:
    """Latitudes and longitudes as two NumPy arrays."""
    import numpy as np

    return tuple(np.array([point[axis] for point in points], dtype=float) for axis in (0, 1))  # type: ignore[return-value]


def distance_km(start: Place, end: Place) -> float:
    """Along the ellipsoid from one latitude and longitude to another."""
    from geopy.distance import geodesic

    return float(geodesic(start[:2], end[:2]).km)


def length_km(points: Sequence[Point]) -> float:
    """The sum of all steps of one unbroken line."""
    return float(steps_km(points).sum()) if len(points) > 1 else 0.0


def between(start: Place, end: Place, share: float) -> tuple[float, float]:
    """The place at a share of the way between two near ones, across the antimeridian too."""
    turn = (end[1] - start[1] + 180.0) % 360.0 - 180.0
    lon = start[1] + share * turn
    return start[0] + share * (end[0] - start[0]), (lon + 180.0) % 360.0 - 180.0


def inverse_m(lat1: Any, lon1: Any, lat2: Any, lon2: Any, ellipsoid: tuple[float, float] = WGS84) -> Any:
    """Metres between pairs of positions, four arrays of one shape; the ellipsoid is its long axis and flattening.

    Vincenty's symbols: U reduced latitude, lam longitude on the auxiliary sphere.
    """
    import numpy as np

    a, f = ellipsoid
    U1, U2 = (np.arctan((1 - f) * np.tan(np.radians(lat))) for lat in (lat1, lat2))
    L = np.radians((lon2 - lon1 + 180.0) % 360.0 - 180.0)
    sinU1, cosU1, sinU2, cosU2 = np.sin(U1), np.cos(U1), np.sin(U2), np.cos(U2)
    lam = L.copy()
    settled = np.zeros(L.shape, dtype=bool)
    with np.errstate(divide="ignore", invalid="ignore"):
        for _ in range(MOST_ROUNDS):
            sin_lam, cos_lam = np.sin(lam), np.cos(lam)
            sin_s = np.hypot(cosU2 * sin_lam, cosU1 * sinU2 - sinU1 * cosU2 * cos_lam)
            cos_s = sinU1 * sinU2 + cosU1 * cosU2 * cos_lam
            s = np.arctan2(sin_s, cos_s)
            sin_a = np.where(sin_s == 0, 0.0, cosU1 * cosU2 * sin_lam / sin_s)
            cos2_a = 1 - sin_a**2
            cos_2m = np.where(cos2_a < 1e-15, 0.0, cos_s - 2 * sinU1 * sinU2 / cos2_a)
            C = f / 16 * cos2_a * (4 + f * (4 - 3 * cos2_a))
            bracket = s + C * sin_s * (cos_2m + C * cos_s * (2 * cos_2m**2 - 1))
            before, lam = lam, L + (1 - C) * f * sin_a * bracket
            settled = np.abs(lam - before) < SETTLED_RAD
            if settled.all():
                break
    found = _arc_m(s, sin_s, cos_s, cos2_a, cos_2m, a, f)
    for spot in np.flatnonzero(~settled | ~np.isfinite(found)):
        found[spot] = _careful_m((lat1[spot], lon1[spot]), (lat2[spot], lon2[spot]), a, f)
    return found


def _careful_m(start: Position, end: Position, a: float, f: float) -> float:
    from geopy.distance import geodesic

    return float(geodesic(start, end, ellipsoid=(a / 1000, a * (1 - f) / 1000, f)).m)


def _arc_m(s: Any, sin_s: Any, cos_s: Any, cos2_a: Any, cos_2m: Any, a: float, f: float) -> Any:
    """Length of the arc: Vincenty's series A and B, in metres."""
    b = a * (1 - f)
    u2 = cos2_a * (a**2 - b**2) / b**2
    A = 1 + u2 / 16384 * (4096 + u2 * (-768 + u2 * (320 - 175 * u2)))
    B = u2 / 1024 * (256 + u2 * (-128 + u2 * (74 - 47 * u2)))
    inner = cos_s * (2 * cos_2m**2 - 1) - B / 6 * cos_2m * (4 * sin_s**2 - 3) * (4 * cos_2m**2 - 3)
    return b * A * (s - B * sin_s * (cos_2m + B / 4 * inner))
