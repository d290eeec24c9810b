"""The steps of the search within one part, against every plan there is of a small one."""

from itertools import combinations, product
from random import Random

import numpy as np
import pytest

from tests.placing.arrays import as_flags, as_set, model_of, small, some_visits, whole
from tests.placing.small_placements import is_allowed, minutes, worth
from tripplan.placing.descent import (
    best_paths,
    cheapest_visits,
    descend,
    fitting,
    listed,
    merit,
    neighbours,
    only_at_home,
    priced,
    shortest,
    single_changes,
)
from tripplan.placing.model import NEVER, Floats, Part, Plans, parts_of

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


def path_cost(arc: Floats, again: Floats, visit: Floats, own: set[int], through: set[int]) -> float:
    """One way from today to the end, step by step."""
    at, total = 0, 0.0
    for s in sorted(own | through):
        total += arc[at, s] + (visit[s] + again[at, s] if s in own else 0.0)
        at = s + 1
    return total + float(arc[at, len(visit)])


@pytest.mark.parametrize("seed", range(25))
def test_the_shortest_path_is_the_cheapest_of_all(seed: int) -> None:
    """If not, the search would leave the cheapest plan at prices that it knows; every set of visits is tried."""
    draw, sites = np.random.default_rng(seed), 4
    arc = np.where(np.triu(np.ones((sites + 1, sites + 1))) > 0, draw.integers(0, 100, (sites + 1, sites + 1)), NEVER)
    arc = np.where(draw.random(arc.shape) < 0.1, NEVER, arc)
    arc[:, sites] = draw.integers(0, 200, sites + 1)
    again = np.where(draw.random(arc.shape) < 0.2, NEVER, draw.integers(0, 20, arc.shape)).astype(float)
    visits = np.where(draw.random(sites) < 0.2, NEVER, draw.integers(0, 50, sites)).astype(float)
    through, forced = draw.random(sites) < 0.25, draw.random(sites) < 0.15
    found = shortest(
        arc[None], again[None], visits[None, None], through[None, None], forced[None, None]
    )[0, 0]  # fmt: skip
    passed = set(np.flatnonzero(through).tolist())
    asked = set(np.flatnonzero(forced).tolist()) - passed
    free = sorted(set(range(sites)) - passed - asked)
    ways = [asked | set(more) for size in range(len(free) + 1) for more in combinations(free, size)]
    least = min(path_cost(arc, again, visits, own, passed) for own in ways)
    if least < NEVER:
        assert path_cost(arc, again, visits, set(np.flatnonzero(found).tolist()), passed) == least


def test_of_two_ways_as_cheap_the_one_from_the_earlier_start_is_taken() -> None:
    """If not, equal problems could give two plans: to go on from today, or to renew at no price."""
    arc = np.zeros((1, 3, 3))
    zeros, none = np.zeros((1, 1, 2)), np.zeros((1, 1, 2), dtype=bool)
    assert not shortest(arc, np.zeros((1, 3, 3)), zeros, none, none).any()


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
    end, met = descend(part, start, price, fee)
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
    _, met = descend(part, only_at_home(part), *none)
    assert met.cost.min() <= every(part).cost.min() * 1.1


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


def test_paths_at_no_price_of_visits_do_no_work_that_costs() -> None:
    """Visits at a price of NEVER are made by nobody, unless they have to be."""
    part = whole(model_of(3))
    visit = np.full((1, *part.model.labour.shape), NEVER)
    forced = np.zeros(visit.shape, dtype=bool)
    able = np.argwhere(part.model.labour < NEVER)[0]
    forced[0, able[0], able[1]] = True
    assert best_paths(part, visit, forced).own[0, able[0], able[1]]
