"""How long planning takes; measured with `pytest tests/bench --benchmark-enable`, never asserted."""

import os
import shutil
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tripplan.due.standing import assess, item_positions
from tripplan.explain.cards import crossing_cards
from tripplan.files.demos import DEMOS, demo_folder
from tripplan.files.folder import Inputs, load
from tripplan.placing.greedy import place_greedily
from tripplan.planner import look_around, make_plan
from tripplan.records.facts_in import Rig, Trip
from tripplan.water.crossing import calls

ROOT = Path(__file__).parents[2]


def whole_process(*words: str) -> None:
    """One run of a command in a process of its own; its modules are compiled once, as after an installation."""
    settings = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    subprocess.run([sys.executable, *words], cwd=ROOT, capture_output=True, check=False, env=settings)


def test_bench_imports_alone(benchmark: Any) -> None:
    """What the three binding packages cost to import: the yardstick for a whole run."""
    benchmark.pedantic(whole_process, args=("-c", "import pandas, pydantic, icalendar"), rounds=5)


def test_bench_plan_outback_whole_process(benchmark: Any, tmp_path: Path) -> None:
    """The main job on demo (a), from start to files written."""
    folder = tmp_path / "outback"
    shutil.copytree(demo_folder("outback"), folder)
    words = ("-m", "tripplan", "plan", str(folder), "--today", str(DEMOS["outback"]))
    benchmark.pedantic(whole_process, args=words, rounds=5, warmup_rounds=1)


@pytest.mark.parametrize("name", sorted(DEMOS))
def test_bench_plan_demo(benchmark: Any, name: str) -> None:
    """Planning one demo in process, solved."""
    inputs, catalogue, problems = load(demo_folder(name), DEMOS[name])
    assert inputs is not None
    arguments = (inputs.rig, inputs.history, inputs.trip, catalogue, DEMOS[name], problems)
    benchmark.pedantic(make_plan, args=arguments, rounds=3)


def wide(inputs: Inputs, more_trailers: int = 2) -> tuple[Rig, Trip]:
    """Near 200 item positions over 60 legs, from the long tour: more trailers, legs cut up."""
    trailers = [unit for unit in inputs.rig.units if unit.kind == "trailer"]
    more = [unit.model_copy(update={"id": f"{unit.id}{n}"}) for unit in trailers for n in range(2, 2 + more_trailers)]
    legs = []
    for leg in inputs.trip.legs:
        parts = 3 if len(legs) < 45 else 2
        for _ in range(parts):
            changed = {
                "leg": len(legs) + 1, "distance_km": leg.distance_km / parts, "low_range_km": leg.low_range_km / parts,
            }  # fmt: skip
            legs.append(leg.model_copy(update=changed))
    legs = legs[:60]
    stops = tuple(stop.model_copy(update={"after_leg": min(60, stop.after_leg * 2)}) for stop in inputs.trip.stops)
    trip = inputs.trip.model_copy(update={"legs": tuple(legs), "stops": stops, "crossings": ()})
    return inputs.rig.model_copy(update={"units": (*inputs.rig.units, *more)}), trip


def test_bench_200_positions_60_legs(benchmark: Any) -> None:
    """Planning a wide rig over many legs in process, with the plain placement."""
    today = date(2026, 3, 2)
    inputs, catalogue, _ = load(demo_folder("long-tour"), today)
    assert inputs is not None
    rig, trip = wide(inputs)
    plan = benchmark.pedantic(
        make_plan, args=(rig, inputs.history, trip, catalogue, today, (), place_greedily), rounds=5, warmup_rounds=1
    )
    benchmark.extra_info["positions"] = len(plan.items)


def test_bench_before_placing(benchmark: Any) -> None:
    """All that comes before placing, of that wide rig over many legs: the state of every item, and the calls of water."""
    today = date(2026, 3, 2)
    inputs, catalogue, _ = load(demo_folder("long-tour"), today)
    assert inputs is not None
    rig, trip = wide(inputs)

    def judged() -> int:
        s = look_around(rig, inputs.history, trip, catalogue, today)
        pairs = item_positions(s.rig, s.catalogue)
        calls(pairs, s.timeline, s.catalogue, s.history, s.allowance_m, s.trip.trailer_hubs_after_water)
        return len([assess(pair, s) for pair in pairs])

    benchmark.extra_info["positions"] = benchmark.pedantic(judged, rounds=10, warmup_rounds=1)


def test_bench_cards(benchmark: Any) -> None:
    """The cards of all crossings of demo (a), each case planned again by the plain rule; the items judged already."""
    inputs, catalogue, _ = load(demo_folder("outback"), DEMOS["outback"])
    assert inputs is not None
    s = look_around(inputs.rig, inputs.history, inputs.trip, catalogue, DEMOS["outback"])
    benchmark.pedantic(crossing_cards, args=(s,), rounds=5, warmup_rounds=1)
