"""What is known of the parts from round to round, against every plan there is of a small one."""

from itertools import product

import numpy as np
import pytest

from tests.placing.arrays import as_set, model_of
from tripplan.placing.choice import Prices, no_prices
from tripplan.placing.descent import fitting, merit, only_at_home, priced
from tripplan.placing.known import KEPT, deepen, first_known
from tripplan.placing.model import Model, Part, Plans, parts_of

SEEDS = range(10)


def every(part: Part) -> Plans:
    """All plans of a task by itself that fit."""
    sites = part.model.sites
    own = np.array(list(product([False, True], repeat=sites)), dtype=bool).reshape(-1, 1, sites)
    return fitting(part, priced(part, own))


def drawn(model: Model, seed: int, turn: int) -> Prices:
    """Prices of minutes, whole numbers, with fees in equal shares."""
    draw = np.random.default_rng((seed, turn))
    return Prices(np.round(draw.random(model.rows.shape[1]) * 400), no_prices(model, len(parts_of(model))).fees)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_lone_task_has_its_cheapest_plan_at_any_prices(seed: int) -> None:
    """If not, a choice would pay for minutes that a task by itself could do without."""
    model = model_of(seed)
    parts = parts_of(model)
    best = [only_at_home(part) for part in parts]
    known = first_known(model, parts)
    for turn in range(4):
        prices = drawn(model, seed, turn)
        kept = deepen(known, prices, best)
        for number, part in enumerate(parts):
            if len(part.tasks) == 1:
                least, found = (
                    merit(part, some, model.rows @ prices.rows, prices.fees[number]).min()
                    for some in (every(part), kept[number])
                )
                assert found == least


@pytest.mark.parametrize("looks", [False, True])
@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_known_grows_and_what_is_kept_fits_with_the_best_in_it(seed: int, looks: bool) -> None:
    """If it shrank, a round could lose what an earlier one found; without the best the choice would start elsewhere."""
    model = model_of(seed, looks)
    parts = parts_of(model)
    best = [only_at_home(part) for part in parts]
    known = first_known(model, parts)
    for turn in range(3):
        before = [as_set(plans) for plans in known.plans]
        kept = deepen(known, drawn(model, seed, turn), best)
        for part, plans, old, some, home in zip(parts, known.plans, before, kept, best, strict=True):
            assert old <= as_set(plans)
            assert as_set(home) <= as_set(some) <= as_set(plans) | as_set(home)
            assert len(fitting(part, some).cost) == len(some.cost) <= 2 * KEPT
            assert len(as_set(some)) == len(some.cost)
