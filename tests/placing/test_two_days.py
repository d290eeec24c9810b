"""Two days planned anew: the best choice there is within their minutes, by trying every one; or none at all."""

from itertools import product
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from tests.placing.arrays import model_of, whole
from tests.random_trips import random_trip
from tripplan.placing import search as at
from tripplan.placing import two_days
from tripplan.placing.bound import proven_gap
from tripplan.placing.bunches import means_of, whole_cost
from tripplan.placing.choice import Pool, exchange, total
from tripplan.placing.fine import anew
from tripplan.placing.greedy import place_greedily
from tripplan.placing.model import NEVER, Floats, Model, parts_of
from tripplan.placing.optimise import found_for
from tripplan.placing.stated import stated
from tripplan.placing.two_days import SHORT, best_choice, better_choices
from tripplan.planner import answer, look_around

CROWDED = (210,)
"""A trip on which what keeps a limit finds its day only if three other jobs leave it at once."""


def pool_of_plans(cost: Floats, spend: Floats, plans: int) -> Pool:
    """Parts with so many plans each."""
    parts = len(cost) // plans
    return Pool(
        part=np.repeat(np.arange(parts), plans), cost=cost, spend=spend, uses=np.zeros((len(cost), 1)),
        first=np.arange(parts + 1, dtype=np.intp) * plans,
    )  # fmt: skip


def model_with(room: list[float]) -> Model:
    """Rows of minutes, and a site that asks no fee."""
    return cast(Model, SimpleNamespace(room=np.array(room), fee_cost=np.zeros(1), fee_rows=np.zeros((1, len(room)))))


def drawn(seed: int, parts: int = 6, plans: int = 4) -> tuple[Model, Pool, np.ndarray]:
    """A pool in which waiting costs and work takes minutes of three rows; nothing is done to begin with."""
    draw = np.random.default_rng(seed)
    cost = draw.integers(0, 1000, parts * plans).astype(np.float64)
    spend = draw.integers(0, 12, (parts * plans, 3)).astype(np.float64) * 10.0
    idle = np.arange(parts) * plans
    cost[idle], spend[idle] = 2000.0, 0.0
    room = [float(draw.integers(4, 20)) * 10.0 for _ in range(3)]
    return model_with(room), pool_of_plans(cost, spend, plans), idle.astype(np.intp)


def cheapest(model: Model, pool: Pool, chosen: np.ndarray, rows: tuple[int, ...]) -> float:
    """The least cost of all choices that keep within these rows and take no more of other short rows part by part.

    Of a row of which nothing is taken yet, or much is left, each part takes no more than what is left.
    """
    taken = pool.spend[chosen].sum(axis=0)
    left = model.room - taken
    others = [row for row in range(len(model.room)) if row not in rows]
    spare = np.array([0.0 if left[row] <= SHORT and taken[row] > 0 else left[row] for row in others])
    found = np.inf
    for some in product(*(range(a, b) for a, b in zip(pool.first[:-1], pool.first[1:], strict=True))):
        spend = pool.spend[list(some)]
        held = (spend[:, others] - pool.spend[chosen][:, others] <= spare).all()
        if held and (spend.sum(axis=0)[list(rows)] <= model.room[list(rows)]).all():
            found = min(found, float(pool.cost[list(some)].sum()))
    return found


@pytest.mark.parametrize("rows", [(0, 1), (1, 2), (2,), (0, 1, 2)])
@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("largest_first", [False, True])
def test_no_choice_within_these_rows_is_cheaper(seed: int, rows: tuple[int, ...], largest_first: bool) -> None:
    """If one were, a job would be left for home though both days together have the time for it."""
    model, pool, idle = drawn(seed)
    least = cheapest(model, pool, idle, rows)
    found = best_choice(model, pool, idle, rows, np.zeros(3), 10_000, largest_first)
    if least >= pool.cost[idle].sum():
        assert found is None
    else:
        assert found is not None
        assert pool.cost[found].sum() == least
        assert (pool.spend[found].sum(axis=0)[list(rows)] <= model.room[list(rows)]).all()
        assert pool.part[found].tolist() == list(range(pool.count))


def test_where_no_choice_is_cheaper_none_is_given() -> None:
    """If one were, the search would go round for ever."""
    model, pool, idle = drawn(3)
    best = best_choice(model, pool, idle, (0, 1), np.zeros(3), 10_000)
    assert best is not None
    assert best_choice(model, pool, best, (0, 1), np.zeros(3), 10_000) is None


