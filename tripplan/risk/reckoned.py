"""Everything a trip's risk is read from, worked out once: what is worn, the three cases, failures by path.

Failures of an item are Poisson with the expectation of its law; given the doubts that items share,
items are independent. Water that may have got into an item and that no act has settled adds failures
km by km, those placement prices times the chance that it did.
"""

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tripplan.due.standing import Situation, Standing
from tripplan.placing.problem import PlacementProblem, Placing, renewals
from tripplan.risk.cases import Case, Work, all_before, as_planned, nothing_done, settled_at, work_of
from tripplan.risk.courses import courses
from tripplan.risk.failures import Path, Worn, failures, worn
from tripplan.water.crossing import Call
from tripplan.wear.mechanisms.uncertain import Array


class Left(Struct, frozen=True, kw_only=True):
    """One job left out of the plan: the task, the site, and the case of the items that it did."""

    task: int
    site: int
    items: tuple[int, ...]
    case: Case


class Reckoned(Struct, frozen=True, eq=False):
    """Failures by item and path, leg and joint value of the doubts; `known` says where each stands in `found`.

    `left` are the jobs of the plan, each left out.
    """

    worn: Worn
    work: Work
    plan: Case
    nothing_done: Case
    all_before: Case
    left: tuple[Left, ...]
    known: Mapping[tuple[int, Path], int]
    found: Array

    @property
    def weights(self) -> Array:
        """Weights of the joint values."""
        return self.worn.doubts.weights

    def failures(self, case: Case, items: Sequence[int] | None = None) -> Array:
        """Failures by item, leg and joint value, of all items or of some."""
        asked = range(len(case.paths)) if items is None else items
        own = self.found[[self.known[(item, case.paths[item])] for item in asked]]
        for spot, item in enumerate(asked):
            if item in self.work.wet_from_km:
                own[spot] += self._wet(item, case.settled.get(item))[:, None]
        return own

    def _wet(self, item: int, settled: int | None) -> Array:
        """Failures by leg from what water left in an item until it is settled."""
        start, km = self.work.wet_from_km[item], np.array(self.work.ends_km)
        end = km[-1] if settled is None else max(start, self.work.km_of(settled))
        driven = np.diff(np.clip(km, start, end))
        return np.asarray(self.worn.law.wet[item] * driven / max(km[-1] - start, 1e-9))


def reckon(
    standings: Sequence[Standing], called: Sequence[Call], problem: PlacementProblem, placing: Placing, s: Situation
) -> Reckoned:
    """All cases of this trip and this placing, and each job of it left out."""
    asked_of = tuple(standing for standing in standings if standing.course.tracks or standing.course.months)
    c = courses(asked_of, problem, s)
    things = [x.thing for x in asked_of]
    ends_km = [start + leg.distance_km for start, leg in zip(s.timeline.starts_km, s.timeline.legs, strict=True)]
    work = work_of(problem, called, things, c.knots, [0.0, *ends_km])
    plan, nothing, everything = as_planned(work, placing), nothing_done(work), all_before(work, placing)
    left = tuple(_each_left_out(work, placing, plan))
    pairs = [pair for case in (plan, nothing, everything) for pair in enumerate(case.paths)]
    pairs += [(item, one.case.paths[item]) for one in left for item in one.items]
    known = {pair: spot for spot, pair in enumerate(dict.fromkeys(pairs))}
    w = worn(c, s)
    return Reckoned(w, work, plan, nothing, everything, left, known, failures(w, list(known)))


def _each_left_out(work: Work, placing: Placing, plan: Case) -> Iterable[Left]:
    """Every job before the end of the trip, with what its items do without it."""
    problem = work.problem
    for task, visits in enumerate(placing.visits):
        for site in visits:
            if site < problem.last and problem.tasks[task].minutes > 0:
                yield _left_out(work, placing, plan, task, site)


def _left_out(work: Work, placing: Placing, plan: Case, task: int, site: int) -> Left:
    visits = list(placing.visits)
    visits[task] = tuple(other for other in visits[task] if other != site)
    without = replace(placing, visits=tuple(visits))
    items = work.done_by(task)
    paths, settled = list(plan.paths), dict(plan.settled)
    for item in items:
        paths[item] = work.knots_of(renewals(work.problem, without, work.task_of[item]))
        settled.pop(item, None)
        settled.update(settled_at(work, without, item, paths[item]))
    return Left(task=task, site=site, items=items, case=Case(tuple(paths), settled))
