"""A second quarter car, in time: exact discretisation of the state space, then rainflow counting.

Nothing of the package's frequency-domain form is used here; only the four values of the
reference car are the same. Rainflow after ASTM E1049 (four-point rule), from memory.
"""

from collections.abc import Iterable
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Series = NDArray[np.float64]
TYRE, SPRING, MASS, DAMPER = 653.0, 63.3, 0.15, 6.0


def exponential(matrix: Series) -> Series:
    """Matrix exponential by scaling, a Taylor sum, and squaring."""
    halvings = 12
    small = matrix / 2**halvings
    total, term = np.eye(len(matrix)), np.eye(len(matrix))
    for order in range(1, 12):
        term = term @ small / order
        total = total + term
    for _ in range(halvings):
        total = total @ total
    return total


def drive(road_m: Series, step_s: float) -> dict[str, Series]:
    """Stroke, suspension force and dynamic tyre force over a road given at equal time steps.

    State: body height and speed, wheel height and speed. The road runs straight between samples.
    """
    system = np.array(
        [
            [0, 1, 0, 0],
            [-SPRING, -DAMPER, SPRING, DAMPER],
            [0, 0, 0, 1],
            [SPRING / MASS, DAMPER / MASS, -(SPRING + TYRE) / MASS, -DAMPER / MASS],
        ]
    )
    whole = np.zeros((6, 6))
    whole[:4, :4] = system
    whole[3, 4] = TYRE / MASS
    whole[4, 5] = 1.0
    move = exponential(whole * step_s)
    slopes = np.diff(road_m) / step_s
    state = np.zeros(4)
    states = np.zeros((len(road_m), 4))
    own, by_height, by_slope = move[:4, :4], move[:4, 4], move[:4, 5]
    for i, slope in enumerate(slopes):
        state = own @ state + by_height * road_m[i] + by_slope * slope
        states[i + 1] = state
    body, body_speed, wheel, wheel_speed = states.T
    return {
        "stroke": body - wheel,
        "body": -SPRING * (body - wheel) - DAMPER * (body_speed - wheel_speed),
        "axle": TYRE * (wheel - road_m),
    }


def random_road(length_m: float, step_m: float, density_n0_m3: float, seed: int) -> Series:
    """A Gaussian road of waviness 2, averaged over 0.25 m: white slope, summed, smoothed."""
    count = round(length_m / step_m)
    slope_density = density_n0_m3 * (2 * np.pi * 0.1) ** 2
    slopes = np.random.default_rng(seed).normal(size=count) * np.sqrt(slope_density / 2 / step_m)
    return smoothed(np.cumsum(slopes) * step_m, step_m)


def smoothed(road_m: Series, step_m: float) -> Series:
    """The moving average over 0.25 m that the tyre makes of a road."""
    width = round(0.25 / step_m)
    return np.convolve(road_m, np.ones(width) / width, mode="same")


def turning_points(series: Series) -> Series:
    """The peaks and valleys of a series, in order."""
    steps = np.sign(np.diff(series))
    turns = np.flatnonzero(steps[1:] * steps[:-1] < 0) + 1
    return series[turns]


def rainflow_ranges(series: Series) -> list[tuple[float, float]]:
    """(range, count) of every cycle; what is left over counts as half cycles."""
    stack: list[float] = []
    found: list[tuple[float, float]] = []
    for point in turning_points(series):
        stack.append(float(point))
        while len(stack) >= 4:
            a, b, c, d = stack[-4:]
            inner = abs(c - b)
            if inner > abs(b - a) or inner > abs(d - c):
                break
            found.append((inner, 1.0))
            del stack[-3:-1]
    found.extend((abs(b - a), 0.5) for a, b in pairwise(stack))
    return found


def damage(ranges: Iterable[tuple[float, float]], miner: float) -> float:
    """Miner's sum up to a constant."""
    return sum(count * size**miner for size, count in ranges)
