"""The closed form against trips driven one by one: a short form of `notebooks/will_we_get_home.ipynb`, drawn alike every time."""

from datetime import date

import numpy as np
import pytest

from tests.simulated_trips import Driven, drive
from tests.small import crossing, leg, looked_at, row, stated, stop, tables, thing, trip, workshop
from tripplan.placing.optimise import place_optimally
from tripplan.records.plan_risk import Risk
from tripplan.risk.cases import Case
from tripplan.risk.home import totals_of, trip_risk
from tripplan.risk.reckoned import Reckoned, reckon

TRIPS, SEED, SURE = 20_000, 20260701, 4.0
"""Four standard errors: one figure in 16 000 lies beyond."""
KNOWN = (
    row(date(2026, 3, 1), 100000, "bearings", "repack"), row(date(2026, 3, 1), 100000, "joints", "grease"),
    row(date(2026, 3, 1), 100000, "oil", "drain and refill"), row(date(2026, 6, 20), 107000, number=3),
)  # fmt: skip
HARSH = {"dust": "heavy", "corrugation": "moderate", "surface": "gravel", "heat_c": 35}


@pytest.fixture(scope="module")
def told() -> tuple[Reckoned, Risk, dict[str, Driven]]:
    """One dusty trip with a ford, a stop and five items, in all three cases."""
    far = trip(
        leg(1, 1500, **HARSH), leg(2, 2500, date(2026, 7, 6), remote=True, **(HARSH | {"corrugation": "severe"})),
        leg(3, 1500, date(2026, 7, 15), load="heavy"), workshop_days=(workshop(date(2026, 6, 25), 120),),
        stops=(stop("Camp", 1, date(2026, 7, 4), facility="camp"),), crossings=(crossing(2, 900, 0.7),),
    )  # fmt: skip
    every = {"dust": "high", "corrugation": "medium", "heat": "low", "load": "medium"}
    catalogue = tables(
        thing("bearings", km=9000, water="high", points="hub_centre", minutes=60, **every),
        thing("joints", km=5000, act="grease", life_shape=3, strands=0.5, **every),
        thing("oil", km=10000, months=6, act="drain and refill", life_shape=3.5, **every),
        thing("play", km=15000, act="look", strands=0.75, **every),
        thing("tyres", km=500, act="look", rhythm="walk-round", minutes=5, strands=0.25, **every),
    )  # fmt: skip
    s, standings = looked_at(far, *KNOWN, catalogue=catalogue)
    problem = stated(far, *KNOWN, catalogue=catalogue)
    placing = place_optimally(problem)
    r = reckon(standings, (), problem, placing, s)
    cases: dict[str, Case] = {name: getattr(r, name) for name in ("plan", "nothing_done", "all_before")}
    driven = {name: drive(r, case, s, TRIPS, SEED) for name, case in cases.items()}
    return r, trip_risk(r, totals_of(r), placing, s), driven


@pytest.mark.parametrize("case", ["plan", "nothing_done", "all_before"])
def test_expected_failures_stops_and_hours_lie_inside_the_simulation_s_error(told: tuple, case: str) -> None:
    """The answer would not be that of the laws it states."""
    _, risk, driven = told
    seen = driven[case]
    for drawn, figure in (
        (seen.failures, risk.failures_expected), (seen.stops, risk.stops_expected),
        (seen.hours, risk.standing_hours_expected), (seen.expected_hours, risk.standing_hours_expected),
    ):  # fmt: skip
        error = drawn.std() / np.sqrt(TRIPS)
        assert abs(drawn.mean() - getattr(figure, case)) < SURE * error + 0.005 * getattr(figure, case)


@pytest.mark.parametrize("case", ["plan", "nothing_done", "all_before"])
def test_the_chance_of_no_stop_is_the_share_of_trips_without_one(told: tuple, case: str) -> None:
    """The owner would be told a chance that trips do not keep."""
    _, risk, driven = told
    chance = getattr(risk.home_without_a_stop, case)
    share = float((driven[case].stops == 0).mean())
    assert abs(share - chance) < SURE * np.sqrt(chance * (1 - chance) / TRIPS)


@pytest.mark.parametrize("case", ["plan", "nothing_done", "all_before"])
def test_nine_of_ten_trips_are_expected_inside_the_band(told: tuple, case: str) -> None:
    """The band would say less, or more, than it holds; it may hold 87 to 95 % instead of 90."""
    _, risk, driven = told
    low, high = getattr(risk.standing_hours_low, case), getattr(risk.standing_hours_high, case)
    inside = ((driven[case].expected_hours >= low) & (driven[case].expected_hours <= high)).mean()
    assert 0.87 < inside < 0.95


def test_multiplying_averages_would_be_seen(told: tuple) -> None:
    """The check could not fail: the product of averaged survivals lies outside the simulation's error."""
    r, _, driven = told
    stops = (r.failures(r.nothing_done) * r.worn.law.strands[:, None, None]).sum(axis=1)
    apart = float(np.prod(np.exp(-stops) @ r.weights))
    share = float((driven["nothing_done"].stops == 0).mean())
    assert share - apart > SURE * np.sqrt(share * (1 - share) / TRIPS)
