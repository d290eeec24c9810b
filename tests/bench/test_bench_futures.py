"""How fast futures are drawn and priced; measured with `pytest tests/bench --benchmark-enable`, never asserted."""

from datetime import date
from typing import Any

from tripplan.due.many_futures import futures_of
from tripplan.files.demos import DEMOS, demo_folder
from tripplan.files.folder import load
from tripplan.placing.greedy import place_greedily
from tripplan.placing.many_futures import priced_jobs
from tripplan.planner import answer, look_around
from tripplan.trip.draws import draw, ranges_of

DRAWN = 100


def test_bench_hundred_futures(benchmark: Any) -> None:
    """Wear, run-out places and prices of demo (a) in a hundred futures, the plan already made."""
    today: date = DEMOS["outback"]
    inputs, catalogue, _ = load(demo_folder("outback"), today)
    assert inputs is not None
    s = look_around(inputs.rig, inputs.history, inputs.trip, catalogue, today)
    found = answer(s, place_greedily)

    def priced() -> int:
        f = futures_of(s, draw(s.trip, s.timeline, ranges_of(catalogue), today, DRAWN, 1))
        return len(priced_jobs(found.standings, found.problem, found.placing, f))

    benchmark.extra_info["jobs"] = benchmark.pedantic(priced, rounds=3)
