"""Hands that write to one store at the same moment, and hands that are cut off while they write.

Each hand of `hand_ways` runs in a process of its own, as the command line or the page runs it.
From the moment it is acknowledged the record must be there, whatever happens beside it. A hand
tells of each step of its write, of the first byte put down and each after it; one that is cut
off is ended by the system's own clock, set at a step drawn by chance, or anywhere on its way,
so that the end falls inside a call of the system too. By hand, for as long as wished:

    python -m tests.commands.hands races 500
    python -m tests.commands.hands kills 2000 1800    (for 1800 s at most)
    python -m tests.commands.hands unheld 40          (races without the hold: these must lose records)
"""

import gc
import itertools
import json
import os
import random
import select
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from io import StringIO
from itertools import takewhile
from pathlib import Path
from typing import Any
from unittest.mock import patch

from tests.commands.hand_ways import (
    MARKS,
    ONE_VALUE,
    REPLACED,
    RIVALS,
    TODAY,
    WAYS,
    Hand,
    fill_in,
    fresh,
)
from tests.logbooks import load_any
from tripplan.files import held, plan_folder
from tripplan.files.folder import Inputs
from tripplan.files.logbook.book import history_entries
from tripplan.files.logbook.store import Log
from tripplan.files.whole_files import PART
from tripplan.placing.greedy import place_greedily

ROUNDS = 8
LET_BE_SHARE, ANYWHERE_SHARE = 0.2, 0.15
FIRST_GUESS_S = (0.002, 0.002)
LONGEST_STEP_S = 0.005  # behind the last step comes the printing


@dataclass(frozen=True, slots=True)
class End:
    """When a hand is cut off: so long after that step of its write, or with step -1 after its start."""

    step: int
    after_s: float


@dataclass(frozen=True, slots=True)
class Told:
    """What a hand told before its end: its first moment, its steps, its last moment, and whether it was acknowledged."""

    begun_s: float
    steps_s: tuple[float, ...]
    ended_s: float
    answer: str
    was_cut: bool

    @property
    def is_kept(self) -> bool:
        """True where the record must be there from now on."""
        return self.answer == "kept"


def started(hand: Hand, store: Path, mark: int, gate: int, end: End | None = None) -> tuple[int, int]:
    """A process that waits for the gate and then writes; its number, and where it tells what it does."""
    told, tells = os.pipe()
    child = os.fork()
    if child:
        os.close(tells)
        return child, told
    status = 1
    try:
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        with Path(os.devnull).open("w") as nowhere, redirect_stdout(nowhere), redirect_stderr(nowhere):
            select.select([gate], [], [])
            _tell(tells, "begun")
            _watch(os.path.realpath(store.parent), tells, end)
            if hand(store, mark):
                _tell(tells, "kept")
            status = 0
    except BaseException as error:
        _tell(tells, f"!{type(error).__name__}: {error}".replace("\n", " ")[:400])
    finally:
        os._exit(status)


def _tell(tells: int, what: str) -> None:
    os.write(tells, f"{time.monotonic():.6f} {what}\n".encode())


def _watch(place: str, tells: int, end: End | None) -> None:
    """Tell of every step of a write below the place, and have the clock end this process after one of them."""
    steps = 0

    def step() -> None:
        nonlocal steps
        _tell(tells, "step")
        if end and end.step == steps:
            signal.setitimer(signal.ITIMER_REAL, max(end.after_s, 1e-6))
        steps += 1

    def hook(event: str, words: tuple[Any, ...]) -> None:
        if event in ("open", "os.rename") and isinstance(words[0], str | Path):
            name = str(words[0])
            if name.startswith(place) and PART.fullmatch(os.path.basename(name)):
                step()

    def execute(log: Log, statement: str, *values: Any) -> Any:
        if statement.startswith(("BEGIN IMMEDIATE", "INSERT", "COMMIT")):
            step()
        return super(Log, log).execute(statement, *values)

    Log.execute = execute  # type: ignore[method-assign, assignment]
    sys.addaudithook(hook)
    if end and end.step < 0:
        signal.setitimer(signal.ITIMER_REAL, max(end.after_s, 1e-6))


def ended(child: int, told: int) -> Told:
    """What the process told before its end."""
    said = b""
    while part := os.read(told, 65536):
        said += part
    os.close(told)
    _, status = os.waitpid(child, 0)
    now = time.monotonic()
    lines = [(float(at), what) for at, _, what in (line.partition(" ") for line in said.decode().splitlines())]
    answer = next((what for _, what in lines if what not in ("begun", "step")), "")
    return Told(lines[0][0] if lines else now, tuple(at for at, what in lines if what == "step"),
                lines[-1][0] if answer else now, answer, os.WIFSIGNALED(status))  # fmt: skip


