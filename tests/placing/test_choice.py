"""Prices of minutes and the exchange of plans, by hand for two parts and against every choice of small pools."""

from itertools import product

import numpy as np
import pytest
from msgspec.structs import replace

from tests.placing.arrays import model_of
from tripplan.placing.choice import (
    Pool,
    Prices,
    best_prices,
    cheapest,
    dual_value,
    exchange,
    no_prices,
    pool_of,
    promising,
    total,
    worth_of,
)
from tripplan.placing.descent import fitting, listed, neighbours, only_at_home, single_changes
from tripplan.placing.model import Model, joined_plans, parts_of

SEEDS = range(10)


def by_hand(room: float = 10.0, fee: float = 0.0, fee_minutes: float = 0.0) -> Model:
    """One site with so many tenths of a minute, and a fee for setting out; nothing else of the model is read."""
    model = model_of(1)
    return replace(
        model, labour=np.zeros((1, 1)), rows=np.ones((1, 1)), room=np.array([room]), fee_cost=np.array([fee]),
        fee_spend=np.array([fee_minutes]),
    )  # fmt: skip


def pool(*plans: tuple[int, float, float, float]) -> Pool:
    """Plans as (part, cost, tenths of a minute, whether it works at the site)."""
    parts = [part for part, *_ in plans]
    first = [parts.index(part) for part in sorted(set(parts))]
    return Pool(
        part=np.array(parts), cost=np.array([p[1] for p in plans]), spend=np.array([[p[2]] for p in plans]),
        uses=np.array([[p[3]] for p in plans]), first=np.array([*first, len(parts)]),
    )  # fmt: skip


TWO = pool((0, 5000, 10, 1), (0, 8000, 4, 1), (1, 5000, 10, 1), (1, 9000, 6, 1))
"""Two parts that each would like the whole day: only the dearer plans of both go together."""


def test_only_both_exchanged_together_fit() -> None:
    """20 tenths in a day of 10: one exchanged alone is 14 or 16, both are 10 at 17000."""
    model = by_hand()
    assert total(model, TWO, np.array([0, 2])) == (10000.0, 10.0)
    assert total(model, TWO, np.array([1, 3])) == (17000.0, 0.0)
    assert exchange(model, TWO, np.array([0, 2])).tolist() == [1, 3]
    assert exchange(by_hand(20.0), TWO, np.array([1, 3])).tolist() == [0, 2]
    assert exchange(by_hand(14.0), TWO, np.array([0, 2])).tolist() == [1, 2]
    assert exchange(by_hand(16.0), TWO, np.array([0, 2])).tolist() == [1, 2]  # 13000; the other way is 14000


def test_what_one_frees_the_other_takes() -> None:
    """12 tenths, full at 14000. The second would take 6 more and save 7000, the first frees 6 for 3000: 10000 together."""
    two = pool((0, 5000, 10, 1), (0, 8000, 4, 1), (1, 9000, 2, 1), (1, 2000, 8, 1))
    assert exchange(by_hand(12.0), two, np.array([0, 2])).tolist() == [1, 3]
    assert exchange(by_hand(11.9), two, np.array([0, 2])).tolist() == [1, 2]  # then the saving has no room
    assert promising(by_hand(12.0), two, np.array([0, 2]), 5)[-1] == (3, 1)


def test_the_prices_of_minutes_tell_what_a_day_is_worth() -> None:
    """At 1000 a tenth of a minute both parts are as well off with less: 12000 and 15000, less 10 x 1000, are 17000."""
    model = by_hand()
    start = no_prices(model, 2)
    assert dual_value(model, TWO, start) == 10000.0
    assert dual_value(model, TWO, Prices(np.array([500.0]), start.fees)) == 15000.0
    assert dual_value(model, TWO, Prices(np.array([1000.0]), start.fees)) == 17000.0
    found = best_prices(model, TWO, start, 17000.0)
    assert dual_value(model, TWO, found) >= 0.995 * 17000


def test_minutes_without_end_have_no_price() -> None:
    """If they had, the bound would be endless as well."""
    found = best_prices(by_hand(np.inf), TWO, no_prices(by_hand(np.inf), 2), 10000.0)
    assert found.rows.tolist() == [0.0] and dual_value(by_hand(np.inf), TWO, found) == 10000.0


def test_setting_out_is_paid_once_and_shared() -> None:
    """A fee of 600 for two parts: 300 each; who stays away leaves all of it to the other."""
    model = by_hand(100.0, fee=600.0, fee_minutes=3.0)
    shared = pool((0, 100, 10, 1), (0, 500, 0, 0), (1, 100, 10, 1), (1, 400, 0, 0))
    assert no_prices(model, 2).fees.tolist() == [[300.0], [300.0]]
    assert worth_of(shared, no_prices(model, 2)).tolist() == [400.0, 500.0, 400.0, 400.0]
    assert total(model, shared, np.array([0, 2])) == (800.0, 0.0)
    assert total(model, shared, np.array([0, 3])) == (1100.0, 0.0)
    assert total(model, shared, np.array([1, 3])) == (900.0, 0.0)
    assert total(by_hand(20.0, 600.0, 3.0), shared, np.array([0, 2])) == (800.0, 3.0)
    assert exchange(model, shared, np.array([0, 3])).tolist() == [0, 2]
    found = best_prices(model, shared, no_prices(model, 2), 800.0)
    assert found.fees.sum() <= 600.0 and dual_value(model, shared, found) == pytest.approx(800.0, abs=10)
    dearer = pool((0, 100, 10, 1), (0, 200, 0, 0), (1, 100, 10, 1), (1, 200, 0, 0))
    assert exchange(by_hand(20.0, 600.0, 3.0), dearer, np.array([0, 2]))[0] in (0, 1)
    assert total(model, dearer, exchange(model, dearer, np.array([1, 3])))[0] == 400.0


