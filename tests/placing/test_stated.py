"""The problem as arrays: what goes together is one row, and a row costs what its tasks cost in the plan."""

from datetime import date
from functools import cache

import numpy as np
import pytest
from msgspec.structs import replace

from tests.placing.arrays import whole
from tests.small import crossing as ford
from tests.small import leg, row, stop, tables, thing, trip, water_rule, workshop
from tests.small import stated as problem_of
from tripplan.placing.descent import only_at_home, priced, single_changes
from tripplan.placing.model import NEVER, Flags
from tripplan.placing.problem import Ceilings, PlacementProblem
from tripplan.placing.read_back import as_placing
from tripplan.placing.reckoning import site_minutes, totals
from tripplan.placing.stated import Stated, groups_of, shared_of, stated, with_minutes
from tripplan.placing.trade_rules import is_with_the_hub

ITEMS = (
    thing("bearings", positions="left;right", state="hub off", km=10000, minutes=25, follow_ups="front_bearing_play 0-0 km",
          points="hub_centre", covers="grease_points"),
    thing("seals", positions="left;right", state="hub off", act="renew", km=30000, minutes=15, family="seal"),
    thing("front_bearing_play", positions="left;right", state="wheel raised", act="look", km=8000, minutes=6),
    thing("wheel_nuts", act="torque", km=4000, minutes=4),
    thing("joint", positions="left;right", state="knuckle open", act="look", km=50000, minutes=12, family="joint"),
    thing("grease_points", act="grease", km=3000, minutes=9, family="joint"),
    thing("oil", act="drain and refill", place="engine sump", state="drained", km=9000, minutes=20, family="fluid"),
    thing("walk", act="look", rhythm="walk-round", km=2000, minutes=2),
)  # fmt: skip
RULES = (
    water_rule("bearings", "before remote", "look", from_grade=1, minutes=9, state="wheel raised"),
    water_rule("bearings", "days", "repack", from_grade=1, minutes=40, state="hub off", resets=True, within_days=20),
)
LEGS = (leg(1, 1500), leg(2, 1500, date(2026, 7, 8)), leg(3, 1500, date(2026, 7, 16), remote=True))
HISTORY = tuple(
    row(date(2026, 5, 1), 1000, item.id, item.act, position=side, finding=None)
    for item in ITEMS if item.rhythm == "service" for side in (item.positions or (None,))
)  # fmt: skip
READING = row(date(2026, 6, 19), 7000)


@cache
def case(name: str) -> PlacementProblem:
    """A wagon with hubs, wheels, a sump; after a ford, or with water found in one bearing."""
    crossings = (ford(1, 1400, 0.6, crossed=date(2026, 7, 2), minutes=3),) if name == "ford" else ()
    found = (row(date(2026, 6, 10), 6900, "bearings", "look", position="left", finding="worn"),)
    one_trip = trip(
        *LEGS, stops=(stop("Gums", 1, date(2026, 7, 6), facility="camp"), stop("Town", 2, date(2026, 7, 13))),
        workshop_days=(workshop(date(2026, 6, 23)), workshop(date(2026, 6, 24)), workshop(date(2026, 6, 29))),
        crossings=crossings, shakedown_km=80,
    )  # fmt: skip
    catalogue = tables(*ITEMS, water_rules=RULES if crossings else ())
    history = (*HISTORY, *(found if name == "found" else ()), READING)
    today = date(2026, 7, 3) if name == "ford" else date(2026, 6, 20)
    problem = problem_of(one_trip, *history, catalogue=catalogue, today=today)
    return replace(problem, ceilings=Ceilings())


CASES = ("plain", "found", "ford")


def test_brakes_are_spoilt_by_the_hub_that_comes_off_behind_them() -> None:
    """If not, linings would be put on a day before the bearing behind them is packed (common practice, no source)."""
    linings = thing("linings", km=9000, act="adjust", positions="left;right", state="wheel off", family="brake")
    pads = thing("pads", km=9000, act="look", positions="left;right", state="wheel off", family="brake")
    one_trip = trip(*LEGS, workshop_days=tuple(workshop(date(2026, 6, day)) for day in (23, 24)))
    catalogue = tables(*ITEMS, linings, pads)
    given = stated(problem_of(one_trip, *HISTORY, READING, catalogue=catalogue, today=date(2026, 6, 20)))
    ((row_, hubs),) = given.model.spoilt
    assert {given.problem.tasks[i].item.id for i in given.groups[row_]} == {"linings"}
    assert {given.openings[o][1] for o in hubs} == {"hub off"} and len(hubs) == 2
    assert given.model.home == 2
    assert stated(case("plain")).model.spoilt == ()


