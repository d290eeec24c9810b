"""The solved plan, worked out in a process of its own, so that the page goes on answering meanwhile."""

import multiprocessing
import threading
from collections.abc import Callable
from datetime import date
from multiprocessing.connection import Connection

from tripplan.catalogue import Catalogue
from tripplan.edges.folder import Inputs
from tripplan.edges.planning import plan_of
from tripplan.plan import Plan
from tripplan.problems import Problem

Question = tuple[Inputs, Catalogue, date, tuple[Problem, ...]]
Told = Callable[[Plan | None], None]


def solve(question: Question) -> Plan:
    """The plan as `tripplan plan` makes it."""
    inputs, catalogue, today, problems = question
    return plan_of(inputs, catalogue, today, problems)


class Solver:
    """At most one solving process; a new question ends the one before."""

    def __init__(self) -> None:
        self._process: multiprocessing.process.BaseProcess | None = None
        self._lock = threading.Lock()

    def ask(self, question: Question, told: Told) -> None:
        """Solve in the background; `told` gets the plan, or None when it failed or was ended."""
        self.stop()
        context = multiprocessing.get_context("spawn")
        mine, other = context.Pipe(duplex=False)
        process = context.Process(target=_work, args=(other, question), daemon=True)
        with self._lock:
            process.start()
            self._process = process
        other.close()
        threading.Thread(target=_wait, args=(mine, told), daemon=True).start()

    def stop(self) -> None:
        """End a solve that is no longer asked for."""
        with self._lock:
            if self._process is not None and self._process.is_alive():
                self._process.terminate()
            self._process = None


def _work(pipe: Connection, question: Question) -> None:
    pipe.send(solve(question))


def _wait(pipe: Connection, told: Told) -> None:
    try:
        plan: Plan | None = pipe.recv()
    except (EOFError, OSError):
        plan = None
    told(plan)
