"""Doubtful multipliers: edges. The figures are in tests/published/test_golden_lognormal.py."""

import numpy as np
import pytest

from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.uncertain import MEDIAN, NODES, WEIGHTS, Z95, excess_at, interval_sigma, percentile


def test_the_values_of_a_doubt_are_those_of_the_normal_law() -> None:
    """If not, every mean and spread drawn from them would be off."""
    assert NODES[MEDIAN] == 0 and WEIGHTS.sum() == pytest.approx(1)
    # moments of the standard normal law: 1, 3, 15, 105
    assert [float(WEIGHTS @ NODES**k) for k in (2, 4, 6, 8)] == pytest.approx([1, 3, 15, 105])


def test_median_and_high_are_met() -> None:
    """If not, a row would not mean what it says."""
    assert float(excess_at(2.0, 5.0, 0.0)) == pytest.approx(1)
    assert float(excess_at(2.0, 5.0, Z95)) == pytest.approx(4)
    assert float(excess_at(1.0, 1.0, Z95)) == 0


def test_a_row_that_is_typically_normal_is_never_less() -> None:
    """If not, a doubt about a neutral condition would make an interval longer."""
    assert excess_at(1.0, 1.5, np.array([-2.0, 0.0, Z95])).tolist() == pytest.approx([0, 0, 0.5])


def test_refuses_what_is_no_multiplier() -> None:
    """A high below the typical value would cut the reserve to nothing."""
    with pytest.raises(OutOfRange, match="high less typical"):
        excess_at(2.0, 1.9, 0.0)
    with pytest.raises(OutOfRange, match="typical"):
        excess_at(0.9, 1.0, 0.0)
    with pytest.raises(OutOfRange, match="spread_low"):
        interval_sigma(1.1, 2.0, 0.5)


def test_no_spread_is_no_doubt() -> None:
    """If not, an interval nobody disputes would be given a reserve."""
    assert interval_sigma(1.0, 1.0, 0.5) == 0.0
    assert interval_sigma(0.5, 2.0, 0.0) == 0.0


def test_a_percentile_without_spread_is_the_mean() -> None:
    """If not, arrays with certain entries would hold numbers that are none."""
    found = percentile(np.array([3.0, 3.0]), np.array([0.0, 1.0]), np.array([0.0, 0.0]))
    assert found.tolist() == pytest.approx([3.0, 3.0 + Z95])
    assert percentile(3.0, 1.0, 1e-5) == pytest.approx(float(percentile(3.0, 1.0, 2e-4)), rel=1e-4)
