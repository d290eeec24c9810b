"""World Bank HDM-III and HDM-4 parts cost against roughness: a cross-check of the level.

From memory: every coefficient (Watanatada and others, 1987, for HDM-III: high confidence;
HDM-4: medium). Read: only the opening of the 1987 volume, and an abstract that warns of
large differences between these models and field data. So: ratios only, and as an envelope.
The ratios were worked out beforehand, apart from this package.
"""

import math

import pytest

from tests.published.printed import agrees
from tripplan.wear.mechanisms.roughness import LEVEL_EXPONENTS, roughness_multiplier

INDEXES = (4, 6, 8, 10, 12, 15, 20)
QI_PER_IRI = 13.0


def utility_1987(iri: float) -> float:
    """Parts cost of a utility, HDM-III: exponential up to QI 120, then its tangent."""
    rate, knee = 13.70e-3, 120.0
    rough = QI_PER_IRI * iri
    if rough <= knee:
        return math.exp(rate * rough)
    return math.exp(rate * knee) * (1 + rate * (rough - knee))


def light_truck_1987(iri: float) -> float:
    """Parts cost of a light truck, HDM-III: linear in roughness."""
    return 1 + 0.25179 * QI_PER_IRI * iri


def four_wheel_drive_hdm4(iri: float) -> float:
    """Parts cost of a four-wheel drive, HDM-4: linear, flat below an index of 3."""
    return 7.29 + 2.96 * max(3.0, iri)


def car_hdm4(iri: float) -> float:
    """Parts cost of a car, HDM-4: linear, flat below an index of 3."""
    return 36.94 + 6.20 * max(3.0, iri)


RATIOS = [
    (utility_1987, 2, "1.43 2.04 2.91 4.12 5.41 7.35 10.6"),
    (light_truck_1987, 2, "1.87 2.73 3.60 4.47 5.34 6.64 8.81"),
    (four_wheel_drive_hdm4, 3, "1.18 1.55 1.92 2.28 2.65 3.20 4.11"),
    (car_hdm4, 3, "1.11 1.33 1.56 1.78 2.00 2.34 2.90"),
]


@pytest.mark.parametrize(("model", "base", "printed"), RATIOS)
def test_ratios(model, base: float, printed: str) -> None:  # type: ignore[no-untyped-def]
    """The models that the level of roughness wear is held against would be misquoted."""
    for iri, figure in zip(INDEXES, printed.split(), strict=True):
        assert agrees(figure, model(iri) / model(base)), iri


@pytest.mark.parametrize("iri", [5, 6, 8, 10])
def test_level_lies_inside_the_models(iri: float) -> None:
    """The typical multiplier of a rough road would lie outside all four maintenance models."""
    ratios = [model(iri) / model(3) for model, _, _ in RATIOS]
    assert min(ratios) <= roughness_multiplier(iri, 0.8) <= max(ratios)


@pytest.mark.parametrize(
    ("power", "printed"),
    [(0.5, "1.15 1.29 1.41 1.63 1.83 2.24 2.58"), (0.8, "1.26 1.5 1.74 2.19 2.62 3.62 4.56"),
     (1.1, "1.37 1.75 2.14 2.94 3.76 5.87 8.06")],
)  # fmt: skip
def test_level_table(power: float, printed: str) -> None:
    """Low, typical and high wear of a rough road would not be those that were argued for."""
    assert power in LEVEL_EXPONENTS
    for iri, figure in zip((4, 5, 6, 8, 10, 15, 20), printed.split(), strict=True):
        assert agrees(figure, float(roughness_multiplier(iri, power))), iri


@pytest.mark.parametrize(
    ("power", "effective_km", "mean"), [(0.5, "1889", "1.26"), (0.8, "2249", "1.50"), (1.1, "2755", "1.84")]
)
def test_mixed_trip(power: float, effective_km: str, mean: str) -> None:
    """A trip over four kinds of road would use up the wrong number of km."""
    legs = [(900, 2), (300, 6), (250, 10), (50, 14)]
    total = sum(km * float(roughness_multiplier(iri, power)) for km, iri in legs)
    assert agrees(effective_km, total)
    assert agrees(mean, total / 1500)
