"""What a cluster costs beside the plans it makes: processor seconds by process, and by thread in its workers. By hand:

    python -m tests.bench.cluster_share 100               (two workers, plain rule, summary only)
    python -m tests.bench.cluster_share 20 --whole        (the search and every output)

A worker plans in one thread, busier than any other; its other threads, and the scheduler, are what a cluster costs more than a
loop. Two totals of many seconds tell that badly where other work goes on beside, the parts of one run tell it well. They go
on with the clock, so that on a machine shared with others they come out too large: the clock is told beside them. A
first run loads everything and is not counted. Nothing is asserted.
"""

import argparse
import tempfile
from pathlib import Path

import psutil

from tests.bench.fleet_growth import cluster, run
from tests.fleet_rigs import TODAY, fleet_folders

WARM_RIGS, WORKERS = 20, 2


def by_thread(process: psutil.Process) -> dict[int, float]:
    """Processor seconds of every thread of a process."""
    return {one.id: one.user_time + one.system_time for one in process.threads()}


def main() -> None:
    """One line a process, and the share."""
    parser = argparse.ArgumentParser()
    parser.add_argument("rigs", type=int)
    parser.add_argument("--whole", action="store_true")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        fleet_folders(place / "warm", WARM_RIGS)
        fleet_folders(place / "yard", asked.rigs, first=1000)
        with cluster(WORKERS, place) as address:
            far = psutil.Process().children()
            words = ["--today", TODAY.isoformat(), "--scheduler", address]
            words += [] if asked.whole else ["--plain", "--summary-only"]
            run(["-m", "tripplan", "fleet", str(place / "warm"), "--out", str(place / "first"), *words])
            before = {process: by_thread(process) for process in far}
            clock, _ = run(["-m", "tripplan", "fleet", str(place / "yard"), "--out", str(place / "out"), *words])
            spent = {
                process: sorted((now - before[process].get(thread, 0.0) for thread, now in by_thread(process).items()), reverse=True)
                for process in far
            }  # fmt: skip
    plans = sum(sorted(threads[0] for threads in spent.values())[-WORKERS:])
    beside = sum(map(sum, spent.values())) - plans
    print(
        f"plans {plans:.2f} s, {1000 * plans / asked.rigs:.1f} ms a rig; beside them {beside:.2f} s, {beside / plans:.1%};"
    )
    print(f"clock {clock:.1f} s: beside the plans {beside / clock:.1%} of a processor while it ran")


if __name__ == "__main__":
    main()
