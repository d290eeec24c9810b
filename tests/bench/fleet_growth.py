"""What many rigs cost: time and memory as a fleet grows, on one process and on several, against a plain loop. By hand:

    python -m tests.bench.fleet_growth 10 100 1000                       (by the plain rule, summary only)
    python -m tests.bench.fleet_growth --whole --workers 2 20            (the search, every output, two workers)
    python -m tests.bench.fleet_growth --loop 20                         (no fleet: the same folders one by one)
    python -m tests.bench.fleet_growth --cluster 2 200                   (a scheduler and two workers of one thread)

Processor seconds are those of all processes together, so that other work on the machine counts little;
seconds by the clock are told beside them. Nothing is asserted.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import Any

from tests.fleet_rigs import TODAY, fleet_folders

ROOT = Path(__file__).parents[2]
LOOP = """
import sys
from datetime import date
from pathlib import Path
from tripplan.explain.cards import crossing_cards
from tripplan.files.plan_folder import read
from tripplan.placing.greedy import place_greedily
from tripplan.placing.optimise import place_optimally
from tripplan.planner import look_around, make_plan
from tripplan.sheets.outputs import write_outputs
from tripplan.sheets.route_places import places_of
today, is_whole = date.fromisoformat(sys.argv[3]), sys.argv[4] == "whole"
for folder in sorted(Path(sys.argv[1]).iterdir()):
    inputs, tables, problems = read(folder, today)
    place = place_optimally if is_whole else place_greedily
    plan = make_plan(inputs.rig, inputs.history, inputs.trip, tables, today, problems, place, inputs.kit)
    cards = crossing_cards(look_around(inputs.rig, inputs.history, inputs.trip, tables, today))
    write_outputs(plan, Path(sys.argv[2]) / folder.name, cards=cards, places=places_of(plan, inputs.trip, inputs.lines))
"""


@contextmanager
def cluster(workers: int, place: Path) -> Iterator[str]:
    """The address of a scheduler on loopback with so many workers, each a process of its own, all up and idle."""
    from distributed import Client

    file = place / "scheduler.json"
    quiet: dict[str, Any] = {"cwd": ROOT, "env": {**os.environ, "PYTHONPATH": str(ROOT)}, "stderr": subprocess.DEVNULL}
    words = ["--host", "127.0.0.1", "--no-dashboard"]
    first = [sys.executable, "-m", "distributed.cli.dask_scheduler", "--port", "0", "--scheduler-file", str(file)]
    one = [sys.executable, "-m", "distributed.cli.dask_worker", "--scheduler-file", str(file), "--nthreads", "1"]
    started = [subprocess.Popen([*first, *words], **quiet)]
    started += [
        subprocess.Popen([*one, *words, "--no-nanny", "--local-directory", str(place)], **quiet) for _ in range(workers)
    ]
    try:
        while not file.exists():
            time.sleep(0.1)
        address = json.loads(file.read_text())["address"]
        with Client(address) as client:
            client.wait_for_workers(workers)
        yield address
    finally:
        for process in started[::-1]:
            process.terminate()
            process.wait()


def run(words: list[str]) -> tuple[float, float]:
    """Seconds by the clock, and the most memory of one process in MB."""
    began = time.perf_counter()
    child = subprocess.Popen([sys.executable, *words], cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)},
                             stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # fmt: skip
    _, _, used = os.wait4(child.pid, 0)
    child.returncode = 0
    return time.perf_counter() - began, used.ru_maxrss / 1024


def main() -> None:
    """Measure each size and print a line."""
    parser = argparse.ArgumentParser()
    parser.add_argument("sizes", type=int, nargs="+")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--whole", action="store_true")
    parser.add_argument("--all-outputs", action="store_true")
    parser.add_argument("--loop", action="store_true")
    parser.add_argument("--cluster", type=int, default=0)
    asked = parser.parse_args()
    print("rigs  clock s  processor s  processor s a rig  MB at the most", flush=True)
    for size in asked.sizes:
        with tempfile.TemporaryDirectory() as place:
            yard, out = Path(place) / "yard", Path(place) / "out"
            fleet_folders(yard, size)
            if asked.loop:
                words = ["-c", LOOP, str(yard), str(out), TODAY.isoformat(), "whole" if asked.whole else "plain"]
            else:
                words = ["-m", "tripplan", "fleet", str(yard), "--out", str(out), "--today", TODAY.isoformat()]
                words += ["--workers", str(asked.workers)] + ([] if asked.whole else ["--plain"])
                words += [] if asked.whole or asked.all_outputs else ["--summary-only"]
            before = os.times()
            with cluster(asked.cluster, Path(place)) if asked.cluster else nullcontext() as address:
                clock, memory = run([*words, "--scheduler", address] if address else words)
            after = os.times()
            processor = after.children_user + after.children_system - before.children_user - before.children_system
            print(f"{size:5} {clock:8.1f} {processor:12.1f} {processor / size:18.3f} {memory:15.0f}", flush=True)


if __name__ == "__main__":
    main()
