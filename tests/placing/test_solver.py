"""What is proven of a programme in whole numbers, when it comes to an end and when its work ends first."""

from collections.abc import Callable
from itertools import product
from typing import Any

import numpy as np
import pytest

from tripplan.placing.programme import Programme, as_lp
from tripplan.placing.solver import proven, solved

pytest.importorskip("highspy", reason="the solver (extra) is not installed")

COLUMNS, ROWS = 14, 4
LITTLE = {
    "mip_max_nodes": 1,
    "presolve": "off",
    "mip_heuristic_effort": 0.0,
    "mip_heuristic_run_feasibility_jump": False,
}


def reader(programme: Programme) -> Callable[[Any], Any]:
    """What gives the programme to the solver."""
    return lambda highspy: as_lp(programme, highspy, whole=True)


def covering(seed: int) -> tuple[Programme, float]:
    """A programme of few columns, each row of which wants so much of what the columns give; and its least cost, all tried."""
    draw = np.random.default_rng(seed)
    cost, gives = draw.integers(30, 60, COLUMNS), draw.integers(20, 60, (ROWS, COLUMNS))
    wanted = gives.sum(axis=1) // 2
    out = Programme()
    columns = [out.column(float(one), whole=True) for one in cost]
    for row, most in zip(gives, wanted, strict=True):
        out.weighted({column: -float(one) for column, one in zip(columns, row, strict=True)}, -float(most))
    every = np.array(list(product((0, 1), repeat=COLUMNS)))
    can_be = (every @ gives.T >= wanted).all(axis=1)
    return out, float((every[can_be] @ cost).min())


def test_what_is_proven_when_the_work_ends_is_undercut_by_nothing() -> None:
    """If it were, a plan would be told nearer to its best than it is. Every choice tried by hand; left to its end it is that."""
    ended_early = 0
    for seed in range(8):
        programme, least = covering(seed)
        told = proven(reader(programme), LITTLE)
        assert told is not None and 0.5 * least < told <= least + 1e-6
        ended_early += solved(reader(programme), LITTLE) is None
        assert solved(reader(programme), {}) == pytest.approx(least)
    assert ended_early >= 2


def test_what_nothing_keeps_is_endless() -> None:
    """Of a row that wants more than all columns give nothing is cheaper than anything: no plan of the whole undercuts it."""
    programme, _ = covering(0)
    programme.weighted({0: 1.0}, -1.0)
    assert proven(reader(programme), {}) == float("inf")


def test_without_a_solver_nothing_is_proven(monkeypatch: pytest.MonkeyPatch) -> None:
    """If it were, a gap would be made up."""
    monkeypatch.setitem(__import__("sys").modules, "highspy", None)
    assert proven(reader(covering(0)[0]), {}) is None
