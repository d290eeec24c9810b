"""Both sides of an axle: done together, because a shed opens an axle and not a wheel.

Two tasks that differ in nothing but their side, and are about as far gone, are one job for
whatever places work. That an axle is worked on as a pair is common practice, no source.
"""

from collections.abc import Iterable, Mapping, Sequence

from tripplan.placing.problem import AT_ONCE, PlacementProblem, Placing, Task
from tripplan.placing.trade_rules import WHEEL_RAISED, is_with_the_hub

Pair = tuple[int, int]
ABOUT_AS_FAR = 0.25
"""Shares of the interval that two sides may differ by and still be one job (judgement)."""


def twins_of(tasks: Sequence[Task], covered_by: Sequence[tuple[int, ...]]) -> tuple[Pair, ...]:
    """Pairs of tasks that are one act at two sides of a unit, about as far gone.

    What does them on the way has to be paired as well, or be the same for both, or bring them at
    once, so that they take no time of their own there; what opens nothing, or only has the wheels
    off the ground, is paired in any case. What water calls for is called for on both sides alike, but a look at one side that
    is made there for its own sake is not made twice.
    """
    pairs = _alike(tasks)
    while odd := [
        one for one, other in pairs.items()
        if _come_apart(tasks, one, other, _of_one_side(covered_by[one], covered_by[other], pairs))
    ]:  # fmt: skip
        for one in odd:
            del pairs[one]
    return tuple(sorted(pairs.items()))


def _come_apart(tasks: Sequence[Task], one: int, other: int, lone: Iterable[int]) -> bool:
    """True where two sides are no pair, for what `lone` does at one of them alone."""
    if tasks[one].window is not None:
        sides = (tasks[one].thing, tasks[other].thing)
        return not tasks[one].resets and any(tasks[i].thing in sides and not is_with_the_hub(tasks[i]) for i in lone)
    is_deep = any(state != WHEEL_RAISED for _, state in tasks[one].opens)
    return is_deep and not all(_brings(tasks, index, one, other) for index in lone)


def _alike(tasks: Sequence[Task]) -> dict[int, int]:
    """Tasks that are one act at two sides of a unit, about as far gone, the second by the first."""
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
    return pairs


def _about_alike(one: Task, other: Task) -> bool:
    """True when the shares are near, or when both put right what was found, however long ago each was done."""
    if one.found_bad and other.found_bad:
        return True
    if not one.shares or not other.shares:
        return True
    return abs(one.shares[0][-1] - other.shares[0][-1]) <= ABOUT_AS_FAR


def _of_one_side(one: Sequence[int], other: Sequence[int], pairs: Mapping[int, int]) -> set[int]:
    """What does only one of two sides on the way, its own other side being no part of a pair."""
    both = {**pairs, **{value: key for key, value in pairs.items()}}
    return {i for i in one if both.get(i, i) not in other} | {i for i in other if both.get(i, i) not in one}


def _brings(tasks: Sequence[Task], index: int, one: int, other: int) -> bool:
    """True when a task brings one of these two looks on the spot."""
    looks = {((task.unit.id, AT_ONCE, task.position), task.item.id) for task in (tasks[one], tasks[other])}
    return not looks.isdisjoint(tasks[index].opens)


def done_for_both(
    tasks: Sequence[Task], covered_by: Sequence[tuple[int, ...]], twins: Sequence[Pair]
) -> tuple[tuple[int, ...], ...]:
    """What does a task on the way, without what does only one side of a pair: a pair is done when both sides are.

    What belongs to a hub is done on each side whose hub a look opens, so it stays.
    """
    found, pairs = list(covered_by), dict(twins)
    for one, other in twins:
        lone = _of_one_side(covered_by[one], covered_by[other], pairs)
        for index in (one, other):
            found[index] = tuple(
                i for i in covered_by[index] if i not in lone or _is_of_its_hub(tasks[index], tasks[i])
            )
    return tuple(found)


def _is_of_its_hub(look: Task, other: Task) -> bool:
    return look.window is not None and look.thing == other.thing and is_with_the_hub(other)


def split_twins(problem: PlacementProblem, placing: Placing) -> tuple[Pair, ...]:
    """Two sides about as far gone that are not done in the same places, on the way of others too; all workshop days are one."""

    def places(index: int) -> set[int]:
        done = (index, *problem.covered_by[index])
        return {max(site, problem.workshop_count - 1) for one in done for site in placing.visits[one]}

    return tuple(pair for pair in _alike(problem.tasks).items() if places(pair[0]) != places(pair[1]))
