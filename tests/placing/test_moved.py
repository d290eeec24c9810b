"""The visits after every move: those that are worked out only where something changes, and all of them."""

import numpy as np
import pytest

from tests.placing.arrays import model_of, whole
from tests.random_trips import random_trip
from tripplan.placing import moved
from tripplan.placing.descent import only_at_home, priced
from tripplan.placing.greedy import place_greedily, plain_visits
from tripplan.placing.model import Flags, Floats, Part, Plans, parts_of
from tripplan.placing.moved import moved_visits
from tripplan.placing.stated import stated
from tripplan.planner import answer, look_around


def both_ways(part: Part, plan: Plans, price: Floats, fee: Floats, few: pytest.MonkeyPatch) -> tuple[Flags, Flags]:
    """With paths sought for those tasks alone for which they can differ, and for each task in every move."""
    found = []
    for most in (0, 10**9):
        few.setattr(moved, "FEW_PATHS", most)
        found.append(moved_visits(part, plan, price, fee, every_task=True))
    return found[0], found[1]


@pytest.mark.parametrize("seed", range(16))
def test_what_is_left_out_changes_nothing(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """If it did, the search would look at another plan than the move's, or miss it; at prices and fees of all sizes."""
    part, draw = whole(model_of(seed, seed % 2 == 0)), np.random.default_rng(seed)
    model, plan = part.model, only_at_home(part)
    for scale in (0.0, 30.0, 3000.0):
        price, fee = (
            model.rows @ np.round(draw.random(model.rows.shape[1]) * scale),
            np.round(draw.random(model.sites) * scale),
        )
        sparsely, whole_out = both_ways(part, plan, price, fee, monkeypatch)
        assert (sparsely == whole_out).all()
        plan = priced(part, sparsely[draw.integers(len(sparsely))][None])


@pytest.mark.parametrize("seed", [4, 11])
def test_nor_in_the_largest_part_of_a_rig(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same on a part of a whole rig, with looks, coverings and nights between days, from the plan of the plain rule."""
    one = random_trip(seed)
    around = look_around(one.rig, one.history, one.trip, one.catalogue, one.today)
    given = stated(answer(around, place_greedily).problem)
    part, draw = max(parts_of(given.model), key=lambda some: len(some.tasks)), np.random.default_rng(seed)
    visits = plain_visits(given)
    assert visits is not None and len(part.tasks) > 10
    plan = priced(part, visits[part.tasks][None])
    for scale in (0.0, 100.0):
        price = given.model.rows @ np.round(draw.random(given.model.rows.shape[1]) * scale)
        sparsely, whole_out = both_ways(part, plan, price, given.model.fee_cost, monkeypatch)
        assert (sparsely == whole_out).all() and len(sparsely) > 60


@pytest.mark.parametrize("seed", range(6))
def test_the_first_is_that_of_no_move(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """If it were missing, a plan that is best already would be left for the least dear of its neighbours."""
    part = whole(model_of(seed))
    plan = only_at_home(part)
    none = np.zeros(len(part.model.rows)), np.zeros(part.model.sites)
    for found in both_ways(part, plan, *none, monkeypatch):
        assert priced(part, found[:1]).cost[0] <= plan.cost[0]
