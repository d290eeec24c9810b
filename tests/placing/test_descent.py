"""The steps of the search within one part, against every plan there is of a small one."""

from itertools import product
from random import Random

import numpy as np
import pytest
from msgspec.structs import replace

from tests.placing.arrays import as_flags, as_set, model_of, small, some_visits, whole
from tests.placing.small_placements import is_allowed, minutes, worth
from tripplan.placing.descent import (
    descend,
    fitting,
    listed,
    merit,
    neighbours,
    only_at_home,
    priced,
    single_changes,
)
from tripplan.placing.model import NEVER, Part, Plans, parts_of
from tripplan.placing.paths import cheapest_visits

SEEDS = range(12)


@pytest.mark.parametrize("looks", [False, True])
@pytest.mark.parametrize("seed", SEEDS)
def test_any_plan_costs_what_it_costs(seed: int, looks: bool) -> None:
    """If not, the search would compare plans by a figure that is not theirs; against an arithmetic of its own."""
    given, model = small(seed, looks), model_of(seed, looks)
    several = some_visits(given, seed, 300)
    plans = priced(whole(model), as_flags(given, several))
    fees = plans.uses.astype(np.float64)
    cost, rows = plans.cost + fees @ model.fee_cost, plans.spend @ model.rows + fees @ model.fee_rows
    seen = 0
    for visits, thousandths, tenths in zip(several, cost, rows, strict=True):
        able = all(model.labour[index, s] < NEVER for index, at in enumerate(visits) for s in at)
        twice = any(set(visits[index]) & set(visits[c]) for index, by in enumerate(given.covered_by) for c in by)
        if able and not twice:
            assert (thousandths < NEVER) == is_allowed(given, visits)
        if thousandths < NEVER:
            seen += 1
            assert is_allowed(given, visits)
            assert thousandths / 1000 == pytest.approx(worth(given, visits), abs=0.05)
            assert tenths[: len(given.sites)] / 10 == pytest.approx(minutes(given, visits), abs=0.5)
    assert seen


@pytest.mark.parametrize("seed", SEEDS)
def test_work_at_home_that_is_spoilt_on_a_later_day_costs_its_visit_again(seed: int) -> None:
    """If not, new linings would go on a day before the hub behind them comes off; on the same day they go on last."""
    given, model = small(seed), model_of(seed)
    days, by = 2 + seed % 2, tuple(range(min(2, model.need.shape[1])))
    spoilt = replace(model, home=days, spoilt=((0, by),))
    own = as_flags(given, some_visits(given, seed, 200))
    before, after = priced(whole(model), own), priced(whole(spoilt), own)
    users = np.flatnonzero(model.need[:, list(by)].any(axis=1)).tolist()
    for one, more in zip(own, after.cost - before.cost, strict=True):
        opened = {s for row in users for s in range(days) if one[row, s]}
        again = [s for s in range(days) if one[0, s] and any(day > s for day in opened)]
        assert more == sum(min(model.labour[0, s], NEVER) for s in again)
    assert (after.spend == before.spend).all()


def alone(seed: int) -> Part:
    """A part of one task."""
    for more in range(seed, seed + 60):
        found = [part for part in parts_of(model_of(more, more % 2 == 0)) if len(part.tasks) == 1]
        if found:
            return found[-1]
    raise AssertionError("no task by itself")


def every(part: Part) -> Plans:
    """Every plan of a small part that can be and fits."""
    shape = part.model.labour.shape
    able = [[False, True] if one < NEVER else [False] for one in part.model.labour.ravel()]
    own = np.array(list(product(*able)), dtype=bool).reshape(-1, *shape)
    return fitting(part, priced(part, own))


@pytest.mark.parametrize("seed", range(0, 120, 10))
def test_a_task_by_itself(seed: int) -> None:
    """Its list holds every plan of two visits at the most that fits; at any prices the cheapest of all is found."""
    part = alone(seed)
    model, known = part.model, every(part)
    two = as_set(known.take(known.own.sum(axis=(1, 2)) <= 2))
    assert two <= as_set(listed(part)) <= two | as_set(only_at_home(part))
    draw = np.random.default_rng(seed)
    for _ in range(3):
        price = model.rows @ np.round(draw.random(model.rows.shape[1]) * 500)
        fee = np.round(draw.random(model.sites) * 5000)
        found = fitting(part, priced(part, cheapest_visits(part, price, fee[None])[None]))
        if len(found.cost):
            assert merit(part, found, price, fee)[0] == pytest.approx(merit(part, known, price, fee).min())


