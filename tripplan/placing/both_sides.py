"""Both sides of an axle: alike, equally far gone, and so done together.

Opening one side and coming back for the other at the next stop saves minutes on paper and
nothing in a shed. So two tasks that differ in nothing but their side are first placed as
one; only where that would break a limit is each side placed by itself, and brought to the
other afterwards where there is room. That an axle is worked on as a pair is common practice,
no source.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from tripplan.placing.problem import PlacementProblem, Placing, Task, opened_at, site_minutes

Pair = tuple[int, int]
ROOM = 1e-6


def twins_of(tasks: Sequence[Task], covered_by: Sequence[tuple[int, ...]]) -> tuple[Pair, ...]:
    """Pairs of tasks that are one act at two sides of a unit, equally far gone.

    What does them on the way has to be paired as well, or be the same for both.
    """
    first: dict[object, int] = {}
    pairs: dict[int, int] = {}
    for index, task in enumerate(tasks):
        if task.position is not None:
            alike = (task.item.id, task.unit.id, task.act, task.state, task.minutes, task.reach, task.shares,
                     task.strand, task.overdue, task.earliest, task.window, task.resets)  # fmt: skip
            if alike in first:
                pairs[first.pop(alike)] = index
            else:
                first[alike] = index
    while odd := [one for one, other in pairs.items() if not _mirrored(covered_by[one], covered_by[other], pairs)]:
        for one in odd:
            del pairs[one]
    return tuple(sorted(pairs.items()))


def _mirrored(one: Sequence[int], other: Sequence[int], pairs: Mapping[int, int]) -> bool:
    both = {**pairs, **{value: key for key, value in pairs.items()}}
    return {both.get(index, index) for index in one} == set(other)


def split_twins(problem: PlacementProblem, placing: Placing) -> tuple[Pair, ...]:
    """Twins that are not done in the same places; all workshop days count as one place."""

    def places(index: int) -> set[int]:
        return {max(site, problem.workshop_count - 1) for site in placing.visits[index]}

    return tuple(pair for pair in problem.twins if places(pair[0]) != places(pair[1]))


def brought_together(
    problem: PlacementProblem, placing: Placing, worth: Callable[[Placing], tuple[float, float]]
) -> Placing:
    """The placing with one side of an axle moved to the other wherever that breaks nothing.

    `worth` tells what a placing breaks of the limits, and its cost; of the two sides' places the
    cheaper for both is taken. First all that hangs on one axle is tried at once, then pair by pair.
    """
    axles: dict[tuple[str, str], list[Pair]] = {}
    for pair in problem.twins:
        task = problem.tasks[pair[0]]
        axles.setdefault((task.unit.id, task.item.place), []).append(pair)
    for pairs in (*axles.values(), *([pair] for pair in problem.twins)):
        apart = split_twins(problem, placing)
        if any(pair in apart for pair in pairs):
            moved = [_as_on(placing, pairs, side) for side in (0, 1)]
            able = [other for other in moved if _fits(problem, other) and worth(other)[0] <= worth(placing)[0]]
            placing = min(able, key=worth, default=placing)
    return placing


def _as_on(placing: Placing, pairs: Sequence[Pair], side: int) -> Placing:
    """Both tasks of each pair where the one of this side is."""
    sites = {index: placing.visits[pair[side]] for pair in pairs for index in pair}
    return replace(placing, visits=tuple(sites.get(i, at) for i, at in enumerate(placing.visits)))


def _fits(problem: PlacementProblem, placing: Placing) -> bool:
    """True when every site has the minutes, and what stays open overnight is open on both days."""
    opened = opened_at(problem, placing)
    kept = all((key, state) in opened[site] & opened[site + 1] for site, key, state in placing.kept_open)
    used = zip(problem.sites, site_minutes(problem, placing), strict=True)
    return kept and all(site.minutes is None or minutes <= site.minutes + ROOM for site, minutes in used)


@dataclass(frozen=True, slots=True)
class Joined:
    """A problem with every pair of twins as one task, and the tasks each of its own stands for."""

    problem: PlacementProblem
    stands_for: tuple[tuple[int, ...], ...]

    def apart(self, taken: Mapping[int, list[int]]) -> dict[int, list[int]]:
        """What the joined tasks take, given to each side."""
        return {side: stations for index, stations in taken.items() for side in self.stands_for[index]}


def joined(problem: PlacementProblem) -> Joined:
    """The same problem with twins as one task: twice the minutes and the risk, both sides opened."""
    partner = dict(problem.twins)
    second = set(partner.values())
    groups = [(i, partner[i]) if i in partner else (i,) for i in range(len(problem.tasks)) if i not in second]
    number = {index: place for place, group in enumerate(groups) for index in group}
    covered_by = tuple(tuple(sorted({number[c] for c in problem.covered_by[group[0]]})) for group in groups)
    tasks = tuple(_as_one([problem.tasks[index] for index in group]) for group in groups)
    return Joined(replace(problem, tasks=tasks, covered_by=covered_by, twins=()), tuple(groups))


def _as_one(tasks: Sequence[Task]) -> Task:
    first = tasks[0]
    if len(tasks) == 1:
        return first
    return replace(
        first, position=None, minutes=sum(task.minutes for task in tasks),
        opens=tuple(dict.fromkeys(state for task in tasks for state in task.opens)),
        strand=tuple(tuple(cost * len(tasks) for cost in row) for row in first.strand),
    )  # fmt: skip
