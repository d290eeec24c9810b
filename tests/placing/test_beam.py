"""A choice built up part by part, against every choice there is."""

from itertools import product
from random import Random
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from tripplan.placing.beam import WIDTH, beam, beams
from tripplan.placing.choice import Pool, Prices, total
from tripplan.placing.model import Model

SITES = 3


def drawn(seed: int, parts: int, plans: int) -> tuple[Model, Pool, Prices]:
    """Parts with plans that cost more the less they take, the first taking nothing; sites of which two are scarce."""
    rng = Random(seed)
    room = np.array([rng.randrange(10, 30), rng.randrange(10, 30), np.inf])
    fee = np.array([rng.randrange(4) for _ in range(SITES)], dtype=np.float64)
    spend = np.array([[rng.randrange(12) for _ in range(SITES)] for _ in range(parts * plans)], dtype=np.float64)
    spend[::plans] = 0.0
    cost = np.array([rng.randrange(60, 100) - 2 * sum(row) for row in spend.tolist()], dtype=np.float64)
    model = SimpleNamespace(room=room, fee_cost=fee * 3, fee_rows=np.diag(fee))
    pool = Pool(
        part=np.repeat(np.arange(parts), plans), cost=cost, spend=spend, uses=(spend > 0).astype(np.float64),
        first=np.arange(parts + 1, dtype=np.intp) * plans,
    )  # fmt: skip
    return cast(Model, model), pool, Prices(np.array([2.0, 1.0, 0.0]), np.zeros((parts, SITES)))


def least(model: Model, pool: Pool) -> float:
    """The least cost of all choices that fit, each gone through."""
    each = [range(pool.first[part], pool.first[part + 1]) for part in range(pool.count)]
    found = [total(model, pool, np.array(one, dtype=np.intp)) for one in product(*each)]
    return min(cost for cost, over in found if over == 0.0)


@pytest.mark.parametrize("seed", range(30))
def test_the_choice_fits_and_is_the_best_where_all_can_be_carried_on(seed: int) -> None:
    """If not, a knapsack of a few jobs at one stop would stay a job short of what it could hold."""
    model, pool, prices = drawn(seed, 4, 3)
    assert WIDTH > 3**4
    for chosen in beams(model, pool, prices):
        assert total(model, pool, chosen) == (least(model, pool), 0.0)
        assert pool.part[chosen].tolist() == list(range(pool.count))


def test_many_parts_are_near_the_best_and_the_same_each_time() -> None:
    """If the one that leaves room were crowded out, all that is cheap so far would end at a full site."""
    model, pool, prices = drawn(7, 7, 4)
    found, again = beams(model, pool, prices), beams(model, pool, prices)
    for chosen, other in zip(found, again, strict=True):
        cost, over = total(model, pool, chosen)
        assert over == 0.0 and cost <= 1.01 * least(model, pool) and (chosen == other).all()


def test_nothing_is_answered_where_nothing_fits() -> None:
    """If something were, a day would hold more than it has."""
    model, pool, prices = drawn(1, 4, 3)
    full = SimpleNamespace(room=np.full(SITES, -1.0), fee_cost=model.fee_cost, fee_rows=model.fee_rows)
    assert beams(cast(Model, full), pool, prices) == []
    assert beam(cast(Model, full), pool, prices, np.arange(4)) is None


def test_small_jobs_that_lose_much_come_before_long_ones_that_lose_little() -> None:
    """If not, a day would be filled with an hour's cleaning, and the quarter of an hour that keeps a brake would find no place."""
    parts, room = 200, 60.0
    lost, minutes = np.array([1e6 if part % 40 == 0 else 90.0 for part in range(parts)]), np.full(parts, 12.0)
    minutes[::40] = 10.0
    cost, spend = (np.stack([np.zeros(parts), values], axis=1).ravel()[:, None] for values in (lost, minutes))
    pool = Pool(
        part=np.repeat(np.arange(parts), 2), cost=lost.repeat(2) - cost[:, 0], spend=spend, uses=np.zeros((2 * parts, 1)),
        first=np.arange(parts + 1, dtype=np.intp) * 2,
    )  # fmt: skip
    model = SimpleNamespace(room=np.array([room]), fee_cost=np.zeros(1), fee_rows=np.zeros((1, 1)))
    found = beams(cast(Model, model), pool, Prices(np.array([1.0]), np.zeros((parts, 1))))
    assert min(total(cast(Model, model), pool, one)[0] for one in found) == 90.0 * (parts - 5)