def state(store: Path) -> Inputs:
    """The store as it is read afterwards; it must be whole."""
    if store.is_dir():
        fill_in(store / "legs.csv")
    inputs, _, problems = load_any(store, TODAY)
    assert inputs is not None, problems
    if store.is_file():
        assert not any(found.code in ("J01", "J10") for found in problems), problems
        history_entries(store)
    return inputs


def is_there(kind: str, name: str, store: Path, inputs: Inputs, mark: int) -> bool:
    """Whether what that hand wrote is in the store."""
    return WAYS[kind][name][1](store, inputs, mark)


@contextmanager
def ready() -> Iterator[Path]:
    """A place for stores, with all that the hands need imported and known before the first process is made."""
    kept = plan_folder.plan_of.__defaults__
    plan_folder.plan_of.__defaults__ = ((), place_greedily)
    place = Path(tempfile.mkdtemp(prefix="hands-"))
    try:
        for kind, names in (
            ("folder", ("page row", "route add")),
            ("logbook", ("log from", "import", "plan", "page left out")),
        ):
            store = fresh(place / f"first {kind}", kind)
            with redirect_stdout(StringIO()), redirect_stderr(StringIO()):
                for spot, name in enumerate(names):
                    WAYS[kind][name][0](store, spot)
        gc.freeze()
        yield place
    finally:
        shutil.rmtree(place)
        plan_folder.plan_of.__defaults__ = kept


def worked_s() -> float:
    """Processor time of this process and all it has waited for."""
    return sum(os.times()[:4])


def races(count: int, seed: int, most_s: float = 7200.0) -> dict[str, object]:
    """So many pairs of hands let go at the same moment; what was acknowledged and is not there."""
    end, worked = time.monotonic() + most_s, worked_s()
    chance, lost, failed = random.Random(seed), [], []
    done: Counter[str] = Counter()
    pairs = [(kind, one, two) for kind, ways in WAYS.items() for one in ways for two in ways]
    chance.shuffle(pairs)  # those first of whom one could write over the other
    pairs.sort(key=lambda pair: not any(pair[1] in rivals and pair[2] in rivals for rivals in RIVALS))
    with ready() as place:
        for number in takewhile(lambda _: time.monotonic() < end, range(count)):
            kind, *names = pairs[number % len(pairs)]
            store = fresh(place / "at", kind)
            marks = (chance.randrange(MARKS), MARKS + chance.randrange(MARKS))
            answers = let_go(store, kind, names, marks)
            inputs = state(store)
            first, second = sorted(answers, key=lambda told: told.begun_s)
            done["at the same time"] += second.begun_s < first.ended_s
            seen = [is_there(kind, name, store, inputs, mark) for name, mark in zip(names, marks, strict=True)]
            is_one = names[0] == names[1] and names[0] in ONE_VALUE
            for name, told, there in zip(names, answers, seen, strict=True):
                done[f"{kind} {'acknowledged' if told.is_kept else 'refused'}"] += 1
                if told.answer.startswith("!") and not told.answer.startswith("!BadInput"):
                    failed.append(f"{kind}: {name} of {names}: {told.answer}")
                if told.is_kept and not (any(seen) if is_one else there):
                    lost.append(f"{kind}: {name} of {names}, marks {marks}")
            shutil.rmtree(store.parent)
    return {"races": number + 1, "lost": lost, "failed": failed, **done, "processor s": round(worked_s() - worked, 1)}


def let_go(store: Path, kind: str, names: list[str], marks: tuple[int, int]) -> list[Told]:
    """Two hands that wait, let go at once; what each told."""
    gate, opens = os.pipe()
    hands = [started(WAYS[kind][name][0], store, mark, gate) for name, mark in zip(names, marks, strict=True)]
    time.sleep(0.02)
    os.write(opens, b"go")
    answers = [ended(*hand) for hand in hands]
    os.close(gate)
    os.close(opens)
    return answers


def unheld(count: int, seed: int, most_s: float = 7200.0) -> dict[str, object]:
    """The same races with nothing held, to see that they find what is lost then."""

    @contextmanager
    def free(*_: object) -> Iterator[bool]:
        yield False

    with patch.object(held, "_held", free):
        return races(count, seed, most_s)


