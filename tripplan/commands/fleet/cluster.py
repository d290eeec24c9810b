"""A cluster of Dask workers that plan rigs: chunks under way in bounded number, the rest sent when one is done.

Before anything is sent, both ends are held against each other: program, tables and packages. The
tables are part of the program, read once by each worker and never sent; a chunk is the bytes of its
folders, so that nothing a worker held is needed to do it again. The scheduler gives the work of a
worker that was killed to another.
"""

import logging
from collections.abc import Iterator, Mapping
from concurrent.futures import CancelledError
from contextlib import contextmanager
from typing import Any

from tripplan.commands.fleet.one_rig import Asked, Done, work
from tripplan.commands.fleet.workers import AHEAD, Chunk, given_up
from tripplan.files.fleet_journal import program_versions
from tripplan.records.problems import STOPS, BadInput, Problem

NO_PACKAGE, NO_SCHEDULER, OTHER_VERSION = "Y12", "Y13", "Y14"
CONNECT_S, WORKERS_S = 15, 30
LOST = (CancelledError, OSError)
GO_ON = "give the same again; what is done stays done"


@contextmanager
def connected(address: str) -> Iterator[Any]:
    """A client of the scheduler at that address. Raises BadInput where there is none, or no worker, or no package."""
    try:
        from distributed import Client
    except ImportError as why:
        accepted = "the extra fleet: pip install 'tripplan[fleet]'"
        raise BadInput([_problem(NO_PACKAGE, str(why), accepted)]) from None
    try:
        # that a scheduler goes away is told by us
        logging.getLogger("distributed.client").setLevel(logging.CRITICAL)
        client = Client(address, timeout=CONNECT_S, set_as_default=False)
    except (OSError, ValueError, TypeError) as why:
        accepted = "the address of a running scheduler, e.g. tcp://127.0.0.1:8786"
        raise BadInput([_problem(NO_SCHEDULER, f"{address}: {why}", accepted)]) from None
    try:
        yield client
    finally:
        client.close()


def in_cluster(client: Any, chunks: Iterator[Chunk], asked: Asked) -> Iterator[list[Done]]:
    """Chunks as they are done, in whatever order, each by whichever worker is free."""
    from tripplan.commands.fleet.far_end import measuring_less

    try:
        with measuring_less(client):
            yield from _done(client, chunks, asked)
    except LOST:
        accepted = "a scheduler that runs until all rigs are done"
        raise BadInput([_problem(NO_SCHEDULER, "a scheduler that went away", accepted, GO_ON)]) from None


def _done(client: Any, chunks: Iterator[Chunk], asked: Asked) -> Iterator[list[Done]]:
    from distributed import as_completed
    from distributed.scheduler import KilledWorker

    known: dict[Any, Chunk] = {}

    def sent() -> Any:
        chunk = next(chunks, None)
        if chunk is None:
            return None
        future = client.submit(checked_work, chunk, asked, pure=False)
        known[future.key] = chunk
        return future

    first = [future for _ in range(AHEAD * worker_count(client)) if (future := sent()) is not None]
    under_way = as_completed(first, loop=client.loop)
    for future in under_way:
        chunk = known.pop(future.key)
        try:
            done, refused = future.result()
        except KilledWorker:
            done, refused = [given_up(job) for job in chunk], ()
        if refused:
            raise BadInput(refused)
        yield done
        future.release()
        if (more := sent()) is not None:
            under_way.add(more)


def checked_work(chunk: Chunk, asked: Asked) -> tuple[list[Done], tuple[Problem, ...]]:
    """A chunk on a worker, which may have joined since the ends were compared; or why it does not work here."""
    differ = differing(asked.versions, {"a worker that joined later": program_versions()})
    return ([], differ) if differ else (work(chunk, asked), ())


def compare_ends(client: Any) -> None:
    """Raise BadInput Y14 where a worker has another program, other tables or other packages."""
    worker_count(client)
    if differ := differing(program_versions(), client.run(program_versions)):
        raise BadInput(differ)


def differing(here: Mapping[str, str], there: Mapping[str, Mapping[str, str]]) -> tuple[Problem, ...]:
    """A Problem for every worker that differs, naming it and what differs on it."""
    found = []
    for worker, versions in sorted(there.items()):
        names = [name for name in here if versions.get(name) != here[name]]
        if names:
            has = ", ".join(f"{name} {versions.get(name, 'none')}" for name in names)
            accepted = f"as here: {', '.join(f'{name} {here[name]}' for name in names)}"
            found.append(_problem(OTHER_VERSION, f"{worker}: {has}", accepted))
    return tuple(found)


def worker_count(client: Any) -> int:
    """How many chunks the cluster works at once. Raises BadInput Y13 for one without workers."""
    try:
        client.wait_for_workers(1, timeout=WORKERS_S)
    except TimeoutError:
        raise BadInput([_problem(NO_SCHEDULER, "a scheduler without workers", "one worker or more")]) from None
    return max(1, sum(map(int, client.nthreads().values())))


def _problem(code: str, found: str, accepted: str, hint: str = "") -> Problem:
    return Problem(code=code, weight=STOPS, file="--scheduler", found=found, accepted=accepted, hint=hint)
