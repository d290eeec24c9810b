"""Rolling bearing life after ISO 281, editions 1990 and 2007.

Read, secondary: both reliability tables, the viscosity rule, the life-factor constants, the
exponents 3 and 10/3, the contamination guide table (help pages and public programs that
agree). From memory: the closed form of the reliability factor, and that roller and ball
share the viscosity exponents. The standard was not read. The figures of the life-factor and
hub tables were worked out beforehand, apart from this package.
"""

import numpy as np
import pytest

from tests.published.printed import agrees
from tripplan.wear.mechanisms.bearing_life import (
    life_km,
    rating_life_mrev,
    reliability_factor,
    survival,
    together_l10_km,
    trip_risk,
)
from tripplan.wear.mechanisms.contamination import (
    CLEANLINESS,
    contamination_multiplier,
    fatigue_limit_kn,
    life_factor,
    needed_viscosity_mm2_s,
)
from tripplan.wear.mechanisms.load import load_multiplier

ROLLOUT_M = 2.4
FORM_1990 = {95: "0.6189", 96: "0.5315", 97: "0.4372", 98: "0.3325", 99: "0.2088"}
TABLE_1990 = {90: "1", 95: "0.62", 96: "0.53", 97: "0.44", 98: "0.33", 99: "0.21"}
TABLE_2007 = {
    90: "1", 95: "0.64", 96: "0.55", 97: "0.47", 98: "0.37", 99: "0.25", 99.2: "0.22",
    99.4: "0.19", 99.6: "0.16", 99.8: "0.12", 99.9: "0.093", 99.92: "0.087", 99.94: "0.080",
    99.95: "0.077",
}  # fmt: skip
FORM_2007 = {
    95: "0.6379", 96: "0.5549", 97: "0.4654", 98: "0.3659", 99: "0.2483", 99.2: "0.2208",
    99.4: "0.1909", 99.6: "0.1575", 99.8: "0.1176", 99.9: "0.0926", 99.92: "0.0867",
    99.94: "0.0803", 99.95: "0.0768",
}  # fmt: skip
RATIOS = (0.02, 0.05, 0.1, 0.2, 0.5, 1.0)
LIFE_FACTORS = {
    0.2: "0.1441/0.1120 0.1647/0.1178 0.1884/0.1242 0.2237/0.1333 0.3035/0.1518 0.4146/0.1742",
    0.4: "0.1912/0.1251 0.2438/0.1384 0.3119/0.1539 0.4295/0.1773 0.7681/0.2313 1.4168/0.3075",
    0.5: "0.2555/0.1412 0.3660/0.1653 0.5295/0.1952 0.8617/0.2443 2.1379/0.3737 5.7765/0.5947",
    1: "0.5647/0.2015 1.1437/0.2797 2.4305/0.3986 6.9181/0.6505 50/1.7141 50/5.3106",
    2: "0.7394/0.2283 1.7018/0.3374 4.2016/0.5161 15.1127/0.9337 50/3.0813 50/12.9267",
    4: "0.9566/0.2575 2.5008/0.4048 7.2018/0.6644 33.2847/1.3350 50/5.5869 50/32.9195",
}
HUB = [
    (0.7, "2.4394", "26329e2", "0.4336", "4680e2"), (0.55, "1.7281", "18651e2", "0.3750", "4048e2"),
    (0.4, "1.1686", "12613e2", "0.3169", "3420e2"), (0.2, "0.6050", "6530e2", "0.2364", "2552e2"),
    (0.1, "0.3784", "4084e2", "0.1905", "2056e2"), (0.05, "0.2692", "2906e2", "0.1623", "1752e2"),
    (0.0, "0.1000", "1079e2", "0.1000", "1079e2"),
]  # fmt: skip


def test_rating_life() -> None:
    """Bearing life in turns, hours and km would be wrong from the first step."""
    assert agrees("132.65", float(rating_life_mrev(25.5, 5, "ball")))
    assert agrees("1473.9", float(rating_life_mrev(25.5, 5, "ball")) * 1e6 / 60 / 1500)
    assert agrees("518400", float(life_km(rating_life_mrev(6, 1, "ball"), ROLLOUT_M)))
    assert agrees("392.498", float(rating_life_mrev(6, 1, "roller")))
    assert agrees("941995", float(life_km(rating_life_mrev(6, 1, "roller"), ROLLOUT_M)))


@pytest.mark.parametrize(
    ("ratio", "ball", "roller"),
    [(1.25, "0.512", "0.4753"), (1.5, "0.2963", "0.2588"), (2, "0.125", "0.0992")],
)
def test_life_left_under_more_load(ratio: float, ball: str, roller: str) -> None:
    """A heavily loaded leg would cost a bearing too little or too much."""
    assert agrees(ball, 1 / float(load_multiplier(ratio, 3)))
    assert agrees(roller, 1 / float(load_multiplier(ratio, 10 / 3)))


@pytest.mark.parametrize(
    ("ratio", "ball", "roller"), [(1.2, "1.73", "1.84"), (1.25, "1.95", "2.10"), (1.5, "3.38", "3.86")]
)
def test_wear_under_more_load(ratio: float, ball: str, roller: str) -> None:
    """The load multiplier of bearings would not follow the rating-life exponent."""
    assert agrees(ball, float(load_multiplier(ratio, 3)))
    assert agrees(roller, float(load_multiplier(ratio, 10 / 3)))


def test_a_quarter_more_load_halves_ball_life() -> None:
    """The trade rule that 26 % overload halves a ball bearing's life would be broken."""
    assert agrees("0.4999", 1 / float(load_multiplier(1.26, 3)))


