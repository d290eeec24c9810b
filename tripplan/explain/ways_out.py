"""What time could not take: the ways out, each tried by planning again with it before it is told.

Asked in the order a person would think of them: an hour more on a day at home, a job left, a
stop longer, more of the road. More time is told only where the plan with it is cheaper, its own
work counted, and does in time what this plan does not: the plan that the changed folder gets, by the
same search, so that each job named is done in it. Where the plan itself took long to find, it is not planned a second time:
what is told then is this plan with the time put to use, in words that say no more. The day or the stop is the one where the minutes
gain most. Leaving a job gives no time that the search did not have, so by the plan's own prices it is
never cheaper: it is told where it gets something renewed that can hurt somebody, for something that
cannot, with what it costs. A look in the place of another look helps nobody.
"""

from collections.abc import Iterator, Sequence
from math import floor

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tripplan.due.standing import Situation, Standing
from tripplan.explain.moves import EVEN, cost_of, costs_of, minutes_left, price_words, reckoned, taken_by, time_words
from tripplan.explain.naming import is_one_unit, named
from tripplan.placing.bunches import OfBunches, means_of
from tripplan.placing.fine import refine
from tripplan.placing.model import NEVER, Flags
from tripplan.placing.optimise import found_for
from tripplan.placing.problem import STOP, THOUSAND, WORKSHOP, PlacementProblem, Placing, Task, last_chance, renewals
from tripplan.placing.read_back import as_placing, rows_of
from tripplan.placing.reckoning import path_cost
from tripplan.placing.stated import Stated, stated, with_minutes
from tripplan.placing.waiting import is_limited
from tripplan.records.plain_words import day_and_month, lower_first

MOST_TOLD, MOST_PLANNED, MOST_LEFT, MOST_NAMED, MOST_PLACES = 3, 1, 8, 3, 2
"""Of the ways with more time so many are planned afresh, as each takes as long as the plan itself (judgement)."""
LONGER = (60.0, 180.0)
WEIGHED_FOR_TWO = 7_000_000
"""Where more was weighed for the plan, a second one made afresh would take longer than an owner waits (judgement; `Placing.weighed`)."""
FULL_MINUTES = 30.0
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
LEAST_GAIN, LEAST_GAIN_SHARE = 1.0, 0.004
"""Less than this of the plan's cost, limits that are not kept aside, is below what the search itself leaves open (judgement)."""
LEAST_FILLED = 0.5
"""Of that gain so much is there before single tasks are exchanged, or it is not reached (measured: 0.7 of it at the least)."""
MOST_DEARER_SHARE = 0.01
"""A job is left for another only within what the prices themselves can tell apart (judgement)."""


THIS_PLAN = "That is this plan with the time put to use; made again with it, a plan may do other work in that time."


class Way(Struct, frozen=True):
    """One change: so many minutes more at a site or of the road, or a row of tasks left before departure."""

    words: str
    site: int | None = None
    minutes: float = 0.0
    left: int | None = None


class WayOut(Struct, frozen=True):
    """A way that holds: what it is, what it gains in the owner's currency, which tasks it does in time, and which wait instead.

    `is_this_plan` tells that more time was put to use in the plan that there is, and none was made afresh.
    """

    way: Way
    gain: float
    tasks: tuple[int, ...]
    instead: tuple[int, ...] = ()
    is_this_plan: bool = False


def ways_out(
    problem: PlacementProblem, placing: Placing, standings: Sequence[Standing], s: Situation
) -> tuple[str, ...]:
    """Sentences for the ways that hold, few and in the order a person would think of them."""
    past, bad = frozenset(miss.task for miss in placing.unmet), {x.thing for x in standings if x.bad is not None}
    faults = frozenset(n for n, task in enumerate(problem.tasks) if task.window is None and task.thing in bad)
    return tuple(_sentence(problem, found, past, faults, s) for found in holding(problem, placing, s))


def holding(problem: PlacementProblem, placing: Placing, s: Situation) -> list[WayOut]:
    """The ways that hold, tried one after the other; none where time was enough."""
    wanted = wants(problem, placing, s)
    if not wanted:
        return []
    asked = _Asked.of(problem, placing, wanted, s)
    found: list[WayOut] = []
    planned = 0
    for several in _asked(asked.given, asked.own, asked.rows, is_one_unit(s.rig)):
        if planned == MOST_PLANNED and any(way.left is None for way in several):
            continue
        tried = [one for way in several if (one := asked.with_it(way)) is not None and _tells_more(found, one)]
        best = max(tried, key=lambda one: one.gain, default=None)
        if best is not None and best.way.left is None:
            planned += 1
            takes_long = placing.weighed > WEIGHED_FOR_TWO
            best = replace(best, is_this_plan=True) if takes_long else asked.made_afresh(best.way)
        if best is not None and _tells_more(found, best):
            found.append(best)
        if len(found) == MOST_TOLD:
            break
    return found


