"""Relubrication of greased bearings in abrasive dust.

Read (a public program and an online document, seen in part): the factors 0.4 and 0.2 on the
interval for light and heavy abrasive dust. Screening only; makers' charts have no closed form.
"""

from tripplan.wear.mechanisms.dust import exposed_multiplier

LIGHT_ABRASIVE, HEAVY_ABRASIVE = 0.4, 0.2


def test_exposed_dust_follows_the_abrasive_classes() -> None:
    """Dust wear of joints would part from the only published steps: 1/0.4 and 1/0.2."""
    dirt_road, no_visibility = 10.0, 883.0
    light, heavy = 1 / LIGHT_ABRASIVE, 1 / HEAVY_ABRASIVE
    assert exposed_multiplier(dirt_road, 0.2) < light < exposed_multiplier(dirt_road, 0.4)
    assert exposed_multiplier(no_visibility, 0.2) < heavy < exposed_multiplier(no_visibility, 0.3)
