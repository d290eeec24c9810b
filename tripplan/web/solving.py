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
        self._starting, self._counting = threading.Lock(), threading.Lock()
        self._asked = 0

    def ask(self, question: Question, told: Told) -> None:
        """Solve in the background; `told` gets the plan, or None when it failed.

        Starting a process takes longer than the quick plan, so that is done aside as well.
        A question that a newer one has taken the place of is not told.
        """
        number = self._next()
        threading.Thread(target=self._begin, args=(number, question, told), daemon=True).start()

    def stop(self) -> None:
        """End a solve that is no longer asked for."""
        self._next()
        with self._starting:
            self._end()

    def _next(self) -> int:
        with self._counting:
            self._asked += 1
            return self._asked

    def _begin(self, number: int, question: Question, told: Told) -> None:
        context = multiprocessing.get_context("spawn")
        with self._starting:
            if number != self._asked:
                return
            self._end()
            mine, other = context.Pipe(duplex=False)
            self._process = context.Process(target=_work, args=(other, question), daemon=True)
            self._process.start()
            other.close()
        plan = _answer(mine)
        if number == self._asked:
            told(plan)

    def _end(self) -> None:
        if self._process is not None and self._process.is_alive():
            self._process.terminate()
        self._process = None


def _work(pipe: Connection, question: Question) -> None:
    pipe.send(solve(question))


def _answer(pipe: Connection) -> Plan | None:
    with pipe:
        try:
            plan: Plan | None = pipe.recv()
        except (EOFError, OSError):
            plan = None
    return plan
