"""A limit goes before the rule that nothing is done again within a short time.

What can hurt somebody may have been done so lately that every place before its limit comes too soon after; then it is
done there all the same. Where a later place keeps the limit, the rule stands.
"""

from collections.abc import Sequence

import numpy as np
from msgspec.structs import replace

from tripplan.placing.model import NEVER, Flags, Model
from tripplan.placing.problem import PlacementProblem


def limits_first(problem: PlacementProblem, groups: Sequence[Sequence[int]], model: Model) -> Model:
    """The model with visits soon after the last where no later one keeps a limit ahead; a row is a group of tasks."""
    if not groups:
        return model
    site, nodes = np.arange(model.sites), np.arange(model.sites + 1)
    sound = np.array([_last_sound(problem, group) for group in groups])[:, :, None]
    in_time: Flags = (model.labour < NEVER)[:, None] & (site >= nodes[:, None])
    in_time = np.asarray(in_time & (site <= sound) & (sound < problem.last))
    soon = np.asarray(model.again[:, :, : model.sites] >= NEVER)
    later: Flags = np.asarray((in_time & ~soon).any(axis=2))
    again = model.again.copy()
    again[:, :, : model.sites] -= np.where(in_time & soon & ~later[:, :, None], NEVER, 0.0)
    return replace(model, again=again)


def _last_sound(problem: PlacementProblem, group: Sequence[int]) -> list[int]:
    """The last site within the limit from today and from each site, whichever task of the group is past it first."""
    tasks = [problem.tasks[index] for index in group if problem.tasks[index].window is None]
    if not tasks:
        return [problem.last] * (len(problem.sites) + 1)
    return [min(task.sound[start] for task in tasks) for start in range(len(problem.sites) + 1)]
