"""Expected failures from a Weibull life; the arithmetic checks are worked from the formula alone.

Formula of conditional reliability: reliawiki.com, read; that page gives no numbers. The
figures below were computed from it apart from this package and are arithmetic checks, not
printed ones. The library "reliability" prints 493.19 for an age-replacement optimum with
these costs and this shape (read in its documentation); it follows from the same hazard.
"""

from math import exp, gamma, log
from random import Random

import numpy as np
import pytest

from tests.published.printed import agrees
from tripplan.placing.risk import cumulative_hazard, missed_failures

# At this percentile the interval is the characteristic life itself: -ln(1 - p) = 1.
CHARACTERISTIC = 1 - exp(-1)


def hazard(age: float, shape: float, scale: float) -> float:
    """Cumulative hazard at an age, with the scale as the interval."""
    return float(cumulative_hazard(age / scale, shape, CHARACTERISTIC))


@pytest.mark.parametrize(
    ("shape", "scale", "age", "printed"),
    [(1, 200000, 0, "0.0225"), (2.5, 90000, 60000, "0.0719161"), (3, 120000, 80000, "0.0528652")],
)
def test_expected_failures_on_a_leg(shape: float, scale: float, age: float, printed: str) -> None:
    """Otherwise the price of standing still would be wrong: 3000 km at a wear of 1.5."""
    assert agrees(printed, hazard(age + 4500, shape, scale) - hazard(age, shape, scale))


def test_conditional_reliability() -> None:
    """Otherwise an old part would be taken for a new one: shape 2.5, scale 60000, 5000 km more at 40000."""
    assert agrees("0.883157", exp(hazard(40000, 2.5, 60000) - hazard(45000, 2.5, 60000)))
    assert agrees("0.997997", exp(-hazard(5000, 2.5, 60000)))


def test_the_interval_is_the_stated_percentile_of_life() -> None:
    """Otherwise ten in a hundred would mean something else: B10 40000 and shape 2.5 give scale 98398.58."""
    assert 1 - exp(-cumulative_hazard(1.0, 2.5, 0.10)) == pytest.approx(0.10)
    assert cumulative_hazard(98398.58 / 40000, 2.5, 0.10) == pytest.approx(1.0, abs=1e-6)


def test_failures_add_over_legs() -> None:
    """Otherwise cutting a leg in two would change what standing still costs."""
    whole = hazard(9000, 2.5, 60000) - hazard(3000, 2.5, 60000)
    parts = hazard(5000, 2.5, 60000) - hazard(3000, 2.5, 60000) + hazard(9000, 2.5, 60000) - hazard(5000, 2.5, 60000)
    assert whole == pytest.approx(parts)


def test_age_replacement_optimum_agrees_with_a_printed_one() -> None:
    """Otherwise the hazard would favour renewing too early or too late.

    Planned cost 1, failure cost 5, shape 2.5, scale 1000: 493.19 is printed in the documentation
    of the library "reliability", found on a grid there; 0.2 is that grid's coarseness.
    """
    shape, scale = 2.5, 1000.0

    def cost_per_km(age: float) -> float:
        steps = 2000
        width = age / steps
        ages = [width * (n + 0.5) for n in range(steps)]
        survived = sum(exp(-hazard(at, shape, scale)) for at in ages) * width
        alive = exp(-hazard(age, shape, scale))
        return (alive + 5 * (1 - alive)) / survived

    low, high = 300.0, 800.0
    for _ in range(60):
        third = (high - low) / 3
        low, high = (low, high - third) if cost_per_km(low + third) < cost_per_km(high - third) else (low + third, high)
    assert low == pytest.approx(493.19, abs=0.2)


def test_mean_life_of_the_same_law() -> None:
    """Otherwise the law would not be the one of the formula: mean life is scale x gamma(1 + 1 / shape)."""
    steps, width = 4000, 50.0
    area = sum(exp(-hazard(width * (n + 0.5), 2.5, 60000)) for n in range(steps)) * width
    assert area == pytest.approx(60000 * gamma(1 + 1 / 2.5), rel=1e-4)


def test_median_life() -> None:
    """Otherwise half the parts would not have failed where the law says."""
    assert hazard(60000 * log(2) ** (1 / 2.5), 2.5, 60000) == pytest.approx(log(2))


# Delay time, Christer and Waller 1984 (memory): the share b of faults that become failures when looked at every T is
# 1 - (1 - exp(-T / w)) / (T / w) for an exponential warning of mean w. The figures below were worked out from that
# formula apart from this package; the rates and costs of the textbook sets are recalled, so take them as ours.


def missed(interval: float, faults: float, warning: float) -> float:
    """Failures from one look to the next, in the unit of the interval."""
    return float(missed_failures(np.array(interval), faults, warning))


def least_at(cost: object, low: float, high: float) -> float:
    """Where a cost with one valley is least."""
    for _ in range(100):
        third = (high - low) / 3
        falls = cost(low + third) < cost(high - third)  # type: ignore[operator]
        low, high = (low, high - third) if falls else (low + third, high)
    return low


def test_share_of_faults_that_a_look_misses() -> None:
    """Otherwise a look would seem to find more, or less, than it does: rate 0.05, every 10."""
    assert agrees("0.213061", missed(10, 1.0, 20) / 10)
    assert agrees("0.16251", missed(1463.3, 1.0, 4000) / 1463.3)


def test_look_interval_of_least_downtime() -> None:
    """Otherwise looks would be placed too close or too far apart: faults 0.1, warning 20, look 0.35, failure 0.5."""

    def downtime(interval: float) -> float:
        return (missed(interval, 0.1, 20) * 0.5 + 0.35) / (interval + 0.35)

    best = least_at(downtime, 1, 100)
    assert agrees("24.0217", best)
    assert agrees("0.0349566", downtime(best))


def test_look_interval_of_least_cost_on_tour() -> None:
    """Otherwise the price of a missed look would be off: look 40, repair 150, failure 3000, warning 4000 km."""
    rate, warning = 1 / 15000, 4000

    def cost_per_km(interval: float) -> float:
        failures = missed(interval, rate, warning)
        return (40 + failures * 3000 + (rate * interval - failures) * 150) / interval

    best = least_at(cost_per_km, 100, 9000)
    assert agrees("1463.3", best)
    assert agrees("0.0682118", cost_per_km(best))
    assert agrees("0.0995487", cost_per_km(5000))


def test_missed_failures_by_chance() -> None:
    """Otherwise formula and story could differ: faults thrown at random, each with a warning of its own."""
    rng = Random(1)
    trials, interval, warning = 200_000, 1.5, 2.0
    failed = sum(rng.uniform(0, interval) + rng.expovariate(1 / warning) < interval for _ in range(trials))
    assert missed(interval, 1.0, warning) == pytest.approx(failed / trials * interval, rel=0.01)
