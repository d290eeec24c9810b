"""What the map says about a trip: its tracks, the zones of its stops, and the questions they raise."""

from collections.abc import Iterable
from datetime import date
from pathlib import Path
from zoneinfo import ZoneInfo

from tripplan.files.tracks.any_track import read_track
from tripplan.files.zones import with_zones, zone_at
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import Leg, Trip
from tripplan.records.problem_codes import problem
from tripplan.records.problems import Problem
from tripplan.trip.daylight import arrives_after_dark
from tripplan.trip.route.cut_into_legs import compare_descent, compare_distance, compare_ends, winding_of
from tripplan.trip.route.distance_to_help import remote_questions
from tripplan.trip.route.leg_on_map import LegLine, leg_lines, thinned
from tripplan.trip.route.measured_way import Way, Winding, measure

TRACKS = "tracks"
MOST_POSITIONS = 400


def with_map(
    folder: Path, trip: Trip, catalogue: Catalogue, today: date
) -> tuple[Trip, dict[int, LegLine], tuple[Problem, ...]]:
    """The trip with the zones of its stops, its legs as lines for a picture, and what the map makes worth asking.

    A trip without a track and without positions comes back as it is. Nothing is asked
    about the hour of a leg that is driven.
    """
    stops, problems = with_zones(trip.stops)
    ways, more = read_ways(folder, trip.legs, winding_factor(catalogue))
    problems += more
    for file, way in ways.items():
        sharing = sorted((leg for leg in trip.legs if leg.track == file), key=lambda leg: leg.leg)
        question = compare_distance(sharing, way, f"{TRACKS}/{file}")
        problems += (question,) if question else ()
        problems += compare_descent(sharing, way, f"{TRACKS}/{file}")
    problems += tuple(found for leg in trip.legs if (found := compare_ends(leg, winding_factor(catalogue))))
    read = tuple(
        (stop.stop, stop.zone)
        for stop, given in zip(stops, trip.stops, strict=True)
        if given.zone is None and stop.zone
    )
    lines = {number: thinned(line, MOST_POSITIONS) for number, line in leg_lines(trip.legs, ways).items()}
    told = trip.model_copy(update={"stops": stops, "zones_read": read})
    return told, lines, problems + remote_questions(trip) + dark_arrivals(trip, today)


def dark_arrivals(trip: Trip, today: date) -> tuple[Problem, ...]:
    """Legs from today on that would end after dark at the speed they state, on the clock of the place they reach."""
    found = []
    for leg in trip.legs:
        if leg.date >= today and leg.to_lat is not None and leg.to_lon is not None:
            told = arrives_after_dark(leg, ZoneInfo(zone_at(leg.to_lat, leg.to_lon).name))
            if told:
                found.append(
                    problem("X12", leg.origin, "depart", told, "an arrival in daylight, or driving by night on purpose")
                )
    return tuple(found)


def read_ways(folder: Path, legs: Iterable[Leg], winding: Winding) -> tuple[dict[str, Way], tuple[Problem, ...]]:
    """Each track that a leg names, measured, by its file name."""
    ways: dict[str, Way] = {}
    problems: list[Problem] = []
    asked: set[str] = set()
    for leg in legs:
        if leg.track is None or leg.track in asked:
            continue
        asked.add(leg.track)
        if Path(leg.track).name != leg.track or "\\" in leg.track or "\0" in leg.track:
            problems.append(problem("F02", leg.origin, "track", leg.track, f"the name of a file in {TRACKS}/"))
            continue
        track, found = read_track(folder / TRACKS / leg.track, f"{TRACKS}/{leg.track}")
        problems += found
        if track:
            ways[leg.track] = measure(track, winding)
    return ways, tuple(problems)


def winding_factor(catalogue: Catalogue) -> Winding:
    """The winding factor of the tables, with its spread."""
    row = catalogue.assumed("winding_factor")
    return winding_of(row.value, row.low, row.high)
