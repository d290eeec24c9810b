"""Placement as a problem: sites, openings, how far a renewal reaches, and what time costs."""

from datetime import date

import pytest
from msgspec.structs import asdict, replace

from tests.small import (
    SOURCED,
    TODAY,
    WHEEL_END,
    leg,
    looked_at,
    row,
    stated,
    stop,
    tables,
    thing,
    trip,
    wagon,
    workshop,
)
from tripplan.placing.problem import (
    PlacementProblem,
    Placing,
    build_sites,
    first_site_from,
    ladder,
    opening_minutes,
    opens,
    renewals,
    slug,
    teardown_index,
)
from tripplan.placing.reckoning import each_alone, labour_cost, site_minutes, totals
from tripplan.records.catalogue import Teardown
from tripplan.trip.timeline import build_timeline

LEGS = (leg(1, 1000), leg(2, 1000, date(2026, 7, 10)))
TRIP = trip(
    *LEGS,
    workshop_days=(workshop(date(2026, 6, 28)), workshop(date(2026, 6, 24))),
    stops=(stop("Two Wells", 1, date(2026, 7, 5)),),
)
TEARDOWN = teardown_index(tables())


def placing(problem: PlacementProblem, *visits: tuple[int, ...]) -> Placing:
    """Those visits, task by task."""
    return Placing(visits, (), "by hand")


def test_sites_stand_in_time_order() -> None:
    """If not, parts would be used on a stop before they are bought."""
    sites = build_sites(TRIP, build_timeline(TRIP, 8), TODAY)
    assert [(s.id, s.kind, s.legs_done, s.trip_km) for s in sites] == [
        ("workshop-2026-06-24", "workshop", 0, 0),
        ("workshop-2026-06-28", "workshop", 0, 0),
        ("stop-1-two-wells", "stop", 1, 1000),
        ("after", "after", 2, 2000),
    ]
    assert [s.rank for s in sites] == [3, 3, 3, 3]
    assert sites[-1].minutes is None and sites[-1].date == date(2026, 8, 1)


def test_sites_left_behind_are_gone() -> None:
    """If not, a re-plan under way would put work on a day that is past."""
    line = build_timeline(TRIP, 8)
    assert [s.kind for s in build_sites(TRIP, line, date(2026, 6, 25))] == ["workshop", "stop", "after"]
    assert [s.kind for s in build_sites(TRIP, line, date(2026, 7, 5))] == ["stop", "after"]
    assert [s.kind for s in build_sites(TRIP, line, date(2026, 7, 6))] == ["after"]


def test_names_become_stable_ids() -> None:
    """If not, a calendar entry would be doubled when a place is written differently."""
    assert slug("  O'Dea's  Well, No. 3 ") == "o-dea-s-well-no-3"


def test_the_ladder_names_every_state_outermost_first() -> None:
    """If not, the hub would be pulled off with the wheel still on."""
    assert ladder(TEARDOWN, WHEEL_END, "hub off") == tuple(
        (WHEEL_END, state) for state in ("wheel raised", "wheel off", "hub off")
    )
    assert ladder(TEARDOWN, WHEEL_END, "closed") == ()


def test_work_without_a_side_opens_both() -> None:
    """If not, a job on both wheel ends would be timed as one."""
    item = thing(state="wheel raised")
    assert opens(item, wagon(), "left", "wheel raised", TEARDOWN) == ((("wagon", WHEEL_END, "left"), "wheel raised"),)
    assert len(opens(item, wagon(), None, "wheel off", TEARDOWN)) == 4  # two sides, two states each
    sump = thing(place="engine sump", state="drained")
    assert opens(sump, wagon(), None, "drained", TEARDOWN) == ((("wagon", "engine sump", None), "drained"),)


def test_what_a_place_has_no_row_for_it_shares_with_others() -> None:
    """If not, one guard under three sumps would be taken off and put back three times a day."""

    def state(place: str, name: str, parent: str | None) -> Teardown:
        values = {"place": place, "state": name, "parent": parent, "open_minutes": 6, "close_minutes": 8, "words": name}
        return Teardown.model_validate({**values, **SOURCED})

    rows = [state("underbody", "guard off", None)]
    rows += [state(place, "drained", "guard off") for place in ("engine sump", "gearbox sump")]
    teardown = {(row.place, row.state): row for row in rows}
    sumps = [thing(place=place) for place in ("engine sump", "gearbox sump")]
    guard = (("wagon", "underbody", None), "guard off")
    assert [opens(sump, wagon(), None, "drained", teardown) for sump in sumps] == [
        (guard, (("wagon", "engine sump", None), "drained")), (guard, (("wagon", "gearbox sump", None), "drained")),
    ]  # fmt: skip
    own = {**teardown, ("gearbox sump", "guard off"): state("gearbox sump", "guard off", None)}
    assert opens(sumps[0], wagon(), None, "drained", own)[0] == guard
    assert opens(sumps[1], wagon(), None, "drained", own)[0] == (("wagon", "gearbox sump", None), "guard off")


