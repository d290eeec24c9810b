"""167 turbine parts looked at eight times (Nelson 1982, p. 415).

The data were read in the manual of a statistics package; the published fit, shape 1.4854 and
scale 71.6904, is from memory; ln L -309.66841 was computed apart from this code.
"""

import numpy as np
import pytest

from tests.published.best_fit import best_fit
from tests.published.printed import agrees
from tripplan.due.life_law import Look, log_likelihood

surpyval = pytest.importorskip("surpyval")

MONTHS = (6.12, 19.92, 29.64, 35.40, 39.72, 45.24, 52.32, 63.48)
CRACKED = (5, 16, 12, 18, 18, 2, 6, 17)
SOUND = 73
LOOKS = [
    *(Look(low, high, count) for low, high, count in zip((0.0, *MONTHS), MONTHS, CRACKED, strict=False)),
    Look(MONTHS[-1], None, SOUND),
]  # fmt: skip


def test_the_fit_is_the_published_one() -> None:
    """Otherwise findings between two looks would be read as another life than they speak of."""
    shape, scale, best = best_fit(LOOKS, (0.5, 4.0), (30.0, 150.0))
    assert agrees("1.4854", shape) and agrees("71.6904", scale)
    assert agrees("-309.66841", best)


def test_the_fit_agrees_with_surpyval() -> None:
    """Otherwise our likelihood could be wrong in a way that one printed figure does not show."""
    model = surpyval.Weibull.fit(
        xl=[look.low or -np.inf for look in LOOKS], xr=[look.high or np.inf for look in LOOKS],
        n=[look.count for look in LOOKS],
    )  # fmt: skip
    shape, scale, _ = best_fit(LOOKS, (0.5, 4.0), (30.0, 150.0))
    assert (shape, scale) == pytest.approx((model.params[1], model.params[0]), rel=1e-5)


def test_narrow_intervals_do_not_underflow() -> None:
    """Otherwise two looks a few km apart would give no number at all."""
    found = log_likelihood([Look(40000, 40000.001)], np.array(3.0), np.array([2e4, 6e4, 1e6]))
    assert np.isfinite(found).all()
