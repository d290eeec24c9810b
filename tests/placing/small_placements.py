"""Small invented placement problems, and what a placing is worth by an arithmetic of its own.

Nothing here calls the planner's own reckoning: minutes, cost and broken limits are worked
out anew from the fields of the problem, so that a mistake there cannot hide.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from itertools import chain, combinations, product
from random import Random
from typing import Any

from tests.small import DEPART, SOURCED, TODAY, thing, wagon
from tripplan.placing.problem import AFTER, STOP, WORKSHOP, PlacementProblem, Site, Task
from tripplan.records.catalogue import Teardown

WAGON = wagon()
PLACE = "front wheel end"
STATES: tuple[tuple[str, str | None, float, float], ...] = (
    ("wheel off", None, 10, 8), ("hub off", "wheel off", 12, 15), ("drained", None, 9, 6),
)  # fmt: skip
LADDERS = ((), ("wheel off",), ("wheel off", "hub off"), ("drained",))
Visits = tuple[tuple[int, ...], ...]
Part = tuple[str, str]  # side and state
Kept = frozenset[tuple[int, Part]]


def sites(rng: Random, days: int, stops: int, in_a_row: bool) -> tuple[Site, ...]:
    """Workshop days, stops and the time after return, the stops a leg apart."""
    step = 1 if in_a_row else 2
    found = [
        Site(f"d{i}", WORKSHOP, TODAY + timedelta(days=step * i), "home", "workshop", 0, 0, 0.0,
             rng.choice((30.0, 60.0, 90.0, 400.0)))
        for i in range(days)
    ]  # fmt: skip
    found += [
        Site(f"s{i}", STOP, DEPART + timedelta(days=3 * i + 2), f"stop {i}", rng.choice(("camp", "town", "workshop")),
             i + 1, i + 1, 100.0 * (i + 1), rng.choice((0.0, 25.0, 60.0, 200.0)))
        for i in range(stops)
    ]  # fmt: skip
    end = DEPART + timedelta(days=40)
    return (*found, Site("after", AFTER, end, "home", "workshop", stops, stops + 1, 100.0 * (stops + 1), None))


def task(rng: Random, number: int, days: int, count: int, sides: tuple[str, ...] = ("left",)) -> Task:
    """One act with an age that only grows: what is used, when it runs out, what standing still costs."""
    states, side = rng.choice(LADDERS), rng.choice(sides)
    item = thing(
        f"item_{number}", minutes=rng.choice((5, 10, 20, 40)), strands=rng.choice((0.0, 0.25, 1.0)),
        harms=rng.random() < 0.3, place=PLACE, family="filter", follow_ups=(), act="grease",
    )  # fmt: skip
    steps = [0.0 if i < days else rng.uniform(0.1, 0.6) for i in range(count)]
    at = [sum(steps[: i + 1]) for i in range(count)]
    used, overdue = rng.uniform(0.0, 0.95), days > 0 and rng.random() < 0.4
    reserve = rng.uniform(1.0, 1.4)
    starts = [-used, *at]
    reach = [
        max((i for i in range(count) if i < max(p, days) or (at[i] - starts[p]) * reserve <= 1.0), default=-1)
        for p in range(count + 1)
    ]
    if overdue:
        reach[0] = days - 1
    shares = tuple(tuple(max(0.0, at[q] - starts[p]) for q in range(count)) for p in range(count + 1))
    price = rng.choice((0.0, 0.0, 5.0, 60.0))
    driven = [used if p == 0 else 0.0 for p in range(count + 1)]  # share used when the road begins
    strand = tuple(
        tuple(price * max(0.0, (at[q] - starts[p]) ** 2 - driven[p] ** 2) for q in range(count))
        for p in range(count + 1)
    )
    return Task(
        item=item, unit=WAGON, position=side, act="grease", minutes=item.minutes,
        facility=rng.choice(("camp", "camp", "town", "workshop")), state=states[-1] if states else "closed",
        opens=tuple((("wagon", PLACE, side), state) for state in states),
        earliest=rng.choice((0, 0, 0, min(1, count - 1))), reach=tuple(reach), shares=shares, strand=strand,
        overdue=overdue,
    )  # fmt: skip


def water(rng: Random, number: int, days: int, count: int) -> Task:
    """A one-shot act after a crossing, to be done at one of a few sites on the road."""
    plain = task(rng, number, days, count)
    first = rng.randrange(days, count)
    window = (first, rng.randrange(first, count))
    values: dict[str, Any] = {name: getattr(plain, name) for name in Task.__slots__}
    return Task(**values | {"window": window, "calls": (number,), "reach": (), "shares": (), "strand": (),
                            "overdue": False, "earliest": 0})  # fmt: skip


def problem(
    seed: int, tasks: int, days: int, stops: int, waters: int = 0, sides: tuple[str, ...] = ("left",)
) -> PlacementProblem:
    """A whole problem from one seed; task 0 may do others on the way, water calls among them."""
    rng = Random(seed)
    spots = sites(rng, days, stops, rng.random() < 0.7)
    listed = [task(rng, i, days, len(spots), sides) for i in range(tasks)]
    listed += [water(rng, tasks + i, days, len(spots)) for i in range(waters)]
    covered = [(), *((0,) if rng.random() < 0.3 else () for _ in listed[1:])]
    rows = tuple(
        Teardown(
            place=PLACE, state=name, parent=parent, open_minutes=opening, close_minutes=closing, words=name, **SOURCED
        )
        for name, parent, opening, closing in STATES
    )
    return PlacementProblem(
        sites=spots, tasks=tuple(listed), covered_by=tuple(covered),
        teardown={(PLACE, row.state): row for row in rows},
        open_minutes={(PLACE, row.state): row.open_minutes for row in rows},
        close_minutes={(PLACE, row.state): row.close_minutes for row in rows},
        rate_per_hour=60.0, labour_factor=tuple(rng.choice((1.2, 1.5, 2.0)) if s.kind == STOP else 1.0 for s in spots),
        tolerance_share=0.1, depart=DEPART, quiet_days=0.0, shakedown=rng.random() < 0.3,
    )  # fmt: skip


def renewed(given: PlacementProblem, visits: Visits, index: int) -> list[int]:
    """Sites at which an item is renewed: by itself, or by what does it on the way."""
    return sorted({site for other in (index, *given.covered_by[index]) for site in visits[other]})


def nights(given: PlacementProblem) -> list[int]:
    """Workshop days after which the rig may stay apart: the next is the day after, and no shakedown between."""
    days = [i for i, site in enumerate(given.sites) if site.kind == WORKSHOP]
    return [
        i for i in days[:-1]
        if (given.sites[i + 1].date - given.sites[i].date).days == 1 and not (given.shakedown and i + 2 == len(days))
    ]  # fmt: skip


def opened(given: PlacementProblem, visits: Visits) -> list[set[Part]]:
    """Sides and states that jobs need open, by site."""
    found: list[set[Part]] = [set() for _ in given.sites]
    for task_, at in zip(given.tasks, visits, strict=True):
        for site in at:
            found[site] |= {(key[2] or "", state) for key, state in task_.opens}
    return found


def minutes(given: PlacementProblem, visits: Visits, kept: Kept) -> list[float]:
    """Minutes of every site: jobs, each opening once both ways, without what stays open overnight."""
    table = {name: (opening, closing) for name, _, opening, closing in STATES}
    total = [sum(sum(table[state]) for _, state in parts) for parts in opened(given, visits)]
    for task_, at in zip(given.tasks, visits, strict=True):
        for site in at:
            total[site] += task_.minutes
    for night, (_, state) in kept:
        total[night] -= table[state][1]
        total[night + 1] -= table[state][0]
    return total


def fits(given: PlacementProblem, visits: Visits, kept: Kept) -> bool:
    """True when every site has the minutes."""
    return all(
        site.minutes is None or used <= site.minutes + 1e-6
        for site, used in zip(given.sites, minutes(given, visits, kept), strict=True)
    )


def gravity_of(task_: Task) -> float:
    """What breaking a limit weighs: 30 where a failure harms, else 1 to 10 by the time to help it costs."""
    return 30.0 if task_.item.harms else 1.0 + 9.0 * task_.item.strands


def worth(given: PlacementProblem, visits: Visits, kept: Kept) -> tuple[float, float]:
    """Weight of broken limits, then cost: labour where it is done, life thrown away, standing still."""
    labour = sum(
        used / 60.0 * given.rate_per_hour * factor
        for used, factor in zip(minutes(given, visits, kept), given.labour_factor, strict=True)
    )
    end = len(given.sites) - 1
    broken = 0.0
    for index, (task_, at) in enumerate(zip(given.tasks, visits, strict=True)):
        gravity = gravity_of(task_)
        if task_.window is not None:
            first, last = task_.window
            broken += 0.0 if any(first <= site <= last for site in renewed(given, visits, index)) else gravity
            continue
        start = -1
        for site in [*renewed(given, visits, index), end]:
            if site == start:
                continue
            share = task_.shares[start + 1][site]
            due = task_.overdue and start == -1
            if site > task_.reach[start + 1]:
                broken += gravity * (1.0 + max(0.0, share - (0.0 if due else 1.0)))
            labour += task_.strand[start + 1][site]
            if site in at and not due:
                labour += task_.minutes / 60.0 * given.rate_per_hour * max(0.0, 1.0 - share)
            start = site
    return broken, labour


def choices(given: PlacementProblem, index: int) -> list[tuple[int, ...]]:
    """Every set of sites a task may be done at; a one-shot task at one or none."""
    task_, rank = given.tasks[index], {"camp": 1, "town": 2, "workshop": 3}
    able = [
        i for i, site in enumerate(given.sites)
        if rank[site.facility] >= rank[task_.facility] and i >= task_.earliest
        and (task_.window is None or task_.window[0] <= i <= task_.window[1])
        and not (site.kind == WORKSHOP and task_.window is None and not task_.overdue and i > task_.reach[0])
    ]  # fmt: skip
    if task_.window is not None:
        return [(), *((site,) for site in able)]
    return list(chain.from_iterable(combinations(able, size) for size in range(len(able) + 1)))


def comes_home_sound(given: PlacementProblem, visits: Visits) -> bool:
    """True when nothing is past its limit at home without being done there: it is late, never left out."""
    end = len(given.sites) - 1
    for index, task_ in enumerate(given.tasks):
        if task_.window is None:
            last = max(renewed(given, visits, index), default=-1)
            if last < end and task_.reach[last + 1] < end:
                return False
    return True


def is_excuse(given: PlacementProblem, visits: Visits, kept: Kept, now: tuple[float, float]) -> bool:
    """True when a job only keeps something open overnight for another: without it nothing is worse."""
    for index, at in enumerate(visits):
        for site in at:
            fewer = tuple(tuple(s for s in v if (i, s) != (index, site)) for i, v in enumerate(visits))
            parts = opened(given, fewer)
            left = frozenset((n, part) for n, part in kept if part in parts[n] & parts[n + 1])
            broken, cost = worth(given, fewer, left)
            if comes_home_sound(given, fewer) and broken <= now[0] + 1e-5 and cost <= now[1] + 1e-6:
                return True
    return False


def together(given: PlacementProblem, visits: Visits) -> bool:
    """True when every pair of twins is done at the same stops, and before departure both or neither."""
    home = sum(site.kind == WORKSHOP for site in given.sites)
    return all(
        [site for site in visits[one] if site >= home] == [site for site in visits[other] if site >= home]
        and any(site < home for site in visits[one]) == any(site < home for site in visits[other])
        for one, other in given.twins
    )


def with_twin(given: PlacementProblem) -> PlacementProblem:
    """The same problem with task 0 once more, on the other side."""
    other = replace(
        given.tasks[0], position="right",
        opens=tuple(((unit, place, "right"), state) for (unit, place, _), state in given.tasks[0].opens),
    )  # fmt: skip
    pair = (0, len(given.tasks))
    return replace(given, tasks=(*given.tasks, other), covered_by=(*given.covered_by, ()), twins=(pair,))


def best(
    given: PlacementProblem, allowed: Callable[[PlacementProblem, Visits], bool] = comes_home_sound
) -> tuple[tuple[float, float], tuple[float, float]]:
    """The least broken and then cheapest of all placings there are, one by one: with excuses and without."""
    least = sensible = (1e9, 1e9)
    for visits in product(*(choices(given, index) for index in range(len(given.tasks)))):
        if not comes_home_sound(given, visits) or not allowed(given, visits):
            continue
        for kept in _keepings(given, visits):
            if fits(given, visits, kept):
                broken, cost = worth(given, visits, kept)
                now = (round(broken, 6), cost)
                least = min(least, now)
                if now < sensible and not (kept and is_excuse(given, visits, kept, now)):
                    sensible = now
    return least, sensible


def _keepings(given: PlacementProblem, visits: Visits) -> Iterator[Kept]:
    """Every choice of what stays open overnight between two jobs that need it, the outer with the inner."""
    needed = opened(given, visits)
    parents = {name: parent for name, parent, _, _ in STATES}
    able = [(night, part) for night in nights(given) for part in sorted(needed[night] & needed[night + 1])]
    for size in range(len(able) + 1):
        for kept in combinations(able, size):
            if all(parents[s] is None or (night, (side, parents[s])) in kept for night, (side, s) in kept):
                yield frozenset(kept)
