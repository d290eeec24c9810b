"""Plans of bunches beside all the others: the plan of now first, each told with what the whole costs for it."""

import numpy as np
import pytest

from tests.placing.arrays import as_flags, model_of, small, some_visits, whole
from tests.placing.small_placements import fits, minutes, worth
from tripplan.placing.bunches import bunches_of, means_of, stand, whole_cost
from tripplan.placing.choice import total
from tripplan.placing.descent import priced
from tripplan.placing.model import NEVER
from tripplan.placing.search import search

SEEDS = range(12)


@pytest.mark.parametrize("looks", [False, True])
@pytest.mark.parametrize("seed", SEEDS)
def test_visits_cost_what_they_cost_and_more_than_anything_where_they_do_not_fit(seed: int, looks: bool) -> None:
    """If not, the search would end with a plan that no day holds; against an arithmetic of its own."""
    given, model = small(seed, looks), model_of(seed, looks)
    part = whole(model)
    for visits, own in zip(several := some_visits(given, seed, 60), as_flags(given, several), strict=True):
        cost = whole_cost(model, part, own)
        if cost < NEVER:
            assert fits(given, visits) and cost / 1000 == pytest.approx(worth(given, visits), abs=0.05)
        elif priced(part, own[None]).cost[0] < NEVER:
            near = [
                abs((site.minutes or 1e9) - used)
                for site, used in zip(given.sites, minutes(given, visits), strict=True)
            ]
            assert not fits(given, visits) or min(near) < 0.5 or given.ceilings.trip_minutes is not None


def test_bunches_hold_each_task_once_with_all_that_do_it_on_the_way() -> None:
    """If not, a task would be moved by two bunches, or its cheapest path be sought without those that do it."""
    for seed in SEEDS:
        model = model_of(seed)
        found = bunches_of(model)
        assert sorted(int(t) for part in found.parts for t in part.tasks) == list(range(len(model.labour)))
        for part in found.parts:
            tasks = {int(t) for t in part.tasks}
            assert all(set(model.covers[t]) <= tasks for t in tasks)


@pytest.mark.parametrize("seed", SEEDS)
def test_one_bunch_on_another_plan_costs_no_more_than_is_told(seed: int) -> None:
    """If it did, exchanges would be taken that make the plan dearer. What stays open overnight may make it cheaper."""
    model = model_of(seed, seed % 2 == 1)
    own, draw = search(model).own, np.random.default_rng(seed)
    means = means_of(model)
    left, pool, plans = stand(means, own, means.bunches.parts)
    now = pool.first[:-1]
    assert all((some.own[0] == own[part.tasks]).all() for some, part in zip(plans, means.bunches.parts, strict=True))
    before, exact, tried = means.cost(own) - total(left, pool, now)[0], 0, 0
    for spot in draw.permutation(len(pool.cost))[:120].tolist():
        number, chosen, other = int(pool.part[spot]), now.copy(), own.copy()
        chosen[number] = spot
        other[means.bunches.parts[number].tasks] = plans[number].own[spot - pool.first[number]]
        cost, over = total(left, pool, chosen)
        if over == 0.0:
            assert means.cost(other) <= before + cost + 1.0
            exact, tried = exact + (abs(means.cost(other) - before - cost) <= 1.0), tried + 1
    assert exact >= 0.8 * tried > 0


@pytest.mark.parametrize("seed", SEEDS)
def test_a_task_by_itself_is_offered_its_cheapest_plan_where_there_is_room(seed: int) -> None:
    """If it were not, a job that needs two more visits at once would pass its limit beside an empty day."""
    model = model_of(seed)
    means = means_of(model)
    nothing = np.zeros(model.labour.shape, dtype=bool)
    nothing[:, -1] = model.labour[:, -1] < NEVER
    *_, plans = stand(means, nothing, means.bunches.parts)
    for some, part in zip(plans, means.bunches.parts, strict=True):
        if len(part.tasks) == 1:
            sites = np.flatnonzero(part.model.labour[0] < NEVER)
            several = np.zeros((2 ** len(sites), 1, model.sites), dtype=bool)
            for number in range(len(several)):
                several[number, 0, sites] = [number >> place & 1 for place in range(len(sites))]
            able = [
                own for own in several if whole_cost(model, whole(model), _beside(nothing, part.tasks[0], own)) < NEVER
            ]
            least = min(priced(part, own[None]).cost[0] for own in able)
            assert some.cost.min() <= least + 1.0


def _beside(own: np.ndarray, task: int, visits: np.ndarray) -> np.ndarray:
    found = own.copy()
    found[task] = visits[0]
    return found
