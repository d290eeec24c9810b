"""The choice among all plans that are known: what is left out of it could not have helped."""

import numpy as np
import pytest

from tests.placing.arrays import as_set, model_of
from tripplan.placing.choice import no_prices
from tripplan.placing.descent import only_at_home, with_fees
from tripplan.placing.fine import whole_cost
from tripplan.placing.known import deepen, first_known
from tripplan.placing.model import Model, part_of, parts_of
from tripplan.placing.so_far import SoFar, undominated

SEEDS = range(12)


def begun(model: Model) -> SoFar:
    """A search that knows the first plans of each part, and has chosen to do all after the return."""
    parts = parts_of(model)
    best = [only_at_home(part) for part in parts]
    now = SoFar(model, first_known(model, parts), best, 0.0)
    now.cost = whole_cost(model, part_of(model, np.arange(len(model.labour))), now.own)
    deepen(now.known, no_prices(model, len(parts)), best)
    return now


@pytest.mark.parametrize("seed", SEEDS)
def test_a_plan_left_out_is_undercut_by_one_that_stays(seed: int) -> None:
    """If it were not, the one small plan that leaves a day room would be lost."""
    model = model_of(seed)
    for plans in begun(model).known.plans:
        kept = undominated(model, plans)
        assert as_set(kept) <= as_set(plans) and (kept.own[0] == plans.own[0]).all()
        for one in range(len(plans.cost)):
            under = (kept.cost <= plans.cost[one]) & (kept.spend @ model.rows <= plans.spend[one] @ model.rows).all(
                axis=1
            )
            assert (under & ~(kept.uses & ~plans.uses[one]).any(axis=1)).any()
        for one in range(1, len(kept.cost)):
            other = np.arange(len(kept.cost)) != one
            same = (kept.cost <= kept.cost[one]) & (kept.spend @ model.rows <= kept.spend[one] @ model.rows).all(axis=1)
            assert not (same & other & ~(kept.uses & ~kept.uses[one]).any(axis=1))[1:].any()


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_planned_anew_fits_and_is_never_dearer(seed: int) -> None:
    """If it were, the last choice would spoil what the rounds before it found."""
    model = model_of(seed)
    now = begun(model)
    before = now.cost
    now.choose_anew(no_prices(model, len(now.best)))
    whole = part_of(model, np.arange(len(model.labour)))
    assert now.cost <= before and now.cost == pytest.approx(whole_cost(model, whole, now.own))
    assert with_fees(model, now.best[0])[0] <= now.cost
