"""Placement by the search: what the planner calls."""

from typing import TypeAlias

import numpy as np
from msgspec.structs import replace

from tripplan.placing.bound import proven_gap
from tripplan.placing.bunches import means_of, whole_cost
from tripplan.placing.descent import minutes_taken, priced
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
from tripplan.placing.fine import refine
from tripplan.placing.followed_up import spared_by
from tripplan.placing.greedy import plain_visits
from tripplan.placing.model import Flags
from tripplan.placing.paths import wait_of
from tripplan.placing.problem import HAIR, PlacementProblem, Placing
from tripplan.placing.read_back import as_placing
from tripplan.placing.reckoning import site_minutes, totals
from tripplan.placing.search import NAME, VERSION, Found, search
from tripplan.placing.stated import Stated, stated, with_minutes
from tripplan.placing.two_days import SHORT

METHOD = f"{NAME} {VERSION}"
WEIGHED_FOR_TWO = 5_800_000
"""Where more was weighed for the plan, a second one made afresh would take longer than an owner waits, and so would asking at
each place what more minutes would keep (judgement; `Placing.weighed`)."""
Told: TypeAlias = tuple[Found, Placing, Limits | None]
"""What is found, read back, and everything with a limit planned alone where some are passed for want of time."""


def place_optimally(problem: PlacementProblem) -> Placing:
    """The best placing found; equal problems give equal placings, with or without a solver."""
    given, found, placing = _placed(stated(problem))
    return replace(placing, gap=proven_gap(given.model, found) if found.is_bounded else None)


def place_unproven(problem: PlacementProblem) -> Placing:
    """The same placing without its gap, for whoever tells none."""
    return _placed(stated(problem))[2]


def found_for(given: Stated) -> Found:
    """What is found for a problem in arrays: the same as for its records."""
    return _found(given)[0]


def _placed(given: Stated) -> tuple[Stated, Found, Placing]:
    """What is found, read back; limits that are passed for want of time are told apart from those passed for other work.

    And what it was found in: no minutes are kept for looks after earlier work that it makes anyway.
    """
    given, (found, placing, limits) = _with_spared(given, _found(given))
    return given, found, placing if limits is None else told_apart(given, limits, found.own, placing)


def _with_spared(given: Stated, first: Told) -> tuple[Stated, Told]:
    """The same with the minutes put to use that were kept for looks which the placing makes anyway.

    Where these lie on a day that is short all is planned anew, or where that took long gone through once more, and taken
    where it comes out cheaper.
    """
    problem = spared_by(given.problem, first[1])
    if problem is given.problem:
        return given, first
    freed = with_minutes(given, problem)
    left = given.model.room - minutes_taken(given.model, priced(given.whole, first[0].own[None]))[0]
    if not ((freed.model.room > given.model.room) & (left <= SHORT)).any():
        return freed, first
    takes_long = first[1].weighed > WEIGHED_FOR_TWO
    found, placing, limits = _once_more(freed, first) if takes_long else _found(freed)
    still_made = set(problem.spared) <= set(spared_by(given.problem, placing).spared)
    if not still_made or not _is_cheaper(given.problem, placing, first[1]):
        return freed, first
    return freed, (found, replace(placing, weighed=placing.weighed + first[1].weighed), limits)


def _once_more(given: Stated, first: Told) -> Told:
    """What was found, with single tasks moved while that makes the whole cheaper."""
    own = refine(means_of(given.model, first[0].prices.rows), first[0].own)
    return (
        replace(first[0], own=own, cost=whole_cost(given.model, given.whole, own)),
        as_placing(given, own, METHOD),
        first[2],
    )


def _found(given: Stated) -> Told:
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

    What comes along with a hub opened on one side alone is a gain that the search does not count on: no more than all
    waiting of what belongs to hubs.
    """
    cost = whole_cost(given.model, given.whole, plain)
    if cost - sum(wait_of(given.model, plain, row) for row in np.flatnonzero(given.model.along).tolist()) > found.cost:
        return found
    ours, other = (as_placing(given, own, METHOD) for own in (found.own, plain))
    if not _is_cheaper(given.problem, other, ours):
        return found
    return replace(found, own=plain, cost=cost, is_bounded=cost <= found.cost)


def _is_cheaper(problem: PlacementProblem, other: Placing, ours: Placing) -> bool:
    """True where another placing comes out cheaper, with all that comes along, and has the minutes."""
    return totals(problem, other)[1] < totals(problem, ours)[1] and _has_the_minutes(problem, other)


def _has_the_minutes(problem: PlacementProblem, placing: Placing) -> bool:
    """True when every site has them, with all that comes along."""
    spent = zip(problem.sites, site_minutes(problem, placing), strict=True)
    return all(site.minutes is None or minutes <= site.minutes + HAIR for site, minutes in spent)


def _wants_time(placing: Placing) -> bool:
    return any(miss.why in FOR_TIME for miss in placing.unmet)