def rows(problem: PlacementProblem) -> list[list[str]]:
    """The names of what goes together, row by row."""
    return [
        [f"{problem.tasks[i].item.id} {problem.tasks[i].position or ''}".strip() for i in group]
        for group in groups_of(problem)
    ]


def test_what_goes_together_is_one_row() -> None:
    """If not, a hub would be packed and its seal left; the daily look is no work that is placed."""
    found = rows(case("plain"))
    assert ["bearings left", "bearings right", "seals left", "seals right"] in [sorted(group) for group in found]
    assert ["joint left", "joint right"] in found and ["oil"] in found
    assert not any("walk" in name for group in found for name in group)


@pytest.mark.parametrize(
    ("left_km", "together"), [(6990, False), (4000, True), (None, True)], ids=["fresh", "not so fresh", "as the right"]
)
def test_a_hub_packed_a_short_time_ago_stays_shut_while_the_other_is_packed(
    left_km: float | None, together: bool
) -> None:
    """If not, the hub packed yesterday at the roadside would be opened again for the one beside it."""
    packed = [] if left_km is None else [
        row(date(2026, 6, 18), left_km, item, act, position="left") for item, act in (("bearings", "repack"), ("seals", "renew"))
    ]  # fmt: skip
    one_trip = trip(*LEGS, workshop_days=(workshop(date(2026, 6, 23)),))
    problem = problem_of(one_trip, *HISTORY, *packed, READING, catalogue=tables(*ITEMS), today=date(2026, 6, 20))
    hubs = [
        {problem.tasks[i].position for i in group}
        for group in groups_of(problem)
        if is_with_the_hub(problem.tasks[group[0]])
    ]
    assert sorted(hubs, key=sorted) == ([{"left", "right"}] if together else [{"left"}, {"right"}])


def test_a_finding_sets_no_side_apart_from_its_hub() -> None:
    """If it did, the left hub would be packed twice."""
    assert [sorted(group) for group in rows(case("found"))].count(
        ["bearings left", "bearings right", "seals left", "seals right"]
    ) == 1  # fmt: skip


def drawn(given: Stated, seed: int) -> Flags:
    """Plans met on a walk from doing all at home, one visit changed at a time."""
    draw, part = np.random.default_rng(seed), whole(given.model)
    now = only_at_home(part)
    met = [now.own]
    for _ in range(10):
        several = single_changes(part, now)
        met.append(several.own[draw.choice(len(several.cost), min(len(several.cost), 8), replace=False)])
        now = several.take(draw.choice(len(several.cost), 1))
    return np.concatenate(met)


def quiet_of(given: Stated, own: Flags) -> float:
    """20 minutes of the shed for each delicate row in the last two days before departure (1 July, so from 29 June)."""
    problem, total = given.problem, 0.0
    for g, group in enumerate(given.groups):
        delicate = any(problem.tasks[i].item.family in ("bearing", "brake") and problem.tasks[i].opens for i in group)
        for s in np.flatnonzero(own[g]).tolist():
            near = problem.sites[s].kind == "workshop" and problem.sites[s].date >= date(2026, 6, 29)
            total += 20.0 if delicate and near else 0.0
    return total


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("seed", range(3))
def test_a_row_costs_what_its_tasks_cost_in_the_plan(name: str, seed: int) -> None:
    """If not, the search would choose by other figures than those on the sheet; an hour is 60, so a minute is 1."""
    given = stated(case(name))
    model = given.model
    own = drawn(given, seed)
    plans = priced(whole(model), own)
    busy, seen = plans.uses.astype(np.float64), 0
    cost, taken = plans.cost + busy @ model.fee_cost, plans.spend @ model.rows + busy @ model.fee_rows
    for one, thousandths, tenths in zip(own, cost, taken, strict=True):
        if thousandths < NEVER and not is_said_otherwise(given, one):
            placing = as_placing(given, one, "")
            seen += 1
            told = totals(given.problem, placing)[1]
            assert thousandths / 1000 == pytest.approx(told + quiet_of(given, one), abs=0.05)
            assert tenths[: len(given.problem.sites)] / 10 == pytest.approx(
                site_minutes(given.problem, placing), abs=0.6
            )
    assert seen > 3