def test_where_few_choices_are_kept_what_takes_most_goes_first() -> None:
    """If it did not, a limit would be passed because the days had been given away by the time that its job was looked at."""
    rows, short = 3, 12
    draw = np.random.default_rng(7)
    cost, spend, part = [[1000.0, 0.0, 0.0, 0.0]], [np.vstack([np.zeros(rows), 90.0 * np.eye(rows)])], [[short] * 4]
    for number in range(short):
        cost.insert(number, [12.0, *draw.integers(0, 6, 2).tolist()])
        spend.insert(number, np.vstack([np.zeros(rows), draw.integers(1, 5, (2, rows)) * 5.0]))
        part.insert(number, [number] * 3)
    sizes = np.array([len(one) for one in part])
    first = np.append(0, np.cumsum(sizes)).astype(np.intp)
    costs = np.concatenate(cost)
    pool = Pool(
        part=np.concatenate(part), cost=costs, spend=np.concatenate(spend), uses=np.zeros((len(costs), 1)), first=first
    )
    model, idle = model_with([100.0, 95.0, 90.0]), first[:-1]
    few = [best_choice(model, pool, idle, (0, 1, 2), np.zeros(3), 4, largest_first) for largest_first in (False, True)]
    lost, kept = (np.inf if one is None else float(costs[one].sum()) for one in few)
    assert kept < 1000.0 < lost


def test_many_short_jobs_give_way_to_a_long_one_where_no_two_of_them_make_room() -> None:
    """If they did not, a wheel end would stay shut for six quarters of an hour of cleaning."""
    short, long = 6, 90.0
    cost = np.array([*([20.0, 0.0] * short), 1000.0, 0.0])
    spend = np.array([*([0.0, 15.0] * short), 0.0, long])[:, None]
    pool, model = pool_of_plans(cost, spend, 2), model_with([long])
    full = np.array([1, 3, 5, 7, 9, 11, 12], dtype=np.intp)
    assert (exchange(model, pool, full, (1e6,)) == full).all()
    ((rows, found),) = better_choices(model, pool, full, np.zeros(1))
    assert rows == (0,) and found.tolist() == [0, 2, 4, 6, 8, 10, 13]
    assert total(model, pool, found) == (120.0, 0.0)


def test_each_two_short_rows_come_once_those_behind_the_last_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """If not, the days that gained nothing would be gone through again before the others are."""
    model, pool, idle = drawn(5)
    chosen = idle + 1  # something is done everywhere, so that all three rows are short
    asked: list[tuple[int, ...]] = []

    def noted(_model: Model, _pool: Pool, chosen: np.ndarray, rows: tuple[int, ...], *_: object) -> np.ndarray:
        asked.append(rows)
        return chosen

    monkeypatch.setattr(two_days, "best_choice", noted)
    assert [rows for rows, _ in better_choices(model, pool, chosen, np.zeros(3), (0, 1))] == asked
    assert asked == [(0, 1, 2), (0, 2), (1, 2), (0, 1)]  # three rows are few, and planned anew at once, too
    asked.clear()
    monkeypatch.setattr(two_days, "FEW", 2)
    assert [rows for rows, _ in better_choices(model, pool, chosen, np.zeros(3), (0, 1))] == asked
    assert asked == [(0, 2), (1, 2), (0, 1)]


@pytest.mark.parametrize("seed", range(20))
def test_what_comes_out_fits_and_is_never_dearer(seed: int) -> None:
    """If it were, the last step of the search would spoil what the others found."""
    model, draw = model_of(seed), np.random.default_rng(seed)
    several = [(draw.random(model.labour.shape) < 0.3) & (model.labour < NEVER) for _ in range(8)]
    for start in (at.search(model).own, *several):
        before = whole_cost(model, whole(model), start)
        found = anew(means_of(model), start, parts_of(model))
        assert whole_cost(model, whole(model), found) <= before


@pytest.mark.parametrize("seed", CROWDED)
def test_a_limit_finds_its_day_where_three_jobs_have_to_leave_it(seed: int) -> None:
    """If it did not, wheel bearings would be driven past their limit for the sake of short looks."""
    one = random_trip(seed)
    problem = answer(look_around(one.rig, one.history, one.trip, one.catalogue, one.today), place_greedily).problem
    given = stated(problem)
    gap = proven_gap(given.model, found_for(given))
    assert gap is not None and gap <= 0.0101
