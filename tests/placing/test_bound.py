"""What no plan can undercut: the least cost of a part at any prices, against every plan there is of it."""

from collections.abc import Collection, Mapping
from functools import cache
from itertools import product
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace

from tests.placing.arrays import model_of, small
from tests.placing.small_placements import best
from tripplan.placing.bound import (
    LARGE,
    bound,
    least_cost,
    proven_gap,
    tasks_dear_to_wait_for,
    whole_bound,
    whole_programme,
)
from tripplan.placing.choice import Prices
from tripplan.placing.descent import merit, priced
from tripplan.placing.model import NEVER, Part, Plans, parts_of
from tripplan.placing.programme import Programme
from tripplan.placing.search import search

pytest.importorskip("highspy", reason="the solver (extra) is not installed")


@cache
def least_of(seed: int, looks: bool) -> float:
    """What the best of all placings costs, in thousandths, each tried by hand."""
    return best(small(seed, looks)) * 1000


def every(part: Part) -> Plans:
    """Every plan of a part that can be, one by one."""
    shape = part.model.labour.shape
    able = [[False, True] if one < NEVER else [False] for one in part.model.labour.ravel()]
    own = np.array(list(product(*able)), dtype=bool).reshape(-1, *shape)
    plans = priced(part, own)
    return plans.take(plans.cost < NEVER)


def parts(seed: int) -> list[Part]:
    """Parts of a small problem that have few enough plans to be tried one by one."""
    found = parts_of(model_of(seed, seed % 2 == 1))
    return [part for part in found if (part.model.labour < NEVER).sum() <= 12]


@pytest.mark.parametrize("seed", range(12))
def test_no_plan_of_a_part_is_cheaper_than_its_least_cost(seed: int) -> None:
    """If one were, a gap would be told that is not proven. A part by itself is taken to the very cheapest."""
    for part in parts(seed):
        model, draw = part.model, np.random.default_rng(seed)
        for high in (0, 300):
            price = model.rows @ np.round(draw.random(model.rows.shape[1]) * high)
            fee = np.round(draw.random(model.sites) * 20 * high)
            least = merit(part, every(part), price, fee, 0.0).min()
            told = least_cost(part, price, fee)
            assert told is not None and told <= least + 0.001
            if len(part.tasks) == 1:
                assert told == pytest.approx(least, abs=0.6)


def test_the_relaxation_of_a_part_is_nearly_whole() -> None:
    """If it were not, gaps would be told too wide: of the parts of twelve problems nine in ten at their very least cost."""
    exact = tried = 0
    for seed in range(12):
        for part in parts(seed):
            none = np.zeros(len(part.model.rows))
            least = merit(part, every(part), none, none[: part.model.sites], 0.0).min()
            told = least_cost(part, none, none[: part.model.sites])
            assert told is not None and told >= 0.95 * least
            exact, tried = exact + (told > least - 0.6), tried + 1
    assert exact >= 0.9 * tried


@pytest.mark.parametrize("looks", [False, True])
@pytest.mark.parametrize("seed", range(12))
def test_the_whole_is_taken_to_the_cheapest_placing_there_is(seed: int, looks: bool) -> None:
    """Every placing tried by hand: asked for something cheaper than that, there is none; asked for dearer, that is told."""
    least = least_of(seed, looks)
    model = model_of(seed, looks)
    for share in (1.001, 1.2, 3.0):
        assert whole_bound(whole_programme(model), np.ceil(least * share) + 1, {}) == pytest.approx(least, abs=50)
    for share in (0.5, 0.9, 0.999):
        assert whole_bound(whole_programme(model), np.floor(least * share), {}) == np.floor(least * share)
    for dear in (0.0, 0.02 * least, 0.2 * least):
        assert whole_bound(whole_programme(model), np.ceil(least * 1.2) + 1, {}, dear) == pytest.approx(least, abs=50)
        some = (frozenset[int](), tasks_dear_to_wait_for(model, 0.1 * least))
        several = [whole_bound(whole_programme(model), np.ceil(least * 1.2) + 1, {}, dear, tasks) for tasks in some]
        assert all(told is not None and told <= least + 50 for told in several)


def test_a_plan_that_is_far_from_the_best_is_told_how_far() -> None:
    """One told 30 % dearer than it need be is so told, whatever the prices say; one at its least cost at most 1 %."""
    for seed in range(12):
        model, least = model_of(seed), least_of(seed, False)
        found = search(model)
        if least > 1000:
            far = proven_gap(model, replace(found, cost=np.ceil(least * 1.3)))
            assert far == pytest.approx(0.3 / 1.3, abs=0.01)
            near = proven_gap(model, replace(found, cost=np.ceil(least)))
            assert near is not None and near <= 0.01


def test_what_is_not_found_out_is_asked_of_a_twentieth(monkeypatch: pytest.MonkeyPatch) -> None:
    """If not, a plan near its best would be told as far from it as the prices say."""
    model, least = model_of(1), least_of(1, False)
    told_dear = replace(search(model), cost=np.ceil(least * 1.03))
    monkeypatch.setattr("tripplan.placing.bound.priced_bound", lambda *_: 0.5 * least)
    assert proven_gap(model, told_dear) == pytest.approx(0.03 / 1.03, abs=0.001)
    real = whole_bound

    def busy(programme: Programme, asked: float, work: Mapping[str, int], *rest: Any) -> float | None:
        return None if asked > 0.98 * told_dear.cost else real(programme, asked, work, *rest)

    monkeypatch.setattr("tripplan.placing.bound.whole_bound", busy)
    assert proven_gap(model, told_dear) == pytest.approx(0.05, abs=0.001)
    monkeypatch.setattr("tripplan.placing.bound.whole_bound", lambda *_: None)
    assert proven_gap(model, told_dear) == pytest.approx(1 - 0.5 / 1.03, abs=0.001)


