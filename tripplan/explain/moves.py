"""Why a job stands where it stands: what moving it to the neighbouring slot would cost."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from tripplan.explain.reasons import amount
from tripplan.placing.problem import PlaceKey, PlacementProblem, Placing, once_done, rank_needed, renewals
from tripplan.placing.reckoning import labour_cost, opening_minutes, path_cost, site_minutes

State = tuple[PlaceKey, str]
EVEN = 0.5


@dataclass(frozen=True, slots=True)
class Bench:
    """A placing with what moving a job needs to know, worked out once."""

    problem: PlacementProblem
    placing: Placing
    minutes: tuple[float, ...]
    users: tuple[dict[State, int], ...]
    covers: dict[int, tuple[int, ...]]


def lay_out(problem: PlacementProblem, placing: Placing) -> Bench:
    """Count who uses each opening at each site, and which tasks each one covers."""
    users: list[dict[State, int]] = [{} for _ in problem.sites]
    for task, visits in zip(problem.tasks, placing.visits, strict=True):
        for site in visits:
            for state in set(task.opens):
                users[site][state] = users[site].get(state, 0) + 1
    covers: dict[int, list[int]] = {}
    for index, others in enumerate(problem.covered_by):
        for other in others:
            covers.setdefault(other, []).append(index)
    return Bench(
        problem, placing, site_minutes(problem, placing), tuple(users),
        {other: tuple(found) for other, found in covers.items()},
    )  # fmt: skip


def move_sentence(bench: Bench, index: int, site: int) -> str:
    """What it would cost to do this job one slot earlier, and one slot later."""
    problem = bench.problem
    parts = []
    for word, other in (("Earlier", site - 1), ("Later", site + 1)):
        if not 0 <= other <= problem.last:
            continue
        there = problem.sites[other]
        obstacle = _obstacle(bench, index, site, other)
        if obstacle:
            parts.append(f"{word} ({there.place}, {there.date}): not possible, {obstacle}")
        else:
            parts.append(f"{word} ({there.place}, {there.date}): {_price(move_cost(bench, index, site, other))}")
    return ". ".join(parts) + "." if parts else ""


def _price(difference: float) -> str:
    if abs(difference) < EVEN:
        return "costs the same"
    return f"{amount(abs(difference))} {'dearer' if difference > 0 else 'cheaper'}"


def _obstacle(bench: Bench, index: int, site: int, other: int) -> str:
    """Why the job cannot stand at the other site, or an empty text."""
    problem, task = bench.problem, bench.problem.tasks[index]
    there = problem.sites[other]
    if there.rank < rank_needed(task):
        return f"it needs a {task.facility}"
    if other < task.earliest:
        return "parts may not be there"
    if _strands_a_call(bench, index, site, other):
        return "the look that a crossing calls for goes with it, and would be out of its window"
    if task.window is not None:
        return "" if task.window[0] <= other <= task.window[1] else "outside its window after the crossing"
    if other in renewals(problem, bench.placing, index):
        return "it is done there as well"
    if _breaks_reach(bench, index, site, other):
        return "it would run out first"
    needed = task.minutes + opening_minutes(problem, _newly_opened(bench, index, other))
    if there.minutes is not None and bench.minutes[other] + needed > there.minutes + 1e-9:
        return f"{amount(bench.minutes[other] + needed - there.minutes)} minutes short there"
    return ""


def _strands_a_call(bench: Bench, index: int, site: int, other: int) -> bool:
    """True when a water call that this job meets on the way would be met no longer."""
    problem, moved = bench.problem, _moved(bench.placing, index, site, other)
    return any(
        problem.tasks[lesser].window is not None and once_done(problem, bench.placing, lesser)
        and not once_done(problem, moved, lesser)
        for lesser in bench.covers.get(index, ())
    )  # fmt: skip


def _breaks_reach(bench: Bench, index: int, site: int, other: int) -> bool:
    """True when some stretch between renewals would be longer than the item lasts."""
    problem, task = bench.problem, bench.problem.tasks[index]
    rest = [s for s in renewals(problem, bench.placing, index) if s != site]
    chain: Sequence[int] = (-1, *sorted([*rest, other]), problem.last)
    return any(task.reach[p + 1] < q for p, q in pairwise(chain) if p != problem.last)


def _newly_opened(bench: Bench, index: int, site: int) -> set[State]:
    return {state for state in bench.problem.tasks[index].opens if state not in bench.users[site]}


def _moved(placing: Placing, index: int, site: int, other: int) -> Placing:
    """The placing with one visit of a task at another site."""
    at = tuple(sorted(other if s == site else s for s in placing.visits[index]))
    return replace(placing, visits=(*placing.visits[:index], at, *placing.visits[index + 1 :]))


def move_cost(bench: Bench, index: int, site: int, other: int) -> float:
    """Cost of the plan with this job moved, less its cost as it stands."""
    problem, placing, task = bench.problem, bench.placing, bench.problem.tasks[index]
    freed = {state for state in task.opens if bench.users[site].get(state) == 1}
    here = task.minutes + opening_minutes(problem, freed)
    there = task.minutes + opening_minutes(problem, _newly_opened(bench, index, other))
    moved = _moved(placing, index, site, other)
    touched = (index, *bench.covers.get(index, ()))
    paths = sum(path_cost(problem, moved, i) - path_cost(problem, placing, i) for i in touched)
    return labour_cost(problem, other, there) - labour_cost(problem, site, here) + paths
