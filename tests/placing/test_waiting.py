"""What waiting costs, by hand: an interval of 1000 km, an act of 60, a life of shape 2, so that L(u) = 60 u^2.

The law is that of `lateness.py` (minimal repair, Barlow and Hunter 1960, memory), checked in `test_lateness.py`; here
it is followed over two days at home, two legs of 500 km, a stop between them and home.
"""

from datetime import date, timedelta
from functools import cache
from typing import Any

import numpy as np
import pytest

from tests.small import TODAY, leg, looked_at, row, stop, tables, thing, trip, workshop
from tripplan.due.standing import Situation, Standing
from tripplan.placing.problem import build_sites
from tripplan.placing.waiting import (
    Waiting,
    failures_per_10_000_km,
    is_limited,
    is_overhaul,
    leg_dearness,
    limit_price,
    offset_of_state,
    often,
    past_limit,
    rates_of,
    waiting,
)
from tripplan.records.facts_in import Trip
from tripplan.trip.timeline import leg_ends

PRICE, NEAR = 60.0, {"hours_to_help_near": 3.0}
FIRST, LAST, STOP, HOME = range(4)


def two_legs(**changes: Any) -> Trip:
    """Two days at home, 500 km, a stop, 500 km."""
    return trip(
        leg(1, 500), leg(2, 500, date(2026, 7, 8)), stops=(stop("Gums", 1, date(2026, 7, 4)),),
        workshop_days=(workshop(date(2026, 6, 22)), workshop(date(2026, 6, 24))), **changes,
    )  # fmt: skip


def seen(used: float | None, one_trip: Trip | None = None, **changes: Any) -> tuple[Standing, Situation]:
    """An item of 1000 km with so much used today (None: no record), help as far as at home."""
    item = thing(**{"km": 1000, "strands": 0, **changes})
    rows = [row(TODAY - timedelta(days=30), 1000, "bearings", item.act), row(TODAY, 1000 + (used or 0), number=3)]
    s, (standing,) = looked_at(one_trip or two_legs(), *(rows if used is not None else rows[1:]),
                               catalogue=tables(item, assumed=NEAR))  # fmt: skip
    return standing, s


def priced(used: float | None, one_trip: Trip | None = None, look_first: bool = False, **changes: Any) -> Waiting:
    """Its rows as a task holds them."""
    standing, s = seen(used, one_trip, **changes)
    sites = build_sites(s.trip, s.timeline, s.today)
    return waiting(standing, sites, leg_ends(s.timeline), s, PRICE, look_first)


def test_shares_used_from_every_start() -> None:
    """200 of 1000 used today; nothing at home; half an interval a leg."""
    found = priced(200)
    assert found.shares[0] == pytest.approx((0.2, 0.2, 0.7, 1.2))
    assert found.shares[1 + LAST] == pytest.approx((0.0, 0.0, 0.5, 1.0))
    assert found.shares[1 + STOP] == pytest.approx((0.0, 0.0, 0.0, 0.5))
    assert found.shares[1 + HOME] == pytest.approx((0.0, 0.0, 0.0, 0.0))


def test_waiting_costs_what_failures_cost_on_the_way() -> None:
    """From 0.2 to 0.7: 60 x (0.49 - 0.04) = 27; to 1.2: 60 x (1.44 - 0.04) = 84; from new to 1.0: 60."""
    found = priced(200)
    assert found.late[0] == (0, 0, 27_000, 84_000)
    assert found.late[1 + LAST] == (0, 0, 15_000, 60_000)
    assert found.late[1 + STOP] == (0, 0, 0, 15_000)


def test_what_is_lost_at_the_end() -> None:
    """Past the interval the whole act (60); half used 60 - 120 / 2 + 60 x 0.75 = 45; renewed at home nothing."""
    assert priced(200).worth == (60_000, 60_000, 60_000, 45_000, 0)


def test_where_it_is_still_inside_its_interval() -> None:
    """From today to the stop; from the days at home all the way; overdue today, still the days at home."""
    found = priced(200)
    assert found.reach == (STOP, HOME, HOME, HOME, HOME)
    assert priced(1500).reach[0] == LAST
    assert priced(1500, two_legs(), act="look").sound == (HOME,) * 5


