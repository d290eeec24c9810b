"""The 95 % value of a whole trip's wear, against draws, and its exact place inside a stretch."""

from itertools import pairwise

import numpy as np
import pytest

from tripplan.wear.mechanisms.uncertain import NODES, Z95, Array, excess_at
from tripplan.wear.total import Total, log_sd, piled

DRAWS = 100_000
# what 10^5 draws beyond the value may be: 5 %, moments of three against the draws' own law included
LEAST_BEYOND, MOST_BEYOND = 0.042, 0.055
Case = tuple[Array, list[tuple[Array, Array]], float, float]


def cases() -> list[Case]:
    """Uses of the legs, (typical, high) of each mechanism on each, use before, doubt about the interval."""
    numbers = np.random.default_rng(14)
    found: list[Case] = []
    for case in range(40):
        legs = int(numbers.integers(1, 12))
        mechanisms = []
        for largest, widest in ((3, 2.0), (2.5, 1.8), (0.7, 2.3), (1, 2.2), (1.2, 3.5)):
            excess = numbers.uniform(0.01, largest, legs) * (numbers.random(legs) < 0.6)
            mechanisms.append((1 + excess, 1 + excess * numbers.uniform(1.2, widest, legs)))
        sigma, used = float(numbers.choice([0.0, 0.1, 0.21, 0.35, 0.45])), float(numbers.choice([0, 0, 2000, 8000]))
        found.append((numbers.uniform(50, 500, legs), mechanisms, used, sigma if case else 0.0))
    return found


def total(uses: Array, mechanisms: list[tuple[Array, Array]], used: float = 0.0) -> Total:
    """The running total of those legs."""
    steps = np.stack([uses[:, None] * excess_at(t[:, None], h[:, None], NODES) for t, h in mechanisms], axis=1)
    excess = np.concatenate([np.zeros_like(steps[:1]), steps.cumsum(axis=0)])
    return piled(used + np.append(0.0, uses.cumsum()), excess)


def drawn(uses: Array, mechanisms: list[tuple[Array, Array]], used: float, sigma: float, seed: int) -> Array:
    """As many totals, each mechanism with one doubt for all its legs, the interval with its own."""
    numbers = np.random.default_rng(seed)
    worn = np.full(DRAWS, used + uses.sum())
    for typical, high in mechanisms:
        doubt = numbers.standard_normal(DRAWS)
        for use, one, other in zip(uses, typical, high, strict=True):
            worn += use * excess_at(float(one), float(other), doubt)
    return np.asarray(worn * np.exp(sigma * numbers.standard_normal(DRAWS)))


def test_one_draw_in_twenty_lies_beyond() -> None:
    """If not, the reserve would be far less, or far more, than the one trip in twenty it claims."""
    beyond = []
    for seed, (uses, mechanisms, used, sigma) in enumerate(cases()):
        value = total(uses, mechanisms, used).reserve(sigma)[-1]
        beyond.append(np.mean(drawn(uses, mechanisms, used, sigma, seed) > value))
        assert LEAST_BEYOND <= beyond[-1] <= MOST_BEYOND, seed
    assert np.mean(beyond) == pytest.approx(0.05, abs=0.003)


def test_the_sum_of_the_legs_own_values_is_too_much() -> None:
    """If not, it would not matter that they were added up; it does when many doubts act in turn."""
    uses = np.array([300.0, 300.0])
    apart = [(np.array([3.0, 1.0]), np.array([5.0, 1.0])), (np.array([1.0, 3.0]), np.array([1.0, 5.0]))]
    legs = sum(
        float(total(uses[n : n + 1], [(t[n : n + 1], h[n : n + 1]) for t, h in apart]).reserve(0.0)[-1]) for n in (0, 1)
    )
    both = float(total(uses, apart).reserve(0.0)[-1])
    assert legs == pytest.approx(300 * 5 * 2, rel=1e-4)
    assert both < 0.95 * legs


def test_nothing_in_doubt_has_no_reserve() -> None:
    """If not, a plain trip would be given a reserve for no reason."""
    plain = total(np.array([300.0, 200.0]), [(np.ones(2), np.ones(2))])
    assert plain.reserve(0.0).tolist() == plain.typical.tolist() == [0.0, 300.0, 500.0]
    assert log_sd(plain) == 0.0
    # the interval alone: 95 % value is exp(1.645 x 0.3) of it
    assert plain.reserve(0.3)[-1] == pytest.approx(500 * np.exp(Z95 * 0.3))


def test_one_mechanism_alone_is_its_own_high_value() -> None:
    """If not, a row's high value could not be found again in a trip of equal legs."""
    one = total(np.array([300.0, 200.0]), [(np.array([2.0, 2.0]), np.array([3.0, 3.0]))], used=100)
    assert one.typical.tolist() == pytest.approx([100, 700, 1100])
    assert one.reserve(0.0).tolist() == pytest.approx([100, 1000, 1600], rel=1e-4)


def test_what_is_behind_it_is_part_of_it() -> None:
    """If not, the dust of earlier trips would count as a second, separate doubt."""
    ahead = total(np.array([300.0]), [(np.array([2.0]), np.array([3.0]))])
    before = 100 * excess_at(2.0, 3.0, NODES)[None, :]
    assert ahead.after(100, before).reserve(0.0)[-1] == pytest.approx(1200, rel=1e-4)  # 400 km at 3
    assert ahead.after(100, None).reserve(0.0)[-1] == pytest.approx(1000, rel=1e-4)


def test_the_doubt_of_a_trip_gives_its_95_percent_value() -> None:
    """If not, the price of lateness would be drawn from another law than the reserve."""
    uses, mechanisms, _, _ = cases()[3]
    one = total(uses, mechanisms)
    assert one.typical[-1] * np.exp(Z95 * log_sd(one)) == pytest.approx(one.reserve(0.0)[-1])


@pytest.mark.parametrize("sigma", [0.0, 0.21])
def test_it_is_reached_where_it_is_reached_however_the_line_is_cut(sigma: float) -> None:
    """If not, cutting a leg in two would move the place where an item runs out."""
    uses, parts = (
        np.array([200.0, 600.0]),
        [(np.array([1.5, 2.5]), np.array([2.0, 4.0])), (np.array([1.0, 1.4]), np.array([1.0, 2.2]))],
    )
    whole = total(uses, parts, 500.0)
    start, end = whole.reserve(sigma)[1:]
    limit = float(start + 0.4 * (end - start))
    share = whole.reaches(2, limit, sigma)
    first = 200 + 600 * share
    cut = total(np.array([200.0, 600 * 0.3, 600 * 0.7]), [(t[[0, 1, 1]], h[[0, 1, 1]]) for t, h in parts], 500.0)
    row = int(np.searchsorted(cut.reserve(sigma), limit))
    edges = [0.0, 200.0, 380.0, 800.0]
    again = edges[row - 1] + cut.reaches(row, limit, sigma) * (edges[row] - edges[row - 1])
    assert again == pytest.approx(first, abs=1e-3)
    assert whole.typical[-1] == pytest.approx(cut.typical[-1])
    assert whole.reserve(sigma)[-1] == pytest.approx(cut.reserve(sigma)[-1], rel=1e-12)


def test_it_only_grows() -> None:
    """If not, an item would be fresher at the end of a leg than at its start."""
    for uses, mechanisms, used, sigma in cases():
        for before, behind in pairwise(total(uses, mechanisms, used).reserve(sigma).tolist()):
            assert behind >= before
