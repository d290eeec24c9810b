"""From the inputs of a folder or a logbook to a plan, the same way for every command and page."""

from collections.abc import Callable, Sequence
from datetime import date

from tripplan.catalogue import Catalogue
from tripplan.edges.folder import Inputs
from tripplan.optimise import place_optimally
from tripplan.placement import PlacementProblem, Placing
from tripplan.plan import Plan
from tripplan.planner import make_plan
from tripplan.problems import Problem


def plan_of(
    inputs: Inputs,
    catalogue: Catalogue,
    today: date,
    problems: Sequence[Problem] = (),
    place: Callable[[PlacementProblem], Placing] = place_optimally,
) -> Plan:
    """The plan of what was read, with what the owner has at hand."""
    return make_plan(inputs.rig, inputs.history, inputs.trip, catalogue, today, problems, place, inputs.kit)