@pytest.mark.parametrize("seed", SEEDS)
def test_only_at_home_does_nothing_before(seed: int) -> None:
    """If it did, the search would start from a plan that may not fit."""
    part = whole(model_of(seed))
    plan = only_at_home(part)
    assert plan.own.shape[0] == 1 and not plan.own[:, :, :-1].any() and plan.cost[0] < NEVER


def a_plan(part: Part, seed: int) -> Plans:
    """One plan that can be and fits, drawn."""
    draw, known = Random(seed), only_at_home(part)
    for _ in range(4):
        several = fitting(part, single_changes(part, known))
        if not len(several.cost):
            break
        known = several.take(np.array([draw.randrange(len(several.cost))]))
    return known


@pytest.mark.parametrize("seed", SEEDS)
def test_single_changes_are_all_there_are(seed: int) -> None:
    """One visit more, one less, or one at another place: no other plan, and none forgotten."""
    part = whole(model_of(seed, seed % 2 == 0))
    plan = a_plan(part, seed)
    own, able = plan.own[0], part.model.labour < NEVER
    wanted = set()
    for t, s in np.argwhere(able & ~own).tolist():
        more = own.copy()
        more[t, s] = True
        wanted.add(tuple(more.ravel().tolist()))
    for t, s in np.argwhere(own).tolist():
        less = own.copy()
        less[t, s] = False
        wanted.add(tuple(less.ravel().tolist()))
        for other in np.flatnonzero(able[t]).tolist():
            if other != s:
                moved = less.copy()
                moved[t, other] = True
                wanted.add(tuple(moved.ravel().tolist()))
    shape = own.shape
    flags = np.array(sorted(wanted), dtype=bool).reshape(-1, *shape)
    can_be = priced(part, flags)
    assert as_set(single_changes(part, plan)) == as_set(can_be.take(can_be.cost < NEVER))


@pytest.mark.parametrize("seed", SEEDS)
def test_every_visit_can_be_forced_and_forbidden(seed: int) -> None:
    """If not, a visit that pays for another would never be tried."""
    part = whole(model_of(seed))
    model, plan = part.model, a_plan(part, seed)
    none = np.zeros(len(model.rows)), np.zeros(model.sites)
    found = neighbours(part, plan, *none, every_task=True)
    done = found.own | ((part.cover.astype(np.float64) @ found.own.astype(np.float64) > 0) & model.counts)
    for t, s in np.argwhere(model.labour < NEVER).tolist():
        if plan.own[0, t, s]:
            assert (~found.own[:, t, s]).any()
        else:
            assert done[:, t, s].any()


@pytest.mark.parametrize("seed", SEEDS)
def test_a_descent_ends_where_no_move_is_better(seed: int) -> None:
    """If not, it would stop on the way; what it met fits, and it never ends dearer than it began."""
    part, draw = whole(model_of(seed, seed % 2 == 1)), np.random.default_rng(seed)
    model = part.model
    price, fee = model.rows @ np.round(draw.random(model.rows.shape[1]) * 100), model.fee_cost
    start = only_at_home(part)
    end, met, _ = descend(part, start, price, fee)
    assert merit(part, end, price, fee)[0] <= merit(part, start, price, fee)[0]
    assert len(met.cost) and as_set(fitting(part, met)) == as_set(met)
    assert merit(part, neighbours(part, end, price, fee), price, fee).min() >= merit(part, end, price, fee)[0]
    if len(fitting(part, end).cost):
        assert as_set(end) <= as_set(met)


@pytest.mark.parametrize("seed", [1, 2, 4, 7])
def test_a_descent_finds_the_best_of_a_small_part(seed: int) -> None:
    """With minutes and fees free, within a tenth of the best of all plans that fit, one by one."""
    model = model_of(seed)
    part = min(parts_of(model), key=lambda one: abs(len(one.tasks) - 2))
    none = np.zeros(len(model.rows)), np.zeros(model.sites)
    _, met, weighed = descend(part, only_at_home(part), *none)
    assert met.cost.min() <= every(part).cost.min() * 1.1 and weighed >= len(met.cost)


def test_what_overflows_has_a_price() -> None:
    """Two plans that differ by minutes that are not there: the price is that of each tenth of a minute over."""
    model = model_of(2)
    part = whole(model)
    plans = priced(part, as_flags(small(2), some_visits(small(2), 5, 30)))
    none = np.zeros(len(model.rows)), np.zeros(model.sites)
    taken = plans.spend @ model.rows + plans.uses.astype(float) @ model.fee_rows
    over = np.maximum(taken - model.room, 0.0).sum(axis=1)
    assert merit(part, plans, *none, 7.0) == pytest.approx(plans.cost + 7.0 * over)
    assert (over > 0).any() and set(fitting(part, plans).cost) == set(plans.cost[(over == 0) & (plans.cost < NEVER)])
