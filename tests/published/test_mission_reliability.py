"""The conditional power law against worked figures: one leg of 3000 km at a multiplier of 1.5.

Formulas: reliawiki.com, "Weibull conditional reliability function" (read, no figures there). The figures are arithmetic checks
worked apart from this program: shape 1, 2.5, 3; scale 200 000, 90 000, 120 000 km; age 0, 60 000, 80 000 km;
standing 8, 24, 72 h. A share used u of an interval L with h failures in an interval is the law with scale L h^(-1/b).
"""

import numpy as np
import pytest

from tripplan.risk.failures import powered

# shape, scale km, age km, hours, expected failures, chance of one or more
ROWS = (
    (1.0, 200_000, 0, 8, 0.0225, 0.0222488),
    (2.5, 90_000, 60_000, 24, 0.0719161, 0.0693910),
    (3.0, 120_000, 80_000, 72, 0.0528652, 0.0514922),
)


def failures() -> np.ndarray:
    """Expected failures of each row by the function that the program uses."""
    shape, scale, age = (np.array([row[i] for row in ROWS]) for i in range(3))
    ends = (age + 4500.0)[:, None] / scale[:, None], age[:, None] / scale[:, None]
    later, sooner = (powered(share, shape) for share in ends)
    return (later - sooner)[:, 0]


def test_expected_failures_and_chances_of_each_part() -> None:
    """The law would not be the one every textbook has."""
    found = failures()
    assert found == pytest.approx([row[4] for row in ROWS], abs=6e-8)
    assert 1 - np.exp(-found) == pytest.approx([row[5] for row in ROWS], abs=6e-8)


def test_series_and_standing_hours() -> None:
    """R 0.863051; E hours 5.712284."""
    found = failures()
    assert float(np.exp(-found.sum())) == pytest.approx(0.863051, abs=6e-7)
    assert float(found @ [row[3] for row in ROWS]) == pytest.approx(5.712284, abs=6e-6)
