"""How much of an effect reaches an item: shares as in the graded rows (judgement)."""

import pytest

from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.sensitivity import SHARE, Bounds, reaching


def test_shares_of_the_excess() -> None:
    """Measured legs and graded legs would weigh a sensitivity differently."""
    assert SHARE == {"low": 0.2, "medium": 0.5, "high": 1.0, "drawn in": 1.0}
    assert reaching(Bounds(2, 3, 5), "medium") == (1.5, 2.0, 3.0)
    assert reaching(Bounds(2, 3, 5), "low") == pytest.approx((1.2, 1.4, 1.8))


def test_doubt_never_below_a_fifth() -> None:
    """A lone judgement would be trusted to a few per cent."""
    assert reaching(Bounds(2, 2, 2), "high") == pytest.approx((2 / 1.2, 2, 2.4))


def test_nothing_stays_nothing() -> None:
    """A neutral leg would shorten an interval, if only in reserve."""
    for sensitivity in SHARE:
        assert reaching(Bounds(1, 1, 1), sensitivity) == (1, 1, 1)


def test_refuses_disorder() -> None:
    """A low above a high would pass into the plan."""
    with pytest.raises(OutOfRange):
        reaching(Bounds(2, 1.5, 3), "high")
    with pytest.raises(OutOfRange):
        reaching(Bounds(0.9, 1.5, 3), "high")
