"""Both sides of an axle: done together, because a shed opens an axle and not a wheel.

Two tasks that differ in nothing but their side, and are about as far gone, are one job for
whatever places work. That an axle is worked on as a pair is common practice, no source.
"""

from collections.abc import Mapping, Sequence

from tripplan.placing.problem import PlacementProblem, Placing, Task

Pair = tuple[int, int]
ABOUT_AS_FAR = 0.25
"""Shares of the interval that two sides may differ by and still be one job (judgement)."""


def twins_of(tasks: Sequence[Task], covered_by: Sequence[tuple[int, ...]]) -> tuple[Pair, ...]:
    """Pairs of tasks that are one act at two sides of a unit, about as far gone.

    What does them on the way has to be paired as well, or be the same for both; what water calls
    for is called for on both sides alike.
    """
    first: dict[object, int] = {}
    pairs: dict[int, int] = {}
    for index, task in enumerate(tasks):
        if task.position is not None:
            alike = (task.item.id, task.unit.id, task.act, task.state, task.window, task.resets)
            other = first.pop(alike, None)
            if other is None:
                first[alike] = index
            elif _about_alike(tasks[other], task):
                pairs[other] = index
    while odd := [
        one for one, other in pairs.items()
        if tasks[one].window is None and not _mirrored(covered_by[one], covered_by[other], pairs)
    ]:  # fmt: skip
        for one in odd:
            del pairs[one]
    return tuple(sorted(pairs.items()))


def _about_alike(one: Task, other: Task) -> bool:
    if not one.shares or not other.shares:
        return True
    return abs(one.shares[0][-1] - other.shares[0][-1]) <= ABOUT_AS_FAR


def _mirrored(one: Sequence[int], other: Sequence[int], pairs: Mapping[int, int]) -> bool:
    both = {**pairs, **{value: key for key, value in pairs.items()}}
    return {both.get(index, index) for index in one} == set(other)


def split_twins(problem: PlacementProblem, placing: Placing) -> tuple[Pair, ...]:
    """Twins that are not done in the same places; all workshop days count as one place."""

    def places(index: int) -> set[int]:
        return {max(site, problem.workshop_count - 1) for site in placing.visits[index]}

    return tuple(pair for pair in problem.twins if places(pair[0]) != places(pair[1]))
