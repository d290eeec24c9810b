"""Ideal gas law: hot hub in cold water.

The law is textbook knowledge; the standard atmosphere is exact by definition. The table was
worked out by hand before the program existed.
"""

import pytest

from tests.published.printed import agrees
from tripplan.wear.mechanisms.water_entry import cooling_suction_kpa

TABLE = [(60, 20, "12.166"), (80, 20, "17.215"), (80, 15, "18.650"), (100, 15, "23.081"), (120, 20, "25.773")]


@pytest.mark.parametrize(("hub", "water", "suction"), TABLE)
def test_suction_table(hub: float, water: float, suction: str) -> None:
    """How hard a hot hub sucks would be wrong at every crossing."""
    assert agrees(suction, float(cooling_suction_kpa(hub, water)))


def test_worked_example() -> None:
    """The example printed in the model's own description would be false."""
    assert agrees("14.764", float(cooling_suction_kpa(70, 20)))
