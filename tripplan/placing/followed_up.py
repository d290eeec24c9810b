"""Where the looks fall that work brings some km later, and what they take there; those of work on record stand already.

Behind a shakedown they are done on the last day at home, on the road at a stop that lies in
their window, else at a halt; what would come after the trip is done at home. A place takes no
more of them than it could hold if all came that can, beside the known faults that only it can put right in time: the
longest are left to a halt.
"""

from collections.abc import Iterable, Sequence
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from tripplan.placing.problem import (
    AT_ONCE,
    STOP,
    WORKSHOP,
    LookAgain,
    OwedLook,
    PlaceKey,
    PlacementProblem,
    Placing,
    Task,
    opening_minutes,
    renewals,
)
from tripplan.placing.trade_rules import is_with_the_hub
from tripplan.records.units import MINUTES_PER_HOUR


class Due(Struct, frozen=True):
    """One look at the place where it falls: a site, or a halt at this trip km, past the end = after return.

    `minutes` are those of the home shed; away from every site they hold what is opened for the look.
    """

    item: str
    unit: str
    side: str | None
    minutes: float
    site: int | None
    at_km: float

    @property
    def key(self) -> tuple[str, str, str, int | None, float]:
        """What is looked at, and where: two that are alike are one look."""
        return (self.item, self.unit, self.side or "", self.site, self.at_km if self.site is None else 0.0)


def looks_due(problem: PlacementProblem, placing: Placing) -> tuple[Due, ...]:
    """Every look that the work of a placing or work on record brings, once where several jobs bring the same."""
    owed = tuple(owed_due(problem, one) for one in owed_left(problem, placing))
    return tuple({due.key: due for due in (*owed, *planned_looks(problem, placing))}.values())


def planned_looks(problem: PlacementProblem, placing: Placing) -> tuple[Due, ...]:
    """Every look that the work of a placing brings."""
    found: dict[tuple[str, str, str, int | None, float], Due] = {}
    for task, visits in zip(problem.tasks, placing.visits, strict=True):
        for site in visits:
            for look in task.again:
                due = falls(problem, site, look)
                found.setdefault(due.key, due)
    return tuple(found.values())


def owed_left(problem: PlacementProblem, placing: Placing) -> tuple[OwedLook, ...]:
    """The looks that work on record brings, less those that a placing makes in their km anyway, or at their place."""
    if not problem.owed:
        return ()
    planned = planned_looks(problem, placing)
    number = {task.thing: index for index, task in enumerate(problem.tasks) if task.window is None}

    def is_made(owed: OwedLook) -> bool:
        made = [(due.site, due.at_km) for due in planned if (due.item, due.unit, due.side or "") == owed.thing]
        if owed.thing in number:
            made += [(site, problem.sites[site].trip_km) for site in renewals(problem, placing, number[owed.thing])]
        return any(
            (site is not None and site == owed.site) or owed.from_km <= at_km <= owed.to_km for site, at_km in made
        )

    return tuple(owed for owed in problem.owed if not is_made(owed))


def spared_by(problem: PlacementProblem, placing: Placing) -> PlacementProblem:
    """The problem in which no minutes are kept for looks that work on record brings and this placing makes anyway."""
    left = owed_left(problem, placing)
    spared = tuple(owed for owed in problem.owed if owed not in left)
    return replace(problem, spared=spared) if spared else problem


def owed_kept(problem: PlacementProblem) -> list[OwedLook]:
    """The looks that work on record brings and minutes are kept for."""
    return [owed for owed in problem.owed if owed not in problem.spared]


def owed_due(problem: PlacementProblem, owed: OwedLook) -> Due:
    """A look that work on record brings, at the place where it falls."""
    look = owed.look
    if owed.site is not None:
        return Due(look.item, look.unit, look.side, look.minutes, owed.site, problem.sites[owed.site].trip_km)
    return Due(look.item, look.unit, look.side, away_minutes(look), None, owed.from_km)


def owed_minutes(problem: PlacementProblem) -> tuple[float, ...]:
    """Minutes that are kept at each site for looks that work on record brings."""
    here = {(owed.site, owed.thing): owed.look.minutes for owed in owed_kept(problem) if owed.site is not None}
    minutes = [0.0] * len(problem.sites)
    for (site, _), each in here.items():
        minutes[site] += each * problem.place_factor[site]
    return tuple(minutes)


def away_minutes(look: LookAgain) -> float:
    """Minutes of the home shed of a look away from every site."""
    return look.minutes if look.halt_minutes is None else look.halt_minutes


def falls(problem: PlacementProblem, site: int, look: LookAgain) -> Due:
    """Where a look falls that work at this site brings."""
    at = falls_at(problem, site, look.low_km, look.high_km)
    if at is not None and (at, look.item, look.unit, look.side) not in problem.takes_looks:
        at = None
    if at is not None:
        return Due(look.item, look.unit, look.side, look.minutes, at, problem.sites[at].trip_km)
    return Due(look.item, look.unit, look.side, away_minutes(look), None, problem.sites[site].trip_km + look.low_km)


def falls_at(problem: PlacementProblem, site: int, low_km: float, high_km: float) -> int | None:
    """The last workshop day behind a shakedown, or the first stop in the window; None where there is none."""
    here = problem.sites[site]
    if here.kind == WORKSHOP and low_km <= problem.shakedown_km:
        later = [s for s in range(site + 1, problem.workshop_count) if problem.sites[s].date > here.date]
        if later:
            return later[-1]
    for index in range(site + 1, len(problem.sites)):
        there = problem.sites[index]
        if there.kind == STOP and here.trip_km + low_km <= there.trip_km <= here.trip_km + high_km:
            return index
    return None


