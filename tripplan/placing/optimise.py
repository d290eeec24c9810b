"""Placement by the search: what the planner calls."""

from msgspec.structs import replace

from tripplan.placing.bound import proven_gap
from tripplan.placing.bunches import whole_cost
from tripplan.placing.displaced import (
    FOR_TIME,
    SHARE,
    Limits,
    from_limits,
    limits_of,
    past_limits,
    price_of_passing,
    told_apart,
)
from tripplan.placing.greedy import plain_visits
from tripplan.placing.model import Flags
from tripplan.placing.problem import PlacementProblem, Placing
from tripplan.placing.read_back import as_placing
from tripplan.placing.reckoning import totals
from tripplan.placing.search import NAME, VERSION, Found, search
from tripplan.placing.stated import Stated, stated

METHOD = f"{NAME} {VERSION}"
NEAR = 1.02
"""So near to what was found the plain rule is reckoned out (measured: the gain not counted on is below that)."""


def place_optimally(problem: PlacementProblem) -> Placing:
    """The best placing found; equal problems give equal placings, with or without a solver."""
    given = stated(problem)
    found, placing = _placed(given)
    return replace(placing, gap=proven_gap(given.model, found))


def place_unproven(problem: PlacementProblem) -> Placing:
    """The same placing without its gap, for whoever tells none."""
    return _placed(stated(problem))[1]


def found_for(given: Stated) -> Found:
    """What is found for a problem in arrays: the same as for its records."""
    return _found(given)[0]


def _placed(given: Stated) -> tuple[Found, Placing]:
    """What is found, read back; limits that are passed for want of time are told apart from those passed for other work."""
    found, placing, limits = _found(given)
    return found, placing if limits is None else told_apart(given, limits, found.own, placing)


def _found(given: Stated) -> tuple[Found, Placing, Limits | None]:
    """What the search finds; where passing limits costs much half-way, it goes on from a plan of those alone."""
    limits: list[Limits] = []

    def instead(own: Flags, cost: float) -> Flags | None:
        if price_of_passing(given.model, past_limits(given), own) <= SHARE * cost:
            return None
        limits.append(limits_of(given))
        return from_limits(given.model, limits[0], own, cost)

    plain = plain_visits(given)
    found = _or_plain(given, search(given.model, plain, instead), plain)
    placing = replace(as_placing(given, found.own, METHOD), weighed=found.weighed + sum(one.weighed for one in limits))
    if not _wants_time(placing):
        return found, placing, None
    return found, placing, limits[0] if limits else limits_of(given)


def _or_plain(given: Stated, found: Found, plain: Flags) -> Found:
    """What was found, or the visits of the plain rule where these come out cheaper.

    What comes along with a hub opened on one side alone is a gain that the search does not count on.
    """
    cost = whole_cost(given.model, given.whole, plain)
    if cost > NEAR * found.cost:
        return found
    dear, cheap = (totals(given.problem, as_placing(given, own, METHOD))[1] for own in (found.own, plain))
    return replace(found, own=plain, cost=cost) if cheap < dear else found


def _wants_time(placing: Placing) -> bool:
    return any(miss.why in FOR_TIME for miss in placing.unmet)
