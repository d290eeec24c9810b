"""The minutes that there are, as rows: of each site, of days shared with halts, and of the road as a whole."""

import numpy as np

from tripplan.placing.model import Floats
from tripplan.placing.problem import STOP, PlacementProblem
from tripplan.placing.reckoning import alone_minutes

TENTHS = 10


def rooms_of(problem: PlacementProblem, stops: tuple[int | None, ...]) -> tuple[Floats, Floats]:
    """Minutes of each site, under the owner's ceiling for a day on the road; of days shared with halts; of the road.

    `stops` are those whose day each clock of halts shares; None = no stop is reached that day. What water
    that was met calls for comes on top of a ceiling, never of the minutes that there are.
    """
    count, shared = len(problem.sites), [s for s in stops if s is not None]
    more, most = _beyond_ceilings(problem)
    road = count + len(shared)
    rows, room = np.zeros((count + len(stops), road + 1)), np.full(road + 1, np.inf)
    rows[np.arange(count), np.arange(count)] = 1.0
    rows[count:, road] = 1.0
    for s, site in enumerate(problem.sites):
        limits = [np.inf if site.minutes is None else site.minutes]
        if site.kind == STOP and not problem.at_home[s]:
            rows[s, road] = 1.0
            if problem.ceilings.day_minutes is not None:
                limits.append(problem.ceilings.days_room(site) + more[s])
        room[s] = _tenths(min(limits))
        if s in shared:
            day = count + shared.index(s)
            rows[s, day] = rows[count + stops.index(s), day] = 1.0
            room[day] = _tenths(limits[-1]) if len(limits) > 1 else np.inf
    if problem.ceilings.trip_minutes is not None:
        room[road] = _tenths(problem.ceilings.trip_minutes + most)
    return rows, room


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