@lru_cache(maxsize=2)
def looks_on_the_spot(problem: PlacementProblem) -> frozenset[tuple[PlaceKey, str]]:
    """The looks that work at a place shares, whoever asks for them: those some act brings at once, and acts asked for again."""
    at_once = {pair for task in problem.tasks for pair in task.opens if pair[0][1] == AT_ONCE}
    acts = {as_a_look(task) for task in problem.tasks if is_a_look_itself(task)}
    return frozenset(at_once | ({look.on_the_spot for task in problem.tasks for look in task.again} & acts))


def as_a_look(task: Task) -> tuple[PlaceKey, str]:
    """The act as what earlier work at a place may ask for on the spot."""
    return ((task.unit.id, AT_ONCE, task.position), task.item.id)


def is_a_look_itself(task: Task) -> bool:
    """True for an act that is the look again for whatever asks for that: the item's own, outside the walk-round."""
    return task.item.rhythm == "service" and task.act == task.item.act


def takes_looks(problem: PlacementProblem) -> frozenset[tuple[int, str, str, str | None]]:
    """Sites, and looks that they have the minutes for under the owner's ceiling, whatever else falls due there."""
    could: dict[int, dict[tuple[str, str, str | None], float]] = {}
    for look in dict.fromkeys(look for task in problem.tasks for look in task.again):
        for site in range(len(problem.sites)):
            at = falls_at(problem, site, look.low_km, look.high_km)
            if at is not None:
                could.setdefault(at, {})[(look.item, look.unit, look.side)] = look.minutes
    found, kept = [], [sum(both) for both in zip(owed_minutes(problem), fault_minutes(problem), strict=True)]
    owed = {(one.site, one.look.item, one.look.unit, one.look.side) for one in problem.owed}
    for at, looks in could.items():
        left = most_minutes(problem, at) - kept[at]
        for thing, minutes in sorted(looks.items(), key=lambda entry: (entry[1], str(entry[0]))):
            left -= 0.0 if (at, *thing) in owed else minutes * problem.place_factor[at]
            if left >= 0:
                found.append((at, *thing))
    return frozenset(found)


def fault_minutes(problem: PlacementProblem) -> tuple[float, ...]:
    """Minutes that are kept at each site for known faults that can be put right in time there alone, with all that opens.

    None for a fault that by itself, or with the other side of its axle, would take more than the site has.
    """
    found = []
    for site in range(len(problem.sites)):
        here = [
            i for i, task in enumerate(problem.tasks) if task.found_bad and task.earliest == task.put_right_by == site
        ]
        most = most_minutes(problem, site)
        fit = [problem.tasks[i] for i in here if _with_its_hub(problem, _both_sides(problem, i), site) <= most]
        found.append(_with_its_hub(problem, fit, site) if fit else 0.0)
    return tuple(found)


def _both_sides(problem: PlacementProblem, index: int) -> list[Task]:
    """A task and the one at the other side that is done with it, if any."""
    pair = next((pair for pair in problem.twins if index in pair), (index,))
    return [problem.tasks[one] for one in pair]


def _with_its_hub(problem: PlacementProblem, work: Sequence[Task], site: int) -> float:
    """What this takes at a site together, set out and cleared up, with all that is done at the hubs that it has off."""
    opened = {pair for task in work for pair in task.opens}
    too = [
        task for task in problem.tasks if task not in work and is_with_the_hub(task) and opened.issuperset(task.opens)
    ]
    minutes = sum(task.minutes for task in (*work, *too)) + opening_minutes(problem, opened)
    return (minutes + problem.set_out_minutes) * problem.place_factor[site]


def most_minutes(problem: PlacementProblem, at: int) -> float:
    """The minutes of a site, or what the owner gives of the road for its days, whichever is less."""
    site = problem.sites[at]
    limits = [float("inf") if site.minutes is None else site.minutes]
    if site.kind == STOP and not problem.at_home[at]:
        limits.append(problem.ceilings.days_room(site))
    return min(limits)


def is_on_the_road(problem: PlacementProblem, at_km: float) -> bool:
    """True for a halt before the trip ends."""
    return at_km < problem.sites[problem.last].trip_km


def halt_minutes(problem: PlacementProblem, due: Due) -> float:
    """What a look away from every site takes: at a halt on the road, or at home after return."""
    return due.minutes * (problem.halt_factor if is_on_the_road(problem, due.at_km) else 1.0)


def halt_cost(problem: PlacementProblem, due: Due) -> float:
    """What such a look costs, in the owner's currency."""
    price = problem.halt_hour_price if is_on_the_road(problem, due.at_km) else problem.hour_price[problem.last]
    return halt_minutes(problem, due) / MINUTES_PER_HOUR * price


def halts(problem: PlacementProblem, looks: Iterable[Due]) -> list[Due]:
    """Those of the looks that fall at no site."""
    return [due for due in looks if due.site is None]


def stop_of_the_day(problem: PlacementProblem, at_km: float) -> int | None:
    """The stop on the road that is reached on the day of this km, if any: it shares that day's ceiling."""
    if not is_on_the_road(problem, at_km):
        return None
    leg = next((number for number, (end_km, _) in enumerate(problem.legs) if at_km < end_km), None)
    if leg is None:
        return None
    for index, site in enumerate(problem.sites):
        if site.kind == STOP and not problem.at_home[index] and site.legs_done == leg + 1:
            return index if site.date == problem.legs[leg][1] else None
    return None