@pytest.mark.parametrize(
    ("used", "first"), [(50, HOME), (100, HOME), (110, STOP), (600, STOP), (650, LAST), (1200, LAST)]
)
def test_what_can_hurt_somebody_stays_inside_the_published_ten_per_cent(used: float, first: int) -> None:
    """1.10 of its interval is reached with 100 used today after both legs, with 600 at the stop."""
    found = priced(used, harms=True, harms_by="wheels")
    assert found.sound[0] == first
    assert priced(used).sound[0] == HOME


def test_a_limit_passed_costs_more_than_anything_else() -> None:
    """100 hours at 90, and as much again for each interval: 0.20 past the limit of 1.10 cost 9000 x 1.2."""
    plain, limited = priced(300, harms=False), priced(300, harms=True, harms_by="wheels")
    assert limited.late[0][STOP] == plain.late[0][STOP]
    assert limited.late[0][HOME] - plain.late[0][HOME] == pytest.approx(9_000_000 * 1.2, rel=1e-6)
    cheap = priced(300, two_legs(cost_per_stranded_hour=0), harms=True, harms_by="wheels")
    assert cheap.late[0][HOME] - plain.late[0][HOME] == pytest.approx(6_000_000 * 1.2, rel=1e-6)


def test_what_is_past_its_limit_on_leaving_counts_from_there() -> None:
    """1.5 used today: at home it can still be done, so that the road's 0.5 and 1.0 count, not the 0.4 before."""
    plain, limited = priced(1500, harms=False), priced(1500, harms=True, harms_by="wheels")
    more = [a - b for a, b in zip(limited.late[0], plain.late[0], strict=True)]
    assert more == pytest.approx([0, 0, 9_000_000 * 1.5, 9_000_000 * 2.0])


def test_a_leg_far_from_help_is_dearer() -> None:
    """48 h there, 3 at home, 90 an hour, 300 to put right: (300 + 4320) / (300 + 270) = 8.105 on the second leg."""
    one_trip = trip(
        leg(1, 500), leg(2, 500, date(2026, 7, 8), remote=True), stops=(stop("Gums", 1, date(2026, 7, 4)),),
        workshop_days=(workshop(date(2026, 6, 22)), workshop(date(2026, 6, 24))),
    )  # fmt: skip
    found = priced(0, one_trip, strands=1)
    assert found.late[0][STOP] == 15_000
    assert found.late[0][HOME] == pytest.approx(15_000 + 45_000 * 4620 / 570, abs=1)
    harmful = priced(0, one_trip, strands=1, harms=True, harms_by="wheels", act="look")
    assert harmful.late[0][HOME] == pytest.approx(15_000 + 45_000 * (1 + 2 * (4620 / 570 - 1)), abs=1)


def test_dearness_leg_by_leg() -> None:
    """Half of the hours stand: (300 + 2160) / (300 + 135); what costs no time is as dear everywhere."""
    one_trip = two_legs(legs=(leg(1, 500), leg(2, 500, date(2026, 7, 8), remote=True)))
    standing, s = seen(0, one_trip, strands=0.5)
    assert leg_dearness(standing.item, s) == pytest.approx((1.0, 2460 / 435))
    standing, s = seen(0, one_trip, strands=0)
    assert leg_dearness(standing.item, s) == (1.0, 1.0)


@pytest.mark.parametrize(
    ("changes", "home", "holiday", "repair"),
    [
        ({}, 60.0, 60.0, 300.0),
        ({"rate_per_hour": 0}, 1.0, 1.0, 5.0),
        ({"holiday_rate_per_hour": 25}, 60.0, 25.0, 300.0),
        ({"holiday_rate_per_hour": 0}, 60.0, 1.0, 300.0),
    ],
)
def test_what_hours_cost_this_owner(changes: dict[str, Any], home: float, holiday: float, repair: float) -> None:
    """An hour is worth something even where nobody pays it; putting right takes five hours of home."""
    rates = rates_of(seen(0, two_legs(**changes))[1])
    assert (rates.home_hour, rates.holiday_hour, rates.repair) == (home, holiday, repair)
    assert (rates.standing_hour, rates.harm_factor, rates.hours_at_home) == (90.0, 2.0, 3.0)


