"""Rules of thumb for heat: oil rate doubles per 10 deg C, grease life halves per 15 deg C.

Read: the oil rule on a trade web page (a second page, also read, disputes it for modern
oils); the grease rule in one bearing maker's catalogue guidance (three copies, one source).
The factors in print follow from the rules.
"""

import pytest

from tests.published.printed import agrees
from tripplan.wear.mechanisms.heat import grease_interval_factor, oil_ageing_ratio


@pytest.mark.parametrize(("rise_c", "printed"), [(0, "1"), (5, "1.41"), (10, "2"), (20, "4")])
def test_oil(rise_c: float, printed: str) -> None:
    """Oil run hot would be kept as long as oil run cool."""
    assert agrees(printed, float(oil_ageing_ratio(90 + rise_c, 90)))


@pytest.mark.parametrize(("temp_c", "printed"), [(55, "2"), (70, "1"), (85, "0.5"), (100, "0.25"), (115, "0.125")])
def test_grease(temp_c: float, printed: str) -> None:
    """Grease in a hot hub would be trusted for its cool life."""
    assert agrees(printed, float(grease_interval_factor(temp_c)))


@pytest.mark.parametrize(("rise_c", "printed"), [(5, "1.26"), (10, "1.59"), (15, "2"), (30, "4")])
def test_grease_multiplier(rise_c: float, printed: str) -> None:
    """The wear multiplier of grease would not be the inverse of the interval factor."""
    assert agrees(printed, 1 / float(grease_interval_factor(70 + rise_c)))


def test_never_more_than_double() -> None:
    """A cold bearing would be given an interval the rule does not grant."""
    assert agrees("2", float(grease_interval_factor(40)))
