"""23 deep-groove ball bearings run to failure, in millions of revolutions (Lieblein and Zelen 1956).

Journal of Research of the National Bureau of Standards 57, 273-315. The data come with the
survival library surpyval, whose page prints the Weibull fit: scale 81.875, shape 2.102 (read
there). The second set, 10 failures and 21 vehicles still running by distance, is that of
Krivtsov and Case, SAE 1999-01-3220, from the same library; its fit is compared, not printed.
"""

import numpy as np
import pytest

from tests.published.best_fit import best_fit
from tests.published.printed import agrees
from tripplan.due.life_law import Look, Prior, life_over_scale, life_quantile, posterior

surpyval = pytest.importorskip("surpyval")
datasets = pytest.importorskip("surpyval.datasets")

MILLIONS = [float(value) for value in datasets.load_bearing_failures()["Cycles to Failure (millions)"]]


def test_the_fit_is_the_printed_one() -> None:
    """Otherwise ends that were seen to happen would speak of another life than they do."""
    assert len(MILLIONS) == 23
    shape, scale, _ = best_fit([Look(value, value) for value in MILLIONS], (0.5, 5.0), (20.0, 200.0))
    assert agrees("81.875", scale) and agrees("2.102", shape)


@pytest.mark.parametrize("stopped_at", [50.0, 70.0, 100.0])
def test_a_test_stopped_early_agrees_with_the_library(stopped_at: float) -> None:
    """Otherwise bearings still good would pull the life the wrong way."""
    ended = [value <= stopped_at for value in MILLIONS]
    times = [min(value, stopped_at) for value in MILLIONS]
    model = surpyval.Weibull.fit(x=times, c=[0 if end else 1 for end in ended])
    looks = [Look(value, value if end else None) for value, end in zip(times, ended, strict=True)]
    shape, scale, _ = best_fit(looks, (0.5, 6.0), (20.0, 300.0))
    assert (scale, shape) == pytest.approx(tuple(model.params), rel=1e-5)


def test_vehicles_still_running_agree_with_the_library() -> None:
    """Otherwise the many that never failed would not count beside the few that did."""
    table = datasets.load_sae()
    looks = [Look(float(x), None if c else float(x)) for x, c in zip(table["x"], table["c"], strict=True)]
    assert sum(look.high is None for look in looks) == 21
    model = surpyval.Weibull.fit(x=table["x"], c=table["c"])
    shape, scale, _ = best_fit(looks, (0.3, 4.0), (2e4, 1e6))
    assert (scale, shape) == pytest.approx(tuple(model.params), rel=1e-5)


def test_with_many_ends_seen_the_findings_outweigh_the_table() -> None:
    """Otherwise a table that is far off would hold against two hundred bearings seen to fail.

    Ten times the 23 ends, a table that says half the life that 10 % do not reach, and an error
    factor of 5: the middle of what is then believed comes within 4 % of the printed fit's life.
    """
    printed = 81.875 * float(life_over_scale(2.102, 0.1))
    found = posterior(Prior(printed / 2, 0.1, 5.0, 2.0, 1.5), [Look(value, value, 10) for value in MILLIONS])
    assert life_quantile(found, 0.5) == pytest.approx(printed, rel=0.04)
    assert np.isclose(found.weights.sum(), 1)
