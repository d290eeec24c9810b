"""432 turbine wheels, each looked at once (Nelson 1982, p. 409; Meeker and Escobar 1998, p. 135).

The data were read in the manual of a statistics package, which fits a lognormal; the Weibull
fit (shape 2.175780, scale 46.77723, ln L -189.28719) was computed with a survival library
outside this project. One look a part, cracked or sound, is the owner's usual case.
"""

import numpy as np
import pytest

from tests.published.best_fit import best_fit
from tests.published.printed import agrees
from tripplan.due.life_law import Look

surpyval = pytest.importorskip("surpyval")

HOURS = (4, 10, 14, 18, 22, 26, 30, 34, 38, 42, 46)
CRACKED = (0, 4, 2, 7, 5, 9, 9, 6, 22, 21, 21)
SOUND = (39, 49, 31, 66, 25, 30, 33, 7, 12, 19, 15)
LOOKS = [
    *(Look(0.0, hours, count) for hours, count in zip(HOURS, CRACKED, strict=True) if count),
    *(Look(hours, None, count) for hours, count in zip(HOURS, SOUND, strict=True)),
]  # fmt: skip


def test_the_fit_is_the_known_one() -> None:
    """Otherwise parts worn at their first look would be read as another life than they speak of."""
    shape, scale, best = best_fit(LOOKS, (0.5, 5.0), (20.0, 120.0))
    assert agrees("2.17578", shape) and agrees("46.7772", scale)
    assert agrees("-189.28719", best)


def test_the_fit_agrees_with_surpyval() -> None:
    """Otherwise our likelihood could be wrong in a way that one figure does not show."""
    model = surpyval.Weibull.fit(
        xl=[look.low or -np.inf for look in LOOKS], xr=[look.high or np.inf for look in LOOKS],
        n=[look.count for look in LOOKS],
    )  # fmt: skip
    shape, scale, _ = best_fit(LOOKS, (0.5, 5.0), (20.0, 120.0))
    assert (shape, scale) == pytest.approx((model.params[1], model.params[0]), rel=1e-5)
