"""How long placing takes, how near the best it is proven to be, and what memory it needs.

Measured with `pytest tests/bench --benchmark-enable`, never asserted. Time is of this process
on one thread; the memory told is the most the process has held since it started.
"""

import resource
from datetime import date, timedelta
from typing import Any

import pytest

from tests.bench.test_bench_plan import wide
from tripplan.files.demos import DEMOS, demo_folder
from tripplan.files.folder import Inputs, load
from tripplan.placing.greedy import place_greedily
from tripplan.placing.optimise import place_optimally
from tripplan.placing.problem import PlacementProblem, Placing
from tripplan.placing.reckoning import totals
from tripplan.planner import make_plan
from tripplan.records.facts_in import Rig, Trip

LONG_TOUR = date(2026, 3, 2)
STOPS_AFTER = (5, 11, 17, 23, 29, 35, 41, 47, 53, 58)


def stated(rig: Rig, trip: Trip, inputs: Inputs, catalogue: Any, today: date) -> PlacementProblem:
    """The placement problem that planning comes to."""
    found: list[PlacementProblem] = []

    def keep(problem: PlacementProblem) -> Placing:
        found.append(problem)
        return place_greedily(problem)

    make_plan(rig, inputs.history, trip, catalogue, today, (), keep)
    return found[0]


def large(more_trailers: int) -> PlacementProblem:
    """With three more trailers about 200 item positions, twelve workshop days of four hours, ten stops along 60 legs.

    From the long tour; its stops are spread evenly and have twice their minutes.
    """
    inputs, catalogue, _ = load(demo_folder("long-tour"), LONG_TOUR)
    assert inputs is not None
    rig, trip = wide(inputs, more_trailers=more_trailers)
    first = inputs.trip.workshop_days[0]
    days = tuple(
        first.model_copy(update={"date": trip.depart - timedelta(days=2 * n + 1), "minutes": 240.0}) for n in range(12)
    )
    stops = tuple(
        stop.model_copy(
            update={"after_leg": leg, "arrive": trip.legs[leg - 1].date, "leave": trip.legs[leg].date,
                    "minutes": 2 * (stop.minutes or 0)}
        )
        for stop, leg in zip(trip.stops, STOPS_AFTER, strict=False)
    )  # fmt: skip
    wider = trip.model_copy(update={"workshop_days": days[::-1], "stops": stops})
    return stated(rig, wider, inputs, catalogue, LONG_TOUR)


def measured(benchmark: Any, problem: PlacementProblem, rounds: int) -> None:
    """Place it, and note what it came to beside the time."""
    placing = benchmark.pedantic(place_optimally, args=(problem,), rounds=rounds)
    cost = totals(problem, placing)[1]
    benchmark.extra_info.update(
        tasks=len(problem.tasks), sites=len(problem.sites), gap=placing.gap, limits_broken=len(placing.unmet), cost=round(cost, 2),
        cost_by_the_plain_rule=round(totals(problem, place_greedily(problem))[1], 2),
        peak_memory_mb=round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024),
    )  # fmt: skip


@pytest.mark.parametrize("name", sorted(DEMOS))
def test_bench_place_demo(benchmark: Any, name: str) -> None:
    """Placing one demo alone, without reading or writing anything."""
    inputs, catalogue, _ = load(demo_folder(name), DEMOS[name])
    assert inputs is not None
    measured(benchmark, stated(inputs.rig, inputs.trip, inputs, catalogue, DEMOS[name]), 3)


def test_bench_place_200_positions_12_days_10_stops(benchmark: Any) -> None:
    """The largest case one owner would bring: to 1 %. Where nothing is measured a smaller one, to see that it runs."""
    measured(benchmark, large(0 if benchmark.disabled else 3), 1)
