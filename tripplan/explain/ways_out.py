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

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from math import floor

from msgspec.structs import replace

from tripplan.due.standing import Situation, Standing
from tripplan.explain.moves import EVEN, minutes_left, price_words, time_words
from tripplan.explain.naming import is_one_unit, named
from tripplan.explain.ways_taken import Way, best_to_leave
from tripplan.explain.ways_tried import FULL_MINUTES, Asked, WayOut, wants
from tripplan.placing.model import NEVER
from tripplan.placing.optimise import WEIGHED_FOR_TWO
from tripplan.placing.problem import STOP, THOUSAND, WORKSHOP, PlacementProblem, Placing, Task
from tripplan.records.plain_words import day_and_month, lower_first

MOST_TOLD, MOST_PLANNED, MOST_NAMED = 3, 1, 3
"""Of the ways with more time so many are planned afresh, as each takes as long as the plan itself (judgement)."""
HOUR, LONG = 60.0, 180.0
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
THIS_PLAN = "That is this plan with the time put to use; made again with it, a plan may do other work in that time."
Question = tuple[bool, Callable[[], list[Way]]]
"""Whether it is one of more time, and the ways that could answer it, worked out once it is asked."""


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
    asked = Asked.of(problem, placing, wanted, s)
    found: list[WayOut] = []
    planned = 0
    for is_of_time, ways in _questions(asked, is_one_unit(s.rig)):
        if is_of_time and planned == MOST_PLANNED:
            continue
        tried = [one for way in ways() if (one := asked.with_it(way)) is not None and _tells_more(found, one)]
        best = max(tried, key=lambda one: one.gain, default=None)
        if best is not None and is_of_time:
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


def _questions(asked: Asked, alone: bool) -> Iterator[Question]:
    """One question after the other; where several places could answer it, the one that gains most is told."""
    yield True, partial(_more_at_home, asked, HOUR)
    yield False, partial(_leaving, asked, alone)
    yield True, partial(_more_at_home, asked, LONG)
    yield True, partial(_longer_stop, asked)
    yield True, partial(_more_of_the_road, asked)


def _more_at_home(asked: Asked, minutes: float) -> list[Way]:
    problem = asked.given.problem
    home = [site for site, there in enumerate(problem.sites) if there.kind == WORKSHOP]
    return [
        Way(f"{_more(minutes)} more at home on {_day(problem, site)}", site, minutes)
        for site in asked.where_it_gains(home, minutes)
    ]


def _leaving(asked: Asked, alone: bool) -> list[Way]:
    tasks, groups = asked.given.problem.tasks, asked.given.groups
    rows = best_to_leave(asked.given, asked.own, asked.rows)
    names = [named(lower_first((task := tasks[groups[row][0]]).item.said), task.unit.id, alone) for row in rows]
    return [Way(f"Leaving {name} for later", left=row) for name, row in zip(names, rows, strict=True)]


def _longer_stop(asked: Asked) -> list[Way]:
    sites = asked.given.problem.sites
    stops = [site for site, there in enumerate(sites) if there.kind == STOP]
    return [
        Way(f"{_more(HOUR)} more at {sites[site].place} on {day_and_month(sites[site].date)}", site, HOUR)
        for site in asked.where_it_gains(stops, HOUR)
    ]


def _more_of_the_road(asked: Asked) -> list[Way]:
    if minutes_left(asked.given, asked.own)[-1] >= FULL_MINUTES:
        return []
    return [Way(f"{_more(HOUR)} more of work on the road than the owner gives it", None, HOUR)]


def _day(problem: PlacementProblem, site: int) -> str:
    there = problem.sites[site]
    return f"{WEEKDAYS[there.date.weekday()]} {day_and_month(there.date)}"


def _more(minutes: float) -> str:
    return "An hour" if minutes == HOUR else time_words(minutes)


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
