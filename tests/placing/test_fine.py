"""The last step of the search: single visits exchanged, each step cheaper for the whole, priced exactly."""

import numpy as np
import pytest

from tests.placing.arrays import model_of, whole
from tripplan.placing.bunches import means_of, whole_cost
from tripplan.placing.descent import fitting, only_at_home, priced, single_changes
from tripplan.placing.fine import all_anew, refine
from tripplan.placing.model import NEVER, Floats, parts_of

SEEDS = range(12)


def prices(seed: int) -> Floats:
    """Prices of the rows of minutes, drawn."""
    return np.asarray(np.round(np.random.default_rng(seed).random(model_of(seed).rows.shape[1]) * 100))


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_refined_is_never_dearer_and_no_single_change_is_cheaper(seed: int) -> None:
    """If one were, an owner would find a better plan by moving a single job."""
    model = model_of(seed, seed % 2 == 1)
    part = whole(model)
    start = only_at_home(part).own[0]
    found = refine(means_of(model), start)
    cost = whole_cost(model, part, found)
    assert cost <= whole_cost(model, part, start)
    now = priced(part, found[None])
    for own in fitting(part, single_changes(part, now)).own:
        assert whole_cost(model, part, own) >= cost
    again = refine(means_of(model), found)
    assert (again == found).all()


@pytest.mark.parametrize("seed", SEEDS)
def test_prices_only_guide(seed: int) -> None:
    """At whatever prices of the minutes, what comes out is no dearer than what went in."""
    model = model_of(seed)
    part = whole(model)
    start = only_at_home(part).own[0]
    found = refine(means_of(model, prices(seed)), start)
    assert whole_cost(model, part, found) <= whole_cost(model, part, start) < NEVER


@pytest.mark.parametrize("seed", SEEDS)
def test_with_all_days_planned_anew_the_whole_fits_and_is_no_dearer(seed: int) -> None:
    """If it were, more room than there is would be promised: choices are made as if every day had a little more."""
    model = model_of(seed, seed % 2 == 1)
    part, means = whole(model), means_of(model)
    start = refine(means, only_at_home(part).own[0])
    found = all_anew(means, start, (means.bunches.parts, parts_of(model)))
    assert whole_cost(model, part, found) <= whole_cost(model, part, start) < NEVER
    assert (all_anew(means, found, (means.bunches.parts, parts_of(model))) == found).all()


def test_of_too_many_days_at_once_nothing_is_planned_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """If it were, twelve days at home and ten stops would take a minute."""
    model = model_of(1)
    means = means_of(model)
    start = only_at_home(whole(model)).own[0]
    monkeypatch.setattr("tripplan.placing.fine.MOST_AT_ONCE", 0)
    monkeypatch.setattr("tripplan.placing.fine.best_choice", lambda *_, **__: pytest.fail("gone through"))
    assert (all_anew(means, start, (means.bunches.parts,)) == start).all()
