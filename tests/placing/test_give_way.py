"""Others give way to one long job: cheaper in the end, within the minutes there are, or nothing is changed."""

from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from tests.placing.test_beam import drawn, least
from tripplan.placing.choice import Pool, exchange, total
from tripplan.placing.give_way import give_way
from tripplan.placing.model import Model


@pytest.mark.parametrize("seed", range(30))
def test_what_comes_out_fits_and_is_never_dearer(seed: int) -> None:
    """If it were, the last step of the choice would spoil what the others found."""
    model, pool, _ = drawn(seed, 5, 3)
    model = cast(Model, SimpleNamespace(**{**vars(model), "fee_spend": np.zeros(3)}))
    start = pool.first[:-1].copy()  # nothing is done: it fits
    before, _ = total(model, pool, start)
    found = give_way(model, pool, start)
    cost, over = total(model, pool, found)
    assert over == 0.0 and least(model, pool) <= cost <= before
    assert pool.part[found].tolist() == list(range(pool.count))
    assert (give_way(model, pool, start) == found).all()


def test_many_short_jobs_give_way_to_a_long_one_where_no_two_of_them_make_room() -> None:
    """If they did not, a wheel end would stay shut for six quarters of an hour of cleaning."""
    short, long = 6, 90.0
    cost = np.array([*([20.0, 0.0] * short), 1000.0, 0.0])
    spend = np.array([*([0.0, 15.0] * short), 0.0, long])[:, None]
    pool = Pool(
        part=np.repeat(np.arange(short + 1), 2), cost=cost, spend=spend, uses=(spend > 0).astype(np.float64),
        first=np.arange(short + 2, dtype=np.intp) * 2,
    )  # fmt: skip
    model = cast(Model, SimpleNamespace(room=np.array([long]), fee_cost=np.zeros(1), fee_rows=np.zeros((1, 1))))
    full = np.array([1, 3, 5, 7, 9, 11, 12], dtype=np.intp)
    assert (exchange(model, pool, full, (1e6,)) == full).all()
    assert give_way(model, pool, full).tolist() == [0, 2, 4, 6, 8, 10, 13]
