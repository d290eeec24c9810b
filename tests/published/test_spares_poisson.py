"""Spares under a Poisson demand against worked cases.

The table of least spares for an assurance, and 20 parts at 0.1 per 1000 h in three units of 720 h (m = 4.32, 8 spares
at 95 %): the textbook case is recalled (Blanchard, memory), its figures are an exact Poisson table, here taken from
SciPy where it is installed. 45 units, 90 days, mean time 100 000, 200 000, 300 000 h: 3, 2, 2 spares at 95 % by the normal
approximation on a public wiki page (read); the exact law gives 3, 2, 1. Three components of 2.6, 3.0 and 2.4 demands:
an exercise of Barlow (1981, in Trivedi; read): one store with an assurance of 0.90 needs 12 parts, three stores 17.
"""

from itertools import product

import pytest

from tests.published.sparing import enough, unmet
from tripplan.risk.poisson import more_than

LEAST = {0.5: (1, 2, 3), 1.0: (2, 3, 4), 2.0: (4, 5, 6), 3.0: (5, 6, 8), 5.0: (8, 9, 11)}


@pytest.mark.parametrize(("mean", "counts"), LEAST.items())
def test_least_spares_of_the_table(mean: float, counts: tuple[int, int, int]) -> None:
    """A kit would hold too few for the chance it names."""
    assert tuple(enough(chance, mean) for chance in (0.90, 0.95, 0.99)) == counts


def test_the_textbook_case_of_twenty_parts() -> None:
    """20 x 0.1 / 1000 x 3 x 720 = 4.32 demands; P(X <= 7) = 0.9275, P(X <= 8) = 0.9675."""
    assert enough(0.95, 4.32) == 8
    assert 1 - more_than(7, 4.32) == pytest.approx(0.9275, abs=5e-5)
    assert 1 - more_than(8, 4.32) == pytest.approx(0.9675, abs=5e-5)


def test_the_public_case_of_45_units_by_the_exact_law() -> None:
    """The approximation printed there overstates the last; exactly P(X <= 1) = 0.9576 suffices."""
    means = [45 * 90 * 24 / life_h for life_h in (100_000, 200_000, 300_000)]
    assert means == pytest.approx([0.972, 0.486, 0.324])
    assert [enough(0.95, mean) for mean in means] == [3, 2, 1]
    assert 1 - more_than(1, means[2]) == pytest.approx(0.9576, abs=5e-5)


def test_one_store_against_three() -> None:
    """Parts that several items share: 12 in one store, 6 + 6 + 5 in three, tried one by one."""
    demands = (2.6, 3.0, 2.4)
    assert enough(0.90, sum(demands)) == 12
    assert 1 - more_than(12, 8.0) == pytest.approx(0.9362, abs=5e-5)
    assert 1 - more_than(11, 8.0) == pytest.approx(0.8881, abs=5e-5)

    def together(counts: tuple[int, ...]) -> float:
        chance = 1.0
        for count, mean in zip(counts, demands, strict=True):
            chance *= 1 - float(more_than(count, mean))
        return chance

    good = [counts for counts in product(range(10), repeat=3) if together(counts) >= 0.90]
    least = min(map(sum, good))
    assert least == 17 and together((6, 6, 5)) == pytest.approx(0.9160, abs=5e-5)


def test_what_stays_unmet_follows_the_recursion() -> None:
    """EBO(s + 1) = EBO(s) - P(X > s): "On spare parts optimization" (read); m = 1 and 4 in the style of Sherbrooke."""
    assert [unmet(s, 1.0) for s in range(5)] == pytest.approx([1, 0.3679, 0.1036, 0.0233, 0.0043], abs=5e-5)
    expected = [4, 3.0183, 2.1099, 1.3480, 0.7815, 0.4103, 0.1954, 0.0848]
    assert [unmet(s, 4.0) for s in range(8)] == pytest.approx(expected, abs=5e-5)


def test_against_another_library() -> None:
    """Our own sum would drift where demands are many: SciPy's Poisson law."""
    stats = pytest.importorskip("scipy.stats")
    for mean in (0.001, 0.3, 2.0, 17.0, 120.0):
        for count in (0, 1, 3, 20, 130):
            assert float(more_than(count, mean)) == pytest.approx(float(stats.poisson.sf(count, mean)), abs=1e-11)
