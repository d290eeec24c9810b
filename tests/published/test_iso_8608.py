"""ISO 8608 spectrum, and the roughness index of a random road.

Read: class limits in three public programs, one citing ISO 8608:1995; the index formula in
a public vehicle-dynamics program: 2.21 sqrt(C) exp(-0.356 (w-2) + 0.13 (w-2)^2), C the density at
1 rad/m in 1e-6 m3. From memory: the class means, half the upper limits, and that the formula is
Kropac and Mucka's. The standard was not read.
"""

import math

import pytest

from tests.published.printed import agrees
from tests.published.roughness_index import iri_of_random_road
from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.roughness import profile_density_m3

# class: mean density at 0.1 cycle/m in 1e-6 m3, and the formula's index, m/km
CLASSES = [(16, "2.21"), (64, "4.42"), (256, "8.84"), (1024, "17.7")]


def by_formula(density_omega0_m3: float, waviness: float = 2.0) -> float:
    """The published fit."""
    bend = math.exp(-0.356 * (waviness - 2) + 0.13 * (waviness - 2) ** 2)
    return 2.21 * math.sqrt(density_omega0_m3 * 1e6) * bend


@pytest.mark.parametrize(("mean_e6", "printed"), CLASSES)
def test_index_of_class_mean(mean_e6: float, printed: str) -> None:
    """Roughness in classes and roughness as an index would not mean the same road."""
    assert agrees(printed, by_formula(mean_e6 / 16 * 1e-6))
    assert iri_of_random_road(mean_e6 * 1e-6) == pytest.approx(float(printed), rel=0.04)


@pytest.mark.parametrize("waviness", [1.5, 1.75, 2.0, 2.25, 2.5])
def test_formula_against_the_driven_quarter_car(waviness: float) -> None:
    """Two independent routes to the index would disagree by more than the 4 % they should."""
    at_one_rad_m3 = float(profile_density_m3(1 / (2 * math.pi), 64e-6, waviness)) / (2 * math.pi)
    assert by_formula(at_one_rad_m3, waviness) == pytest.approx(iri_of_random_road(64e-6, waviness), rel=0.04)


def test_density_falls_fourfold_an_octave() -> None:
    """Long waves would weigh as much as short ones."""
    assert profile_density_m3(0.1, 16e-6) == 16e-6
    assert profile_density_m3(0.2, 16e-6) == pytest.approx(4e-6)
    with pytest.raises(OutOfRange):
        profile_density_m3(0.1, 16e-6, 4.0)
