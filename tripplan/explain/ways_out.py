"""When a limit cannot be kept: the ways out, with what each would take."""

from collections.abc import Sequence

from tripplan.due.standing import Situation, Standing
from tripplan.explain.reasons import amount
from tripplan.placing.problem import WORKSHOP, PlacementProblem, Placing, Task, Unmet
from tripplan.placing.reckoning import alone_minutes, opening_minutes

MOST_NAMED = 6


def ways_out(
    problem: PlacementProblem, placing: Placing, standings: Sequence[Standing], s: Situation
) -> tuple[str, ...]:
    """More workshop time, a stop, a shorter leg, or a spare: for what this plan cannot keep."""
    standing_of = {(x.item.id, x.unit.id, x.position or ""): x for x in standings}
    overdue = [m for m in placing.unmet if problem.tasks[m.task].overdue]
    found = _more_time(problem, [problem.tasks[m.task] for m in overdue])
    road = [m for m in placing.unmet if not problem.tasks[m.task].overdue]
    for miss in road[:MOST_NAMED]:
        found += _on_the_road(problem, miss, standing_of[problem.tasks[miss.task].thing], s)
    return tuple(found)


def _more_time(problem: PlacementProblem, tasks: Sequence[Task]) -> list[str]:
    """How much longer the workshop days would have to be to hold all that is due."""
    if not tasks:
        return []
    opened = {state for task in tasks for state in task.opens}
    minutes = sum(task.minutes for task in tasks) + opening_minutes(problem, opened)
    days = sum(site.kind == WORKSHOP for site in problem.sites)
    where = "more on the workshop days" if days else "on a workshop day before going on"
    harmful = sum(task.item.harms for task in tasks)
    tail = f"; {harmful} of them concern steering, brakes, wheels, coupling or fire" if harmful else ""
    return [f"About {amount(minutes)} minutes {where} would hold the {len(tasks)} due jobs without a place{tail}."]


def _on_the_road(problem: PlacementProblem, miss: Unmet, standing: Standing, s: Situation) -> list[str]:
    task, end = problem.tasks[miss.task], standing.runs_out_reserve
    if end is None:
        return []
    side = f", {standing.position}" if standing.position else ""
    name = f"{standing.item.name} ({standing.unit.id}{side})"
    legs = {leg.leg: leg for leg in s.timeline.legs}
    leg = legs[end.leg]
    minutes = amount(alone_minutes(problem, task))
    over_km = s.timeline.starts_km[s.timeline.leg_at(end.trip_km)] + leg.distance_km - end.trip_km
    options = [
        f"a stop at {leg.from_} with a {task.facility} and {minutes} minutes",
        f"{minutes} minutes more before departure",
    ]
    if end.meter != "months" and end.leg_km > 0:
        options.append(f"a leg {end.leg} that is {amount(over_km)} km shorter")
    spares = ", ".join(amount.what.replace("_", " ") for amount in standing.item.consumables)
    if spares and not standing.item.harms:
        options.append(f"accepting it and carrying {spares}")
    return [f"{name}: {'; or '.join(options)}."]
