"""The cases that are compared: as planned, with nothing done, with everything done before setting out.

A case is the knots at which each item is renewed, and from which knot on what water left in it is
settled. The walk-round of every morning belongs to all of them.
"""

from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct

from tripplan.placing.problem import PlacementProblem, Placing, once_done, renewals
from tripplan.records.grouped import grouped
from tripplan.risk.courses import Knots
from tripplan.risk.failures import Path
from tripplan.water.crossing import Call


class Case(Struct, frozen=True):
    """Paths by item, and the knot at which each item's water is settled; never = not in the map."""

    paths: tuple[Path, ...]
    settled: Mapping[int, int]


class Work(Struct, frozen=True):
    """Which task renews which item, and which once-tasks water asks of it; numbers of items and tasks."""

    problem: PlacementProblem
    knots: Knots
    ends_km: tuple[float, ...]
    task_of: tuple[int, ...]
    item_of: Mapping[int, int]
    once: Mapping[int, tuple[int, ...]]
    wet_from_km: Mapping[int, float]

    @property
    def before(self) -> int:
        """The knot of the last work before the rig sets out, or where it stands."""
        return self.knots.home - 1 if self.knots.home else self.knots.home + self.problem.sites[0].legs_done

    def done_by(self, task: int) -> tuple[int, ...]:
        """Items that a task renews, its own and those it does on the way, in order."""
        on_the_way = (other for other, greater in enumerate(self.problem.covered_by) if task in greater)
        return tuple(sorted({self.item_of[other] for other in (task, *on_the_way)}))

    def km_of(self, knot: int) -> float:
        """The trip km at a knot."""
        return self.ends_km[max(0, knot - self.knots.home)]

    def knots_of(self, sites: Iterable[int]) -> Path:
        """Sites as knots, in order, each once."""
        return tuple(sorted({self.knots.of_site[site] for site in sites}))


def work_of(
    problem: PlacementProblem, called: Sequence[Call], things: Sequence[tuple[str, str, str]], knots: Knots,
    ends_km: Sequence[float],
) -> Work:  # fmt: skip
    """The work of this problem; `things` are the items in their order, `ends_km` trip km at setting out and leg ends."""
    number = {thing: item for item, thing in enumerate(things)}
    renewing = {task.thing: index for index, task in enumerate(problem.tasks) if task.window is None}
    once = grouped(
        (number[task.thing], index) for index, task in enumerate(problem.tasks)
        if task.window is not None and task.thing in number
    )  # fmt: skip
    wet = {
        item: min(called[call].after_km for index in tasks for call in problem.tasks[index].calls)
        for item, tasks in once.items()
    }
    return Work(
        problem=problem, knots=knots, ends_km=tuple(ends_km), task_of=tuple(renewing[thing] for thing in things),
        item_of={index: number[task.thing] for index, task in enumerate(problem.tasks) if task.thing in number},
        once={item: tuple(tasks) for item, tasks in once.items()}, wet_from_km=wet,
    )  # fmt: skip


def as_planned(work: Work, placing: Placing) -> Case:
    """Everything where the plan does it."""
    paths = tuple(work.knots_of(renewals(work.problem, placing, task)) for task in work.task_of)
    return Case(paths, _settled(work, placing, paths))


def nothing_done(work: Work) -> Case:
    """No work from today to the end of the trip."""
    return Case(((),) * len(work.task_of), {})


def all_before(work: Work, placing: Placing) -> Case:
    """Everything once before setting out; on the road only what runs out even so, and what water asks for."""
    problem = work.problem
    leaving = max(problem.workshop_count - 1, 0)
    paths = []
    for task in work.task_of:
        visits = renewals(problem, placing, task) if problem.tasks[task].reach[leaving + 1] < problem.last else ()
        later = work.knots_of(site for site in visits if site > leaving)
        paths.append((work.before, *(knot for knot in later if knot > work.before)))
    return Case(tuple(paths), _settled(work, placing, tuple(paths)))


def settled_at(work: Work, placing: Placing, item: int, path: Path) -> dict[int, int]:
    """When what water left is seen to: at the first act it asks for, or when the item is renewed behind it; or never."""
    tasks = work.once.get(item, ())
    done = list(work.knots_of(site for task in tasks for site in once_done(work.problem, placing, task)))
    done += [knot for knot in path if tasks and work.km_of(knot) >= work.wet_from_km[item]]
    return {item: min(done)} if done else {}


def _settled(work: Work, placing: Placing, paths: Sequence[Path]) -> dict[int, int]:
    found: dict[int, int] = {}
    for item in work.once:
        found.update(settled_at(work, placing, item, paths[item]))
    return found
