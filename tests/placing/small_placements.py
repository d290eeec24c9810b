"""Small invented placement problems, and what a placing is worth by an arithmetic of its own.

Nothing here calls the planner's own reckoning: minutes and cost are worked out anew from the
fields of the problem, so that a mistake there cannot hide.
"""

from collections.abc import Iterator
from datetime import timedelta
from itertools import chain, combinations, product
from random import Random
from typing import Any

from msgspec.structs import replace

from tests.small import DEPART, SOURCED, TODAY, thing, wagon
from tripplan.placing.problem import AFTER, STOP, WORKSHOP, Ceilings, LookAgain, PlacementProblem, Site, Task
from tripplan.records.catalogue import Teardown

WAGON = wagon()
PLACE = "front wheel end"
STATES: tuple[tuple[str, str | None, float, float], ...] = (
    ("wheel off", None, 10, 8), ("shaft out", "wheel off", 12, 15), ("drained", None, 9, 6),
)  # fmt: skip
LADDERS = ((), ("wheel off",), ("wheel off", "shaft out"), ("drained",))
RANK = {"camp": 1, "town": 2, "workshop": 3}
NUTS = LookAgain("nuts", "wagon", None, 50.0, 100.0, 7.0)
Visits = tuple[tuple[int, ...], ...]
Part = tuple[str, str]  # side and state


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
    """One act with an age that only grows: what waiting costs rises with the square of the share used."""
    states, side = rng.choice(LADDERS), rng.choice(sides)
    item = thing(
        f"item_{number}", minutes=rng.choice((5, 10, 20, 40)), 
        place=PLACE, family="filter", follow_ups=(), act="grease",
    )  # fmt: skip
    steps = [0.0 if i < days else rng.uniform(0.1, 0.6) for i in range(count)]
    at = [sum(steps[: i + 1]) for i in range(count)]
    used = rng.uniform(0.0, 1.2)
    starts = [-used, *at]
    shares = tuple(tuple(max(0.0, at[q] - starts[p]) for q in range(count)) for p in range(count + 1))
    price = item.minutes * 1000 + rng.choice((0, 5000))
    dear = rng.choice((1, 2, 5))
    first = [used if p == 0 else 0.0 for p in range(count + 1)]
    late = tuple(
        tuple(round(dear * price * max(0.0, shares[p][q] ** 2 - first[p] ** 2)) for q in range(count))
        for p in range(count + 1)
    )
    worth = tuple(
        round(price * min(1.0, 2 * shares[p][-1] - shares[p][-1] ** 2)) if shares[p][-1] < 1 else price
        for p in range(count + 1)
    )
    reach = tuple(
        max((q for q in range(count) if q < max(p, days) or shares[p][q] <= 1), default=-1) for p in range(count + 1)
    )
    return Task(
        item=item, unit=WAGON, position=side, act="grease", minutes=item.minutes,
        facility=rng.choice(("camp", "camp", "town", "workshop")), state=states[-1] if states else "closed",
        opens=tuple((("wagon", PLACE, side), state) for state in states),
        earliest=rng.choice((0, 0, 0, min(1, count - 1))), reach=reach, sound=(count - 1,) * (count + 1),
        shares=shares, late=late, worth=worth,
    )  # fmt: skip


def water(rng: Random, number: int, days: int, count: int) -> Task:
    """A one-shot act after a crossing, to be done at one of a few sites on the road, or left undone at a price."""
    plain = task(rng, number, days, count)
    first = rng.randrange(days, count)
    window = (first, rng.randrange(first, count))
    return replace(
        plain, window=window, calls=(number,), reach=(), sound=(), shares=(), late=(), worth=(), earliest=0,
        undone=rng.choice((10_000, 80_000)),
    )  # fmt: skip


