"""Processes of this machine that plan rigs: as many chunks at once as there are workers, none lost.

A worker that dies takes its chunks with it; they are given to new workers, at last one rig at a
time, so that one rig that kills whoever plans it is told by name and the others go on.
"""

from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context

from tripplan.commands.fleet.one_rig import Asked, Done, Job, one, our_fault, work

Chunk = tuple[Job, ...]
AHEAD = 2
MOST_TRIES = 3


def in_this_process(chunks: Iterator[Chunk], asked: Asked) -> Iterator[list[Done]]:
    """One rig after the other, here."""
    for chunk in chunks:
        for job in chunk:
            yield [one(job, asked)]


def in_processes(chunks: Iterator[Chunk], asked: Asked, workers: int) -> Iterator[list[Done]]:
    """Chunks as they are done, in whatever order; a bounded number is under way."""
    waiting: deque[tuple[Chunk, int]] = deque()
    while True:
        pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"))
        running: dict[Future[list[Done]], tuple[Chunk, int]] = {}
        try:
            yield from _through(pool, chunks, waiting, running, asked, workers * AHEAD)
            return
        except BrokenProcessPool:
            yield from _again(running, waiting)
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


def _through(
    pool: ProcessPoolExecutor, chunks: Iterator[Chunk], waiting: deque[tuple[Chunk, int]],
    running: dict[Future[list[Done]], tuple[Chunk, int]], asked: Asked, most: int,
) -> Iterator[list[Done]]:  # fmt: skip
    """Until nothing is left; raises BrokenProcessPool with what was under way still in `running`."""
    while True:
        # after a death one chunk at a time, so that it shows whose fault it was
        while len(running) < (1 if waiting or any(tries for _, tries in running.values()) else most):
            given = waiting.popleft() if waiting else _next(chunks)
            if given is None:
                break
            try:
                running[pool.submit(work, given[0], asked)] = given
            except BrokenProcessPool:
                waiting.appendleft(given)
                raise
        if not running:
            return
        for future in wait(running, return_when=FIRST_COMPLETED).done:
            done = future.result()
            del running[future]
            yield done


def _next(chunks: Iterator[Chunk]) -> tuple[Chunk, int] | None:
    chunk = next(chunks, None)
    return None if chunk is None else (chunk, 0)


def _again(
    running: dict[Future[list[Done]], tuple[Chunk, int]], waiting: deque[tuple[Chunk, int]]
) -> Iterator[list[Done]]:
    """What was under way when a worker died: what is done is kept, the rest is put back, a rig at a time."""
    for future, (chunk, tries) in running.items():
        if future.done() and not future.cancelled() and future.exception() is None:
            yield future.result()
        elif tries + 1 >= MOST_TRIES:
            yield [given_up(job) for job in chunk]
        else:
            waiting.extend(((job,), tries + 1) for job in chunk)


def given_up(job: Job) -> Done:
    """The row of a rig at which workers died again and again."""
    from tripplan.sheets.fleet_row import stopped_row

    told = our_fault(job.shown, f"whoever planned it was killed, {MOST_TRIES} times")
    return Done(job.number, stopped_row(job.name, job.shown, (told,)), {})


Backend = Callable[[Iterator[Chunk], Asked], Iterator[list[Done]]]
