"""Load and the rating life of rolling bearings after ISO 281.

Read, secondary: life goes with load to the power 3 (ball) or 10/3 (roller). The standard was not
read. Figures worked out beforehand, apart from this package.
"""

import pytest

from tests.published.printed import agrees
from tripplan.wear.mechanisms.load import load_multiplier


@pytest.mark.parametrize(
    ("ratio", "ball", "roller"), [(1.25, "0.512", "0.4753"), (1.5, "0.2963", "0.2588"), (2, "0.125", "0.0992")]
)
def test_life_left_under_more_load(ratio: float, ball: str, roller: str) -> None:
    """A heavily loaded leg would cost a bearing too little or too much."""
    assert agrees(ball, 1 / float(load_multiplier(ratio, 3)))
    assert agrees(roller, 1 / float(load_multiplier(ratio, 10 / 3)))


@pytest.mark.parametrize(
    ("ratio", "ball", "roller"), [(1.2, "1.73", "1.84"), (1.25, "1.95", "2.10"), (1.5, "3.38", "3.86")]
)
def test_wear_under_more_load(ratio: float, ball: str, roller: str) -> None:
    """The load multiplier of bearings would not follow the rating-life exponent."""
    assert agrees(ball, float(load_multiplier(ratio, 3)))
    assert agrees(roller, float(load_multiplier(ratio, 10 / 3)))
