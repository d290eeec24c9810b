"""Minutes and cost of a placing, added up by hand: a day at home, a camp where each minute is two, and home."""

import pytest
from msgspec.structs import replace

from tests.placing.by_hand import CAMP, DAY, HOME, PLAY, SHAFT, WHEEL, given, placing, task
from tests.placing.small_placements import NUTS
from tests.small import thing
from tripplan.placing.problem import LookAgain
from tripplan.placing.reckoning import (
    all_before,
    alone_minutes,
    each_alone,
    first_minutes,
    home_minutes,
    labour_cost,
    looks_minutes,
    path_cost,
    set_out,
    site_minutes,
    totals,
    visit_minutes,
)


def test_an_opening_is_paid_once_a_site() -> None:
    """20 and 30 minutes behind one wheel (18): 68 at home and 10 to set out; at the camp each minute is two."""
    two = given(task(0, 20, WHEEL), task(1, 30, WHEEL))
    assert home_minutes(two, placing((DAY,), (DAY,))) == (68.0, 0.0, 0.0)
    assert site_minutes(two, placing((DAY,), (DAY,))) == (78.0, 0.0, 0.0)
    assert site_minutes(two, placing((DAY,), (CAMP,))) == (48.0, 2 * 58.0, 0.0)
    assert site_minutes(two, placing((CAMP,), (CAMP,))) == (0.0, 2 * 78.0, 0.0)


def test_what_stays_open_is_neither_closed_nor_opened() -> None:
    """8 less on the first day, 10 less on the next."""
    two = given(task(0, 20, WHEEL), task(1, 30, WHEEL))
    kept = frozenset({(DAY, WHEEL[0], WHEEL[1])})
    assert home_minutes(two, placing((DAY,), (CAMP,), kept_open=kept)) == (20 + 10, 30 + 8, 0.0)


def test_a_look_that_comes_along_is_no_second_job() -> None:
    """A repack that looks at the play (3 minutes): where that look is a job of its own (7 minutes) it is once."""
    look = task(1, 7, item=thing("play", act="look"), act="look")
    two = given(task(0, 20, WHEEL, PLAY), look)
    assert home_minutes(two, placing((DAY,), ())) == (20 + 18 + 3, 0.0, 0.0)
    assert home_minutes(two, placing((DAY,), (DAY,))) == (20 + 18 + 7, 0.0, 0.0)
    assert home_minutes(two, placing((DAY,), (CAMP,))) == (20 + 18 + 3, 7.0, 0.0)


def test_setting_out_counts_where_anything_is_worked() -> None:
    """Ten minutes, or none."""
    assert [set_out(given(), minutes) for minutes in (0.0, 0.5, 100.0)] == [0.0, 10.0, 10.0]


def test_labour_goes_by_the_place() -> None:
    """Half an hour of the shed is an hour at the camp, at 120."""
    assert labour_cost(given(), DAY, 30.0) == 30.0 and labour_cost(given(), CAMP, 30.0) == 120.0


def test_a_finding_makes_the_first_visit_another_act() -> None:
    """50 minutes to put it right, 20 ever after; whoever has a hub off for it does the longer of both."""
    found = task(0, 50, WHEEL, later_minutes=20.0)
    one = given(found)
    assert [visit_minutes(one, placing((DAY, CAMP)), 0, site) for site in (DAY, CAMP)] == [50.0, 20.0]
    assert visit_minutes(one, placing((CAMP,)), 0, CAMP) == 50.0
    other = given(found, task(1, 5), covered_by=((1,), ()))
    assert visit_minutes(other, placing((CAMP,), (DAY,)), 0, CAMP) == 20.0  # put right on the way at home
    assert visit_minutes(one, placing((DAY, CAMP)), 0, HOME) == 20.0
    assert first_minutes(found) == 50.0 and first_minutes(task(0, 10, later_minutes=20.0)) == 10.0
    hub = task(0, 10, later_minutes=20.0, act="repack", state="hub off")
    assert first_minutes(hub) == 20.0
    assert visit_minutes(given(task(0, 10)), placing((DAY, CAMP)), 0, CAMP) == 10.0


def test_what_waiting_costs_adds_up_from_renewal_to_renewal() -> None:
    """1000 a step from today; from each renewal anew; at the end what is lost: 5000 never done, 3000 since the camp."""
    one = given(task(0, 20))
    assert path_cost(one, placing(()), 0) == (3000 + 5000) / 1000
    assert path_cost(one, placing((DAY,)), 0) == (1000 + 2000 + 4000) / 1000
    assert path_cost(one, placing((CAMP,)), 0) == (2000 + 1000 + 3000) / 1000
    assert path_cost(one, placing((HOME,)), 0) == 3.0
    covered = given(task(0, 20), task(1, 20), covered_by=((1,), ()))
    assert path_cost(covered, placing((), (CAMP,)), 0) == 6.0
    walk = given(task(0, 20, item=thing("walk", act="look", rhythm="walk-round")))
    assert path_cost(walk, placing(()), 0) == 0.0


def test_water_left_undone_has_its_price() -> None:
    """Done in its window it costs nothing more, by itself or on the way; behind it, it is undone."""
    call = task(0, 20, window=(CAMP, CAMP), undone=7000)
    two = given(call, task(1, 5), covered_by=((1,), ()))
    assert path_cost(two, placing((CAMP,), ()), 0) == 0.0
    assert path_cost(two, placing((), (CAMP,)), 0) == 0.0
    assert path_cost(two, placing((), (DAY,)), 0) == path_cost(two, placing((), ()), 0) == 7.0


def test_a_task_alone_opens_for_itself() -> None:
    """20 and the wheel's 18 and the shaft's 27."""
    assert alone_minutes(given(), task(0, 20, WHEEL, SHAFT)) == 65.0


