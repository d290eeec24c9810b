"""The minutes that there are, as rows: of each site, of days shared with halts, and of the road as a whole."""

from collections import defaultdict

import numpy as np

from tripplan.placing.followed_up import (
    halt_minutes,
    is_on_the_road,
    owed_due,
    owed_kept,
    owed_minutes,
    stop_of_the_day,
)
from tripplan.placing.model import Floats
from tripplan.placing.problem import STOP, PlacementProblem
from tripplan.placing.reckoning import alone_minutes

TENTHS = 10


def rooms_of(problem: PlacementProblem, stops: tuple[int | None, ...]) -> tuple[Floats, Floats]:
    """Minutes of each site, under the owner's ceiling for a day on the road; of days shared with halts; of the road.

    `stops` are those whose day each clock of halts shares; None = no stop is reached that day. What water
    that was met calls for comes on top of a ceiling, never of the minutes that there are; looks that work on
    record brings have theirs beforehand, and what these take beyond a ceiling comes on top of it.
    """
    count, shared = len(problem.sites), [s for s in stops if s is not None]
    (more, most), kept, away = _beyond_ceilings(problem), owed_minutes(problem), _kept_for_halts(problem)
    road = count + len(shared)
    rows, room = np.zeros((count + len(stops), road + 1)), np.full(road + 1, np.inf)
    rows[np.arange(count), np.arange(count)] = 1.0
    rows[count:, road] = 1.0
    for s, site in enumerate(problem.sites):
        limits = [np.inf if site.minutes is None else site.minutes]
        if site.kind == STOP and not problem.at_home[s]:
            rows[s, road] = 1.0
            if problem.ceilings.day_minutes is not None:
                day_minutes = problem.ceilings.days_room(site) + more[s]
                limits.append(max(kept[s], day_minutes - away.get(s, 0.0)))
        room[s] = _tenths(max(0.0, min(limits) - kept[s]))
        if s in shared:
            day = count + shared.index(s)
            rows[s, day] = rows[count + stops.index(s), day] = 1.0
            room[day] = _tenths(max(0.0, limits[-1] - kept[s])) if len(limits) > 1 else np.inf
    if problem.ceilings.trip_minutes is not None:
        on_the_road = sum(kept[s] for s in range(count) if rows[s, road]) + sum(away.values())
        room[road] = _tenths(max(0.0, problem.ceilings.trip_minutes + most - on_the_road))
    return rows, room


def _kept_for_halts(problem: PlacementProblem) -> dict[int | None, float]:
    """Minutes at halts for looks that work on record brings, by the stop that is reached on that day; None = no stop is."""
    minutes: dict[int | None, float] = defaultdict(float)
    for due in {due.key: due for due in (owed_due(problem, owed) for owed in owed_kept(problem))}.values():
        if due.site is None and is_on_the_road(problem, due.at_km):
            minutes[stop_of_the_day(problem, due.at_km)] += halt_minutes(problem, due)
    return minutes


def _tenths(minutes: float) -> float:
    return float(np.floor(minutes * TENTHS + 1e-6))


def _beyond_ceilings(problem: PlacementProblem) -> tuple[list[float], float]:
    """Minutes that water met asks for: at each site in its window, and at most in all."""
    more, most = [0.0] * len(problem.sites), 0.0
    for task in problem.tasks:
        if task.water_met and task.window is not None:
            here = range(task.window[0], task.window[1] + 1)
            taken = [alone_minutes(problem, task) * problem.place_factor[s] for s in here]
            for s, minutes in zip(here, taken, strict=True):
                more[s] += minutes
            most += max(taken)
    return more, most
