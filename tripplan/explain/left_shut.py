"""What nobody has a record of and is left shut: the look that stands in for opening it, and where it is done."""

from collections.abc import Sequence

from msgspec import Struct

from tripplan.due.standing import Situation
from tripplan.placing.problem import PlacementProblem, Placing, Site, Task, renewals
from tripplan.records.plain_words import day_and_month, lower_first
from tripplan.records.words import LOOKS

OFTEN_STOPS = 0.5
"""A failure that stops the rig more often than not; below that a trip goes on (judgement)."""


class Seen(Struct, frozen=True):
    """The look that tells whether something has to be opened, and the first place where it is done."""

    task: Task
    site: Site

    @property
    def text(self) -> str:
        """The look in words: rear wheel bearing play on 6 June, home."""
        return f"{lower_first(self.task.item.said)} on {day_and_month(self.site.date)}, {self.site.place}"


def left_shut(problem: PlacementProblem, placing: Placing) -> tuple[int, ...]:
    """Overhauls without a record that this plan does nowhere, or not before the return."""
    return tuple(
        index for index, task in enumerate(problem.tasks)
        if task.window is None and task.look_first and set(renewals(problem, placing, index)) <= {problem.last}
    )  # fmt: skip


def look_at(problem: PlacementProblem, placing: Placing, index: int) -> Seen | None:
    """The look at the same place and side that the act itself names as its own, done before the return; None without one."""
    task = problem.tasks[index]
    named = {follow.item for follow in task.item.follow_ups}
    for other, one in enumerate(problem.tasks):
        same = (one.unit.id, one.item.place, one.position) == (task.unit.id, task.item.place, task.position)
        if one.window is None and same and one.item.id in named and one.act in LOOKS:
            there = [site for site in renewals(problem, placing, other) if site < problem.last]
            if there:
                return Seen(one, problem.sites[there[0]])
    return None


def unseen(problem: PlacementProblem, placing: Placing, s: Situation) -> Sequence[Task]:
    """What is left shut without a look, though it can hurt somebody or would stop the rig, while there is a trip ahead."""
    if s.today > s.trip.return_:
        return ()
    return [
        task for index in left_shut(problem, placing)
        if ((task := problem.tasks[index]).item.harms or task.item.strands >= OFTEN_STOPS)
        and look_at(problem, placing, index) is None
    ]  # fmt: skip
