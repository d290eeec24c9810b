"""Ideal gas law: hot hub in cold water.

The law is textbook knowledge; the standard atmosphere is exact by definition. The figure was
worked out by hand before the program existed.
"""

from tests.published.printed import agrees
from tripplan.explain.crossings import COLD_WATER_C, HOT_HUB_C, HOT_HUB_SUCTION_KPA


def test_suction_of_a_hub_at_80_in_water_of_20() -> None:
    """How hard a hot hub sucks would be told wrong at every crossing."""
    assert (HOT_HUB_C, COLD_WATER_C) == (80, 20)
    assert agrees("17.215", HOT_HUB_SUCTION_KPA)
