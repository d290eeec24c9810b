"""A real cluster on this machine: a scheduler and two workers as processes of their own, one of them killed."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import CancelledError
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.commands.test_fleet import DAY, files_of
from tests.fleet_rigs import fleet_folders
from tripplan.commands.fleet import cluster
from tripplan.commands.fleet.one_rig import Asked, Done
from tripplan.commands.fleet.run import Wanted, fleet
from tripplan.files.fleet_journal import program_versions
from tripplan.files.way_in import json_of, read_file
from tripplan.records.problems import BadInput

ROOT = Path(__file__).parents[2]
PATIENCE_S = 60


def process(*words: str) -> "subprocess.Popen[bytes]":
    """One of the cluster's programs, in a process of its own that imports this tree."""
    settings = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen([sys.executable, "-m", *words], cwd=ROOT, env=settings, stderr=subprocess.DEVNULL)


@pytest.fixture(scope="module")
def scheduler(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, list["subprocess.Popen[bytes]"]]]:
    """The address of a scheduler on loopback, and its two workers."""
    pytest.importorskip("distributed", reason="the extra fleet (dask, distributed) is not installed")
    place = tmp_path_factory.mktemp("cluster")
    file = place / "scheduler.json"
    started = [process("distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard",
                       "--scheduler-file", str(file))]  # fmt: skip
    try:
        ends = time.monotonic() + PATIENCE_S
        while not file.exists() and time.monotonic() < ends:
            time.sleep(0.1)
        address = json_of(read_file(file))["address"]
        for _ in range(2):
            started.append(process("distributed.cli.dask_worker", address, "--host", "127.0.0.1", "--nthreads", "1",
                                   "--no-nanny", "--no-dashboard", "--local-directory", str(place)))  # fmt: skip
        with cluster.connected(address) as client:
            client.wait_for_workers(2, timeout=PATIENCE_S)
        yield address, started[1:]
    finally:
        for one in started:
            one.kill()
            one.wait()


@pytest.mark.slow
def test_a_cluster_gives_the_same_bytes_and_a_dead_worker_takes_nothing(
    scheduler: tuple[str, list["subprocess.Popen[bytes]"]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plan would hang on the machine it was made on, or a machine that went off take its rigs with it."""
    address, (first, _) = scheduler
    rigs = fleet_folders(tmp_path / "yard", 5)
    fleet(rigs, tmp_path / "alone", DAY, False, Wanted(is_plain=True, is_summary_only=True))
    really = cluster.in_cluster
    seen: list[int] = []

    def with_a_death(client: Any, chunks: Any, asked: Asked) -> Iterator[list[Done]]:
        for done in really(client, chunks, asked):
            if not seen:
                os.kill(first.pid, signal.SIGKILL)
            seen.append(len(done))
            yield done

    monkeypatch.setattr(cluster, "in_cluster", with_a_death)
    fleet(rigs, tmp_path / "far", DAY, False, Wanted(scheduler=address, is_plain=True, is_summary_only=True))
    assert sum(seen) == 5 and first.wait(PATIENCE_S) == -signal.SIGKILL
    assert files_of(tmp_path / "far") == files_of(tmp_path / "alone")


@pytest.mark.slow
def test_a_run_has_the_far_end_measure_itself_less_and_leaves_it_as_it_was(
    scheduler: tuple[str, list["subprocess.Popen[bytes]"]],
) -> None:
    """Workers would spend a twentieth of their time on pictures of what they do, or show none after a run of ours."""
    from tripplan.commands.fleet.far_end import measuring_less

    def every_ms(dask_worker: Any = None, dask_scheduler: Any = None) -> dict[str, float]:
        found = (dask_worker or dask_scheduler).periodic_callbacks
        return {
            name: found[name].callback_time for name in ("profile", "tick", "monitor", "heartbeat") if name in found
        }

    with cluster.connected(scheduler[0]) as client:
        before = {**client.run(every_ms), "scheduler": client.run_on_scheduler(every_ms)}
        with measuring_less(client):
            during = {**client.run(every_ms), "scheduler": client.run_on_scheduler(every_ms)}
        after = {**client.run(every_ms), "scheduler": client.run_on_scheduler(every_ms)}
    assert len(before) >= 2 and after == before
    for whose, often in before.items():
        assert often["tick"] < 1000 and during[whose]["tick"] == 1000 and during[whose]["monitor"] == 5000
        assert during[whose].get("profile", 1000) == 1000 and during[whose].get("heartbeat") == often.get("heartbeat")


def test_ends_that_differ_are_refused_by_name() -> None:
    """A worker with older tables would plan by them, and nobody would see why two rigs differ (Y14)."""
    here = program_versions()
    assert {"tripplan", "python", "numpy", "pandas"} <= set(here)
    older = {**here, "numpy": "1.0", "tripplan": "0123"}
    (told,) = cluster.differing(here, {"one": here, "two": older})
    assert told.code == "Y14" and "two" in told.found and "numpy 1.0" in told.found and here["numpy"] in told.accepted
    done, refused = cluster.checked_work((), Asked(today=None, versions=older))  # type: ignore[arg-type]
    assert done == [] and [found.code for found in refused] == ["Y14"]


def test_no_scheduler_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A slip of the address would end in a traceback (Y13)."""
    pytest.importorskip("distributed", reason="the extra fleet (dask, distributed) is not installed")
    monkeypatch.setattr(cluster, "CONNECT_S", 0.2)
    rigs = fleet_folders(tmp_path, 1)
    assert fleet(rigs, tmp_path / "out", DAY, False, Wanted(scheduler="tcp://127.0.0.1:9")) == 2
    assert "Y13" in capsys.readouterr().err


class Lost:
    """A client whose scheduler was switched off."""

    def __getattr__(self, name: str) -> Any:
        if name == "register_plugin":
            return lambda plugin: None
        raise CancelledError(name)


def test_a_scheduler_that_goes_away_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine switched off in the middle would be told as a fault of ours (Y13)."""
    pytest.importorskip("distributed", reason="the extra fleet (dask, distributed) is not installed")
    with pytest.raises(BadInput) as told:
        list(cluster.in_cluster(Lost(), iter(()), Asked(date(2026, 6, 1))))
    (problem,) = told.value.problems
    assert problem.code == "Y13" and "went away" in problem.found and "stays done" in problem.hint


def test_a_missing_package_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """An installation without the extra would end in an error of ours (Y12)."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert fleet([tmp_path], tmp_path / "out", DAY, False, Wanted(scheduler="tcp://127.0.0.1:9")) == 2
    assert "Y12" in capsys.readouterr().err
