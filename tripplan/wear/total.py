"""The wear of one meter piled up along a trip, and its 95 % value at every point of it.

    total = interval's doubt x (use + sum over mechanisms of use x excess)

Each mechanism has one doubt, shared by all legs of the trip and those driven before (the same
dust wears on every leg), independent of the other mechanisms' and of the interval's. So the
excess of each is kept at nine values of its doubt (Gauss and Hermite's), which add up from
stretch to stretch; mean, variance and skewness of the total follow exactly, and the 95 %
value from them (`mechanisms/uncertain.py`). It is not the sum of the legs' own 95 % values,
which would all have to go wrong at once.
"""

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tripplan.wear.mechanisms.uncertain import MEDIAN, WEIGHTS, Z95, Array, percentile

GRID = np.linspace(0.0, 1.0, 33)
ROUNDS = 3


class Total(Struct, frozen=True, eq=False):
    """Running totals: row 0 is the start, then one row at the end of each stretch.

    `use` has one entry a row, in the unit of the meter; `excess` one for each row, mechanism
    and value of the mechanism's doubt, in the same unit. `mean`, `variance` and `third` are
    the moments of the summed excess, one entry a row.
    """

    use: Array
    excess: Array
    mean: Array
    variance: Array
    third: Array

    @property
    def typical(self) -> Array:
        """The total with every doubt at its median, one entry a row."""
        return np.asarray(self.use + self.excess[..., MEDIAN].sum(axis=-1))

    def after(self, use: float, excess: Array | None) -> "Total":
        """The same trip with that use and that excess already behind it."""
        if excess is None:
            return replace(self, use=self.use + use)
        return piled(self.use + use, self.excess + excess)

    def reserve(self, sigma: float) -> Array:
        """The 95 % value at each row; `sigma` is the doubt about the interval itself."""
        return _upper(self.use + self.mean, self.variance, self.third, sigma)

    def reaches(self, row: int, limit: float, sigma: float) -> float:
        """Share of the stretch that ends at `row` (1 or more) at which the 95 % value comes to `limit`."""
        low, high = 0.0, 1.0
        for _ in range(ROUNDS):
            shares = low + (high - low) * GRID
            values = self._inside(row, shares, sigma)
            spot = min(max(1, int(np.searchsorted(values, limit))), len(GRID) - 1)
            low, high = float(shares[spot - 1]), float(shares[spot])
        before, behind = values[spot - 1], values[spot]
        part = (limit - before) / (behind - before) if behind > before else 1.0
        return low + (high - low) * min(max(float(part), 0.0), 1.0)

    def _inside(self, row: int, shares: Array, sigma: float) -> Array:
        use = self.use[row - 1] + shares * (self.use[row] - self.use[row - 1])
        step = self.excess[row] - self.excess[row - 1]
        return piled(use, self.excess[row - 1] + shares[:, None, None] * step).reserve(sigma)


def piled(use: Array, excess: Array) -> Total:
    """Running totals with their moments: of independent parts mean, variance and third moment add."""
    means = excess @ WEIGHTS
    apart = excess - means[..., None]
    square = apart * apart
    return Total(
        use, excess, means.sum(axis=-1), (square @ WEIGHTS).sum(axis=-1), ((square * apart) @ WEIGHTS).sum(axis=-1)
    )


def log_sd(total: Total) -> float:
    """Doubt about the wear of the whole trip, as the standard deviation of its logarithm.

    It is that of a lognormal with the same typical and 95 % values; 0 where nothing but
    normal use wears, since an interval's own doubt is not part of it.
    """
    middle = float(total.typical[-1])
    upper = float(percentile(total.use[-1] + total.mean[-1], total.variance[-1], total.third[-1]))
    return float(np.log(upper / middle)) / Z95 if middle > 0 else 0.0


def _upper(mean: Array, variance: Array, third: Array, sigma: float) -> Array:
    """The 95 % value of those moments times a lognormal of median 1 and that sigma."""
    if sigma == 0:
        return percentile(mean, variance, third)
    first = mean
    second = variance + mean**2
    cube = third + 3 * mean * variance + mean**3
    grown = [raw * np.exp(k * k * sigma * sigma / 2) for k, raw in ((1, first), (2, second), (3, cube))]
    return percentile(grown[0], grown[1] - grown[0] ** 2, grown[2] - 3 * grown[0] * grown[1] + 2 * grown[0] ** 3)
