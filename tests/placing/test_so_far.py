"""How far the search is: other visits are taken where they fit and are cheaper, and never else."""

import numpy as np
import pytest

from tests.placing.arrays import model_of
from tripplan.placing.bunches import whole_cost
from tripplan.placing.descent import only_at_home, with_fees
from tripplan.placing.known import first_known
from tripplan.placing.model import NEVER, Model, part_of, parts_of
from tripplan.placing.so_far import SoFar

SEEDS = range(12)


def begun(model: Model) -> SoFar:
    """A search that has chosen to do all after the return."""
    parts = parts_of(model)
    best = [only_at_home(part) for part in parts]
    now = SoFar(model, first_known(model, parts), best, 0.0)
    now.cost = whole_cost(model, part_of(model, np.arange(len(model.labour))), now.own)
    return now


@pytest.mark.parametrize("seed", SEEDS)
def test_other_visits_are_taken_where_they_fit_and_are_cheaper(seed: int) -> None:
    """If dearer ones were, or such as no day holds, the search would go on from a worse plan than it has."""
    model, draw = model_of(seed), np.random.default_rng(seed)
    now, whole = begun(model), part_of(model, np.arange(len(model.labour)))
    for _ in range(40):
        before, own = now.cost, now.own
        other = np.asarray((draw.random(own.shape) < 0.2) & (model.labour < NEVER))
        cost = whole_cost(model, whole, other)
        now.take(other, whole)
        assert (now.own == (other if cost < before else own)).all() and now.cost == min(cost, before)
        assert with_fees(model, now.best[0])[0] <= now.cost