def test_mixed_legs_add_up() -> None:
    """Legs of different wear would not add to the life used (Palmgren and Miner)."""
    assert agrees("1.70", 0.5 + 0.5 * float(load_multiplier(1.3, 10 / 3)))
    assert agrees("0.32258", 1 / (0.5 / 1 + 0.3 / 0.5 + 0.2 / 0.1))


@pytest.mark.parametrize(
    ("edition", "table"),
    [(1990, TABLE_1990), (2007, TABLE_2007), (1990, FORM_1990), (2007, FORM_2007)],
)
def test_reliability_tables(edition: int, table: dict[float, str]) -> None:
    """A bearing asked to be surer than nine in ten would get the wrong life."""
    for percent, printed in table.items():
        assert agrees(printed, float(reliability_factor(percent, edition))), percent


@pytest.mark.parametrize(("speed_kmh", "printed"), [(40, "56.85"), (60, "40.61"), (80, "31.98"), (100, "26.57")])
def test_needed_viscosity_of_a_hub(speed_kmh: float, printed: str) -> None:
    """Slow, hot driving would not show as the thin lubricant film that it is."""
    speed_r_min = speed_kmh * 1000 / 60 / ROLLOUT_M
    assert agrees(printed, float(needed_viscosity_mm2_s(speed_r_min, 55)))
    assert agrees("34.905", float(needed_viscosity_mm2_s(500, 55)))


def test_viscosity_step_at_1000() -> None:
    """The 2.3 % step in the standard's own rule would be hidden or grown."""
    below = float(needed_viscosity_mm2_s(999.9999, 55))
    assert agrees("19.635", below)
    assert agrees("19.188", float(needed_viscosity_mm2_s(1000, 55)))
    assert agrees("2.3", 100 * (below / float(needed_viscosity_mm2_s(1000, 55)) - 1))


@pytest.mark.parametrize("kappa", LIFE_FACTORS)
def test_life_factors(kappa: float) -> None:
    """Dirt and thin oil would cost a hub bearing the wrong share of its life."""
    for ratio, pair in zip(RATIOS, LIFE_FACTORS[kappa].split(), strict=True):
        for kind, printed in zip(("ball", "roller"), pair.split("/"), strict=True):
            assert agrees(printed, float(life_factor(kappa, ratio, 1.0, kind))), (ratio, kind)


def test_life_factor_branches_join() -> None:
    """A misprinted exponent (0.019087 for 0.19087) gives 2.0 instead of 0.3119 and would pass unseen."""
    for ratio in np.linspace(0.02, 0.2, 7):
        for edge in (0.4, 1.0):
            for kind in ("ball", "roller"):
                below = life_factor(edge - 1e-9, ratio, 1.0, kind)
                assert life_factor(edge, ratio, 1.0, kind) == pytest.approx(below, rel=1e-3)
    assert agrees("2.4300", float(life_factor(0.9999, 0.1, 1.0, "ball")))


def test_life_factor_off_the_scale() -> None:
    """Water and grit in a hub would leave more than a tenth of its life."""
    assert agrees("0.1000", float(life_factor(1, 0, 1, "ball")))
    assert agrees("0.1000", float(life_factor(4, 0, 1, "roller")))


@pytest.mark.parametrize(("clean", "at_one", "km_one", "at_half", "km_half"), HUB)
def test_worked_hub(clean: float, at_one: str, km_one: str, at_half: str, km_half: str) -> None:
    """The worked wheel hub would not come out as published constants say."""
    limit = float(fatigue_limit_kn(60, "roller")) / 8
    rated_km = float(life_km(rating_life_mrev(50, 8, "roller"), ROLLOUT_M))
    assert agrees("7.317", limit * 8)
    assert agrees("1079306", rated_km)
    for kappa, factor, km in ((1.0, at_one, km_one), (0.5, at_half, km_half)):
        value = float(life_factor(kappa, clean, limit, "roller"))
        assert agrees(factor, value)
        assert agrees(km, value * rated_km)


@pytest.mark.parametrize(
    ("kappa", "leg", "printed"),
    [(1, 0.2, "2.86"), (1, 0.05, "6.42"), (1, 0, "17.3"), (0.5, 0.2, "1.59"), (0.5, 0.05, "2.31"),
     (0.5, 0, "3.75")],
)  # fmt: skip
def test_dirt_multiplier(kappa: float, leg: float, printed: str) -> None:
    """A dusty, a leaking and a flooded hub would not be told apart by 3, 6 and 17."""
    limit = float(fatigue_limit_kn(60, "roller")) / 8
    assert agrees(printed, float(contamination_multiplier(0.55, leg, kappa, limit, "roller")))


def test_guide_table_of_cleanliness() -> None:
    """Words for how clean a hub is would map to the wrong factor."""
    assert CLEANLINESS["typical contamination"] == (0.1, 0.3)
    assert CLEANLINESS["severe contamination"] == (0.0, 0.1)
    uppers = [high for _, high in CLEANLINESS.values()]
    assert uppers == sorted(uppers, reverse=True)


def test_risk_of_a_trip() -> None:
    """A used bearing would be called surer, or less sure, for a trip than it is."""
    assert agrees("0.96343", float(survival(200_000, 400_000)))
    assert agrees("0.1687", 100 * float(trip_risk(200_000, 6_000, 400_000)))
    assert agrees("1.4085", 100 * float(trip_risk(200_000, 48_000, 400_000)))


def test_eight_bearings_last_a_quarter_as_long() -> None:
    """The first failure among eight hubs would be expected four times too late."""
    assert agrees("0.25", together_l10_km([400_000] * 8) / 400_000)
