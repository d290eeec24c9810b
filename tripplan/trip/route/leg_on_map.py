"""Where on the map a kilometre of a leg is: along its track, or on the straight line of its ends."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tripplan.records.facts_in import Leg
from tripplan.trip.route.geodesic import Place, between
from tripplan.trip.route.measured_way import Way

Position = tuple[float, float]


class LegLine(Struct, frozen=True, kw_only=True):
    """A leg on the map: its positions, and the leg's own km at each.

    `is_recorded` is false where only the two ends are known, so what lies between is a guess.
    """

    leg: int
    positions: tuple[Position, ...]
    km: tuple[float, ...]
    is_recorded: bool


def leg_lines(legs: Iterable[Leg], ways: Mapping[str, Way]) -> dict[int, LegLine]:
    """Every leg that has a track or two ends, by its number.

    Legs that name the same track share it in their order, each by its part of their km.
    """
    listed = sorted(legs, key=lambda leg: leg.leg)
    lines: dict[int, LegLine] = {}
    for file, way in ways.items():
        sharing = [leg for leg in listed if leg.track == file]
        total_km = sum(leg.distance_km for leg in sharing)
        done_km = 0.0
        for leg in sharing:
            low, high = done_km / total_km, (done_km + leg.distance_km) / total_km
            lines[leg.leg] = _piece(leg, way, low * way.length_km, high * way.length_km)
            done_km += leg.distance_km
    for leg in listed:
        if leg.leg not in lines and (ends := ends_of(leg)):
            lines[leg.leg] = LegLine(leg=leg.leg, positions=ends, km=(0.0, leg.distance_km), is_recorded=False)
    return lines


def thinned(line: LegLine, most: int) -> LegLine:
    """The line with at most so many positions, evenly along its km: enough for a picture."""
    if len(line.km) <= most:
        return line
    step_km = line.km[-1] / (most - 1)
    spots = dict.fromkeys(min(bisect_left(line.km, n * step_km), len(line.km) - 1) for n in range(most))
    kept = [0, *(spot for spot in spots if 0 < spot < len(line.km) - 1), len(line.km) - 1]
    return replace(line, positions=tuple(line.positions[n] for n in kept), km=tuple(line.km[n] for n in kept))


def ends_of(leg: Leg) -> tuple[Position, Position] | None:
    """Both ends of a leg, when all four of its columns are filled."""
    if leg.from_lat is None or leg.from_lon is None or leg.to_lat is None or leg.to_lon is None:
        return None
    return (leg.from_lat, leg.from_lon), (leg.to_lat, leg.to_lon)


def place_at(line: LegLine, leg_km: float) -> Position:
    """The position at a km of the leg; before its start or past its end, the start or end."""
    return _at(line.positions, line.km, leg_km)


def part(line: LegLine, low_km: float, high_km: float) -> tuple[Position, ...]:
    """The positions from one km of the leg to another, both ends worked out."""
    inner = line.positions[bisect_right(line.km, low_km) : bisect_left(line.km, high_km)]
    return (place_at(line, low_km), *inner, place_at(line, high_km))


def _piece(leg: Leg, way: Way, low_km: float, high_km: float) -> LegLine:
    scale = leg.distance_km / (high_km - low_km) if high_km > low_km else 0.0
    first, last = bisect_right(way.km, low_km), bisect_left(way.km, high_km)
    inner = [(way.points[spot][:2], way.km[spot]) for spot in range(first, last)]
    whole: list[tuple[Position, float]] = [
        (_at(way.points, way.km, low_km), low_km), *inner, (_at(way.points, way.km, high_km), high_km),
    ]  # fmt: skip
    return LegLine(
        leg=leg.leg, positions=tuple(place for place, _ in whole),
        km=tuple((km - low_km) * scale for _, km in whole), is_recorded=way.winding.factor == 1,
    )  # fmt: skip


def _at(places: Sequence[Place], km: Sequence[float], at_km: float) -> Position:
    spot = min(max(bisect_left(km, at_km), 1), len(km) - 1)
    span_km = km[spot] - km[spot - 1]
    share = (at_km - km[spot - 1]) / span_km if span_km > 0 else 0.0
    return between(places[spot - 1], places[spot], min(max(share, 0.0), 1.0))
