"""The curve of work hours: it starts at nothing, ends at everything, and buys most first."""

import os
import subprocess
import sys
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest

from tests.risk.test_home import KNOWN, solved
from tests.small import crossing, leg, row, stop, tables, thing, trip, water_rule, workshop
from tripplan.placing.problem import Placing
from tripplan.risk.hours_well_spent import curve_of

ROOT = Path(__file__).parents[2]
AT_HOME = trip(leg(1, 1000), leg(2, 2000, date(2026, 7, 5), remote=True), workshop_days=(workshop(date(2026, 6, 25)),))
DEEP = {"place": "front wheel end", "state": "hub off"}


def test_the_ends_of_the_curve_are_nothing_and_everything() -> None:
    """The owner's own plan would lie outside its own picture."""
    catalogue = tables(thing("bearings", km=10000, **DEEP), thing("joints", km=10000, act="grease"))
    r, _, placing, risk = solved(AT_HOME, catalogue)
    curve = curve_of(r, placing)
    assert curve[0].work_hours == 0
    assert curve[0].standing_hours_expected == pytest.approx(risk.standing_hours_expected.nothing_done)
    assert curve[-1].standing_hours_expected == pytest.approx(risk.standing_hours_expected.all_before)
    # grease 30 minutes; bearings 30, and both hubs to open and close: 7 + 10 + 23 minutes each
    assert curve[-1].work_hours == pytest.approx((30 + 30 + 2 * 40) / 60)


def test_it_falls_and_the_best_bargain_comes_first() -> None:
    """A person would be told to open a hub before greasing what costs minutes."""
    catalogue = tables(
        thing("bearings", km=10000, **DEEP), thing("joints", km=10000, act="grease", minutes=5, life_shape=3),
        thing("pins", km=40000, act="grease", minutes=20),
    )  # fmt: skip
    r, _, placing, _ = solved(AT_HOME, catalogue, history=(*KNOWN, row(date(2026, 6, 1), 100000, "pins", "grease")))
    curve = curve_of(r, placing)
    assert all(b.work_hours > a.work_hours for a, b in pairwise(curve))
    assert all(b.standing_hours_expected <= a.standing_hours_expected + 1e-12 for a, b in pairwise(curve))
    saved = [
        (a.standing_hours_expected - b.standing_hours_expected) / (b.work_hours - a.work_hours)
        for a, b in pairwise(curve)
    ]
    assert saved == sorted(saved, reverse=True) and curve[1].jobs[0].startswith("Joints")


def test_jobs_behind_one_opening_are_taken_together_where_that_pays() -> None:
    """The seal would wait for another day though the hub is off: its 5 minutes are little beside the opening."""
    seal = thing("seal", km=10000, act="renew", minutes=5, **DEEP)
    catalogue = tables(thing("bearings", km=10000, minutes=60, **DEEP), seal)
    known = (*KNOWN, row(date(2026, 6, 1), 100000, "seal", "renew"))
    r, _, placing, _ = solved(AT_HOME, catalogue, history=known)
    first = curve_of(r, placing)[1]
    assert first.jobs[0].startswith("Seal") and first.work_hours == pytest.approx((5 + 60 + 2 * 40) / 60)


def test_work_on_the_road_takes_the_minutes_of_its_place() -> None:
    """An hour at a camp would be priced like one in the shed."""
    away = AT_HOME.model_copy(update={"stops": (stop("Camp", 1, date(2026, 7, 4), facility="camp"),)})
    catalogue = tables(thing("joints", km=10000, act="grease"))
    r, problem, _, _ = solved(away, catalogue)
    camp = [site.id for site in problem.sites].index("stop-1-camp")
    curve = curve_of(r, Placing(((camp,),), (), "test"))
    assert {point.jobs for point in curve[1:]} == {("Joints: grease (home)",), ("Joints: grease (Camp)",)}
    assert curve[-1].work_hours == pytest.approx(0.5 + 1.0)


def test_the_walk_round_is_no_work_of_the_curve() -> None:
    """What is done every morning anyway would be sold as a bargain."""
    catalogue = tables(thing("tyres", km=500, act="look", rhythm="walk-round"))
    r, _, placing, _ = solved(AT_HOME, catalogue)
    assert len(curve_of(r, placing)) == 1


def test_equal_inputs_give_the_same_curve_whatever_order_sets_come_in() -> None:
    """If not, the same folder would give another plan.json each time: sums of minutes differ in their last digit."""
    code = (
        "from tests.random_trips import random_trip; from tripplan.placing.greedy import place_greedily;"
        "from tripplan.planner import make_plan; r = random_trip(28);"
        "print(make_plan(r.rig, r.history, r.trip, r.catalogue, r.today, (), place_greedily).risk.curve)"
    )
    told = {
        subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "3")
    }  # fmt: skip
    assert len(told) == 1


def test_a_look_after_water_is_not_credited_with_the_work_of_another_visit() -> None:
    """A minute's look would be sold as the hour of packing that is planned beside it."""
    away = AT_HOME.model_copy(
        update={"stops": (stop("Camp", 1, date(2026, 7, 4), facility="camp"),), "crossings": (crossing(1, 100, 0.5),)}
    )
    look = water_rule("joints", "days", "look", within_days=5, within_km=2000, minutes=1)
    catalogue = tables(thing("joints", km=2000, act="grease", points="hub_centre", minutes=60), water_rules=(look,))
    known = (*KNOWN, row(date(2026, 6, 1), 100000, "joints", "grease"))
    r, problem, _, _ = solved(away, catalogue, history=known)
    camp = [site.id for site in problem.sites].index("stop-1-camp")
    assert [task.act for task in problem.tasks] == ["grease", "look"]
    points = curve_of(r, Placing(((camp,), (camp,)), (), "test"))
    saved = {
        job: before.standing_hours_expected - after.standing_hours_expected
        for before, after in pairwise(points)
        for job in after.jobs
    }
    assert saved["Joints: grease (Camp)"] > 0
    assert 0 < saved["Joints: look (Camp)"] < saved["Joints: grease (Camp)"]