def _tells_more(found: Sequence[WayOut], way: WayOut) -> bool:
    """True where it gets something done that none of those with more time does; a job left takes no time."""
    return way.way.left is not None or not {task for one in found for task in one.tasks}.issuperset(way.tasks)


class _Asked(Struct, frozen=True):
    """What ways are asked for: a plan, what it costs, what it leaves, and the rows of that."""

    given: Stated
    own: Flags
    now: float
    least: float
    wanted: tuple[int, ...]
    rows: list[int]
    s: Situation
    known: OfBunches

    @classmethod
    def of(cls, problem: PlacementProblem, placing: Placing, wanted: tuple[int, ...], s: Situation) -> "_Asked":
        """The plan as rows, and the rows of what is wanted."""
        given = stated(problem)
        own = rows_of(given, placing)
        rows = [row for row, group in enumerate(given.groups) if set(group).intersection(wanted)]
        now = cost_of(given, own)
        past = sum(path_cost(problem, placing, index) for index in {miss.task for miss in placing.unmet})
        return cls(given, own, now, max(LEAST_GAIN_SHARE * (now - past), LEAST_GAIN), wanted, rows, s, {})

    def with_it(self, way: Way) -> WayOut | None:
        """The way as this plan would take it, gone through once more; None where it does not hold."""
        again = with_minutes(self.given, changed(self.given.problem, way))
        filled = LEAST_FILLED * self.least
        return self._held(way, again, planned_again(again, self.own, way, self.rows, filled, self.known))

    def made_afresh(self, way: Way) -> WayOut | None:
        """The way as the changed folder is planned, from nothing; None where that plan does not gain by it."""
        again = with_minutes(self.given, changed(self.given.problem, way))
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
        past = {miss.task for miss in placing.unmet}
        helps = len(done) > len(instead) and past.isdisjoint(instead) and (way.left is None or not instead)
        return WayOut(way, gain, done, instead) if helps else None


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


def _asked(given: Stated, own: Flags, rows: Sequence[int], alone: bool) -> Iterator[list[Way]]:
    """One question after the other; where several places could answer it, the one that gains most is told."""
    problem = given.problem
    for minutes in LONGER:
        home = [site for site, there in enumerate(problem.sites) if there.kind == WORKSHOP]
        yield [
            Way(f"{_more(minutes)} more at home on {_day(problem, site)}", site, minutes)
            for site in _where_it_gains(given, own, rows, home, minutes)
        ]
        if minutes == LONGER[0]:
            for row in _best_to_leave(given, own, rows):
                task = problem.tasks[given.groups[row][0]]
                yield [Way(f"Leaving {named(lower_first(task.item.said), task.unit.id, alone)} for later", left=row)]
    stops = [site for site, there in enumerate(problem.sites) if there.kind == STOP]
    yield [
        Way(f"{_more(LONGER[0])} more at {problem.sites[site].place} on {day_and_month(problem.sites[site].date)}", site, LONGER[0])
        for site in _where_it_gains(given, own, rows, stops, LONGER[0])
    ]  # fmt: skip
    if minutes_left(given, own)[-1] < FULL_MINUTES:
        yield [Way(f"{_more(LONGER[0])} more of work on the road than the owner gives it", None, LONGER[0])]


def _day(problem: PlacementProblem, site: int) -> str:
    there = problem.sites[site]
    return f"{WEEKDAYS[there.date.weekday()]} {day_and_month(there.date)}"


def _where_it_gains(given: Stated, own: Flags, rows: Sequence[int], sites: Sequence[int], minutes: float) -> list[int]:
    """Of these sites the few where so many minutes more let in the wanted row that gains most, and the last that is full."""
    most = dict.fromkeys(sites, 0.0)
    now = costs_of(given, own[None])[0]
    for site in sites:
        again = with_minutes(given, changed(given.problem, Way("", site, minutes)))
        several = [trial for row in rows for trial in _trials(again, own, row, site)]
        if several:
            cost, taken = taken_by(again, np.stack(several))
            fits = (taken <= again.model.room).all(axis=1)
            most[site] = float((now - cost[fits] / THOUSAND).max(initial=0.0))
    gaining = sorted((site for site in sites if most[site] > 0), key=lambda site: (-most[site], -site))
    full = [site for site in _full(given, own) if site in most]
    return list(dict.fromkeys([*gaining[:MOST_PLACES], *full[-1:]]))


def _more(minutes: float) -> str:
    return "An hour" if minutes == LONGER[0] else time_words(minutes)


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


