"""Why a limit cannot be kept: a full day, a job too long, the owner's ceiling and the price are told apart."""

from msgspec.structs import replace

from tests.placing.small_placements import problem
from tests.random_trips import random_trip
from tripplan.placing.problem import STOP, Ceilings, PlacementProblem, Placing, Task
from tripplan.placing.unmet import BEYOND, FULL, TOO_DEAR, TOO_LONG, taken_of, why_not
from tripplan.records.plan import NO_PLACE

MINUTES = 40.0


def trip(minutes: float, ceiling: float | None = None) -> PlacementProblem:
    """Two closed jobs of 40 minutes, no day at home, one stop of so many minutes that takes twice as long as home."""
    given = problem(4, 2, 0, 1)
    sites = tuple(replace(s, minutes=minutes, facility="workshop") if s.kind == STOP else s for s in given.sites)
    tasks = tuple(
        replace(task, minutes=MINUTES, opens=(), earliest=0, facility="camp") for task in given.tasks
    )  # fmt: skip
    factor = tuple(2.0 if s.kind == STOP else 1.0 for s in sites)
    return replace(
        given, sites=sites, tasks=tasks, place_factor=factor, set_out_minutes=0.0, ceilings=Ceilings(ceiling, None)
    )


def why(given: PlacementProblem, other_is_there: bool) -> str:
    """Why the first job is not at the stop, with or without the second there."""
    group: tuple[Task, ...] = given.tasks[:1]
    placing = Placing(((), (0,) if other_is_there else ()), (), "")
    return why_not(given, placing, group, [0], taken_of(given, placing))


def test_each_cause_is_told_by_its_name() -> None:
    """If not, an owner would look for time where a price decided, or for a price where the day is full."""
    assert why(trip(79.0), False) == TOO_LONG  # 80 minutes there
    assert why(trip(100.0, ceiling=79.0), False) == BEYOND
    assert why(trip(159.0), True) == FULL  # 80 are taken, 79 are left
    assert why(trip(159.0), False) == TOO_DEAR
    assert why(trip(200.0, ceiling=159.0), True) == BEYOND


def test_limits_hold_where_standing_costs_nothing() -> None:
    """If not, an owner who gives no price for standing would be sent off with wheel nuts past their limit."""
    case = random_trip(4)
    assert case.trip.cost_per_stranded_hour == 0
    told = [warning.text for warning in case.plan().warnings if warning.kind == NO_PLACE]
    assert not any(TOO_DEAR in text for text in told)
