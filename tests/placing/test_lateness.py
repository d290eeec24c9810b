"""The price of lateness: its formulas, and what they have to mean to a person.

The age of least cost with minimal repair is eta (cp / ((beta - 1) cm))^(1 / beta) (Barlow and
Hunter 1960, memory; the same formula as tau in the exercises of J. Vatn, read); 446.658 for
costs 1 and 5, shape 2.5 and scale 1000 is an arithmetic check worked from it.
"""

import inspect
import re
from collections.abc import Callable
from itertools import pairwise
from math import log, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.published.printed import agrees
from tripplan.placing import lateness as law
from tripplan.records.problems import OutOfRange

SHAPES = st.floats(1.5, 4.0)
PRICES = st.floats(1.0, 1e4)
WORKED = re.compile(r"^    Worked     (.+) -> (\S+)$", re.M)
MODELS = [
    function for name, function in inspect.getmembers(law, inspect.isfunction)
    if function.__module__ == law.__name__ and not name.startswith("_")
]  # fmt: skip


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.__name__)
def test_worked_numbers(model: object) -> None:
    """A price in the plan would come from a formula whose own example is wrong."""
    worked = WORKED.search(model.__doc__ or "")
    assert worked
    assert agrees(worked.group(2), float(eval(worked.group(1), vars(law)))), worked.group(1)


def test_the_interval_is_the_age_of_least_cost() -> None:
    """If not, P / (b - 1) would not be what the failures up to the interval cost."""
    shape, scale, repair = 2.5, 1000.0, 5.0
    best_age = scale * (1.0 / ((shape - 1.0) * repair)) ** (1 / shape)
    assert agrees("446.658", best_age)
    assert float(law.lateness(1.0, 1.0, shape)) == pytest.approx(repair * (best_age / scale) ** shape)


@given(PRICES, SHAPES)
def test_at_the_interval_the_next_km_costs_what_the_average_one_does(price: float, shape: float) -> None:
    """If not, the interval would not be the best time at home."""
    step = 1e-6
    slope = (law.lateness(1 + step, price, shape) - law.lateness(1 - step, price, shape)) / (2 * step)
    assert slope == pytest.approx(law.least_rate(price, shape), rel=1e-6)
    assert law.least_rate(price, shape) == pytest.approx(price + law.lateness(1.0, price, shape))


@given(PRICES, SHAPES, st.floats(0.0, 3.0), st.floats(0.0, 3.0))
def test_the_worth_of_a_state_runs_from_nothing_to_the_price(
    price: float, shape: float, one: float, other: float
) -> None:
    """If not, early work would look free, or a worn part better than a new one."""
    low, high = sorted((one, other))
    assert (
        -1e-9 * price <= law.worth_of_state(low, price, shape) <= law.worth_of_state(high, price, shape) + 1e-9 * price
    )
    assert law.worth_of_state(0.0, price, shape) == pytest.approx(0.0, abs=1e-9 * price)
    assert law.worth_of_state(high + 1.0, price, shape) == pytest.approx(price)


def cost_over(horizon: float, first: float, age: float, price: float, shape: float) -> float:
    """Act once at a share `first` from now, then always at the interval; the end valued at its worth."""
    total, at, used = 0.0, 0.0, age
    turns = [first]
    while turns[-1] < horizon:
        turns.append(turns[-1] + 1.0)
    for now in [turn for turn in turns if turn <= horizon]:
        total += law.lateness(used + now - at, price, shape) - law.lateness(used, price, shape) + price
        at, used = now, 0.0
    total += law.lateness(used + horizon - at, price, shape) - law.lateness(used, price, shape)
    return float(total + law.worth_of_state(used + horizon - at, price, shape))


@pytest.mark.parametrize("shape", [1.5, 2.0, 2.5, 3.5])
@pytest.mark.parametrize("age", [0.0, 0.3, 0.6, 0.95])
@pytest.mark.parametrize("horizon", [0.8, 1.7, 6.4])
def test_at_home_no_act_is_best_before_its_interval_or_past_it(shape: float, age: float, horizon: float) -> None:
    """If one were, the plan would ask for work that the owner's own interval calls too early, or let it lie.

    Every time in hundredths of an interval is tried, and doing nothing at all.
    """
    times = [step / 100 for step in range(0, round(100 * horizon) + 1)] + [horizon + 1.0]
    costs = {time: cost_over(horizon, time, age, 60.0, shape) for time in times}
    at_the_interval = 1.0 - age
    best = min(costs.values())
    told = cost_over(horizon, at_the_interval, age, 60.0, shape) if at_the_interval <= horizon else costs[horizon + 1.0]
    assert told <= best + 1e-6 * 60.0
    early = [time for time, cost in costs.items() if time < at_the_interval - 0.02 and cost <= best + 1e-6]
    assert not early


