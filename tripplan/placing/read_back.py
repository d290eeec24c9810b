"""The arrays of a problem back as a placing, and a placing as the visits of their rows."""

from collections.abc import Sequence

import numpy as np

from tripplan.placing.model import Flags
from tripplan.placing.problem import AT_ONCE, PlaceKey, PlacementProblem, Placing, may_stay_open
from tripplan.placing.reckoning import opened_at
from tripplan.placing.stated import Shared, Stated
from tripplan.placing.tasks import is_every_morning
from tripplan.placing.trade_rules import HUB_OFF, is_with_the_hub
from tripplan.placing.unmet import unmet_of


def as_placing(given: Stated, own: Flags, method: str) -> Placing:
    """The visits of each row as visits of its tasks, what is unmet, and what stays open."""
    problem, placing = given.problem, as_visits(given, own, method)
    unmet = unmet_of(problem, placing, given.groups)
    return Placing(placing.visits, unmet, method, None, _kept(problem, placing))


def rows_of(given: Stated, placing: Placing) -> Flags:
    """The placing as visits of rows; what is only done because somebody has the hub off is none of its own."""
    own = np.zeros(given.model.labour.shape, dtype=bool)
    visits = _with_looks_along(given, placing)
    for row, group in enumerate(given.groups):
        for site in set.intersection(*(visits[index] for index in group)):
            comes_along = all(_comes_with(given, visits, index, site) for index in group)
            own[row, site] = not (given.model.covers[row] and comes_along)
    return own


def _with_looks_along(given: Stated, placing: Placing) -> list[set[int]]:
    """The visits, with the looks after water into a hub that what is done there makes on the way."""
    visits = [set(sites) for sites in placing.visits]
    for index, along in given.shared.along.items():
        window = given.problem.tasks[index].window
        if not visits[index] and window is not None:
            inside = {site for other in along for site in placing.visits[other]}
            visits[index] = {min(inside & {*range(window[0], window[1] + 1)}, default=-1)} - {-1}
    return visits


def _comes_with(given: Stated, visited: Sequence[set[int]], index: int, site: int) -> bool:
    tasks, task = given.problem.tasks, given.problem.tasks[index]
    key = ((task.unit.id, task.item.place, task.position), HUB_OFF)
    return is_with_the_hub(task) and any(
        site in visits and key in other.opens and not is_with_the_hub(other)
        for other, visits in zip(tasks, visited, strict=True)
    )


def as_visits(given: Stated, own: Flags, method: str) -> Placing:
    """The visits of each row as visits of its tasks, with what belongs to an open hub, and nothing else told."""
    visits: list[set[int]] = [set() for _ in given.problem.tasks]
    for g, s in np.argwhere(own).tolist():
        for index in given.groups[g]:
            visits[index].add(s)
    _add_hub_work(given.problem, visits, given.shared)
    for index, along in given.shared.along.items():
        visits[index] = visits[index].difference(*(visits[other] for other in along))
    _add_walk_rounds(given.problem, visits)
    return Placing(tuple(tuple(sorted(at)) for at in visits), (), method)


def _add_hub_work(problem: PlacementProblem, visits: list[set[int]], shared: Shared) -> None:
    open_hubs = {
        (key, s) for index, task in enumerate(problem.tasks) for key, state in task.opens if state == HUB_OFF
        for s in visits[index]
    }  # fmt: skip
    called = {
        (*task.thing, s) for index, task in enumerate(problem.tasks) if task.window is not None and task.resets
        for s in visits[index]
    }  # fmt: skip
    for key, s in open_hubs:
        for index in shared.hubs.get(key, ()):
            if (*problem.tasks[index].thing, s) not in called:
                visits[index].add(s)


def _add_walk_rounds(problem: PlacementProblem, visits: list[set[int]]) -> None:
    """A daily look that is due is done on the last chance before going on, unless a job there does it."""
    for index, task in enumerate(problem.tasks):
        if is_every_morning(task) and task.reach[0] < problem.last:
            done = {s for c in problem.covered_by[index] for s in visits[c] if s <= max(task.reach[0], 0)}
            if not done:
                visits[index].add(max(task.reach[0], 0))


def _kept(problem: PlacementProblem, placing: Placing) -> frozenset[tuple[int, PlaceKey, str]]:
    opened = opened_at(problem, placing)
    return frozenset(
        (s, key, state)
        for s in range(problem.workshop_count - 1)
        if may_stay_open(problem, s)
        for key, state in opened[s] & opened[s + 1]
        if key[1] != AT_ONCE
    )
