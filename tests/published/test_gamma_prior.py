"""The grid against the gamma form that has an exact answer: shape 2.5, prior median 60000, 5 % point 40000.

The figures of the chain are an arithmetic check computed apart from this code; they are not
printed anywhere. With shape 1 the formulas are the exponential model with a gamma prior of the
NIST/SEMATECH e-Handbook, section 8 (itl.nist.gov, read). The zero-failure bound is that of
Abernethy, New Weibull Handbook, 5th edition, and IEC 61649:2008 (both from memory); its
figures are computed too.
"""

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.published.printed import agrees
from tripplan.due.life_law import (
    Array,
    Look,
    Posterior,
    Prior,
    life_over_scale,
    life_quantile,
    log_likelihood,
    posterior,
    survival,
)

SHAPE = 2.5
A, B = 2.1056053883, 1.5725287602e12
SCALES = np.exp(np.linspace(math.log(5e3), math.log(1e6), 801))
GOOD = [Look(30000), Look(42000), Look(25000)]


def with_gamma_prior(a: float, rate: float, scales: Array, looks: Sequence[Look]) -> Posterior:
    """The likelihood of the looks times the prior per ln(scale) that makes scale^-shape a Gamma(a, rate)."""
    shapes, theta = np.array([SHAPE]), scales**-SHAPE
    log_weight = log_likelihood(looks, shapes[:, None], scales[None, :]) + a * np.log(theta) - rate * theta
    weight = np.exp(log_weight - log_weight.max())
    return Posterior(0.1, shapes, scales * life_over_scale(SHAPE, 0.1), weight / weight.sum())


def chain(*looks: Look) -> Posterior:
    """The posterior of the worked example after these looks."""
    return with_gamma_prior(A, B, SCALES, looks)


def scale_at(found: Posterior, level: float) -> float:
    """A quantile of the scale; the grid holds lives at 10 %."""
    return life_quantile(found, level) / float(life_over_scale(SHAPE, 0.1))


@pytest.mark.parametrize(
    ("looks", "median", "low"),
    [((), 60000.0, 40000.0), (tuple(GOOD), 68484.14, 45656.10), ((*GOOD, Look(38000, 38000)), 60188.79, None),
     ((*GOOD, Look(20000, 35000)), 58777.36, 41949.92)],
)  # fmt: skip
def test_medians_of_the_worked_chain(looks: tuple[Look, ...], median: float, low: float | None) -> None:
    """Otherwise good openings would lengthen an interval by the wrong amount, or worn ones shorten it."""
    found = chain(*looks)
    assert scale_at(found, 0.5) == pytest.approx(median, rel=2e-4)
    if low is not None:
        assert scale_at(found, 0.05) == pytest.approx(low, rel=2e-4)


@pytest.mark.parametrize(
    ("looks", "age", "further", "printed"),
    [((), 0, 5000, "0.997637"), ((), 40000, 5000, "0.888247"), ((*GOOD, Look(20000, 35000)), 0, 20000, "0.928129903"),
     ((*GOOD, Look(20000, 35000)), 15000, 5000, "0.962687155")],
)  # fmt: skip
def test_chances_of_the_worked_chain(looks: tuple[Look, ...], age: float, further: float, printed: str) -> None:
    """Otherwise the chance that a part lasts would be told wrong."""
    assert agrees(printed, survival(chain(*looks), age, further))


@settings(max_examples=60, deadline=None)
@given(ages=st.lists(st.floats(1000, 80000), max_size=6), further=st.floats(500, 60000))
def test_good_looks_follow_the_exact_predictive(ages: list[float], further: float) -> None:
    """Otherwise the sum over the grid would drift from what the formula says. R = (B / (B + x^beta))^a."""
    rate = B + sum(age**SHAPE for age in ages)
    exact = (rate / (rate + further**SHAPE)) ** A
    assert survival(chain(*(Look(age) for age in ages)), 0, further) == pytest.approx(exact, rel=1e-4)


def test_two_intervals_follow_the_exact_mixture() -> None:
    """Otherwise two worn findings together would count wrongly. Four signed gamma terms, worked by hand here."""
    spans = [(20000.0, 35000.0), (10000.0, 30000.0)]
    terms = [(1.0, B)]
    for low, high in spans:
        terms = [(s * sign, r + t**SHAPE) for s, r in terms for sign, t in ((1, low), (-1, high))]
    x = 20000.0**SHAPE
    exact = sum(s * (r + x) ** -A for s, r in terms) / sum(s * r**-A for s, r in terms)
    found = chain(*(Look(low, high) for low, high in spans))
    assert survival(found, 0, 20000) == pytest.approx(exact, rel=1e-5)


def test_worked_bounds_of_no_failure() -> None:
    """Otherwise a set of good openings would promise too long a life.

    Ages 30000, 42000, 55000, 25000, shape 2.5. With a flat prior on scale^-shape per its own log
    and one failure's weight (a = 1), the level C of eta is (sum t^beta / -ln(1 - C))^(1/beta).
    """
    looks = [Look(t) for t in (30000, 42000, 55000, 25000)]
    scales = np.exp(np.linspace(math.log(2e4), math.log(2e7), 6001))
    found = with_gamma_prior(1.0, 0.0, scales, looks)
    for level, printed in ((0.5, 81778.8), (0.632120559, 70627.0), (0.9, 50592.3), (0.95, 45537.5)):
        assert scale_at(found, 1 - level) == pytest.approx(printed, rel=1e-4)


def test_without_findings_the_table_stands() -> None:
    """Otherwise an interval would change though nothing was found."""
    for shape_error_factor in (1.0, 1.3):
        found = posterior(Prior(40000, 0.1, 1.5, 2.5, shape_error_factor), [])
        assert life_quantile(found, 0.5) == pytest.approx(40000, rel=1e-9)
        assert life_quantile(found, 0.05) == pytest.approx(40000 / 1.5, rel=1e-3)


@settings(max_examples=40, deadline=None)
@given(ages=st.lists(st.floats(1000, 90000), min_size=1, max_size=5), more=st.floats(100, 50000))
def test_better_findings_never_shorten(ages: list[float], more: float) -> None:
    """Otherwise a part found good later would be opened earlier."""
    prior = Prior(40000, 0.1, 1.5, 2.5, 1.3)
    base = life_quantile(posterior(prior, [Look(age) for age in ages]), 0.5)
    assert base >= 40000 * (1 - 1e-9)
    later = [Look(age) for age in ages[:-1]] + [Look(ages[-1] + more)]
    assert life_quantile(posterior(prior, later), 0.5) >= base * (1 - 1e-9)
    worn = [*(Look(age) for age in ages), Look(0, 20000)]
    assert life_quantile(posterior(prior, worn), 0.5) < base


def test_uncertain_shape_moves_with_the_findings() -> None:
    """Otherwise parts that all fail at the same age would still be taken for random failures."""
    prior = Prior(60000 * float(life_over_scale(2.5, 0.1)), 0.1, 1.5, 2.5, 1.5)
    steady = [Look(38000, 42000)] * 6
    random = [Look(0, 5000), Look(90000)]
    means = [float((f.weights.sum(axis=1) * f.shapes).sum()) for f in (posterior(prior, s) for s in (steady, random))]
    assert means[0] > 2.5 > means[1]
