"""Water in oil against roller bearing life: Cantley, ASLE Transactions 20(3), 1977.

Read: equation, tested range and the warning against extrapolating (a trade journal, June
2021), and the test points 25, 100 and 400 ppm (the paper's abstract). From memory: the
volume and pages of the printed paper.
"""

import pytest

from tests.published.printed import agrees
from tripplan.records.problems import OutOfRange
from tripplan.wear.mechanisms.water_entry import water_in_oil_ppm, water_life_ratio


@pytest.mark.parametrize(
    ("ppm", "printed"), [(25, "2.2974"), (50, "1.5157"), (100, "1"), (200, "0.6598"), (400, "0.4353")]
)
def test_life_ratio(ppm: float, printed: str) -> None:
    """A laboratory's water figure would be turned into the wrong bearing life."""
    assert agrees(printed, float(water_life_ratio(ppm)))


def test_a_quarter_of_the_water() -> None:
    """The printed statement that a fourfold reduction gives 2.3 times the life would be missed."""
    assert agrees("2.3", float(water_life_ratio(50) / water_life_ratio(200)))


@pytest.mark.parametrize("ppm", [24.9, 400.1, 1000, 10_000, float("nan")])
def test_not_beyond_the_tests(ppm: float) -> None:
    """A milky sump would get a life instead of the order to change the oil."""
    with pytest.raises(OutOfRange):
        water_life_ratio(ppm)


def test_water_to_ppm() -> None:
    """A spoonful of water in an axle would look harmless."""
    assert agrees("1136", float(water_in_oil_ppm(1, 1)))
    assert agrees("100", float(water_in_oil_ppm(0.22, 2.5)))