@given(st.floats(0.05, 0.9), st.floats(1.0, 20.0), st.floats(1.0, 20.0), SHAPES, st.floats(1.0, 5.0))
def test_dearer_standing_never_makes_an_act_later(
    age: float, one: float, other: float, shape: float, work: float
) -> None:
    """If it did, the plan would be bolder the further help is."""
    low, high = sorted((one, other))

    def best(dear: float) -> float:
        times = np.linspace(age, 1.5, 400)
        costs = dear * np.asarray(law.lateness(times, 60.0, shape)) + work * 60.0
        return float(times[np.argmin(costs / times)])

    assert best(high) <= best(low) + 1e-9


@given(st.floats(0, 200), st.floats(0, 200), st.floats(0, 1), st.floats(0, 500), st.floats(1, 1000))
def test_a_failure_is_never_cheaper_away_than_at_home(
    hours: float, more: float, strands: float, price: float, repair: float
) -> None:
    """If it were, the plan would put work off to where it is hardest."""
    near = law.dearness(hours, 3.0, strands, price, repair)
    assert 1.0 <= near <= law.dearness(hours + more, 3.0, strands, price, repair)


@given(st.floats(0.01, 5.0), st.floats(1.0, 3.0), SHAPES)
def test_doubt_is_averaged(share: float, ratio: float, shape: float) -> None:
    """If not, the reserve would not make lateness dearer. Held against a sum over 20 000 equal parts of the law."""
    spread = log(ratio) / 1.6448536269514722
    heights = np.linspace(-8, 8, 20001)
    weights = np.exp(-(heights**2) / 2)
    average = float(np.sum(weights * (share * np.exp(spread * heights)) ** shape) / np.sum(weights))
    assert law.mean_power(share, share * ratio, shape) == pytest.approx(average, rel=1e-4)
    several = np.asarray(law.mean_power(np.array([share, 0.0]), np.array([share * ratio, 0.0]), shape))
    assert several == pytest.approx([average, 0.0], rel=1e-4)


def test_the_trade_halves_its_intervals_far_from_help() -> None:
    """If not, the price of waiting would be another than the trade's own reckoning.

    Failures six times as dear: cheapest a km at (1 / 6)^(1 / 2) of the interval, at (4 / 6)^(1 / 2) where work is four
    times as dear (minimal repair, shape 2: the least of (w P + 6 L(u)) / u).
    """
    shares = np.linspace(0.01, 1.5, 14901)
    late = 6 * np.asarray(law.lateness(shares, 60.0, 2))
    for work, best in ((1, 1 / sqrt(6)), (4, sqrt(4 / 6))):
        assert shares[np.argmin((work * 60.0 + late) / shares)] == pytest.approx(best, abs=2e-4)


def test_shares_and_prices_that_cannot_be_are_refused() -> None:
    """If not, a wrong unit would become a price."""
    for call in (
        lambda: law.lateness(-0.1, 60, 2), lambda: law.lateness(1, -1, 2), lambda: law.lateness(1, 60, 1.0),
        lambda: law.failure_price(1, 2, 90, 300), lambda: law.dearness(-1, 3, 1, 90, 300),
        lambda: law.mean_power(float("nan"), 1, 2), lambda: law.shape_of("grease", 9),
    ):  # fmt: skip
        with pytest.raises(OutOfRange):
            call()


def test_what_hardly_ages_has_the_shape_of_a_habit() -> None:
    """If not, an act of shape 1 would have no price at all."""
    assert [law.shape_of("torque", shape) for shape in (1.0, 1.5, 3.0)] == [1.5, 1.5, 3.0]
    assert law.shape_of("look", 4.0) == law.shape_of("measure", 1.1) == 2.0
    assert all(a <= b for a, b in pairwise(law.lateness(u, 60, 1.5) for u in (0.0, 0.5, 1.0, 2.0)))


@pytest.mark.parametrize(
    ("inside", "outside"),
    [
        (lambda: law.dearness(1e4, 3, 1, 90, 300), lambda: law.dearness(10_000.5, 3, 1, 90, 300)),
        (lambda: law.dearness(48, 1e4, 1, 90, 300), lambda: law.dearness(48, 10_000.5, 1, 90, 300)),
        (lambda: law.failure_price(1e4, 1, 90, 300), lambda: law.failure_price(10_000.5, 1, 90, 300)),
        (lambda: law.failure_price(2, 0, 0, 300), lambda: law.failure_price(2, -0.01, 0, 300)),
        (lambda: law.failure_price(2, 1, 90, 1e-9), lambda: law.failure_price(2, 1, 90, 0)),
        (lambda: law.lateness(1, 0, 1.05), lambda: law.lateness(1, 0, 1.04)),
        (lambda: law.lateness(1, 0, 6.0), lambda: law.lateness(1, 0, 6.1)),
        (lambda: law.shape_of("grease", 6), lambda: law.shape_of("grease", 0.9)),
        (lambda: law.failures_at_interval(15, 1e-9, 2), lambda: law.failures_at_interval(15, 0, 2)),
    ],
)
def test_each_formula_holds_to_the_edge_that_its_docstring_names(
    inside: Callable[[], float], outside: Callable[[], float]
) -> None:
    """If not, it would answer where nobody has said that it holds, or refuse what it is for."""
    assert inside() >= 0
    with pytest.raises(OutOfRange):
        outside()
