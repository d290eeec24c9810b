"""Hard limits that a placing does not keep, and why not."""

from tripplan.placing.problem import PlacementProblem, Placing, Task, Unmet, can_stand, renewals


def unmet_of(problem: PlacementProblem, placing: Placing) -> tuple[Unmet, ...]:
    """Hard limits that are not kept, with the site where the item is done at last."""
    found = []
    for index, task in enumerate(problem.tasks):
        if task.window is None:
            start = -1
            for site in (*renewals(problem, placing, index), problem.last):
                if site > start and task.sound[start + 1] < site:
                    found.append(Unmet(index, site, why_unmet(problem, task, start)))
                start = max(start, site)
    return tuple(found)


def why_unmet(problem: PlacementProblem, task: Task, at: int) -> str:
    """Why nothing between a renewal at site `at` (-1 = today) and the limit can take the task."""
    last = task.sound[at + 1]
    before = problem.sites[at + 1 : last + 1]
    if not before:
        return "no workshop day or stop comes before its limit"
    if not any(can_stand(problem, task, s) for s in range(at + 1, last + 1)):
        late = all(s < task.earliest for s in range(at + 1, last + 1))
        return (
            "parts cannot arrive before its limit"
            if late
            else f"needs a {task.facility}, and none comes before its limit"
        )
    return "no time left at any place before its limit"
