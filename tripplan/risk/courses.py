"""Every item's use of its interval along the trip, as arrays: what is used by when, and its doubts.

Knots are points in time: the workshop days still to come, the moment the rig sets out (or goes
on), and the end of each leg. An item nobody knows the use of counts as used up, as it does
where work is placed.
"""

from collections.abc import Sequence
from datetime import date
from itertools import pairwise
from math import ceil

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from tripplan.due.runs_out import Course, MeterCourse
from tripplan.due.standing import Situation, Standing
from tripplan.placing.problem import STOP, WORKSHOP, PlacementProblem
from tripplan.placing.tasks import is_walk_round
from tripplan.placing.waiting import offset_of_state
from tripplan.trip.timeline import leg_ends
from tripplan.wear.mechanisms.uncertain import NODES, Array
from tripplan.wear.multipliers import MECHANISMS


class Knots(Struct, frozen=True, eq=False):
    """The points in time: `home` workshop days, setting out, each leg's end; `of_site` is where a site lies.

    `driving_days` and `days` are what each leg takes, by driving and on the calendar, 1 at the least.
    """

    home: int
    legs: int
    of_site: tuple[int, ...]
    driving_days: Array
    days: Array


class Courses(Struct, frozen=True, eq=False):
    """All items' shares of their intervals by knot, one row a meter, those of one item together.

    From setting out on, `use` is the share from km or hours alone, `excess` what wear adds, by mechanism
    and value of its doubt; `home_use` is what is used from each workshop day to setting out. `row_item`
    tells whose row it is. `calendar` has one row an item, over all knots: months, 0 where none are counted.
    `extra` is how far today's state is from its record, in intervals.
    """

    standings: tuple[Standing, ...]
    knots: Knots
    use: Array
    excess: Array
    home_use: Array
    row_item: NDArray[np.intp]
    calendar: Array
    extra: Array
    each_morning: NDArray[np.bool_]


def courses(standings: Sequence[Standing], problem: PlacementProblem, s: Situation) -> Courses:
    """The shares of all these items."""
    tasks = {task.thing: task for task in problem.tasks if task.window is None}
    knots = _knots(problem, s)
    homes = [site.date for site in problem.sites if site.kind == WORKSHOP]
    days = _days(problem, s, homes)
    at = [0, *leg_ends(s.timeline)]
    tracks = [(number, track) for number, standing in enumerate(standings) for track in standing.course.tracks]
    intervals = np.array([track.interval for _, track in tracks])
    home = [_at_home(track, s, homes) for _, track in tracks]
    return Courses(
        standings=tuple(standings), knots=knots,
        use=np.array([track.total.use[at] for _, track in tracks]).reshape(-1, len(at)) / intervals[:, None],
        excess=_excess([track for _, track in tracks], at) / intervals[:, None, None, None],
        home_use=np.array(home).reshape(len(tracks), len(homes)) / intervals[:, None],
        row_item=np.array([number for number, _ in tracks], dtype=np.intp),
        calendar=np.array([_of_months(x.course, days) for x in standings]).reshape(-1, len(days)),
        extra=np.array([offset_of_state(x, s, tasks[x.thing].look_first) for x in standings]),
        each_morning=np.array([is_walk_round(x.usual or x.item) for x in standings], dtype=bool),
    )  # fmt: skip


def _knots(problem: PlacementProblem, s: Situation) -> Knots:
    home = problem.workshop_count
    of_site = tuple(i if site.kind == WORKSHOP else home + site.legs_done for i, site in enumerate(problem.sites))
    legs, a_day = s.timeline.legs, s.timeline.driving_hours_per_day
    driving = [max(1.0, ceil(leg.distance_km / leg.speed_kmh / a_day - 1e-6)) for leg in legs]
    ends = _days(problem, s, [])
    span = [max(1.0, (late - early).days) for early, late in pairwise(ends)]
    return Knots(home, len(legs), of_site, np.array(driving), np.array(span))


def _days(problem: PlacementProblem, s: Situation, homes: Sequence[date]) -> list[date]:
    """The day of each knot: a leg ends when its stop is reached, the last one on return."""
    there = {site.legs_done: site.date for site in reversed(problem.sites) if site.kind == STOP}
    ends = [max(s.start, there.get(number, leg.date)) for number, leg in enumerate(s.timeline.legs, 1)]
    ends[-1:] = [max(s.start, s.trip.return_)] * len(ends[-1:])
    return [*homes, s.start, *ends]


def _excess(tracks: Sequence[MeterCourse], at: Sequence[int]) -> Array:
    """What wear adds to each meter, in its unit; nothing where only normal use wears."""
    found = np.zeros((len(tracks), len(at), len(MECHANISMS), len(NODES)))
    for spot, track in enumerate(tracks):
        if track.total.excess.ndim > 1:
            found[spot] = track.total.excess[at]
    return found


def _at_home(track: MeterCourse, s: Situation, homes: Sequence[date]) -> list[float]:
    """What is used from each workshop day to setting out, in the meter's unit; its wear is in no doubt."""
    idle = track.used - track.used_today
    return [max(0.0, idle - track.idle_per_day * (day - s.today).days) for day in homes]


def _of_months(course: Course, days: Sequence[date]) -> list[float]:
    if course.months is None:
        return [0.0] * len(days)
    span = (course.months.due - course.months.done).days
    return [(day - course.months.done).days / span for day in days]
