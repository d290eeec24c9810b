"""The reference quarter car behind the international roughness index.

Read: stiffnesses, mass, damping, 80 km/h and 0.25 m averaging, in the public program that
accompanies Sroubek, Sorel and Zak (2021, 10.1007/s42947-021-00097-z). The index figures
were computed beforehand with a separate quarter car, not with this package.
"""

import math

import pytest

from tests.published.printed import agrees
from tests.published.roughness_index import iri_of_random_road, iri_of_washboard
from tripplan.wear.mechanisms.quarter_car import ENVELOPE_M, GOLDEN_CAR, INDEX_SPEED_KMH


def test_values_of_the_reference_car() -> None:
    """Every roughness figure would belong to some other vehicle."""
    car = GOLDEN_CAR
    assert (car.tyre_per_s2, car.spring_per_s2) == (653.0, 63.3)
    assert (car.wheel_mass_ratio, car.damper_per_s) == (0.15, 6.0)
    assert (INDEX_SPEED_KMH, ENVELOPE_M) == (80.0, 0.25)


def test_natural_frequencies() -> None:
    """Wheel hop would be sought at the wrong speed on washboard."""
    car = GOLDEN_CAR
    both = car.tyre_per_s2 + car.spring_per_s2
    assert agrees("1.21", math.sqrt(car.tyre_per_s2 * car.spring_per_s2 / both) / (2 * math.pi))
    assert agrees("11.0", math.sqrt(both / car.wheel_mass_ratio) / (2 * math.pi))
    assert agrees("0.38", car.damper_per_s / (2 * math.sqrt(car.spring_per_s2)))


def test_index_of_a_class_a_road() -> None:
    """The level from which roughness counts would be off on every road."""
    assert agrees("2.17", iri_of_random_road(16e-6))


@pytest.mark.parametrize(("waviness", "printed"), [(1.5, "0.744"), (2.0, "0.543"), (2.5, "0.421")])
def test_index_over_root_of_density(waviness: float, printed: str) -> None:
    """Roads with more long or more short waves would be ranked wrongly."""
    assert agrees(printed, iri_of_random_road(1e-6, waviness))


@pytest.mark.parametrize(("wavelength_m", "printed"), [(0.5, "0.149"), (0.7, "0.277"), (1.0, "0.492"), (2.0, "1.49")])
def test_index_of_a_millimetre_of_washboard(wavelength_m: float, printed: str) -> None:
    """Washboard would be read into or out of a roughness survey by the wrong amount."""
    assert agrees(printed, iri_of_washboard(1.0, wavelength_m))
