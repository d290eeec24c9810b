"""Room made for a long job that many short ones crowd out: cheaper in the end, or nothing is changed."""

import numpy as np
import pytest

from tests.placing.arrays import model_of, whole
from tests.random_trips import random_trip
from tripplan.placing import search as at
from tripplan.placing.fine import bunches_of, refine, whole_cost
from tripplan.placing.greedy import place_greedily, plain_visits
from tripplan.placing.model import NEVER
from tripplan.placing.room_made import with_room
from tripplan.placing.stated import stated
from tripplan.planner import answer, look_around

CROWDED = 117
"""A trip where one long job saves more than the short ones that fill its day."""


@pytest.mark.parametrize("seed", range(20))
def test_what_comes_out_fits_and_is_never_dearer(seed: int) -> None:
    """If it were, the last step of the search would spoil what the others found."""
    model, draw = model_of(seed), np.random.default_rng(seed)
    drawn = [(draw.random(model.labour.shape) < 0.3) & (model.labour < NEVER) for _ in range(8)]
    for start in (at.search(model).own, *drawn):
        before = whole_cost(model, whole(model), start)
        after = whole_cost(
            model, whole(model), with_room(model, start, np.zeros(model.rows.shape[1]), {}, bunches_of(model))
        )
        assert after <= before


def test_a_long_job_finds_its_day_among_many_short_ones() -> None:
    """If it did not, a plan in which single jobs are exchanged alone would stay without what saves most."""
    one = random_trip(CROWDED)
    problem = answer(look_around(one.rig, one.history, one.trip, one.catalogue, one.today), place_greedily).problem
    given = stated(problem)
    model, bunches = given.model, bunches_of(given.model)
    free = np.zeros(model.rows.shape[1])
    crowded = refine(model, plain_visits(given), free, {}, bunches)
    before = whole_cost(model, bunches.whole, crowded)
    after = whole_cost(model, bunches.whole, with_room(model, crowded, free, {}, bunches))
    assert after < 0.97 * before