def is_said_otherwise(given: Stated, own: Flags) -> bool:
    """Plans that the search has in other rows as well: a hub off for something else is packed along at no price, and the
    repack that water calls for may be the bearings' own."""
    problem = given.problem
    hub_off = [any(state == "hub off" for i in group for _, state in problem.tasks[i].opens) for group in given.groups]
    belongs = [is_with_the_hub(problem.tasks[group[0]]) for group in given.groups]
    last = max((task.window[1] for task in problem.tasks if task.window is not None), default=-1)
    return any(
        own[g].any() if hub_off[g] and not belongs[g] else belongs[g] and own[g, : last + 1].any()
        for g in range(len(own))
    )


@pytest.mark.parametrize("name", CASES)
def test_whoever_has_a_hub_off_does_what_belongs_to_it(name: str) -> None:
    """If not, the joint would be looked at behind an open hub and the bearings put back unpacked."""
    given = stated(case(name))
    problem = given.problem
    joint = next(g for g, group in enumerate(given.groups) if problem.tasks[group[0]].item.id == "joint")
    site = int(np.flatnonzero(given.model.labour[joint] < NEVER)[0])
    own = np.zeros(given.model.labour.shape, dtype=bool)
    own[joint, site] = True
    placing = as_placing(given, own, "by hand")
    done = {problem.tasks[i].item.id for i, visits in enumerate(placing.visits) if site in visits}
    assert {"joint", "bearings", "seals"} <= done and placing.method == "by hand"


def test_work_that_water_calls_for_is_not_done_twice() -> None:
    """The repack after the ford is that repack: the bearings' own is not a second job beside it."""
    given = stated(case("ford"))
    problem = given.problem
    called = [g for g, group in enumerate(given.groups) if problem.tasks[group[0]].window is not None
              and problem.tasks[group[0]].act == "repack"]  # fmt: skip
    site = int(np.flatnonzero(given.model.labour[called[0]] < NEVER)[0])
    own = np.zeros(given.model.labour.shape, dtype=bool)
    own[called, site] = True
    placing = as_placing(given, own, "")
    own_repack = [
        v for t, v in zip(problem.tasks, placing.visits, strict=True) if t.item.id == "bearings" and t.window is None
    ]
    seals = [v for t, v in zip(problem.tasks, placing.visits, strict=True) if t.item.id == "seals"]
    assert all(site not in visits for visits in own_repack) and any(site in visits for visits in seals)


def test_the_daily_look_is_done_before_going_on_unless_a_job_does_it() -> None:
    """Two thousand km between, used up on the way: looked at on the last chance, the day before departure."""
    given = stated(case("plain"))
    problem = given.problem
    index = next(i for i, task in enumerate(problem.tasks) if task.item.id == "walk")
    nothing = np.zeros(given.model.labour.shape, dtype=bool)
    at = as_placing(given, nothing, "").visits[index]
    assert at == (max(problem.tasks[index].reach[0], 0),)
    covering = replace(problem, covered_by=tuple((next(i for i, t in enumerate(problem.tasks) if t.item.id == "oil"),) if i == index else by
                                                 for i, by in enumerate(problem.covered_by)))  # fmt: skip
    given = stated(covering)
    oil = next(g for g, group in enumerate(given.groups) if covering.tasks[group[0]].item.id == "oil")
    own = nothing.copy()
    own[oil, 0] = True
    assert as_placing(given, own, "").visits[index] == ()


def test_what_stays_open_overnight_is_what_both_days_need() -> None:
    """The 23rd and the 24th follow each other; the 29th comes behind the shakedown drive. A look is no opening."""
    given = stated(case("plain"))
    problem = given.problem
    joint = next(g for g, group in enumerate(given.groups) if problem.tasks[group[0]].item.id == "joint")
    own = np.zeros(given.model.labour.shape, dtype=bool)
    own[joint, :3] = True
    kept = as_placing(given, own, "").kept_open
    assert {site for site, _, _ in kept} == {0}
    assert {state for _, _, state in kept} == {"wheel raised", "wheel off", "hub off", "knuckle open"}
    assert all(key[1] == "front wheel end" for _, key, _ in kept)


