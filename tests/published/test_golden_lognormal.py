"""Lognormal doubts: error factor, spread, and a sum of several.

Read: error factor, spread and mean of a lognormal law on a software page (uranie.cea.fr): with an
error factor EF, high over median, sigma = ln EF / 1.645 and mean = median exp(sigma^2 / 2).
"""

import math

import numpy as np
import pytest

from tests.published.printed import agrees
from tripplan.wear.mechanisms.uncertain import NODES, WEIGHTS, excess_at, interval_sigma, percentile

TABLE = [
    (1.5, "0.246505", "1.030849"), (2, "0.421404", "1.092852"), (3, "0.667909", "1.249884"),
    (5, "0.978469", "1.613976"), (10, "1.399872", "2.663980"),
]  # fmt: skip


@pytest.mark.parametrize(("error_factor", "sigma", "mean"), TABLE)
def test_spread_of_an_interval(error_factor: float, sigma: str, mean: str) -> None:
    """Doubt about an interval would be turned into the wrong reserve."""
    assert agrees(sigma, interval_sigma(1 / error_factor, error_factor, 1.0))


@pytest.mark.parametrize(("error_factor", "sigma", "mean"), TABLE[:4])
def test_mean_of_a_doubtful_excess(error_factor: float, sigma: str, mean: str) -> None:
    """The average wear would lie elsewhere than the law says; nine values of the doubt are enough."""
    assert float(excess_at(2.0, 1 + error_factor, NODES) @ WEIGHTS) == pytest.approx(float(mean), rel=1e-6)


@pytest.mark.parametrize(("error_factor", "sigma", "mean"), TABLE)
def test_percentile_from_the_moments_of_one_lognormal(error_factor: float, sigma: str, mean: str) -> None:
    """The 95 % value would not be the error factor it was made from."""
    s2 = float(sigma) ** 2
    first, grown = math.exp(s2 / 2), math.expm1(s2)
    variance = first**2 * grown
    third = first**3 * grown**2 * (math.exp(s2) + 2)
    assert float(percentile(first, variance, third)) == pytest.approx(error_factor, rel=1e-4)
    assert float(percentile(7 + first, variance, third)) == pytest.approx(7 + error_factor, rel=1e-4)


def test_percentile_of_a_normal_law() -> None:
    """A sum without skewness would be given a skewed reserve. 1.644854: any table of the normal law."""
    assert np.allclose(percentile(np.array([0.0, 5.0]), np.array([1.0, 4.0]), np.zeros(2)), [1.644854, 8.289707])
