"""A way out as this plan would take it: the minutes it gives put to use, or a job left for another."""

from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tripplan.explain.moves import cost_of, costs_of, reckoned
from tripplan.placing.bunches import Means, means_for, means_of
from tripplan.placing.fine import refine
from tripplan.placing.model import NEVER, Flags
from tripplan.placing.problem import WORKSHOP, PlacementProblem
from tripplan.placing.stated import Stated, with_minutes
from tripplan.placing.waiting import is_limited

MOST_LEFT = 8


class Way(Struct, frozen=True):
    """One change: so many minutes more at a site or of the road, or a row of tasks left before departure."""

    words: str
    site: int | None = None
    minutes: float = 0.0
    left: int | None = None


def changed(problem: PlacementProblem, way: Way) -> PlacementProblem:
    """The problem with that way taken."""
    if way.site is not None:
        site = problem.sites[way.site]
        longer = replace(site, minutes=(site.minutes or 0.0) + way.minutes)
        return replace(problem, sites=(*problem.sites[: way.site], longer, *problem.sites[way.site + 1 :]))
    if way.left is None and problem.ceilings.trip_minutes is not None:
        ceilings = replace(problem.ceilings, trip_minutes=problem.ceilings.trip_minutes + way.minutes)
        return replace(problem, ceilings=ceilings)
    return problem


def with_way(given: Stated, way: Way) -> Stated:
    """The same in arrays: of a problem that is known, with that way taken."""
    return with_minutes(given, changed(given.problem, way))


def planned_again(
    given: Stated, own: Flags, way: Way, rows: Sequence[int], least: float = 0.0, means: Means | None = None
) -> Flags:
    """The plan gone through once more from where it stands, with what the way gives.

    First what is wanted goes where the minutes are, one after the other; where that gains no more than `least`,
    the plan stays as it is. What gains is then gone through as the search ends: single tasks exchanged.
    """
    problem = given.problem
    if way.left is not None:
        return _instead(given, own, way.left, rows)
    sites = [
        site for site in range(problem.last)
        if site == way.site or (way.site is None and problem.sites[site].kind != WORKSHOP)
    ]  # fmt: skip
    filled = _filled(given, own, rows, sites)
    if cost_of(given, own) - cost_of(given, filled) <= least:
        return own
    return refine(means_of(given.model) if means is None else means_for(given.model, means), filled)


def _filled(given: Stated, own: Flags, rows: Sequence[int], sites: Sequence[int]) -> Flags:
    """The plan with wanted rows put into these sites, the one that gains most first, while any gains."""
    for _ in range(len(rows)):
        several = [own, *(trial for row in rows for site in sites for trial in trials(given, own, row, site))]
        cost, short = reckoned(given, np.stack(several))
        best = int(np.where(short.any(axis=1), np.inf, cost)[1:].argmin()) + 1 if len(several) > 1 else 0
        if not best or short[best].any() or cost[best] >= cost[0]:
            break
        own = several[best]
    return own


def trials(given: Stated, own: Flags, row: int, site: int) -> Iterator[Flags]:
    """A row at one site more, and its next visit moved there."""
    if own[row, site] or given.model.labour[row, site] >= NEVER:
        return
    more = own.copy()
    more[row, site] = True
    yield more
    later = np.flatnonzero(own[row, site:])
    if len(later):
        instead = more.copy()
        instead[row, site + later[0]] = False
        yield instead


def _instead(given: Stated, own: Flags, left: int, rows: Sequence[int]) -> Flags:
    """The plan with one row left at home, and what can hurt somebody put there that gains most; as it is where nothing fits."""
    home = range(given.problem.workshop_count)
    several = [
        trial
        for start in _without(given, own, left)
        for row in rows if row != left and _renews_what_harms(given, row)
        for site in home
        for trial in trials(given, start, row, site)
    ]  # fmt: skip
    if not several:
        return own
    cost, short = reckoned(given, np.stack(several))
    cost = np.where(short.any(axis=1), np.inf, cost)
    return several[int(cost.argmin())] if np.isfinite(cost.min()) else own


def _without(given: Stated, own: Flags, row: int) -> tuple[Flags, Flags]:
    """The plan without that row at home, its other visits as they are, and the same with it done after the return."""
    never, later = own.copy(), own.copy()
    never[row, : given.problem.workshop_count] = False
    later[row] = never[row]
    later[row, given.problem.last] = True
    return never, later


def best_to_leave(given: Stated, own: Flags, rows: Sequence[int]) -> list[int]:
    """Of the rows worth least, the one that makes room most cheaply for something that can hurt somebody; none where none does."""
    if not any(_renews_what_harms(given, row) for row in rows):
        return []
    tried = [(row, _instead(given, own, row, rows)) for row in _least_worth(given, own)[:MOST_LEFT]]
    found = [(cost_of(given, plan), row) for row, plan in tried if (plan != own).any()]
    return [min(found)[1]] if found else []


def _least_worth(given: Stated, own: Flags) -> list[int]:
    """Rows with a visit at home that hurt nobody, the least dear to leave for each of their minutes first."""
    home = given.problem.workshop_count
    rows = [row for row in range(len(own)) if own[row, :home].any() and not _harms(given, row)]
    if not rows:
        return []
    several = [own, *(plan for row in rows for plan in _without(given, own, row))]
    cost = costs_of(given, np.stack(several))
    dearer = cost[1:].reshape(len(rows), 2).min(axis=1) - cost[0]
    spent = np.maximum((given.model.spend[rows] * own[rows]).sum(axis=1), 1.0)
    return [rows[number] for number in np.argsort(dearer / spent, kind="stable").tolist()]


def _harms(given: Stated, row: int) -> bool:
    return any(given.problem.tasks[index].item.harms for index in given.groups[row])


def _renews_what_harms(given: Stated, row: int) -> bool:
    return any(is_limited(given.problem.tasks[index].item) for index in given.groups[row])