def test_no_row_is_done_on_its_own_way_round_a_corner() -> None:
    """If it were, two acts that do each other would both be done by nobody."""
    problem = case("plain")
    names = {task.item.id: i for i, task in enumerate(problem.tasks) if task.position is None}
    circle = {names["oil"]: (names["wheel_nuts"],), names["wheel_nuts"]: (names["grease_points"],),
              names["grease_points"]: (names["oil"],)}  # fmt: skip
    given = stated(replace(problem, covered_by=tuple(circle.get(i, ()) for i in range(len(problem.tasks)))))
    covers = given.model.covers
    number = {problem.tasks[group[0]].item.id: g for g, group in enumerate(given.groups) if len(group) == 1}
    ring = [number[name] for name in ("oil", "wheel_nuts", "grease_points")]
    assert sum(len(covers[g]) for g in ring) == 2  # one of three gives way
    assert covers[min(ring)] == ()  # the first


def test_both_sides_are_covered_only_by_what_does_both() -> None:
    """If not, packing the left hub would count as greasing the right."""
    problem = case("plain")
    left = next(i for i, t in enumerate(problem.tasks) if (t.item.id, t.position) == ("joint", "left"))
    oil = next(i for i, t in enumerate(problem.tasks) if t.item.id == "oil")
    given = stated(replace(problem, covered_by=tuple((oil,) if i == left else () for i in range(len(problem.tasks)))))
    joint = next(g for g, group in enumerate(given.groups) if left in group)
    assert given.model.covers[joint] == ()


def test_a_one_shot_task_counts_in_its_window_alone() -> None:
    """If not, a look before the ford would count as the look after it."""
    given = stated(case("ford"))
    for g, group in enumerate(given.groups):
        window = given.problem.tasks[group[0]].window
        told = np.flatnonzero(given.model.counts[g]).tolist()
        assert told == (list(range(given.model.sites)) if window is None else list(range(window[0], window[1] + 1)))


def test_what_is_shared_is_found_by_what_brings_it() -> None:
    """The play is looked at on the spot whenever a bearing is packed, on its side."""
    problem = case("plain")
    shared = shared_of(problem)
    assert {(key[1], key[2]) for key in shared.hubs} == {("front wheel end", "left"), ("front wheel end", "right")}
    assert {(key[2], item) for key, item in shared.looks} >= {
        ("left", "front_bearing_play"),
        ("right", "front_bearing_play"),
    }


def test_a_visit_that_no_day_could_hold_is_none() -> None:
    """A day of fifty minutes holds no hub: 2 x (25 + 15) and the openings are more."""
    problem = case("plain")
    short = replace(problem, sites=(replace(problem.sites[0], minutes=50.0), *problem.sites[1:]))
    given = stated(short)
    hub = next(g for g, group in enumerate(given.groups) if short.tasks[group[0]].item.id == "bearings")
    nuts = next(g for g, group in enumerate(given.groups) if short.tasks[group[0]].item.id == "wheel_nuts")
    assert given.model.labour[hub, 0] >= NEVER > given.model.labour[hub, 1]
    assert given.model.labour[nuts, 0] < NEVER


@pytest.mark.parametrize("minutes", [20.0, 95.0, 600.0])
@pytest.mark.parametrize("site", [0, 1])
def test_other_minutes_are_stated_as_if_from_the_start(site: int, minutes: float) -> None:
    """If not, a way out would be tried on another problem than the one it is told for."""
    problem = case("ford")
    longer = replace(problem.sites[site], minutes=minutes)
    other = replace(
        problem, sites=(*problem.sites[:site], longer, *problem.sites[site + 1 :]),
        ceilings=Ceilings(trip_minutes=minutes),
    )  # fmt: skip
    found, wanted = with_minutes(stated(problem), other).model, stated(other).model
    for name in ("labour", "spend", "rows", "room", "arc", "again", "open_cost", "open_spend", "fee_cost"):
        assert np.array_equal(getattr(found, name), getattr(wanted, name)), name
    assert not np.array_equal(found.room, stated(problem).model.room)