@pytest.mark.parametrize(
    ("changes", "deep_minutes", "is_one"),
    [
        ({"months": 24, "act": "repack"}, 0.0, True),
        ({"months": 24, "act": "renew"}, 0.0, True),
        ({"months": 23, "act": "renew"}, 60.0, False),
        ({"months": None, "act": "renew"}, 60.0, False),
        ({"months": 36, "act": "look"}, 30.0, True),
        ({"months": 36, "act": "look"}, 29.0, False),
        ({"months": 36, "act": "renew", "family": "fluid"}, 60.0, False),
        ({"months": 36, "act": "renew", "family": "filter"}, 60.0, False),
    ],
)
def test_what_an_overhaul_is(changes: dict[str, Any], deep_minutes: float, is_one: bool) -> None:
    """If not, oil nobody has a record of would wait for a look, or a rig be taken apart for want of paper."""
    assert is_overhaul(thing(km=1000, **changes), deep_minutes) is is_one


@pytest.mark.parametrize(
    ("changes", "limited"),
    [({"harms": True, "harms_by": "wheels"}, True), ({"harms": False}, False),
     ({"harms": True, "harms_by": "wheels", "act": "look"}, False),
     ({"harms": True, "harms_by": "wheels", "act": "grease"}, True)],
)  # fmt: skip
def test_what_has_a_limit(changes: dict[str, Any], limited: bool) -> None:
    """Only an act that gives back life to what can hurt somebody."""
    assert is_limited(thing(km=1000, **changes)) is limited


@pytest.mark.parametrize(("bad", "used", "offset"), [("worn", 200, 1.3), ("water", 200, 1.8), ("worn", 1700, 0.0)])
def test_a_bad_finding_counts_one_and_a_half_and_water_two(bad: str, used: float, offset: float) -> None:
    """0.2 used on record and found bad: 1.3 more, with water in it 1.8; what is past that already is no younger for it."""
    item = thing(km=1000)
    rows = (
        row(TODAY - timedelta(days=30), 1000, "bearings", "repack"),
        row(TODAY, 1000 + used, "bearings", "look", number=3, finding=bad),
    )
    s, (standing,) = looked_at(two_legs(), *rows, catalogue=tables(item))
    assert offset_of_state(standing, s, False) == pytest.approx(offset)


def test_an_item_nobody_knows_of() -> None:
    """Used up, or, where a look comes first, in the middle of its life."""
    standing, s = seen(None)
    assert offset_of_state(standing, s, False) == 0.0 and offset_of_state(standing, s, True) == pytest.approx(-0.5)
    assert priced(None).shares[0] == pytest.approx((1.0, 1.0, 1.5, 2.0))
    assert priced(None, look_first=True).shares[0] == pytest.approx((0.5, 0.5, 1.0, 1.5))
    known, s = seen(200)
    assert offset_of_state(known, s, True) == 0.0


def test_months_run_on_at_the_stop_and_after_it() -> None:
    """Twelve months from 21 May 2026 are 365 days: 32 used on 22 June, 44 at the stop on 4 July, 71 when home."""
    item = thing(months=12, strands=0)
    rows = (row(date(2026, 5, 21), 1000, "bearings", "repack"), row(TODAY, 1000, number=3))
    s, (standing,) = looked_at(two_legs(), *rows, catalogue=tables(item, assumed=NEAR))
    found = waiting(standing, build_sites(s.trip, s.timeline, s.today), leg_ends(s.timeline), s, PRICE, False)
    assert [share * 365 for share in found.shares[0]] == pytest.approx([32, 34, 44, 71])


