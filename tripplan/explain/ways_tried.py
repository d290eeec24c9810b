"""What a way out gives: held against the plan that there is, and planned afresh as the changed folder is."""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tripplan.due.standing import Situation
from tripplan.explain.moves import cost_of, costs_of, minutes_left, taken_by
from tripplan.explain.ways_taken import Way, planned_again, trials, with_way
from tripplan.placing.bunches import Means, means_for, means_of
from tripplan.placing.displaced import FOR_TIME, Limits, from_limits, limits_of, price_of_passing
from tripplan.placing.fine import all_anew, refine
from tripplan.placing.model import Flags, part_of
from tripplan.placing.optimise import WEIGHED_FOR_TWO, found_for
from tripplan.placing.problem import THOUSAND, PlacementProblem, Placing, last_chance, renewals
from tripplan.placing.read_back import as_placing, rows_of
from tripplan.placing.reckoning import path_cost
from tripplan.placing.stated import Stated, stated
from tripplan.placing.unmet import TOO_LONG, WORTH_LESS

MOST_PLACES = 2
WANTS_TIME = (*FOR_TIME, TOO_LONG, WORTH_LESS)
FULL_MINUTES = 30.0
LEAST_GAIN, LEAST_GAIN_SHARE = 1.0, 0.004
"""Less than this of the plan's cost, limits that are not kept aside, is below what the search itself leaves open (judgement)."""
LEAST_FILLED = 0.5
"""Of that gain so much is there before single tasks are exchanged, or it is not reached (measured: 0.7 of it at the least)."""
MOST_DEARER_SHARE = 0.01
"""A job is left for another only within what the prices themselves can tell apart (judgement)."""


class WayOut(Struct, frozen=True):
    """A way that holds: what it is, what it gains in the owner's currency, which tasks it does in time, and which wait instead.

    `is_this_plan` tells that more time was put to use in the plan that there is, and none was made afresh.
    """

    way: Way
    gain: float
    tasks: tuple[int, ...]
    instead: tuple[int, ...] = ()
    is_this_plan: bool = False


