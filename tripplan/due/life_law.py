"""How long an item lives, from what the table states and what was found when it was opened.

Life follows a Weibull law of shape beta. The unknown is the life that a stated share of
parts does not reach (the table's interval is that life, at `interval_percentile_of_life`);
its prior is lognormal around the table, and the findings say how likely each value is.
All of it is a sum over a grid in the log of that life, and over shapes when they are
uncertain. Pure NumPy; import it only where it is used.
"""

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from tripplan.records.problems import OutOfRange

Array = NDArray[np.float64]
GRID = 801
SHAPES = 41
WIDE = 6.0
Z_95 = 1.6448536269514722
SHAPE_LOW, SHAPE_HIGH = 0.3, 12.0


class Look(Struct, frozen=True):
    """One part seen: sound at use `low`, and at use `high` no longer.

    `high` None: still sound, its end lies beyond `low` (right-censored). `low` 0: worn at
    the first look (left-censored). `low` equal to `high`: the end seen to happen.
    """

    low: float
    high: float | None = None
    count: int = 1


class Prior(Struct, frozen=True):
    """The life the table states, before any finding.

    `life` is reached by all but `share` of the parts; the true value lies within
    `error_factor` either way nine times in ten. `shape_error_factor` 1 = shape known.
    """

    life: float
    share: float
    error_factor: float
    shape: float
    shape_error_factor: float = 1.0


class Posterior(Struct, frozen=True):
    """Weights on a grid of scales (rows: shapes, columns: lives); they sum to 1."""

    share: float
    shapes: Array
    lives: Array
    weights: Array

    @property
    def scales(self) -> Array:
        """Weibull scale at each shape and life, same shape as `weights`."""
        return self.lives[None, :] / life_over_scale(self.shapes, self.share)[:, None]


def life_over_scale(shape: Array | float, share: float) -> Array:
    """Life that all but `share` reach, over the scale: B = eta (-ln(1 - share))^(1/beta)."""
    return np.asarray((-math.log1p(-share)) ** (1.0 / np.asarray(shape, dtype=float)))


def log_likelihood(looks: Sequence[Look], shape: Array, scale: Array) -> Array:
    """Log of the chance of all findings, for each shape and scale; arrays that broadcast.

    Formula    sound at t: -(t/eta)^beta. Sound at L, worn at U: -H(L) + ln(1 - exp(-(H(U) - H(L)))),
               written with expm1, as the plain difference loses all its digits
    Holds for  shape 0.3 to 12, scale and uses above 0
    """
    shape, scale = np.asarray(shape, dtype=float), np.asarray(scale, dtype=float)
    total = np.zeros(np.broadcast_shapes(shape.shape, scale.shape))
    for look in looks:
        _check(look)
        passed = (look.low / scale) ** shape
        if look.high is None:
            total -= look.count * passed
        elif look.high == look.low:
            density = np.log(shape / scale) + (shape - 1) * np.log(look.low / scale)
            total += look.count * (density - passed)
        else:
            between = np.maximum((look.high / scale) ** shape - passed, 1e-300)
            total += look.count * (np.log(-np.expm1(-between)) - passed)
    return total


def posterior(prior: Prior, looks: Sequence[Look]) -> Posterior:
    """What is believed about the life after the findings.

    Without findings it is the prior, whose median life is the table's: the table stands.
    """
    _check_prior(prior)
    sigma = math.log(prior.error_factor) / Z_95
    lives = prior.life * np.exp(np.linspace(-WIDE * sigma, WIDE * sigma, GRID))
    log_life = -0.5 * (np.log(lives / prior.life) / sigma) ** 2
    shapes, log_shape = _shapes(prior)
    scales = lives[None, :] / life_over_scale(shapes, prior.share)[:, None]
    log_weight = log_likelihood(looks, shapes[:, None], scales) + log_life[None, :] + log_shape[:, None]
    return Posterior(prior.share, shapes, lives, _normal(log_weight))


def life_quantile(found: Posterior, level: float) -> float:
    """The life that is below its true value with probability 1 - level: 0.5 the middle, 0.05 a safe one.

    Each cell's weight counts half on its own middle: a plain running sum is off by half a cell.
    """
    weight = found.weights.sum(axis=0)
    below = np.cumsum(weight) - weight / 2
    return float(np.exp(np.interp(level, below, np.log(found.lives))))


def survival(found: Posterior, age: float, further: float) -> float:
    """Chance that a part sound at use `age` is still sound after `further` more use.

    `age` must not be among the looks already counted for that same part.
    """
    scales, shapes = found.scales, found.shapes[:, None]
    whole = np.exp(-(((age + further) / scales) ** shapes))
    reached = np.exp(-((age / scales) ** shapes))
    return float((found.weights * whole).sum() / (found.weights * reached).sum())


def _shapes(prior: Prior) -> tuple[Array, Array]:
    if prior.shape_error_factor == 1:
        return np.array([prior.shape]), np.zeros(1)
    sigma = math.log(prior.shape_error_factor) / Z_95
    spread = np.linspace(-3 * sigma, 3 * sigma, SHAPES)
    shapes = prior.shape * np.exp(spread)
    believed = (shapes >= SHAPE_LOW) & (shapes <= SHAPE_HIGH)
    return shapes[believed], -0.5 * (spread[believed] / sigma) ** 2


def _normal(log_weight: Array) -> Array:
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def _check(look: Look) -> None:
    high = math.inf if look.high is None else look.high
    if not (0 <= look.low <= high) or (look.high is not None and look.high <= 0) or look.low == math.inf:
        raise OutOfRange("use at a look", look.low, 0, high, "use", "a part is sound before it is worn")


def _check_prior(prior: Prior) -> None:
    limits = (
        ("life", prior.life, 1e-6, 1e9, "use", "the interval in items.csv"),
        ("share", prior.share, 0.001, 0.9, "", "interval_percentile_of_life in assumptions.csv"),
        ("error factor", prior.error_factor, 1.01, 20, "", "life_error_factor in assumptions.csv"),
        ("shape", prior.shape, SHAPE_LOW, SHAPE_HIGH, "", "life_shape in items.csv"),
        ("shape error factor", prior.shape_error_factor, 1, 5, "", "life_shape_error_factor in assumptions.csv"),
    )
    for name, value, low, high, unit, row in limits:
        if not low <= value <= high:
            raise OutOfRange(name, value, low, high, unit, row)
