"""The joint values of shared doubts: their moments, the values between the kept ones, and the average of a known law."""

from itertools import combinations_with_replacement
from math import exp, prod

import numpy as np
import pytest

from tripplan.risk.doubts import at_values, between, joint_rule, joint_values
from tripplan.wear.mechanisms.uncertain import NODES, WEIGHTS

# even moments of a standard normal number: 1, 1, 3 (any textbook); odd ones are 0
MOMENT = {0: 1.0, 1: 0.0, 2: 1.0, 3: 0.0, 4: 3.0, 5: 0.0}


@pytest.mark.parametrize("count", range(8))
def test_every_moment_up_to_the_fifth_degree_is_right(count: int) -> None:
    """Averages over the doubts would be off, and nobody could see it in a single figure."""
    values, weights = joint_rule(count)
    assert values.shape == (len(weights), count) and weights.min() > 0
    for degree in range(6):
        for axes in combinations_with_replacement(range(count), degree):
            powers = [axes.count(axis) for axis in range(count)]
            found = weights @ np.prod(values ** np.array(powers), axis=1) if count else weights.sum()
            assert found == pytest.approx(prod(MOMENT[power] for power in powers), abs=1e-9)


def test_a_lognormal_wear_between_the_kept_values_is_met() -> None:
    """Wear at a joint value would not be the wear of that doubt."""
    asked = np.array([-2.2, -1.0, 0.3, 1.6, 2.4])
    for sigma in (0.2, 0.45):
        np.testing.assert_allclose(between(asked) @ np.exp(sigma * NODES), np.exp(sigma * asked), rtol=1e-4)


def test_what_is_not_varied_counts_with_its_mean() -> None:
    """Leaving a mechanism out of the grid would make the trip look kinder than it is expected to be."""
    excess = np.zeros((1, 1, 2, len(NODES)))
    excess[0, 0, 0], excess[0, 0, 1] = np.exp(0.3 * NODES), 0.5 * np.exp(0.4 * NODES)
    doubts = joint_values([1], 2)
    found = at_values(np.array([[2.0]]), excess, doubts)[0, 0]
    assert found @ doubts.weights == pytest.approx(2.0 + exp(0.3**2 / 2) + 0.5 * exp(0.4**2 / 2), rel=1e-4)
    fixed = 2.0 + np.exp(0.3 * NODES) @ WEIGHTS
    assert found.min() > fixed and np.ptp(found) > 0.1


def test_a_cube_of_wear_is_averaged_to_a_part_in_a_thousand() -> None:
    """The failures of what ages fast would be told too low: E[(1 + a e^(sx) + b e^(ty))^3] from the lognormal moments."""
    a, s, b, t, c, u = 0.6, 0.3, 0.4, 0.25, 0.2, 0.4
    values, weights = joint_rule(3)
    found = (
        weights @ (1 + a * np.exp(s * values[:, 0]) + b * np.exp(t * values[:, 1]) + c * np.exp(u * values[:, 2])) ** 3
    )
    parts = [(1.0, (0, 0, 0)), (a, (s, 0, 0)), (b, (0, t, 0)), (c, (0, 0, u))]
    exact = sum(
        x * y * z * exp(sum((p + q + r) ** 2 for p, q, r in zip(i, j, k, strict=True)) / 2)
        for x, i in parts for y, j in parts for z, k in parts
    )  # fmt: skip
    assert found == pytest.approx(exact, rel=1e-3)