@pytest.mark.parametrize(
    ("changes", "rounds"),
    [({"km": 5000}, 2.0), ({"months": 6}, 2.0), ({"km": 5000, "months": 6}, 2.0), ({"km": 2500, "months": 6}, 4.0),
     ({"km": 20000, "months": 3}, 4.0), ({"engine_hours": 100}, 1.0)],
)  # fmt: skip
def test_how_often_an_act_comes_round(changes: dict[str, Any], rounds: float) -> None:
    """Ten thousand km stand for a year; of two meters the one that comes first counts."""
    assert often(thing(**changes)) == rounds


def test_failures_with_every_interval_kept() -> None:
    """60 / 570 an interval of 5000 km, twice in 10 000: 0.2105; half of it where half stands (60 / 435 x 2 / 2)."""
    _, s = seen(0)
    item = thing(km=5000)
    assert failures_per_10_000_km([(item, 60.0)], s) == pytest.approx(2 * 60 / 570)
    assert failures_per_10_000_km([(thing(km=5000, strands=0.5), 60.0)], s) == pytest.approx(60 / 435)
    assert failures_per_10_000_km([(item, 60.0), (item, 30.0)], s) == pytest.approx(2 * 90 / 570)
    assert failures_per_10_000_km([(thing(km=5000, rhythm="walk-round"), 60.0)], s) == 0.0


@cache
def doubtful() -> Waiting:
    """Gravel in doubt: a typical wear of 1.25 that may be 1.5."""
    return priced(
        0, two_legs(legs=(leg(1, 500, dust="light"), leg(2, 500, date(2026, 7, 8), dust="light"))), dust="high"
    )


def test_doubt_about_the_wear_makes_waiting_dearer() -> None:
    """Typical 0.625 at the stop; the average of u^2 lies above 0.625^2 and below that of the high value, 0.75^2."""
    found = doubtful()
    assert found.shares[0] == pytest.approx((0.0, 0.0, 0.625, 1.25))
    assert 60_000 * 0.625**2 < found.late[0][STOP] < 60_000 * 0.75**2


def test_a_broken_limit_costs_hours_of_standing_or_of_work_where_those_cost_more() -> None:
    """If not, an owner whose standing hour costs nothing would be planned past every limit."""
    for standing, work, dearer in ((90.0, 40.0, 90.0), (0.0, 40.0, 40.0)):
        _, s = seen(200, two_legs(cost_per_stranded_hour=standing, rate_per_hour=work))
        assert limit_price(s) == s.catalogue.assumed("limit_broken_price_hours").value * dearer * 1000


def test_past_a_limit_counts_alike_in_one_future_and_in_many() -> None:
    """If it did not, `futures` would price a job that the plan prices, or the other way round.

    Knots: today, a day at home, leaving, two legs. Of two items the first is past 1.1 on leaving and does not grow.
    """
    flat = np.array([[1.3] * 5] * 3)
    grows = np.array([[0.9, 0.9, 1.0, 1.2, 1.4]] * 3)
    steps = [np.diff(one, axis=1) for one in (flat, grows)]
    many = past_limit(np.stack([flat, grows]), np.stack(steps), [1, 3], 1.1, legs=2)
    alone = [past_limit(one, step, [1, 3], 1.1, legs=2) for one, step in zip((flat, grows), steps, strict=True)]
    assert many == pytest.approx(np.stack(alone))
    assert many[0].tolist() == [[-1.0, 0.0]] * 3 and many[1][:2] == pytest.approx(np.array([[-1.0, 0.1]] * 2))


def test_months_that_ran_out_long_ago_hide_no_km() -> None:
    """If they did, nuts four times overdue by age would be left for home, since a long trip uses more of a new interval.

    Left: 4.2 by months on leaving, 0.6 and 0.7 by km on two legs, all of it past 1.1. Done at home: 0.6, then 1.3 by km.
    """
    share = np.array([[4.2, 4.2, 4.2, 4.3, 4.4], [0.0, 0.0, 0.0, 0.6, 1.3], [0.0] * 5])
    added = np.array([[0.0, 0.0, 0.6, 0.7], [0.0, 0.0, 0.6, 0.7], [0.0] * 4])
    over = past_limit(share, added, [1, 4], 1.1, legs=2)
    assert over[:2, 1] == pytest.approx([1.3, 0.2])