def test_the_cheapest_of_each_part_ties_to_the_first() -> None:
    """If not, equal pools could give two choices."""
    assert cheapest(TWO, np.array([3.0, 3.0, 5.0, 4.0])).tolist() == [0, 3]
    assert cheapest(TWO, np.array([3.0, 2.0, 4.0, 4.0])).tolist() == [1, 2]


def small_pool(seed: int) -> tuple[Model, Pool]:
    """A few plans of each part of a small problem, whatever their minutes."""
    model = model_of(seed, seed % 2 == 1)
    none = np.zeros(len(model.rows)), np.zeros(model.sites)
    plans = []
    for part in parts_of(model):
        home = only_at_home(part)
        more = listed(part) if len(part.tasks) == 1 else joined_plans([
            home, fitting(part, neighbours(part, home, *none, every_task=True)), single_changes(part, home)
        ])  # fmt: skip
        plans.append(more.take(np.arange(min(9, len(more.cost)))))
    return model, pool_of(model, plans)


def choices(given: Pool) -> np.ndarray:
    """Every choice of one plan a part."""
    return np.array(list(product(*(range(a, b) for a, b in zip(given.first, given.first[1:], strict=False)))))


@pytest.mark.parametrize("seed", SEEDS)
def test_no_prices_tell_more_than_the_best_choice(seed: int) -> None:
    """If they did, a gap would be told that is not proven (weak duality); better prices tell no less."""
    model, given = small_pool(seed)
    values = [total(model, given, one) for one in choices(given)]
    best = min(cost for cost, over in values if over == 0.0)
    start = no_prices(model, given.count)
    found = best_prices(model, given, start, best)
    assert dual_value(model, given, start) <= dual_value(model, given, found) <= best + 1e-6
    assert (found.fees.sum(axis=0) <= model.fee_cost + model.fee_rows @ found.rows + 1e-6).all()
    for values_of in (found.rows, found.fees):
        assert (values_of == np.rint(values_of)).all() and (values_of >= 0).all()


@pytest.mark.parametrize("seed", SEEDS)
def test_an_exchange_ends_where_none_and_no_two_are_better(seed: int) -> None:
    """If not, it would leave a plan that an owner finds by moving a single job; what fits goes on fitting."""
    model, given = small_pool(seed)
    start = given.first[:-1]
    found = exchange(model, given, start)
    cost, over = total(model, given, found)
    before, short = total(model, given, start)
    assert over <= short and (short > 0 or cost <= before)
    every = choices(given)
    apart = (every != found).sum(axis=1)
    for one in every[apart == 1]:
        now = total(model, given, one)
        assert now[0] + 1e6 * now[1] >= cost + 1e6 * over - 1e-6
    frees = given.spend < given.spend[found[given.part]]
    rows = np.isfinite(model.room)
    for one in every[apart == 2]:
        if any(frees[index][rows].any() for index in one[one != found]):
            now = total(model, given, one)
            assert now[0] + 1e6 * now[1] >= cost + 1e6 * over - 1e-6


@pytest.mark.parametrize("seed", SEEDS)
def test_what_looks_promising_is_better_or_nearly(seed: int) -> None:
    """If not, the last step of the search would try exchanges that cannot pay."""
    model, given = small_pool(seed)
    start = given.first[:-1]
    cost, over = total(model, given, start)
    now = cost + 1e6 * over
    found = promising(model, given, start, 20)
    for swap in found:
        chosen = start.copy()
        for index in swap:
            assert index not in start
            chosen[given.part[index]] = index
        assert len({int(given.part[index]) for index in swap}) == len(swap)
        there = total(model, given, chosen)
        value = there[0] + 1e6 * there[1]
        assert value < now if len(swap) == 2 else value < now + 0.01 * abs(now)
    singles = [c for c in choices(given) if (c != start).sum() == 1]
    values = {int(c[c != start][0]): total(model, given, c) for c in singles}
    better = {index for index, (c, o) in values.items() if c + 1e6 * o < now}
    assert not better or min(better, key=lambda i: values[i][0] + 1e6 * values[i][1]) in {
        s[0] for s in found if len(s) == 1
    }


@pytest.mark.parametrize("seed", SEEDS)
def test_a_pool_holds_every_plan_of_every_part(seed: int) -> None:
    """If not, the exchange would change the wrong part."""
    model, given = small_pool(seed)
    assert given.count == len(parts_of(model)) == len(given.first) - 1
    assert given.first[0] == 0 and given.first[-1] == len(given.cost) == len(given.part)
    for number in range(given.count):
        assert (given.part[given.first[number] : given.first[number + 1]] == number).all()