def reach(item_km: float, used_km: float, **changes: object) -> tuple[tuple[int, ...], tuple[tuple[float, ...], ...]]:
    """Reach and shares of one item over the four sites."""
    rows = (row(date(2026, 1, 1), 0, "bearings", "repack"), row(TODAY, used_km, number=3))
    problem = stated(TRIP, *rows, catalogue=tables(thing(km=item_km, **changes)))
    return problem.tasks[0].reach, problem.tasks[0].shares


def test_reach_by_hand() -> None:
    """If not, the last stop before a failure would be the wrong one.

    Sites 0, 1 workshop days, 2 the stop at km 1000, 3 after return at km 2000.
    """
    # 9000 of 10000 used: at sites 9000, 9000, 10000, 11000. Lasts to the stop exactly
    # renewed at 0 or 1: + 0 to the other, 1000 to the stop, 2000 home: lasts
    assert reach(10000, 9000)[0] == (2, 3, 3, 3, 3)
    assert reach(10000, 9001)[0] == (1, 3, 3, 3, 3)
    # interval 1500: from a workshop day it reaches the stop (1000), not home (2000); from the stop, home
    assert reach(1500, 600)[0] == (1, 2, 2, 3, 3)
    # interval 800: not even one leg
    assert reach(800, 0)[0] == (1, 1, 1, 2, 3)


def test_reach_and_shares_are_typical() -> None:
    """If not, every trip would be planned as the worst one; the reserve enters in the price of waiting."""
    dusty = trip(leg(1, 1000, dust="heavy"), leg(2, 1000, date(2026, 7, 10)), stops=TRIP.stops,
                 workshop_days=TRIP.workshop_days)  # fmt: skip
    rows = (row(date(2026, 1, 1), 0, "bearings", "repack"), row(TODAY, 7500, number=3))
    task = stated(dusty, *rows, catalogue=tables(thing(km=10000, dust="high"))).tasks[0]
    # typical at the stop 7500 + 2000 = 9500, at home 10500
    assert task.reach[0] == 2
    assert task.shares[0] == pytest.approx((0.75, 0.75, 0.95, 1.05))
    assert task.shares[2][2:] == pytest.approx((0.2, 0.3))  # from workshop day 1: 2000, 3000 of 10000


def test_reach_in_months() -> None:
    """If not, what ages by the calendar would be placed by the odometer."""
    rows = (row(date(2026, 1, 6), 0, "bearings", "repack"),)
    task = stated(TRIP, *rows, catalogue=tables(thing(months=6))).tasks[0]
    # due 6 July: the stop on 5 July is in time, home on 1 August is not; renewed in June it lasts
    assert task.reach == (2, 3, 3, 3, 3)
    # 6 January to 5 July are 180 of the 181 days to 6 July
    assert task.shares[0][2] == pytest.approx(180 / 181)


def test_overdue_work_reaches_no_further_than_the_last_workshop_day() -> None:
    """If not, what is due now would be let out on the road."""
    assert reach(10000, 12000)[0][0] == 1


def test_parts_decide_the_first_site() -> None:
    """If not, work would be planned for the day before its parts arrive."""
    sites = stated(TRIP).sites
    # today 20 June; workshop days 24 and 28 June, departure 1 July, stop 5 July
    assert [first_site_from(sites, TRIP.depart, TODAY, days) for days in (0, 4, 5, 8, 9, 90)] == [0, 0, 1, 1, 2, 3]


def test_parts_that_come_after_the_last_day_at_home_meet_the_rig_where_there_are_shops() -> None:
    """If not, work would be planned at a camp for which the parts lie at home in the letter box."""
    stops = (
        stop("Two Wells", 1, date(2026, 7, 5), facility="camp"), stop("Port", 1, date(2026, 7, 7), facility="town"),
        stop("Last Camp", 1, date(2026, 7, 9), facility="camp"),
    )  # fmt: skip
    sites = stated(TRIP.model_copy(update={"stops": stops})).sites
    # those of 28 June go along; those of 29 June are sent to Port, and from there go along
    assert [first_site_from(sites, TRIP.depart, TODAY, days) for days in (8, 9, 17, 18)] == [1, 3, 3, 5]
    loose = stated(TRIP.model_copy(update={"stops": stops, "workshop_days": ()})).sites
    assert [first_site_from(loose, TRIP.depart, TODAY, days) for days in (11, 12)] == [0, 1]


