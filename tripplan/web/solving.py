"""The solved plan, worked out in a process of its own, so that the page goes on answering meanwhile.

The process is kept warm between questions, since starting one takes longer than most plans.
"""

import multiprocessing
import threading
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from tripplan.files.plan_folder import Question, plan_of
from tripplan.records.plan import Plan

Told = Callable[[Plan | None], None]
HOLD_S = 0.3


class Solver:
    """At most one solving process; a new question ends the one before."""

    def __init__(self, hold_s: float = HOLD_S) -> None:
        self._hold_s = hold_s
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._is_busy = False
        self._hand, self._counting = threading.Lock(), threading.Lock()
        self._asked = 0

    def ask(self, question: Question, told: Told) -> None:
        """Solve in the background; `told` gets the plan, or None when it failed.

        It begins a moment later, when the quick answer has gone out; what is changed again
        within that moment is not solved. A question that a newer one has taken the place of
        is not told.
        """
        threading.Thread(target=self._run, args=(self._next(), question, told), daemon=True).start()

    def stop(self) -> None:
        """End a solve that is no longer asked for."""
        self._next()
        with self._hand:
            self._end()

    def _next(self) -> int:
        with self._counting:
            self._asked += 1
            return self._asked

    def _run(self, number: int, question: Question, told: Told) -> None:
        time.sleep(self._hold_s)
        with self._hand:
            if number != self._asked:
                return
            if self._is_busy:
                self._end()
            pipe, self._is_busy = self._ready(), True
            plan_follows = _is_sent(pipe, question)
        plan = _answer(pipe) if plan_follows else None
        with self._hand:
            if self._pipe is pipe:
                self._is_busy = False
                if plan is None:
                    self._end()
        if number == self._asked:
            told(plan)

    def _ready(self) -> Connection:
        if self._pipe is None or self._process is None or not self._process.is_alive():
            context = multiprocessing.get_context("spawn")
            self._pipe, other = context.Pipe()
            self._process = context.Process(target=_work, args=(other,), daemon=True)
            self._process.start()
            other.close()
        return self._pipe

    def _end(self) -> None:
        if self._process is not None and self._process.is_alive():
            self._process.terminate()
        self._process, self._pipe, self._is_busy = None, None, False


def _work(pipe: Connection) -> None:
    while True:
        try:
            question = pipe.recv()
            pipe.send(plan_of(*question))
        except (EOFError, OSError):  # whoever asked is gone
            return


def _is_sent(pipe: Connection, question: Question) -> bool:
    try:
        pipe.send(question)
    except OSError:
        return False
    return True


def _answer(pipe: Connection) -> Plan | None:
    try:
        plan: Plan | None = pipe.recv()
    except (EOFError, OSError):
        plan = None
    return plan
