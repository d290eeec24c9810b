"""What a run asks of the processes of a cluster for as long as it lasts: to measure themselves less.

A worker looks at its own stack a hundred times a second, the loop of each process at the clock fifty times and at its
use of the machine twice, for pictures that nobody looks at here; together that is a twentieth of a core. Memory is
watched once a second. Heartbeats and all else that keeps a cluster going stay as they are. At the end it is as the far
end's own settings say, not as it was found, so that runs beside each other do not take what the other asked for what
was there before.
"""

from collections.abc import Iterator
from concurrent.futures import CancelledError
from contextlib import contextmanager, suppress
from typing import Any

from distributed import WorkerPlugin

NAME = "tripplan-measure-less"
MEASURES = {
    "profile": ("distributed.worker.profile.interval", 1000.0), "tick": ("distributed.admin.tick.interval", 1000.0),
    "monitor": ("distributed.admin.system-monitor.interval", 5000.0),
    "memory_monitor": ("distributed.worker.memory.monitor-interval", 1000.0),
}  # fmt: skip
"""Name of the measuring: the setting that says how often, and how often in milliseconds is enough during a run."""


class MeasureLess(WorkerPlugin):  # type: ignore[misc]
    """On every worker of a run, those that join later too."""

    name = NAME

    def setup(self, worker: Any) -> None:
        """The run begins."""
        measure_less(worker)

    def teardown(self, worker: Any) -> None:
        """The run is over."""
        measure_again(worker)


@contextmanager
def measuring_less(client: Any) -> Iterator[None]:
    """Workers and scheduler measure themselves less until the end."""
    client.register_plugin(MeasureLess())
    _on_scheduler(client, begin_on_scheduler)
    try:
        yield
    finally:
        with suppress(CancelledError, OSError):  # where there is no scheduler any more
            _on_scheduler(client, end_on_scheduler)
            client.unregister_worker_plugin(NAME)


def _on_scheduler(client: Any, what: Any) -> None:
    """Have it done there; a scheduler that has no tripplan or runs nothing for others goes on as it is."""
    try:
        client.run_on_scheduler(what)
    except Exception:
        return


def begin_on_scheduler(dask_scheduler: Any) -> None:
    """A run begins."""
    measure_less(dask_scheduler)


def end_on_scheduler(dask_scheduler: Any) -> None:
    """A run is over."""
    measure_again(dask_scheduler)


def measure_less(server: Any) -> None:
    """As seldom as is enough, where it was more often."""
    for name, (key, seldom_ms) in MEASURES.items():
        _set(server, name, max(_setting_ms(key), seldom_ms))


def measure_again(server: Any) -> None:
    """As often as the settings of this process say."""
    for name, (key, _) in MEASURES.items():
        _set(server, name, _setting_ms(key))


def _setting_ms(key: str) -> float:
    import dask
    from dask.utils import parse_timedelta

    return float(parse_timedelta(dask.config.get(key), default="ms")) * 1000


def _set(server: Any, name: str, every_ms: float) -> None:
    """From now on, also where it is not started yet, as on a worker that joins, or not there at all."""
    callback = server.periodic_callbacks.get(name)
    if callback is None:
        return
    callback.callback_time = every_ms
    if callback.is_running():
        callback.stop()
        callback.start()