def planned_again(
    given: Stated, own: Flags, way: Way, rows: Sequence[int], least: float = 0.0, known: OfBunches | None = None
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
    return refine(means_of(given.model, known=known), filled)


def _instead(given: Stated, own: Flags, left: int, rows: Sequence[int]) -> Flags:
    """The plan with one row left at home, and what can hurt somebody put there that gains most; as it is where nothing fits."""
    home = range(given.problem.workshop_count)
    several = [
        trial
        for start in _without(given, own, left)
        for row in rows if row != left and _renews_what_harms(given, row)
        for site in home
        for trial in _trials(given, start, row, site)
    ]  # fmt: skip
    if not several:
        return own
    cost, short = reckoned(given, np.stack(several))
    cost = np.where(short.any(axis=1), np.inf, cost)
    return several[int(cost.argmin())] if np.isfinite(cost.min()) else own


def _harms(given: Stated, row: int) -> bool:
    return any(given.problem.tasks[index].item.harms for index in given.groups[row])


def _renews_what_harms(given: Stated, row: int) -> bool:
    return any(is_limited(given.problem.tasks[index].item) for index in given.groups[row])


def _without(given: Stated, own: Flags, row: int) -> tuple[Flags, Flags]:
    """The plan without that row at home, its other visits as they are, and the same with it done after the return."""
    never, later = own.copy(), own.copy()
    never[row, : given.problem.workshop_count] = False
    later[row] = never[row]
    later[row, given.problem.last] = True
    return never, later


def _filled(given: Stated, own: Flags, rows: Sequence[int], sites: Sequence[int]) -> Flags:
    """The plan with wanted rows put into these sites, the one that gains most first, while any gains."""
    for _ in range(len(rows)):
        several = [own, *(trial for row in rows for site in sites for trial in _trials(given, own, row, site))]
        cost, short = reckoned(given, np.stack(several))
        best = int(np.where(short.any(axis=1), np.inf, cost)[1:].argmin()) + 1 if len(several) > 1 else 0
        if not best or short[best].any() or cost[best] >= cost[0]:
            break
        own = several[best]
    return own


def _trials(given: Stated, own: Flags, row: int, site: int) -> Iterator[Flags]:
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


def _full(given: Stated, own: Flags) -> list[int]:
    """Sites where less than half an hour is left."""
    left = minutes_left(given, own)
    return [site for site in range(given.model.sites) if left[site] < FULL_MINUTES]


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


def _best_to_leave(given: Stated, own: Flags, rows: Sequence[int]) -> list[int]:
    """Of the rows worth least, the one that makes room most cheaply for something that can hurt somebody; none where none does."""
    if not any(_renews_what_harms(given, row) for row in rows):
        return []
    tried = [(row, _instead(given, own, row, rows)) for row in _least_worth(given, own)[:MOST_LEFT]]
    found = [(cost_of(given, plan), row) for row, plan in tried if (plan != own).any()]
    return [min(found)[1]] if found else []


def _sentence(
    problem: PlacementProblem, found: WayOut, past: frozenset[int], faults: frozenset[int], s: Situation
) -> str:
    money = f", in {s.trip.currency or 'the money of trip.toml'}"
    first = sorted(found.tasks, key=lambda i: (i not in faults, not problem.tasks[i].item.harms, problem.tasks[i].key))
    tasks = [problem.tasks[i] for i in first]
    names = _names(tasks, s)
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    if found.gain > NEVER / THOUSAND / 2 or not past.isdisjoint(found.tasks):
        priced = "It keeps a limit that is passed otherwise."
    elif not faults.isdisjoint(found.tasks):
        priced = "It puts right what is known to be bad before the rig goes on."
    elif found.way.left is None:
        gain = price_words(-found.gain) if found.is_this_plan else f"at least {price_words(-floor(found.gain))}"
        priced = f"With that time counted it is {gain}{money}."
    else:
        priced = f"By the prices of this plan that {price_words(-found.gain) if abs(found.gain) < EVEN else f'is {price_words(-found.gain)}{money}'}."
    gets = "has room for" if found.is_this_plan else "gets done in time"
    told = f"{found.way.words} {gets}: {'; '.join(names[:MOST_NAMED])}{more}{_in_place_of(problem, found, s)}. {priced}"
    return f"{told} {THIS_PLAN}" if found.is_this_plan else told


def _in_place_of(problem: PlacementProblem, found: WayOut, s: Situation) -> str:
    names = _names([problem.tasks[index] for index in found.instead], s)
    return f", in place of {_and(names)}" if names else ""


def _names(tasks: Sequence[Task], s: Situation) -> list[str]:
    return list(dict.fromkeys(named(task.item.said, task.unit.id, is_one_unit(s.rig)) for task in tasks))


def _and(names: Sequence[str]) -> str:
    return " and ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)
