"""Distances that are only estimated: what their range does to wear, by hand."""

from datetime import date

import numpy as np
import pytest

from tests.small import TODAY, leg, only, planned, row, tables, thing, trip, workshop
from tripplan.records.facts_in import Leg
from tripplan.records.plan import Plan
from tripplan.trip.distance_range import distance_factor, known_by_odometer

DAYS = (workshop(date(2026, 6, 24)),)
FRESH = (row(date(2026, 6, 19), 0, "bearings", "repack"), row(TODAY, 0, number=3))
# A winding factor of 1.2 with 1.1 and 1.6 as its range, over 1000 km of straight lines.
WIDE = {"distance_low_km": 1100.0, "distance_high_km": 1600.0}


def one_leg(km: float = 1200, **columns: object) -> Leg:
    """A leg of 1200 km, the estimate, unless said otherwise."""
    return leg(1, km, **columns)


def made(*legs: Leg, **item: object) -> Plan:
    """The plan of a trip of these legs for one item."""
    return planned(trip(*legs, workshop_days=DAYS), *FRESH, catalogue=tables(thing(**item)))


def test_the_range_widens_the_reserve_and_nothing_else() -> None:
    """If not, an item could be planned on a distance that is only a guess."""
    typed, wide = (only(made(one_leg(**columns), km=1400), "bearings") for columns in ({}, WIDE))
    assert (typed.runs_out, typed.runs_out_reserve, typed.verdict) == (None, None, "lasts the trip")
    # 1400 km are used up with reserve at 1400 / (1600 / 1200) = 1050 of the 1200 km
    assert wide.runs_out is None and wide.runs_out_reserve is not None
    assert wide.runs_out_reserve.trip_km == pytest.approx(1050, rel=1e-4)
    assert wide.verdict == "lasts the trip"
    (wear,) = wide.wear
    assert (wear.use, wear.multiplier, wear.high) == pytest.approx((1200, 1, 4 / 3), rel=1e-4)


def test_it_is_one_more_doubt_beside_the_others() -> None:
    """If not, the doubt about the road and the doubt about the dust would be added twice over, or one of them lost."""
    (wear,) = only(made(one_leg(dust="heavy", **WIDE), km=90000, dust="high"), "bearings").wear
    # heavy dust here is 2, in a bad case 3: 1 + excess of median 1 and 95 % value 2, times the distance's own doubt
    dust, way = np.random.default_rng(3).standard_normal((2, 100_000)) / 1.6448536
    assert wear.multiplier == 2
    assert np.mean((1 + 2**dust) * (4 / 3) ** way > wear.high) == pytest.approx(0.05, abs=0.005)
    assert [(part.condition, part.basis) for part in wear.parts][-1] == ("distance", "derived")
    assert wear.parts[-1].low == pytest.approx(1100 / 1200)


def test_hours_follow_the_distance_and_months_do_not() -> None:
    """If not, oil counted by the hour would be sure of a road that nobody measured."""
    item = only(made(one_leg(speed_kmh=60, **WIDE), engine_hours=1000, months=12), "bearings")
    assert [(wear.meter, wear.high) for wear in item.wear] == [("engine_hours", pytest.approx(4 / 3, rel=1e-4))]


def test_a_typed_distance_is_left_alone() -> None:
    """If not, the odometer of last year's trip would count for nothing."""
    assert distance_factor(one_leg()) is None
    plan = made(
        one_leg(), leg(2, 500, date(2026, 7, 6), **{"distance_low_km": 450.0, "distance_high_km": 600.0}), km=9000
    )
    first, second = only(plan, "bearings").wear
    assert (first.high, first.parts) == (1, ())
    assert second.high == pytest.approx(1.2, rel=1e-4)


def test_legs_alike_but_for_their_range_are_told_apart() -> None:
    """If not, the second of two equal roads would borrow the range of the first."""
    wide, wider = {**WIDE}, {"distance_low_km": 1100.0, "distance_high_km": 2400.0}
    plan = made(one_leg(**wide), leg(2, 1200, date(2026, 7, 9), **wider), km=90000)
    assert [wear.high for wear in only(plan, "bearings").wear] == pytest.approx([4 / 3, 2], rel=1e-4)


def test_the_plan_says_what_it_leans_on() -> None:
    """If not, the owner would not know why the reserve is so wide."""
    plan = made(one_leg(**WIDE), km=1400)
    (told,) = (text for text in plan.assumptions if text.startswith("Distance estimated"))
    assert "leg 1 1200 km (1100 to 1600)" in told
    (reason,) = (r for r in only(plan, "bearings").reasons if r.text.startswith("Distance in doubt"))
    assert "estimated 1200 km (1100 to 1600), with reserve x1.33" in reason.text
    assert reason.origins == (one_leg().origin,)
    assert (plan.legs[0].distance_low_km, plan.legs[0].distance_high_km) == (1100, 1600)
    assert not any("stimated" in text for text in made(one_leg(), km=1400).assumptions)


def test_once_driven_the_odometer_rules() -> None:
    """If not, a leg behind the rig would stay in doubt though its reading is in the book."""
    wide = trip(one_leg(**WIDE), leg(2, 300, date(2026, 7, 9)), workshop_days=DAYS)
    later = row(date(2026, 7, 5), 1250, number=4)
    assert known_by_odometer(wide, FRESH, date(2026, 7, 6)) == wide
    known = known_by_odometer(wide, (*FRESH, later), date(2026, 7, 6))
    assert distance_factor(known.legs[0]) is None and known.legs[1] == wide.legs[1]
    assert known_by_odometer(wide, (*FRESH, later), date(2026, 6, 30)) == wide


def test_one_driven_leg_in_doubt_is_enough_to_be_settled() -> None:
    """If all had to be in doubt, a typed leg beside it would keep the doubt of an estimated one that is long driven."""
    both = trip(
        one_leg(**WIDE), leg(2, 300, date(2026, 7, 3)), leg(3, 300, date(2026, 7, 9), **WIDE), workshop_days=DAYS
    )
    later = row(date(2026, 7, 5), 1550, number=4)
    known = known_by_odometer(both, (*FRESH, later), date(2026, 7, 6))
    assert [distance_factor(one) is None for one in known.legs] == [True, True, False]