STEPS, DEAR, EVERY = (0.99, "steps"), (0.99, "dear"), (0.99, "all")
FAR, FAR_DEAR = (0.95, "all"), (0.95, "dear")


@pytest.mark.parametrize(
    ("columns", "tasks", "share", "weighed", "told", "is_asked"),
    [
        (100, 9, 0.99, 0, 0.01, [STEPS]), (100, 9, 0.98, 0, 0.02, [STEPS, DEAR, EVERY, EVERY]),
        (100, 30, 0.98, 0, 0.02, [STEPS, EVERY, EVERY]), (100, 9, 0.955, 0, 0.05, [STEPS, DEAR, EVERY, EVERY]),
        (100, 9, 0.935, 0, 0.07, [STEPS, DEAR, EVERY, EVERY, FAR, FAR_DEAR]),
        (100, 9, 0.98, 10_000_000, 0.02, [STEPS, DEAR, EVERY]), (100, 9, 0.98, 16_000_000, 0.02, [STEPS, DEAR]),
        (100, 30, 0.935, 16_000_000, 0.07, [STEPS, FAR_DEAR]), (4000, 9, 0.98, 0, 0.02, [STEPS, DEAR, EVERY]),
        (4000, 9, 0.935, 0, 0.07, [STEPS, DEAR, EVERY, FAR_DEAR]), (20_000, 9, 0.98, 0, 0.02, [EVERY]),
        (20_000, 9, 0.935, 0, 0.07, [EVERY, FAR]),
    ],
)  # fmt: skip
def test_what_is_proven_when_the_work_ends_is_told_in_whole_hundredths(
    columns: int, tasks: int, share: float, weighed: int, told: float, is_asked: list[tuple[float, str]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """If more were told, it would be what one version of a solver comes to in a bounded amount of work.

    What takes least is asked first, and little of a large programme or after a long search; nothing more once a twentieth
    is known.
    """
    found = replace(search(model_of(1)), cost=1e6, weighed=weighed)
    asked: list[tuple[float, str]] = []

    def ends(_: Programme, most: float, _work: Mapping[str, int], dear: float, some: Collection[int] | None) -> float:
        assert dear == (0.05 * found.cost if columns <= LARGE else np.inf)
        asked.append((most / found.cost, "all" if some is None else "dear" if some else "steps"))
        return share * found.cost

    monkeypatch.setattr("tripplan.placing.bound.priced_bound", lambda *_: 0.5 * found.cost)
    monkeypatch.setattr("tripplan.placing.bound.whole_programme", lambda _: Programme(cost=[0.0] * columns))
    monkeypatch.setattr("tripplan.placing.bound.tasks_dear_to_wait_for", lambda *_: frozenset(range(tasks)))
    monkeypatch.setattr("tripplan.placing.bound.whole_bound", ends)
    assert proven_gap(model_of(1), found) == pytest.approx(told, abs=1e-6) and asked == is_asked


def test_what_it_is_dear_to_wait_for_is_told_by_its_dearest_step() -> None:
    """If a step that cannot be counted, everything would be looked at first, and that takes long."""
    model = model_of(1)
    steps = np.where(model.arc < NEVER, model.arc, 0.0).max(axis=(1, 2))
    for dear in (0.0, float(np.median(steps)), float(steps.max())):
        assert tasks_dear_to_wait_for(model, dear) == {task for task, most in enumerate(steps.tolist()) if most > dear}
    assert not tasks_dear_to_wait_for(model, float(steps.max())) and (model.arc >= NEVER).any()


@pytest.mark.parametrize("seed", range(6))
def test_the_bound_lies_below_the_plan_at_any_prices(seed: int) -> None:
    """Weak duality: with prices drawn at random for minutes that end, fees shared so that they pay no more than setting out costs."""
    model, draw = model_of(seed), np.random.default_rng(seed)
    found = search(model)
    rows = np.where(np.isfinite(model.room), np.round(draw.random(model.rows.shape[1]) * 50), 0.0)
    full = model.fee_cost + model.fee_rows @ rows
    fees = np.floor(np.tile(full / max(len(found.parts), 1), (len(found.parts), 1)))
    told = bound(model, replace(found, prices=Prices(rows, fees)))
    assert told is not None and told <= found.cost + 1


def test_the_gap_is_a_share_of_the_cost() -> None:
    """A bound of 75 below a plan of 100 is a gap of a quarter; never below nothing; nothing to do is no gap."""
    model = model_of(1)
    found = search(model)
    least = bound(model, found)
    assert least is not None and least > 0
    assert proven_gap(model, replace(found, cost=least / 0.75)) == pytest.approx(0.25)
    assert proven_gap(model, replace(found, cost=least / 2)) == 0.0
    assert proven_gap(model, replace(found, cost=0.0)) == 0.0


def test_without_a_solver_no_gap_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """If one were, it would be made up."""
    for seed in range(12):
        model = model_of(seed)
        found = search(model)
        if any(len(part.tasks) > 1 for part in found.parts):
            break
    monkeypatch.setitem(__import__("sys").modules, "highspy", None)
    assert bound(model, found) is None and proven_gap(model, found) is None