LOOKED = {"again": (NUTS,)}  # 7 minutes, 50 to 100 km later


def test_looks_again_cost_what_they_take_where_they_fall() -> None:
    """At a halt 50 km on three times 7 minutes at 240 an hour; in the shed after return 7 at 60; at the camp 14 at 120."""
    one = given(task(0, 20, **LOOKED))
    minutes, cost = totals(one, placing((DAY,)))
    waiting = path_cost(one, placing((DAY,)), 0)
    assert (minutes, cost) == pytest.approx((30 + 21, 30 + 21 / 60 * 240 + waiting))
    minutes, cost = totals(one, placing((HOME,)))
    assert (minutes, cost) == pytest.approx((30 + 7, 30 + 7 + 3))
    near = replace(one.sites[CAMP], trip_km=60.0)
    sites = (one.sites[DAY], near, one.sites[HOME])
    there = replace(one, sites=sites, takes_looks=frozenset({(CAMP, "nuts", "wagon", None)}))
    assert looks_minutes(there, placing((DAY,))) == (0.0, 7.0, 0.0)
    assert site_minutes(there, placing((DAY,))) == (30.0, 14.0, 0.0)
    two = replace(there, tasks=(*there.tasks, task(1, 5, **LOOKED)), covered_by=((), ()))
    assert looks_minutes(two, placing((DAY,), (DAY,))) == (0.0, 7.0, 0.0)  # once, whoever asks for it


def test_a_look_again_done_on_the_spot_is_no_more_work() -> None:
    """Play asked for 50 km after the work at home, and looked at on the spot by what is done at the camp."""
    look = LookAgain("play", "wagon", "left", 50.0, 100.0, 3.0)
    two = given(task(0, 20, again=(look,)), task(1, 5, PLAY), takes_looks=frozenset({(CAMP, "play", "wagon", "left")}))
    two = replace(two, sites=(two.sites[DAY], replace(two.sites[CAMP], trip_km=60.0), two.sites[HOME]))
    assert looks_minutes(two, placing((DAY,), ())) == (0.0, 3.0, 0.0)
    assert looks_minutes(two, placing((DAY,), (CAMP,))) == (0.0, 0.0, 0.0)
    own = replace(
        two, tasks=(*two.tasks, task(2, 3, item=thing("play", act="look"), act="look")), covered_by=((), (), ())
    )
    assert looks_minutes(own, placing((DAY,), (), (CAMP,))) == (0.0, 0.0, 0.0)
    assert looks_minutes(own, placing((DAY,), (), (DAY,))) == (0.0, 3.0, 0.0)


def test_each_job_alone_opens_and_sets_out_for_itself() -> None:
    """20 + 18 + 10 at home; 30 + 18 + 10 twice at the camp, at 120 an hour; a look at a halt, one after return."""
    two = given(task(0, 20, WHEEL, **LOOKED), task(1, 30, WHEEL))
    minutes, cost = each_alone(two, placing((DAY,), (CAMP,)))
    waiting = sum(path_cost(two, placing((DAY,), (CAMP,)), index) for index in (0, 1))
    assert minutes == pytest.approx(48 + 116 + 21)
    assert cost == pytest.approx(48 + 116 / 60 * 120 + 21 / 60 * 240 + waiting)
    near = replace(two, sites=(two.sites[DAY], replace(two.sites[CAMP], trip_km=60.0), two.sites[HOME]),
                   takes_looks=frozenset({(CAMP, "nuts", "wagon", None)}))  # fmt: skip
    minutes, cost = each_alone(near, placing((DAY,), (CAMP,)))
    assert minutes == pytest.approx(48 + 116 + 14)
    assert cost == pytest.approx(48 + 116 / 60 * 120 + 14 / 60 * 120 + waiting)


def test_everything_before_departure() -> None:
    """All on the last day at home, once; what is done on the way of another not at all; water's work as the plan has it.

    What runs out again on the way is done there as well, where the plan does it.
    """
    call = task(2, 9, window=(CAMP, HOME), undone=7000)
    short = task(3, 8, reach=(0, 1, 1, 2))
    all_ = given(task(0, 20, WHEEL), task(1, 30, WHEEL), call, short, covered_by=((), (0,), (), ()))
    plan = placing((CAMP,), (), (CAMP,), (DAY, CAMP))
    same = totals(all_, placing((DAY,), (), (CAMP,), (DAY, CAMP)))
    assert all_before(all_, plan) == pytest.approx(same)
    longer = replace(all_, tasks=(*all_.tasks[:3], task(3, 8)))
    assert all_before(longer, plan) == pytest.approx(totals(longer, placing((DAY,), (), (CAMP,), (DAY,))))


def test_everything_before_is_on_the_last_day_at_home() -> None:
    """Two days at home: the second; without a day at home, the first place there is."""
    one = given(task(0, 20))
    early = replace(one.sites[DAY], id="early")
    rows = ((0.5,) * 4,) * 5
    long = replace(
        one.tasks[0], late=((0, 0, 1000, 2000),) * 5, worth=(5000,) * 5, reach=(3,) * 5, sound=(3,) * 5, shares=rows
    )
    two = replace(one, sites=(early, *one.sites), tasks=(long,), place_factor=(1.0, 1.5, 2.0, 1.0),
                  hour_price=(60.0, 60.0, 120.0, 60.0), at_home=(True, True, False, True))  # fmt: skip
    assert all_before(two, placing(()))[0] == 30 * 1.5
    road = replace(one, sites=one.sites[1:], place_factor=(2.0, 1.0), hour_price=(120.0, 60.0), at_home=(False, True))
    assert all_before(road, placing(()))[0] == 60.0
