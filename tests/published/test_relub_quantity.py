"""Grease by the outside diameter and width of a bearing.

Read: G = 0.005 D B in grams and millimetres, G = 0.114 D B in ounces and inches (a maintenance
magazine, March 2020, and an online document that rounds to 0.1). From memory, high confidence:
0.01 after a long standstill. Figures worked by hand beforehand.
"""

import pytest

from tests.published.printed import agrees
from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.grease import purge_g, relubrication_g

GRAMS_PER_OUNCE = 28.35
OUTER_MM, WIDTH_MM = 73.4, 19.6


def test_from_the_side() -> None:
    """A top-up ten times too small: one web page prints 0.0005."""
    assert agrees("7.19", relubrication_g(OUTER_MM, WIDTH_MM))


def test_purge() -> None:
    """Water would be left in a bearing that was only topped up."""
    assert agrees("14.39", purge_g(OUTER_MM, WIDTH_MM))


def test_the_inch_rule_is_the_same_rule() -> None:
    """An owner with an inch manual would get another amount: 0.114 printed, 0.1138 by hand."""
    ounces_per_inch2 = relubrication_g(25.4, 25.4) / GRAMS_PER_OUNCE
    assert agrees("0.1138", ounces_per_inch2) and agrees("0.114", ounces_per_inch2)
    assert 1 - 0.1 / ounces_per_inch2 == pytest.approx(0.12, abs=0.005)


@pytest.mark.parametrize(("outer_mm", "width_mm"), [(9, 20), (301, 20), (70, 2), (70, 121), (float("nan"), 20)])
def test_outside_the_rule(outer_mm: float, width_mm: float) -> None:
    """A slip of the tape would end as a number of strokes."""
    for rule in (relubrication_g, purge_g):
        with pytest.raises(OutOfRange):
            rule(outer_mm, width_mm)
