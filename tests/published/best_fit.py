"""The most likely shape and scale, by narrowing a grid: no optimiser, no start value to go wrong."""

from collections.abc import Sequence

import numpy as np

from tripplan.due.life_law import Look, log_likelihood


def best_fit(
    looks: Sequence[Look], shapes: tuple[float, float], scales: tuple[float, float]
) -> tuple[float, float, float]:
    """Shape, scale and log-likelihood at the top, to some nine digits."""
    for _ in range(40):
        shape, scale = np.linspace(*shapes, 41), np.linspace(*scales, 41)
        values = log_likelihood(looks, shape[:, None], scale[None, :])
        row, column = np.unravel_index(values.argmax(), values.shape)
        width = (shapes[1] - shapes[0]) / 4, (scales[1] - scales[0]) / 4
        shapes = max(shape[row] - width[0], 1e-3), shape[row] + width[0]
        scales = max(scale[column] - width[1], 1e-3), scale[column] + width[1]
    return float(shape[row]), float(scale[column]), float(values.max())