class Asked(Struct, frozen=True):
    """What ways are asked for: a plan, what it costs, what it leaves, and the rows of that.

    `limits` are those of the plan, planned alone, where some are passed for want of time; `kept` grows by the plans that
    begin with what more minutes keep of them, by site and minutes.
    """

    given: Stated
    own: Flags
    now: float
    least: float
    wanted: tuple[int, ...]
    past: frozenset[int]
    rows: list[int]
    s: Situation
    limits: Limits | None
    kept: dict[tuple[int, float], Flags | None]
    means: Means

    @classmethod
    def of(cls, problem: PlacementProblem, placing: Placing, wanted: tuple[int, ...], s: Situation) -> "Asked":
        """The plan as rows, and the rows of what is wanted."""
        given = stated(problem)
        own = rows_of(given, placing)
        rows = [row for row, group in enumerate(given.groups) if set(group).intersection(wanted)]
        now = cost_of(given, own)
        past = frozenset(miss.task for miss in placing.unmet)
        least = LEAST_GAIN_SHARE * (now - sum(path_cost(problem, placing, index) for index in past))
        for_time = placing.weighed <= WEIGHED_FOR_TWO and any(miss.why in WANTS_TIME for miss in placing.unmet)
        limits = limits_of(given) if for_time else None
        return cls(given, own, now, max(least, LEAST_GAIN), wanted, past, rows, s, limits, {}, means_of(given.model))

    def with_it(self, way: Way) -> WayOut | None:
        """The way as this plan would take it, gone through once more; None where it does not hold."""
        again = with_way(self.given, way)
        plans = [planned_again(again, self.own, way, self.rows, LEAST_FILLED * self.least, self.means)]
        kept = None if way.site is None else self._with_limits(way.site, way.minutes)
        if kept is not None:
            plans.append(refine(means_for(again.model, self.means), kept))
        return self._held(way, again, min(plans, key=lambda plan: cost_of(again, plan)))

    def _with_limits(self, site: int, minutes: float) -> Flags | None:
        """A plan that begins with what more minutes at this site keep of the limits; None where that is no more than now."""
        if self.limits is None:
            return None
        if (site, minutes) not in self.kept:
            model = with_way(self.given, Way("", site, minutes)).model
            rows, own = self.limits.rows, np.zeros_like(self.own)
            means = means_of(part_of(model, rows).model)
            own[rows] = all_anew(means, refine(means, self.limits.own[rows]), (means.bunches.parts,))
            limits = replace(self.limits, own=own)
            self.kept[site, minutes] = from_limits(model, limits, self.own, self.now * THOUSAND)
        return self.kept[site, minutes]

    def where_it_gains(self, sites: Sequence[int], minutes: float) -> list[int]:
        """Of these sites that where so many minutes more keep most of the limits, and the few where they gain most."""
        gains = _where_it_gains(self.given, self.own, self.rows, sites, minutes)
        return list(dict.fromkeys([*self._where_it_keeps(sites, minutes), *gains]))

    def _where_it_keeps(self, sites: Sequence[int], minutes: float) -> list[int]:
        kept = {site: own for site in sites if (own := self._with_limits(site, minutes)) is not None}
        if self.limits is None or not kept:
            return []
        price = {site: price_of_passing(self.given.model, self.limits.steps, own) for site, own in kept.items()}
        return [min(kept, key=lambda site: (price[site], -site))]

    def made_afresh(self, way: Way) -> WayOut | None:
        """The way as the changed folder is planned, from nothing; None where that plan does not gain by it."""
        again = with_way(self.given, way)
        return self._held(way, again, found_for(again).own)

    def _held(self, way: Way, again: Stated, better: Flags) -> WayOut | None:
        gain = self.now - cost_of(again, better)
        if way.left is None and gain <= self.least:
            return None
        if way.left is not None and ((better == self.own).all() or gain <= -MOST_DEARER_SHARE * self.now):
            return None
        left = () if way.left is None else self.given.groups[way.left]
        placing = as_placing(again, better, "again")
        still = set(wants(again.problem, placing, self.s)) - set(left)
        done = tuple(task for task in self.wanted if task not in still)
        instead = tuple(sorted(still.difference(self.wanted)))
        keeps = not self.past.isdisjoint(done) or len(done) > len(instead)
        passes = not {miss.task for miss in placing.unmet}.isdisjoint(instead)
        return WayOut(way, gain, done, instead) if keeps and not passes and (way.left is None or not instead) else None


def wants(problem: PlacementProblem, placing: Placing, s: Situation) -> tuple[int, ...]:
    """Tasks past their limit, and what is due, could be done before going on, and is not, though it would cost on the way."""
    leaving = last_chance(problem.sites, s.today)
    past = {miss.task for miss in placing.unmet}
    put_off = {
        index for index, task in enumerate(problem.tasks)
        if task.window is None and task.overdue and task.minutes > 0 and leaving >= task.earliest
        and (task.item.harms or task.item.strands > 0)
        and min(renewals(problem, placing, index), default=problem.last + 1) > leaving
    }  # fmt: skip
    return tuple(sorted(past | put_off))


def _where_it_gains(given: Stated, own: Flags, rows: Sequence[int], sites: Sequence[int], minutes: float) -> list[int]:
    """Of these sites the few where so many minutes more let in the wanted row that gains most, and the last that is full."""
    most = dict.fromkeys(sites, 0.0)
    now = costs_of(given, own[None])[0]
    for site in sites:
        again = with_way(given, Way("", site, minutes))
        several = [trial for row in rows for trial in trials(again, own, row, site)]
        if several:
            cost, taken = taken_by(again, np.stack(several))
            fits = (taken <= again.model.room).all(axis=1)
            most[site] = float((now - cost[fits] / THOUSAND).max(initial=0.0))
    gaining = sorted((site for site in sites if most[site] > 0), key=lambda site: (-most[site], -site))
    full = [site for site in _full(given, own) if site in most]
    return list(dict.fromkeys([*gaining[:MOST_PLACES], *full[-1:]]))


def _full(given: Stated, own: Flags) -> list[int]:
    """Sites where less than half an hour is left."""
    left = minutes_left(given, own)
    return [site for site in range(given.model.sites) if left[site] < FULL_MINUTES]
