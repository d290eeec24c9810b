"""Placement by the search: what the planner calls."""

from msgspec.structs import replace

from tripplan.placing.bound import proven_gap
from tripplan.placing.greedy import plain_visits
from tripplan.placing.problem import PlacementProblem, Placing
from tripplan.placing.read_back import as_placing
from tripplan.placing.search import NAME, VERSION, Found, search
from tripplan.placing.stated import Stated, stated

METHOD = f"{NAME} {VERSION}"


def place_optimally(problem: PlacementProblem) -> Placing:
    """The best placing found; equal problems give equal placings, with or without a solver."""
    given, found = _searched(problem)
    return replace(as_placing(given, found.own, METHOD), gap=proven_gap(given.model, found))


def place_unproven(problem: PlacementProblem) -> Placing:
    """The same placing without its gap, for whoever tells none."""
    given, found = _searched(problem)
    return as_placing(given, found.own, METHOD)


def found_for(given: Stated) -> Found:
    """What the search finds for a problem in arrays: the same as for its records."""
    return search(given.model, plain_visits(given))


def _searched(problem: PlacementProblem) -> tuple[Stated, Found]:
    given = stated(problem)
    return given, found_for(given)