def wheel_end_problem() -> PlacementProblem:
    """Two jobs behind the same hub, one of 30 min and one of 10."""
    catalogue = tables(
        thing("bearings", km=10000, state="hub off", minutes=30, positions="left"),
        thing("brakes", act="look", km=10000, state="wheel off", minutes=10, positions="left"),
    )
    return stated(TRIP, catalogue=catalogue)


def test_a_shared_teardown_is_counted_once() -> None:
    """If not, doing two jobs behind one wheel would look as dear as doing them apart."""
    problem = wheel_end_problem()
    # wheel raised 4+3, wheel off 5+5, hub off 10+13 = 40; jobs 30 + 10
    assert site_minutes(problem, placing(problem, (0,), (0,))) == (80, 0, 0, 0)
    # apart: 30 + 40 on one day, 10 + 17 on the other
    assert site_minutes(problem, placing(problem, (0,), (1,))) == (70, 27, 0, 0)
    minutes, _ = each_alone(problem, placing(problem, (0,), (0,)))
    assert minutes == 70 + 27


def test_opening_minutes_count_each_state_once() -> None:
    """If not, the wheel would be taken off twice on paper."""
    problem = wheel_end_problem()
    states = problem.tasks[0].opens
    assert opening_minutes(problem, [*states, *states]) == 40


def test_labour_costs_more_away_from_home() -> None:
    """If not, work at a camp would look as easy as in the shed."""
    facilities = ("camp", "town", "workshop")
    stops = tuple(stop(f"S{i}", i + 1, date(2026, 7, 5 + i), facility=f) for i, f in enumerate(facilities))
    away = trip(*(leg(i, 100, date(2026, 7, i)) for i in (1, 2, 3)), stops=stops, workshop_days=TRIP.workshop_days)
    problem = stated(away)
    # an hour is worth 60; camp x2, town x1.5, somebody else's workshop x1.2, home x1
    assert [labour_cost(problem, site, 60) for site in range(6)] == pytest.approx([60, 60, 120, 90, 72, 60])


def test_cost_is_labour_waiting_and_what_is_lost_at_the_end() -> None:
    """If not, servicing everything early would look free, or late would."""
    rows = (row(date(2026, 1, 1), 0, "bearings", "repack"), row(TODAY, 5000, number=3))
    catalogue = tables(thing(km=10000, minutes=30))
    problem = stated(TRIP, *rows, catalogue=catalogue)
    minutes, cost = totals(problem, placing(problem, (0,)))
    # P = half an hour at 60 = 30, b = 2; home again with a share of 0.2 used, failures on the way
    # (5 x 60 + 6 x 90) / (5 x 60 + 3 x 90) times as dear as at home
    dear = (300 + 540) / (300 + 270)
    waiting, lost = dear * 30 * 0.2**2, 30 - 60 * 0.8 + 30 - 30 * 0.2**2
    assert (minutes, cost) == (30, pytest.approx(30 + waiting + lost, abs=0.002))


def test_a_greater_job_renews_what_it_covers() -> None:
    """If not, the lesser job would be placed a second time beside the greater."""
    catalogue = tables(thing("bearings", km=10000, covers="play"), thing("play", act="measure", km=5000))
    problem = stated(TRIP, catalogue=catalogue)
    assert [task.item.id for task in problem.tasks] == ["bearings", "play"]
    assert problem.covered_by == ((), (0,))
    assert renewals(problem, placing(problem, (1,), (2,)), 1) == (1, 2)
    assert renewals(problem, placing(problem, (1,), (2,)), 0) == (1,)


def test_one_sided_jobs_cover_their_side_only() -> None:
    """If not, opening the left hub would pass for the right one."""
    catalogue = tables(
        thing("bearings", km=10000, positions="left;right", covers="play;nuts"),
        thing("nuts", act="look", km=1000),
        thing("play", act="measure", km=5000, positions="left;right"),
    )
    problem = stated(TRIP, catalogue=catalogue)
    assert [(t.item.id, t.position) for t in problem.tasks] == [
        ("bearings", "left"), ("bearings", "right"), ("nuts", None), ("play", "left"), ("play", "right"),
    ]  # fmt: skip
    assert problem.covered_by == ((), (), (), (0,), (1,))


def test_equal_problems_are_equal() -> None:
    """If not, planning twice could give two plans."""
    assert asdict(stated(TRIP)) == asdict(stated(TRIP))
    assert asdict(replace(stated(TRIP), halt_factor=1)) != asdict(stated(TRIP))
    assert looked_at(TRIP)[1] == looked_at(TRIP)[1]
