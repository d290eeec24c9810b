"""Relubrication intervals of greased bearings.

Read: the base constants 10, 5 and 1 (a bearing trade page), the formula and the factor values
(a public program and an online document, seen in part). From memory: names of the classes.
Screening only; makers' charts have no closed form. Figures worked out beforehand.
"""

import pytest

from tests.published.printed import agrees
from tripplan.wear.mechanisms.dust import exposed_multiplier
from tripplan.wear.mechanisms.relubrication import (
    CONTAMINATION,
    relubrication_correction,
    relubrication_hours,
)

HUB_R_MIN = 80_000 / 60 / 2.4


@pytest.mark.parametrize(
    ("speed_r_min", "bore_mm", "kind", "printed"),
    [(1500, 50, "ball", "11199.3"), (1500, 20, "needle", "10035.0"), (HUB_R_MIN, 45, "roller", "3576.6")],
)
def test_hours(speed_r_min: float, bore_mm: float, kind: str, printed: str) -> None:
    """Greasing would fall due at the wrong hours; one text prints the rule without its bracket."""
    assert agrees(printed, float(relubrication_hours(speed_r_min, bore_mm, kind)))


@pytest.mark.parametrize(
    ("contamination", "moisture", "vibration_mm_s", "factor", "km"),
    [("light", "dry", 0, "1", "286128"), ("light abrasive", "humid", 8, "0.168", "48069"),
     ("heavy abrasive", "water on housing", 20, "0.006", "1717")],
)  # fmt: skip
def test_hub_on_the_road(contamination: str, moisture: str, vibration_mm_s: float, factor: str, km: str) -> None:
    """A hub on dusty corrugations, or wet and gritty, would be greased a trip too late."""
    correction = relubrication_correction(60, contamination, moisture, vibration_mm_s)
    assert agrees(factor, correction)
    assert agrees(km, 80 * float(relubrication_hours(HUB_R_MIN, 45, "roller", correction)))


@pytest.mark.parametrize(("temp_c", "printed"), [(20, "1"), (66, "1"), (70, "0.5"), (85, "0.2"), (100, "0.1")])
def test_temperature_steps(temp_c: float, printed: str) -> None:
    """A hot hub would be greased as seldom as a cool one."""
    assert agrees(printed, relubrication_correction(temp_c, "light", "dry", 0))


def test_exposed_dust_follows_the_abrasive_classes() -> None:
    """Dust wear of joints would part from the only published steps: 1/0.4 and 1/0.2."""
    dirt_road, no_visibility = 10.0, 883.0
    light, heavy = 1 / CONTAMINATION["light abrasive"], 1 / CONTAMINATION["heavy abrasive"]
    assert exposed_multiplier(dirt_road, 0.2) < light < exposed_multiplier(dirt_road, 0.4)
    assert exposed_multiplier(no_visibility, 0.2) < heavy < exposed_multiplier(no_visibility, 0.3)
