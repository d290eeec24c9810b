"""The doubts that many items share, and the joint values of them at which the trip is reckoned.

Dust that is worse than thought wears every item it reaches, all at once. So the trip is reckoned
at joint values of these doubts and averaged only at the end: averages of single items must not
be multiplied. The mechanisms that move the trip most are varied together; the others count
with their mean.
"""

from collections.abc import Sequence
from functools import lru_cache
from itertools import product
from typing import Final

import numpy as np
from msgspec import Struct

from tripplan.wear.mechanisms.uncertain import NODES, WEIGHTS, Array

MOST: Final = 5
"""How many mechanisms are varied together: 42 joint values."""


class Doubts(Struct, frozen=True, eq=False):
    """Joint values of the doubts of some mechanisms.

    `blend` says for each joint value and each mechanism how the nine values that wear is kept at
    (`wear/total.py`) are mixed; `weights` sum to 1.
    """

    mechanisms: tuple[int, ...]
    blend: Array
    weights: Array


@lru_cache(maxsize=8)
def joint_rule(count: int) -> tuple[Array, Array]:
    """A quadrature for so many independent standard normal doubts, exact to the fifth degree.

    Gives      values, one row a joint value, and their weights, which sum to 1.
    Takes      count  how many doubts, 0 to 10
    Formula    3 and more: +-sqrt((n + 2) / 2) on each axis with weight 4 / (n + 2)^2, and all signs of
               sqrt((n + 2) / (n - 2)) with weight (n - 2)^2 / (2^n (n + 2)^2); 1 and 2: Gauss and Hermite's
               five values a doubt, multiplied out
    Source     Stroud, Approximate Calculation of Multiple Integrals, 1971, formula E_n^{r^2} 5-3 (memory;
               its moments are checked)
    Basis      published
    Checked    tests/risk/test_doubts.py
    """
    if count < 3:
        values, weights = np.polynomial.hermite_e.hermegauss(5)
        weights = weights / weights.sum()
        joint = [list(pair) for pair in product(range(5), repeat=count)]
        return (
            np.array([values[spots] for spots in joint]).reshape(len(joint), count),
            np.array([weights[spots].prod() for spots in joint]),
        )
    axis, corner = np.sqrt((count + 2) / 2), np.sqrt((count + 2) / (count - 2))
    corners = np.array(list(product((-corner, corner), repeat=count)))
    values = np.concatenate([axis * np.eye(count), -axis * np.eye(count), corners])
    heavy, light = 4 / (count + 2) ** 2, (count - 2) ** 2 / (2**count * (count + 2) ** 2)
    return values, np.array([heavy] * 2 * count + [light] * 2**count)


def joint_values(mechanisms: Sequence[int], all_mechanisms: int) -> Doubts:
    """These mechanisms varied together, the rest of them at their mean."""
    values, weights = joint_rule(len(mechanisms))
    blend = np.broadcast_to(WEIGHTS, (len(weights), all_mechanisms, len(NODES))).copy()
    for column, mechanism in enumerate(mechanisms):
        blend[:, mechanism] = between(values[:, column])
    return Doubts(tuple(mechanisms), blend, weights)


def between(values: Array) -> Array:
    """How the nine kept values are mixed to give any other: the polynomial through all nine (Lagrange)."""
    found = np.ones((len(values), len(NODES)))
    for spot, node in enumerate(NODES):
        for other in np.delete(NODES, spot):
            found[:, spot] *= (values - other) / (node - other)
    return found


def at_values(use: Array, excess: Array, doubts: Doubts) -> Array:
    """Use and excess wear added up at every joint value: one more axis at the end.

    `excess` has the mechanisms and their nine values on its last two axes.
    """
    size = excess.shape[-2] * excess.shape[-1]
    flat = excess.reshape(*use.shape, size) @ doubts.blend.reshape(-1, size).T
    return np.asarray(use[..., None] + np.maximum(flat, 0.0))