class Usual:
    """How a way writes when it is let be: the time between its steps, and of the whole."""

    def __init__(self) -> None:
        self.gaps_s: tuple[float, ...] = FIRST_GUESS_S
        self.whole_s = 0.1

    def learn(self, told: Told) -> None:
        """Take what a hand that came to its end has told."""
        if told.steps_s:
            after = (*told.steps_s[1:], min(told.ended_s, told.steps_s[-1] + LONGEST_STEP_S))
            self.gaps_s = tuple(later - at for at, later in zip(told.steps_s, after, strict=True))
        self.whole_s = told.ended_s - told.begun_s

    def drawn(self, chance: random.Random) -> End | None:
        """An end for the next hand of this way; some are let be, so that there are records to lose."""
        if chance.random() < LET_BE_SHARE:
            return None
        if chance.random() < ANYWHERE_SHARE:
            return End(-1, chance.uniform(0, 1.1) * self.whole_s)
        step = chance.randrange(len(self.gaps_s))
        return End(step, chance.uniform(0, self.gaps_s[step]))


def kills(count: int, seed: int, most_s: float = 7200.0) -> dict[str, object]:
    """So many hands cut off on their way, and others let be; what was acknowledged and is not there, what stayed behind."""
    end, worked = time.monotonic() + most_s, worked_s()
    chance, lost, left, failed = random.Random(seed), [], [], []
    done: Counter[str] = Counter()
    ways = [(kind, name) for kind, own in WAYS.items() for name in own]
    usual = {way: Usual() for way in ways}
    gate = os.open(os.devnull, os.O_RDONLY)
    with ready() as place:
        stores: dict[str, Path] = {}
        for number in takewhile(lambda _: done["cut off"] < count and time.monotonic() < end, itertools.count()):
            if not number % (ROUNDS * len(ways)):
                left += [name for each in stores.items() for name in left_behind(*each)]
                marks = chance.sample(range(2 * MARKS - 1), ROUNDS * len(ways))
                stores = {kind: fresh(place / f"{number} {kind}", kind) for kind in WAYS}
                told_of: list[tuple[str, str, int]] = []
            kind, name = way = ways[number % len(ways)]
            store, mark = stores[kind], marks[number % len(marks)]
            told = ended(*started(WAYS[kind][name][0], store, mark, gate, usual[way].drawn(chance)))
            done.update(("cut off", _moment(told)) if told.was_cut else (_moment(told),))
            if told.is_kept:
                usual[way].learn(told)
            if told.answer.startswith("!") and not told.answer.startswith("!BadInput"):
                failed.append(f"{kind}: {name}: {told.answer}")
            inputs = state(store)
            if told.is_kept and not is_there(kind, name, store, inputs, mark):
                lost.append(f"{kind}: {name}, mark {mark} of hand {number}")
            lost += [f"{old}, later, at hand {number}" for old in told_of
                     if old[0] == kind and not is_there(*old[:2], store, inputs, old[2])]  # fmt: skip
            if told.is_kept and name not in REPLACED:
                told_of.append((kind, name, mark))
        left += [name for each in stores.items() for name in left_behind(*each)]
    os.close(gate)
    return {"hands": number, "lost": lost, "failed": failed, "left behind": left, **done,
            "processor s": round(worked_s() - worked, 1)}  # fmt: skip


def _moment(told: Told) -> str:
    """Where on its way a hand was cut off, if it was."""
    if told.was_cut:
        return "after the answer" if told.is_kept else "within the write" if told.steps_s else "before the write"
    return "acknowledged" if told.is_kept else "refused"


def left_behind(kind: str, store: Path) -> list[str]:
    """Halves of files that stay though each place was written to again."""
    last, ways = 2 * MARKS - 1, WAYS[kind]
    with redirect_stdout(StringIO()), redirect_stderr(StringIO()):
        for name in ("import", "page left out", "plan", *(("write out",) if kind == "logbook" else ())):
            assert ways[name][0](store, last), f"{name} after the others"
    halves = (path for path in store.parent.rglob("*") if PART.fullmatch(path.name))
    return [path.name for path in halves if not path.parent.name.startswith("own-")]  # nobody starts there again


if __name__ == "__main__":
    what, number = sys.argv[1], int(sys.argv[2])
    most_s = float(sys.argv[3]) if len(sys.argv) > 3 else 7200.0
    work: dict[str, Callable[..., dict[str, object]]] = {"races": races, "kills": kills, "unheld": unheld}
    print(json.dumps(work[what](number, 20260620, most_s)))
