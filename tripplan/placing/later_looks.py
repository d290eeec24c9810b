"""Looks that follow some km later, as openings of the place where they fall."""

from collections.abc import Iterable

import numpy as np
from msgspec import Struct

from tripplan.placing.followed_up import Due, falls, halt_cost, halt_minutes, is_on_the_road, stop_of_the_day
from tripplan.placing.model import Floats, Looks, Numbers, looks_at
from tripplan.placing.problem import THOUSAND, PlacementProblem
from tripplan.placing.reckoning import Opening
from tripplan.placing.rooms import TENTHS

HALT, LATER = "halt", "later"


class Spot(Struct, frozen=True):
    """Where a look falls that comes some km later: the opening that it is, and the site it is counted at."""

    opening: Opening
    site: int
    due: Due


def spots_of(problem: PlacementProblem, on_the_spot: frozenset[Opening]) -> dict[tuple[Opening, int], Spot]:
    """By what work brings and the site of the work, where the look falls; halts at one km are one."""
    found: dict[tuple[Opening, int], Spot] = {}
    first: dict[Opening, int] = {}
    looks = dict.fromkeys(look for task in problem.tasks for look in task.again)
    for look in looks:
        for site in range(len(problem.sites)):
            due = falls(problem, site, look)
            if due.site is None:
                halt = ((look.unit, HALT, look.side), f"{look.item} at {due.at_km:g}")
                found[(look.opening, site)] = Spot(halt, first.setdefault(halt, site), due)
            else:
                own = ((look.unit, LATER, look.side), look.item)
                opening = look.on_the_spot if look.on_the_spot in on_the_spot else own
                found[(look.opening, site)] = Spot(opening, due.site, due)
    return found


def looks_of(
    problem: PlacementProblem, spots: dict[tuple[Opening, int], Spot], number: dict[Opening, int], cost: Floats
) -> tuple[Looks, tuple[int | None, ...]]:
    """Where looks some km later fall, as arrays; halts get their price here. Also the stop whose day each clock of halts shares."""
    pairs = [(number[by], at, spot) for (by, at), spot in spots.items() if by in number]
    places = list(dict.fromkeys((number[spot.opening], spot.site) for _, _, spot in pairs))
    place = {one: n for n, one in enumerate(places)}
    dues = {place[(number[spot.opening], spot.site)]: spot.due for _, _, spot in pairs if spot.due.site is None}
    of_day = {n: stop_of_the_day(problem, due.at_km) for n, due in dues.items() if is_on_the_road(problem, due.at_km)}
    stops = tuple(dict.fromkeys(of_day.values()))
    halt = np.zeros((len(places), len(stops)))
    for n, due in dues.items():
        cost[places[n]] = round(halt_cost(problem, due) * THOUSAND)
        if n in of_day:
            halt[n, stops.index(of_day[n])] = np.rint(halt_minutes(problem, due) * TENTHS)

    def whole(values: Iterable[int]) -> Numbers:
        return np.array(list(values), dtype=np.intp)

    to = whole(place[(number[spot.opening], spot.site)] for _, _, spot in pairs)
    from_ = (whole(by for by, _, _ in pairs), whole(at for _, at, _ in pairs), to)
    return looks_at(from_, (whole(o for o, _ in places), whole(s for _, s in places)), halt), stops