def problem(
    seed: int, tasks: int, days: int, stops: int, waters: int = 0, sides: tuple[str, ...] = ("left",),
    looks: bool = False,
) -> PlacementProblem:  # fmt: skip
    """A whole problem from one seed; task 0 may do others on the way, water calls among them.

    With `looks`, work behind a wheel brings the nuts again after 50 to 100 km.
    """
    rng = Random(seed)
    spots = sites(rng, days, stops, rng.random() < 0.7)
    listed = [task(rng, i, days, len(spots), sides) for i in range(tasks)]
    listed += [water(rng, tasks + i, days, len(spots)) for i in range(waters)]
    if looks:
        listed = [replace(one, again=(NUTS,)) if one.opens and one.window is None else one for one in listed]
    covered = [(), *((0,) if rng.random() < 0.3 else () for _ in listed[1:])]
    rows = tuple(
        Teardown(
            place=PLACE, state=name, parent=parent, open_minutes=opening, close_minutes=closing, words=name, **SOURCED
        )
        for name, parent, opening, closing in STATES
    )
    on_the_road = tuple(s.kind == STOP for s in spots)
    made = PlacementProblem(
        sites=spots, tasks=tuple(listed), covered_by=tuple(covered),
        teardown={(PLACE, row.state): row for row in rows},
        open_minutes={(PLACE, row.state): row.open_minutes for row in rows},
        close_minutes={(PLACE, row.state): row.close_minutes for row in rows},
        hour_price=tuple(120.0 if away else 60.0 for away in on_the_road),
        place_factor=tuple(rng.choice((1.2, 1.5, 2.0)) if away else 1.0 for away in on_the_road),
        at_home=tuple(not away for away in on_the_road), set_out_minutes=rng.choice((0.0, 10.0)), halt_factor=2.0, halt_hour_price=120.0,
        tolerance_share=0.1, short_share=0.25, depart=DEPART, quiet_days=0.0, shakedown_km=100.0 if rng.random() < 0.3 else 0.0,
        ceilings=Ceilings(None, rng.choice((None, 90.0))),
    )  # fmt: skip
    if not looks:
        return made
    there = [
        s for s, site in enumerate(spots) if site.minutes is None or NUTS.minutes * made.place_factor[s] <= site.minutes
    ]
    return replace(made, takes_looks=frozenset((s, "nuts", "wagon", None) for s in there))


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


def minutes(given: PlacementProblem, visits: Visits) -> list[float]:
    """Minutes of every site as they take there: jobs, each opening once, nothing closed that is open next morning."""
    table = {name: (opening, closing) for name, _, opening, closing in STATES}
    parts = opened(given, visits)
    total = [sum(sum(table[state]) for _, state in there) for there in parts]
    for task_, at in zip(given.tasks, visits, strict=True):
        for site in at:
            total[site] += task_.minutes
    for night in nights(given):
        for _, state in parts[night] & parts[night + 1]:
            total[night] -= table[state][1]
            total[night + 1] -= table[state][0]
    for where in looked_at(given, visits):
        if isinstance(where, int):
            total[where] += NUTS.minutes
    busy = {site for at in visits for site in at}
    return [
        (spent + (given.set_out_minutes if site in busy else 0.0)) * given.place_factor[site]
        for site, spent in enumerate(total)
    ]


def looked_at(given: PlacementProblem, visits: Visits) -> set[int | float]:
    """Where nuts are looked at again: sites by number, halts by trip km; each once."""
    days = [i for i, site in enumerate(given.sites) if site.kind == WORKSHOP]
    found: set[int | float] = set()
    for at in {s for task_, done in zip(given.tasks, visits, strict=True) if task_.again for s in done}:
        km = given.sites[at].trip_km
        stops = [
            i for i, site in enumerate(given.sites) if i > at and site.kind == STOP and km + 50 <= site.trip_km <= km + 100
        ]  # fmt: skip
        shaken = given.shakedown_km >= 50 and at in days and at != days[-1]
        target = days[-1] if shaken else next(iter(stops), None)
        takes = target is not None and (target, "nuts", "wagon", None) in given.takes_looks
        found.add(target if takes and target is not None else km + 50.0)
    return found


