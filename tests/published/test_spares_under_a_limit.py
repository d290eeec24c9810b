"""Spares under a limit of weight: worked examples, solved by trying everything.

Ranking spares by benefit for what they take, until the weight is used: two spares models for a space station (Logistics
Management Institute 1990, 1993, abstracts read). Greedy points need not be the best for a given limit. The figures of the
examples are arithmetic checks worked apart from this program (three items and 12 kg; 12 parts of a touring kit and 12 kg, whose
demands are a judgement for a test alone); here they are worked again, the first by brute force.
"""

from itertools import product
from math import exp, factorial

import pytest

from tests.published.sparing import unmet
from tripplan.risk.packing import pack
from tripplan.risk.poisson import more_than

THREE = ((0.5, 1000, 2), (0.2, 3000, 5), (0.05, 8000, 10))
"""Demand, worth of one, kg."""
TOURING = {
    "second spare tyre": (24.0, 0.18), "trailer bearing set": (1.2, 0.06), "front bearing set": (1.5, 0.03),
    "belts": (0.6, 0.04), "hoses": (1.0, 0.05), "fuel filter": (0.5, 0.20), "air element": (0.9, 0.15),
    "universal joint": (0.8, 0.05), "alternator": (6.0, 0.04), "shock absorber": (3.5, 0.10),
    "spring U-bolt set": (2.0, 0.03), "water pump": (4.0, 0.03),
}  # fmt: skip
MICRO = 1_000_000


def beyond(count: int, mean: float) -> float:
    """P(X > count), written out from the law."""
    return 1 - sum(exp(-mean) * mean**k / factorial(k) for k in range(count + 1))


def packed(parts: list[tuple[float, float, float]], kg: float) -> list[int]:
    """How many of each part (demand, worth, kg) the exact choice takes under that weight."""
    pieces = [(part, k) for part in range(len(parts)) for k in range(5)]
    worth = [round(MICRO * parts[part][1] * float(more_than(k, parts[part][0]))) for part, k in pieces]
    weight = [round(1000 * parts[part][2]) for part, _ in pieces]
    found = pack(worth, weight, [0] * len(pieces), (round(1000 * kg), 1))
    assert found.is_exact
    return [sum(pieces[i][0] == part for i in found.taken) for part in range(len(parts))]


def test_marginal_values_of_the_three_items() -> None:
    """v P(X >= k): 393.469, 90.204, 14.388; 543.808, 52.569, 3.445; 390.165, 9.673, 0.161."""
    found = [value * float(more_than(k, mean)) for mean, value, _ in THREE for k in range(3)]
    expected = [393.469, 90.204, 14.388, 543.808, 52.569, 3.445, 390.165, 9.673, 0.161]
    assert found == pytest.approx(expected, abs=1e-3)


def test_three_items_and_twelve_kilograms() -> None:
    """(3, 1, 0), worth 1041.869, by brute force over every number of each up to five; P(all met) with (2, 1, 0) = 0.921115."""

    def worth(counts: tuple[int, ...]) -> float:
        return sum(
            value * beyond(k, mean) for count, (mean, value, _) in zip(counts, THREE, strict=True) for k in range(count)
        )

    fitting = [
        c for c in product(range(6), repeat=3) if sum(n * kg for n, (_, _, kg) in zip(c, THREE, strict=True)) <= 12
    ]
    best = max(fitting, key=worth)
    assert best == (3, 1, 0) and worth(best) == pytest.approx(1041.869, abs=1e-3)
    assert packed([*THREE], 12) == [3, 1, 0]
    all_met = 1.0
    for count, (mean, _, _) in zip((2, 1, 0), THREE, strict=True):
        all_met *= 1 - float(more_than(count, mean))
    assert all_met == pytest.approx(0.921115, abs=5e-7)


def test_two_items_of_the_textbook_kind() -> None:
    """A: demand 1, weight 5; B: demand 4, weight 1. Greedy takes six of B, then A, then B; unmet falls as printed."""
    steps, counts, told = [], [0, 0], []
    parts = ((1.0, 5), (4.0, 1))
    for _ in range(12):
        rates = [float(more_than(counts[i], parts[i][0])) / parts[i][1] for i in range(2)]
        first = 0 if rates[0] > rates[1] else 1
        counts[first] += 1
        steps.append("AB"[first])
        told.append(unmet(counts[0], 1.0) + unmet(counts[1], 4.0))
    assert "".join(steps) == "BBBBBBABABBA"
    printed = [4.0183, 3.1099, 2.3480, 1.7815, 1.4103, 1.1954, 0.5633, 0.4526, 0.1884, 0.1373, 0.1159, 0.0356]
    assert told == pytest.approx(printed, abs=6e-5)


def test_the_touring_kit_of_twelve_kilograms() -> None:
    """Unmet demands 0.9600 without a kit, 0.2902 with the best: one each of nine parts, 12.0 kg; greedy 0.2909."""
    parts = [(mean, 1.0, kg) for kg, mean in TOURING.values()]
    found = packed(parts, 12.0)
    names = [name for name, count in zip(TOURING, found, strict=True) if count]
    assert sum(mean for _, mean in TOURING.values()) == pytest.approx(0.96)
    assert names == [
        "trailer bearing set", "front bearing set", "belts", "hoses", "fuel filter", "air element", "universal joint",
        "shock absorber", "spring U-bolt set",
    ]  # fmt: skip
    assert max(found) == 1
    left = sum(unmet(count, mean) for count, (_, mean) in zip(found, TOURING.values(), strict=True))
    assert left == pytest.approx(0.2902, abs=5e-5)
    none_short = 1.0
    for count, (_, mean) in zip(found, TOURING.values(), strict=True):
        none_short *= 1 - float(more_than(count, mean))
    assert none_short == pytest.approx(0.7494, abs=5e-5)
