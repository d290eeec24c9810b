"""Products of lognormal multipliers.

Read: error factor, spread and mean of a lognormal law on a software page (uranie.cea.fr).
From memory: WASH-1400's 5 and 95 % bounds. The products were worked out beforehand and
confirmed there by random draws (2.3262).
"""

import pytest

from tests.published.printed import agrees
from tripplan.wear.mechanisms.uncertain import (
    combine,
    mean_over_median,
    most_doubtful,
    reserve_interval,
    sigma_of,
    variance_shares,
)

TABLE = [
    (1.5, "0.246505", "1.030849"), (2, "0.421404", "1.092852"), (3, "0.667909", "1.249884"),
    (5, "0.978469", "1.613976"), (10, "1.399872", "2.663980"),
]  # fmt: skip


@pytest.mark.parametrize(("error_factor", "sigma", "mean"), TABLE)
def test_spread_and_mean(error_factor: float, sigma: str, mean: str) -> None:
    """Doubt about a multiplier would be turned into the wrong reserve."""
    assert agrees(sigma, sigma_of(1.0, error_factor))
    assert agrees(mean, mean_over_median(error_factor))


def test_product() -> None:
    """Three doubts would add up as if all went wrong at once, or as if none did."""
    typical, low, high = combine([1.5, 1.3, 1.8], [1.5 * 1.5, 1.3 * 1.3, 1.8 * 2.0])
    assert agrees("3.51", typical)
    assert agrees("2.327516", high / typical)
    assert agrees("2.327516", typical / low)
    assert agrees("0.513603", sigma_of(typical, high))


def test_shares() -> None:
    """The owner would be sent to measure the wrong thing to narrow a plan down."""
    shares = variance_shares([1.5, 1.3, 1.8], [2.25, 1.69, 3.6])
    for printed, share in zip(("23.0", "9.6", "67.3"), shares, strict=True):
        assert agrees(printed, 100 * share)
    assert most_doubtful(["dust", "corrugation", "water"], [1.5, 1.3, 1.8], [2.25, 1.69, 3.6]) == "water"


@pytest.mark.parametrize(
    ("error_factor", "shortest", "longest"),
    [(1.5, "1899", "4274"), (1.3, "2192", "3704"), (2.0, "1425", "5698")],
)
def test_tornado(error_factor: float, shortest: str, longest: str) -> None:
    """The reserve kept back from an interval would not be the one-in-twenty value."""
    typical = 1.5 * 1.3 * 1.8
    assert agrees(shortest, reserve_interval(10_000, typical, typical * error_factor))
    assert agrees(longest, 10_000 / typical * error_factor)