def fits(given: PlacementProblem, visits: Visits) -> bool:
    """True when every site has the minutes, and the road as a whole."""
    spent = minutes(given, visits)
    road = sum(used for used, home in zip(spent, given.at_home, strict=True) if not home)
    halts = [km for km in looked_at(given, visits) if isinstance(km, float) and km < given.sites[-1].trip_km]
    road += len(halts) * NUTS.minutes * given.halt_factor
    ceiling = given.ceilings.trip_minutes
    within = all(
        site.minutes is None or used <= site.minutes + 1e-6 for site, used in zip(given.sites, spent, strict=True)
    )
    return within and (ceiling is None or road <= ceiling + 1e-6)


def worth(given: PlacementProblem, visits: Visits) -> float:
    """Cost: work where it is done, waiting, what is lost at the end, water work left undone."""
    cost = sum(used / 60.0 * price for used, price in zip(minutes(given, visits), given.hour_price, strict=True))
    for km in looked_at(given, visits):
        if isinstance(km, float):
            away = km < given.sites[-1].trip_km
            cost += NUTS.minutes / 60.0 * (given.halt_factor * given.halt_hour_price if away else given.hour_price[-1])
    end = len(given.sites) - 1
    for index, task_ in enumerate(given.tasks):
        done = renewed(given, visits, index)
        if task_.window is not None:
            first, last = task_.window
            cost += 0.0 if any(first <= site <= last for site in done) else task_.undone / 1000
            continue
        start = -1
        for site in done:
            cost += task_.late[start + 1][site] / 1000
            start = site
        if start < end:
            cost += (task_.late[start + 1][end] + task_.worth[start + 1]) / 1000
    return cost


def is_allowed(given: PlacementProblem, visits: Visits) -> bool:
    """True when nothing comes home used up and unasked, and nothing is done twice in a short time for its own sake."""
    end = len(given.sites) - 1
    for index, task_ in enumerate(given.tasks):
        if task_.window is not None:
            continue
        done, start = renewed(given, visits, index), -1
        for site in done:
            if site in visits[index] and task_.shares[start + 1][site] < given.short_share:
                covered = any(site in visits[c] for c in given.covered_by[index])
                if not covered:
                    return False
            start = site
        if start < end and task_.shares[start + 1][end] >= 0.9:
            return False
    return True


def choices(given: PlacementProblem, index: int) -> list[tuple[int, ...]]:
    """Every set of sites a task may be done at; a one-shot task at one or none."""
    task_ = given.tasks[index]
    able = [
        i for i, site in enumerate(given.sites)
        if RANK[site.facility] >= RANK[task_.facility] and i >= task_.earliest
        and (task_.window is None or task_.window[0] <= i <= task_.window[1])
    ]  # fmt: skip
    if task_.window is not None:
        return [(), *((site,) for site in able)]
    return list(chain.from_iterable(combinations(able, size) for size in range(len(able) + 1)))


def all_placings(given: PlacementProblem) -> Iterator[Visits]:
    """Every placing that is allowed and fits."""
    for visits in product(*(choices(given, index) for index in range(len(given.tasks)))):
        if is_allowed(given, visits) and fits(given, visits):
            yield visits


def best(given: PlacementProblem) -> float:
    """The least cost of all placings there are, one by one."""
    return min(worth(given, visits) for visits in all_placings(given))


def with_twin(given: PlacementProblem) -> PlacementProblem:
    """The same problem with task 0 once more, on the other side."""
    other = replace(
        given.tasks[0], position="right",
        opens=tuple(((unit, place, "right"), state) for (unit, place, _), state in given.tasks[0].opens),
    )  # fmt: skip
    pair = (0, len(given.tasks))
    values: dict[str, Any] = {"tasks": (*given.tasks, other), "covered_by": (*given.covered_by, ()), "twins": (pair,)}
    return replace(given, **values)
