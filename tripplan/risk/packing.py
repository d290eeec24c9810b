"""What to take under a limit of weight and one of volume: the exact choice among pieces that each have a worth.

Branch and bound, breadth first, all open choices as arrays: pieces in the order of their worth for
what they take of both limits, each left or taken; a choice is dropped where even the best fractions of
what is left could not beat what is known (the relaxation with both limits blended into one, for several
blends). Whole numbers throughout, so that equal pieces give equal choices on any machine. Where too many
choices stay open, the greedy choice is the answer and said to be that.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from tripplan.wear.mechanisms.uncertain import Array

Ints = NDArray[np.int64]
BLENDS: Final = (1.0, 0.8, 0.6, 0.4, 0.2, 0.0)
MOST_OPEN: Final = 60_000


class Packed(Struct, frozen=True):
    """The pieces taken, by number, and whether that is proven to be the best."""

    taken: tuple[int, ...]
    is_exact: bool


def pack(worth: Sequence[int], weight: Sequence[int], volume: Sequence[int], most: tuple[int, int]) -> Packed:
    """The pieces of the greatest worth within both limits; of equals those that come first."""
    fit = [i for i in range(len(worth)) if worth[i] > 0 and weight[i] <= most[0] and volume[i] <= most[1]]
    if not fit:
        return Packed((), True)
    w, v, u = (np.array([kind[i] for i in fit], dtype=np.int64) for kind in (weight, volume, worth))
    order = np.argsort(-u / np.maximum(_blended(w, v, most, 0.5), 1e-12), kind="stable")
    w, v, u = w[order], v[order], u[order]
    first = max((_greedy(w, v, u, most, blend) for blend in BLENDS), key=lambda rows: int(u[rows].sum()))
    found, is_exact = _searched(w, v, u, most, first)
    return Packed(tuple(sorted(int(fit[order[row]]) for row in found)), is_exact)


def _blended(w: Ints, v: Ints, most: tuple[int, int], blend: float) -> Array:
    """What each piece takes of both limits as one: shares of the limits, mixed."""
    return np.asarray(blend * w / max(most[0], 1) + (1.0 - blend) * v / max(most[1], 1))


def _greedy(w: Ints, v: Ints, u: Ints, most: tuple[int, int], blend: float) -> list[int]:
    """Pieces by worth for what they take, each that still fits."""
    left, found = list(most), []
    for row in np.argsort(-u / np.maximum(_blended(w, v, most, blend), 1e-12), kind="stable").tolist():
        if w[row] <= left[0] and v[row] <= left[1]:
            left[0] -= int(w[row])
            left[1] -= int(v[row])
            found.append(row)
    return found


def _searched(w: Ints, v: Ints, u: Ints, most: tuple[int, int], first: list[int]) -> tuple[list[int], bool]:
    best, best_rows = int(u[first].sum()), list(first)
    weights, volumes, worths = (np.zeros(1, dtype=np.int64) for _ in range(3))
    taken = np.zeros((1, len(w)), dtype=bool)
    for row in range(len(w)):
        fits = (weights + w[row] <= most[0]) & (volumes + v[row] <= most[1])
        more = taken[fits]
        more[:, row] = True
        weights = np.concatenate([weights, weights[fits] + w[row]])
        volumes = np.concatenate([volumes, volumes[fits] + v[row]])
        worths = np.concatenate([worths, worths[fits] + u[row]])
        taken = np.concatenate([taken, more])
        top = int(worths.argmax())
        if worths[top] > best:
            best, best_rows = int(worths[top]), np.flatnonzero(taken[top]).tolist()
        keep = _promising(weights, volumes, worths, (w[row + 1 :], v[row + 1 :], u[row + 1 :]), most) > best
        weights, volumes, worths, taken = weights[keep], volumes[keep], worths[keep], taken[keep]
        if not len(weights):
            break
        if len(weights) > MOST_OPEN:
            return best_rows, False
    return best_rows, True


def _promising(
    weights: Ints, volumes: Ints, worths: Ints, rest: tuple[Ints, Ints, Ints], most: tuple[int, int]
) -> Array:
    """The most that each open choice could still come to, at or above the truth."""
    w, v, u = rest
    found = (worths + u.sum()).astype(float)
    for blend in BLENDS:
        takes = _blended(w, v, most, blend)
        order = np.argsort(-u / np.maximum(takes, 1e-12), kind="stable")
        piled, gained = np.append(0.0, np.cumsum(takes[order])), np.append(0.0, np.cumsum(u[order]))
        room = 1.0 - _blended(weights, volumes, most, blend)
        found = np.minimum(found, worths + np.interp(room + 1e-12, piled, gained) + 1e-6)
    return np.asarray(found)
