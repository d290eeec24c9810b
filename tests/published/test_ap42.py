"""US EPA AP-42 section 13.2.2, public unpaved roads.

Read: the coefficients and limits, in a public program that implements the section; the
page itself was not readable. From memory: that they match Table 13.2.2-2. The grams per km
were worked by hand from those coefficients before the program existed.
Dust concentrations: read, a filter catalogue's glossary (0.1 ambient, 10 dirt road).
"""

import pytest

from tests.published.printed import agrees
from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.dust import EMISSION, NORMAL_MG_PER_M3, Size, emission_g_per_km

WORKED: list[tuple[float, float, float, Size, str]] = [
    (4.1, 47, 1.8, "PM2.5", "13.1"),
    (6, 63, 0.7, "PM10", "270.8"),
    (6.4, 60, 0.5, "PM30", "962.7"),
    (11, 80, 0.2, "PM30", "2374.7"),
]


@pytest.mark.parametrize(("silt", "speed", "moisture", "size", "printed"), WORKED)
def test_emission(silt: float, speed: float, moisture: float, size: Size, printed: str) -> None:
    """Dust on every leg with measured silt would be wrong, and the filter would clog early or late."""
    assert agrees(printed, float(emission_g_per_km(silt, speed, moisture, size)))


def test_relative_dustiness() -> None:
    """A dusty dirt road would not be told from a fair gravel road."""
    ratio = emission_g_per_km(11, 80, 0.2) / emission_g_per_km(6.4, 60, 0.5)
    assert agrees("2.47", float(ratio))


def test_coefficients() -> None:
    """A mistyped coefficient would bend every dust figure of a plan."""
    assert EMISSION == {
        "PM2.5": (0.18, 0.2, 0.5, 0.00036),
        "PM10": (1.8, 0.2, 0.5, 0.00047),
        "PM30": (6.0, 0.3, 0.3, 0.00047),
    }


@pytest.mark.parametrize(
    ("silt", "speed_mph", "moisture"),
    [(1.7, 30, 1), (36, 30, 1), (5, 9.9, 1), (5, 55.1, 1), (5, 30, 0.02), (5, 30, 13.1)],
)
def test_limits(silt: float, speed_mph: float, moisture: float) -> None:
    """A road the equation was not made for would get a number that looks measured."""
    with pytest.raises(OutOfRange):
        emission_g_per_km(silt, speed_mph * 1.609344, moisture)


def test_normal_dust() -> None:
    """The dust taken as normal would drift and every dust multiplier with it."""
    assert agrees("0.595", NORMAL_MG_PER_M3)
