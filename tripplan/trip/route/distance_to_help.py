"""How far from help each leg runs, counted along the way itself.

Help is home, where the trip begins and ends, and every stop that is a town or a workshop.
A town driven through without stopping is not known here.
"""

from collections.abc import Iterator
from itertools import accumulate, pairwise

from msgspec import Struct

from tripplan.records.facts_in import Leg, Trip
from tripplan.records.problem_codes import figure, problem
from tripplan.records.problems import Problem
from tripplan.records.words import WITH_SHOPS

HELP_KNOWN = "as far as the towns and workshops of stops.csv tell"


class Remoteness(Struct, frozen=True, kw_only=True):
    """One leg: how far and how many hours from help it comes at the most, and where it is remote.

    `stretches` are the parts, in km of the leg, from which help is further than accepted.
    """

    leg: int
    help_km: float
    hours_to_help: float
    stretches: tuple[tuple[float, float], ...]


def remoteness(trip: Trip, beyond_km: float) -> tuple[Remoteness, ...]:
    """Each leg's distance to help, a leg's hours being its own moving average.

    The distance to the nearest help is straight between two places of help, rising to the
    middle and falling again, so its greatest value is at an end of the leg or at a middle.
    """
    legs = tuple(sorted(trip.legs, key=lambda leg: leg.leg))
    starts_km = list(accumulate((leg.distance_km for leg in legs), initial=0.0))
    helps = _helps(trip, legs, starts_km)
    return tuple(_of_leg(legs, starts_km, spot, helps, beyond_km) for spot in range(len(legs)))


def help_on_map(trip: Trip) -> dict[int, Remoteness]:
    """Distance to help, beyond what the owner accepts, by the number of each leg that is on the map."""
    mapped = {leg.leg for leg in trip.legs if on_map(leg)}
    return {far.leg: far for far in remoteness(trip, trip.remote_beyond_km) if far.leg in mapped} if mapped else {}


def standing_hours(trip: Trip, near_hours: float, remote_hours: float) -> tuple[float, ...]:
    """How long the rig would stand after a stop on each leg, in the order of their numbers.

    The table's hours, by the leg's word on remote; on a leg on the map also the drive of
    help to its loneliest km and back.
    """
    far = help_on_map(trip)
    return tuple(
        (remote_hours if leg.remote else near_hours) + (2 * far[leg.leg].hours_to_help if leg.leg in far else 0.0)
        for leg in sorted(trip.legs, key=lambda leg: leg.leg)
    )


def remote_questions(trip: Trip) -> tuple[Problem, ...]:
    """Questions where the owner's `remote` and the distance to help do not agree.

    Asked only of legs on the map (a track or both ends): there the owner has gone into detail.
    """
    far = help_on_map(trip)
    legs = sorted((leg for leg in trip.legs if leg.leg in far), key=lambda leg: leg.leg)
    return tuple(_question(trip, leg, far[leg.leg]) for leg in legs if leg.remote != bool(far[leg.leg].stretches))


def _helps(trip: Trip, legs: tuple[Leg, ...], starts_km: list[float]) -> list[float]:
    end_of = {leg.leg: end for leg, end in zip(legs, starts_km[1:], strict=True)}
    stops = {end_of[stop.after_leg] for stop in trip.stops if stop.facility in WITH_SHOPS and stop.after_leg in end_of}
    return sorted({0.0, starts_km[-1], *stops})


def _of_leg(
    legs: tuple[Leg, ...], starts_km: list[float], spot: int, helps: list[float], beyond_km: float
) -> Remoteness:
    start, end = starts_km[spot], starts_km[spot + 1]
    middles = [(low + high) / 2 for low, high in pairwise(helps)]
    candidates = [start, end, *(middle for middle in middles if start < middle < end)]
    furthest = max(candidates, key=lambda km: _to_help(km, helps))
    nearest = min(helps, key=lambda help_km: abs(help_km - furthest))
    hours = abs(_hours(legs, starts_km, furthest) - _hours(legs, starts_km, nearest))
    return Remoteness(
        leg=legs[spot].leg, help_km=_to_help(furthest, helps),
        hours_to_help=hours, stretches=tuple(_beyond(helps, start, end, beyond_km)),
    )  # fmt: skip


def _to_help(km: float, helps: list[float]) -> float:
    return min(abs(km - help_km) for help_km in helps)


def _beyond(helps: list[float], start: float, end: float, beyond_km: float) -> Iterator[tuple[float, float]]:
    for low, high in pairwise(helps):
        first, last = max(low + beyond_km, start), min(high - beyond_km, end)
        if last > first:
            yield first - start, last - start


def _hours(legs: tuple[Leg, ...], starts_km: list[float], km: float) -> float:
    """Driving hours from the start of the trip to a km of it."""
    pieces = zip(legs, starts_km, strict=False)
    return sum(min(max(km - start, 0.0), leg.distance_km) / leg.speed_kmh for leg, start in pieces)


def on_map(leg: Leg) -> bool:
    """True when the leg has a track or both its ends."""
    return leg.track is not None or None not in (leg.from_lat, leg.from_lon, leg.to_lat, leg.to_lon)


def _question(trip: Trip, leg: Leg, far: Remoteness) -> Problem:
    word = "yes" if far.stretches else "no"
    told = f"help is {figure(round(far.help_km))} km and about {far.hours_to_help:.0f} h away at the worst"
    return problem(
        "X09", leg.origin, "remote", "yes" if leg.remote else "no",
        f"{word}, {HELP_KNOWN}: {told}, and {figure(trip.remote_beyond_km)} km are accepted",
        "a town at the end of a leg is known once it has a row in stops.csv, with 0 minutes if no work is done there",
    )  # fmt: skip
