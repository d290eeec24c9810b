"""Plans of tasks by themselves, many at once: held against what each is told one by one, and against the whole."""

import numpy as np
import pytest

from tests.placing.arrays import model_of, whole
from tripplan.placing.alone import alone_in, known_beside, listed_at_once, opened_by_others, short_visits
from tripplan.placing.bunches import bunches_of
from tripplan.placing.descent import listed, priced
from tripplan.placing.model import Plans, parts_of
from tripplan.placing.search import search

SEEDS = range(12)


def told(plans: Plans) -> dict[bytes, tuple[float, bytes]]:
    return {own.tobytes(): (cost, spend.tobytes()) for own, cost, spend in zip(plans.own, plans.cost, plans.spend, strict=True)}  # fmt: skip


@pytest.mark.parametrize("looks", [False, True])
@pytest.mark.parametrize("seed", SEEDS)
def test_many_at_once_are_told_what_each_is_told_by_itself(seed: int, looks: bool) -> None:
    """If not, a job would be placed by a price that is not its own."""
    model = model_of(seed, looks)
    parts = parts_of(model)
    found = listed_at_once(alone_in(model, parts))
    assert found or not any(len(part.tasks) == 1 for part in parts) or looks
    for part in parts:
        if (task := int(part.tasks[0])) in found and len(part.tasks) == 1:
            alone = listed(part)
            assert told(found[task]) == told(alone)
            assert (found[task].own[0] == alone.own[0]).all()


@pytest.mark.parametrize("looks", [False, True])
@pytest.mark.parametrize("seed", SEEDS)
def test_beside_all_the_others_a_plan_costs_the_whole_no_more_than_is_told(seed: int, looks: bool) -> None:
    """If it did, exchanges would be taken that make the plan dearer. What stays open overnight may make it cheaper."""
    model = model_of(seed, looks)
    own, every = search(model).own, whole(model)
    users = model.need.T.astype(np.float64) @ own.astype(np.float64)
    alone = alone_in(model, bunches_of(model).parts)
    looked = model.looks.made(users[None] > 0)[0]
    opened = opened_by_others(alone, own, users, looked)
    now, exact, tried = priced(every, own[None]), 0, 0
    for task, plans in known_beside(alone, own, opened, [np.zeros(len(model.rows))]).items():
        assert (plans.own[0, 0] == own[task]).all()
        several = np.repeat(own[None], len(plans.cost), axis=0)
        several[:, task] = plans.own[:, 0]
        exactly = priced(every, several)
        more = exactly.cost - now.cost - (plans.cost - plans.cost[0])
        takes = exactly.spend - now.spend - (plans.spend - plans.spend[0])
        assert (more <= 1e-6).all() and (takes <= 1e-6).all()
        exact, tried = exact + int((np.abs(more) <= 1e-6).sum()), tried + len(more)
    assert exact >= 0.8 * tried


def test_no_more_than_two_visits_are_listed_and_each_once() -> None:
    """If not, the choice would grow with the trip beyond what can be gone through."""
    for sites in range(1, 7):
        visits = short_visits(sites)[:, 0]
        assert len({row.tobytes() for row in visits}) == len(visits) == 1 + sites + sites * (sites - 1) // 2
        assert int(visits.sum(axis=1).max()) == min(sites, 2)


def test_what_brings_looks_or_takes_longer_by_turn_is_left_to_be_priced_by_itself() -> None:
    """If it were not, the look that follows would be done for nothing."""
    for seed in SEEDS:
        model = model_of(seed, True)
        brings = model.need[:, np.unique(model.looks.by)].any(axis=1)
        assert not brings[alone_in(model, bunches_of(model).parts).tasks].any()
