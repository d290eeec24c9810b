"""Combining doubts: edges. The figures are in tests/published/test_golden_lognormal.py."""

import subprocess
import sys

import pytest

from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.uncertain import combine, most_doubtful, reserve_interval, variance_shares


def test_nothing_in_doubt() -> None:
    """A plain leg would be given a reserve for no reason."""
    assert combine([], []) == (1.0, 1.0, 1.0)
    assert combine([2.0, 3.0], [2.0, 3.0]) == (6.0, 6.0, 6.0)
    assert variance_shares([2.0], [2.0]) == (0.0,)
    assert most_doubtful(["dust"], [2.0], [2.0]) is None


def test_one_factor_is_itself() -> None:
    """A single condition would come out of the product changed."""
    typical, low, high = combine([2.0], [3.0])
    assert (typical, low, high) == pytest.approx((2.0, 4 / 3, 3.0))


def test_refuses_what_is_no_factor() -> None:
    """A high below the typical value would cut the reserve to nothing."""
    with pytest.raises(OutOfRange):
        combine([2.0], [1.9])
    with pytest.raises(OutOfRange):
        combine([0.0], [1.0])
    with pytest.raises(ValueError, match="zip"):
        combine([1.0, 2.0], [1.0])
    with pytest.raises(OutOfRange):
        reserve_interval(0.0, 1.0, 2.0)


def test_starts_without_arrays() -> None:
    """Every start of the program would wait for the array library."""
    code = "import sys, tripplan.wear.from_mechanisms, tripplan.wear.mechanisms.uncertain; sys.exit('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False, timeout=30).returncode == 0
