"""ISO 8608 road classes, and the roughness index of a random road.

Read: class limits in three public programs, one citing ISO 8608:1995; the index formula in
a public vehicle-dynamics program. From memory: the class means, and that the formula is
Kropac and Mucka's. The standard was not read.
"""

import pytest

from tests.published.printed import agrees
from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.roughness import (
    CLASS_UPPER_E6,
    class_mean_m3,
    iri_from_density,
    iri_of_random_road,
    profile_density_m3,
)

MEANS = {"A": "16", "B": "64", "C": "256", "D": "1024", "E": "4096", "F": "16384", "G": "65536"}
INDEX_OF_MEAN = {"A": "2.21", "B": "4.42", "C": "8.84", "D": "17.7", "E": "35.4"}
INDEX_OF_UPPER = {"A": "3.13", "B": "6.25", "C": "12.5", "D": "25"}
DENSITY_OF_INDEX = [(3, "29.5"), (8, "210"), (10, "328"), (14, "642"), (20, "131e1")]


@pytest.mark.parametrize(("letter", "printed"), MEANS.items())
def test_class_means(letter: str, printed: str) -> None:
    """A road class would stand for a road four times rougher or smoother."""
    assert agrees(printed, class_mean_m3(letter) * 1e6)


def test_class_limits() -> None:
    """Table values 1600 times too small are in circulation and would make every road smooth."""
    assert list(CLASS_UPPER_E6.values()) == [2**power for power in range(5, 19, 2)]


@pytest.mark.parametrize(("letter", "printed"), INDEX_OF_MEAN.items())
def test_index_of_class_mean(letter: str, printed: str) -> None:
    """Roughness in classes and roughness as an index would not mean the same road."""
    assert agrees(printed, float(iri_from_density(class_mean_m3(letter) / 16)))


@pytest.mark.parametrize(("letter", "printed"), INDEX_OF_UPPER.items())
def test_index_of_class_limit(letter: str, printed: str) -> None:
    """The border between two road classes would lie at the wrong index."""
    assert agrees(printed, float(iri_from_density(CLASS_UPPER_E6[letter] * 1e-6 / 16)))


@pytest.mark.parametrize(("index", "printed"), DENSITY_OF_INDEX)
def test_density_of_an_index(index: float, printed: str) -> None:
    """An index read off a road report would be turned into the wrong road."""
    density_e6 = 16 * (index / float(iri_from_density(1e-6))) ** 2
    assert agrees(printed, density_e6)


@pytest.mark.parametrize("waviness", [1.5, 1.75, 2.0, 2.25, 2.5])
def test_formula_against_the_driven_quarter_car(waviness: float) -> None:
    """Two independent routes to the index would disagree by more than the 4 % they should."""
    at_one_rad_m3 = float(profile_density_m3(1 / (2 * 3.14159265), 64e-6, waviness)) / (2 * 3.14159265)
    assert iri_from_density(at_one_rad_m3, waviness) == pytest.approx(iri_of_random_road(64e-6, waviness), rel=0.04)


def test_density_falls_fourfold_an_octave() -> None:
    """Long waves would weigh as much as short ones."""
    assert profile_density_m3(0.1, 16e-6) == 16e-6
    with pytest.raises(OutOfRange):
        profile_density_m3(0.1, 16e-6, 4.0)
