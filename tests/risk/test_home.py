"""Will we get home: the chance, the hours and where they come from, on trips small enough to work by hand."""

from datetime import date
from math import exp

import numpy as np
import pytest
from msgspec.structs import replace

from tests.small import leg, looked_at, row, stated, stop, tables, thing, trip, water_rule, workshop
from tripplan.explain.skipping import skip_words
from tripplan.placing.optimise import place_optimally
from tripplan.placing.problem import PlacementProblem, Placing
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import Trip
from tripplan.records.plan_risk import Risk, Skip
from tripplan.risk.home import item_risks, skips, totals_of, trip_risk
from tripplan.risk.reckoned import Reckoned, reckon
from tripplan.water.crossing import calls

DAY = date(2026, 6, 25)
KNOWN = (
    row(date(2026, 6, 1), 100000, "bearings", "repack"), row(date(2026, 6, 1), 100000, "joints", "grease"),
    row(date(2026, 6, 20), 108000, number=3),
)  # fmt: skip
DUSTY = trip(leg(1, 1000, dust="heavy"), leg(2, 2000, date(2026, 7, 5), dust="heavy", remote=True),
             workshop_days=(workshop(DAY),))  # fmt: skip
BEARINGS = thing("bearings", km=10000, dust="high")
JOINTS = thing("joints", km=10000, act="grease", dust="high", life_shape=3, strands=0.5)


def solved(
    one_trip: Trip, catalogue: Catalogue, placing: Placing | None = None, history: tuple[object, ...] = KNOWN
) -> tuple[Reckoned, PlacementProblem, Placing, Risk]:
    """What that trip risks, placed by the search or as given."""
    s, standings = looked_at(one_trip, *history, catalogue=catalogue)  # type: ignore[arg-type]
    problem = stated(one_trip, *history, catalogue=catalogue)  # type: ignore[arg-type]
    pairs = tuple((x.unit, x.item, x.position) for x in standings)
    called = calls(pairs, s.timeline, s.catalogue, s.history, s.allowance_m, s.trip.trailer_hubs_after_water, s.today)
    found = placing or place_optimally(problem)
    r = reckon(standings, called, problem, found, s)
    return r, problem, found, trip_risk(r, totals_of(r), found, s)


def test_stops_and_hours_are_sums_over_items_and_legs() -> None:
    """The figures of the whole would not be those of its parts."""
    _, _, _, risk = solved(DUSTY, tables(BEARINGS, JOINTS))
    for case in ("plan", "nothing_done", "all_before"):
        whole = getattr(risk.standing_hours_expected, case)
        assert whole == pytest.approx(sum(getattr(one.standing_hours_expected, case) for one in risk.items))
        assert whole == pytest.approx(sum(getattr(one.standing_hours_expected, case) for one in risk.legs))
        assert whole == pytest.approx(sum(getattr(one.standing_hours_expected, case) for one in risk.systems))
        by_leg = sum(one.standing_hours_each * getattr(one.stops_expected, case) for one in risk.legs)
        assert whole == pytest.approx(by_leg)


def test_the_chance_averages_over_shared_dust_and_multiplies_nothing_averaged() -> None:
    """Dust hits both items at once: by Gauss and Hermite's 60 values of the one doubt, written out here."""
    _, _, _, risk = solved(DUSTY, tables(BEARINGS, JOINTS), Placing(((0,), (0,)), (), "test"))
    nodes, weights = np.polynomial.hermite_e.hermegauss(60)
    weights = weights / weights.sum()
    used = 0.3 * (1 + np.exp(np.log(2) / 1.6448536 * nodes))
    # bearings: act 30, failure 570, power 2; joints: act 30, failure 300 + 3 x 0.5 x 90 = 435, power 3, half of them stop
    bearings, joints = 30 / 570 * used**2, 0.5 * 30 / 2 / 435 * used**3
    exact = float(weights @ np.exp(-bearings - joints))
    apart = float(weights @ np.exp(-bearings)) * float(weights @ np.exp(-joints))
    assert exact > apart + 4e-5
    assert risk.home_without_a_stop.plan == pytest.approx(exact, abs=1e-5)
    assert risk.stops_expected.plan == pytest.approx(float(weights @ (bearings + joints)), rel=2e-3)
    assert risk.shared_doubts == ("grit",)


def test_without_doubt_the_chance_is_exp_of_stops() -> None:
    """The Poisson law itself would be wrong."""
    neutral = trip(leg(1, 1000), leg(2, 2000, date(2026, 7, 5), remote=True))
    _, _, _, risk = solved(neutral, tables(BEARINGS, JOINTS))
    assert risk.home_without_a_stop.nothing_done == pytest.approx(exp(-risk.stops_expected.nothing_done))
    assert risk.standing_hours_low.plan == pytest.approx(risk.standing_hours_high.plan)


def test_done_before_is_better_than_nothing_and_the_plan_lies_between() -> None:
    """The three cases would contradict each other."""
    _, _, _, risk = solved(DUSTY, tables(BEARINGS, JOINTS))
    hours = risk.standing_hours_expected
    assert hours.all_before <= hours.plan + 1e-9 and hours.plan < hours.nothing_done
    assert risk.standing_hours_low.plan < hours.plan < risk.standing_hours_high.plan


def test_leaving_a_job_out_is_the_plan_without_it() -> None:
    """The owner would be told a price for skipping that nobody reckoned."""
    catalogue = tables(BEARINGS, JOINTS)
    r, problem, placing, risk = solved(DUSTY, catalogue, Placing(((0,), (0,)), (), "test"))
    told = skips(r, totals_of(r))
    for task in range(len(problem.tasks)):
        visits = tuple(() if other == task else own for other, own in enumerate(placing.visits))
        _, _, _, without = solved(DUSTY, catalogue, replace(placing, visits=visits))
        skip = told[(task, 0)]
        assert skip.standing_hours_expected == pytest.approx(
            without.standing_hours_expected.plan - risk.standing_hours_expected.plan
        )
        assert skip.home_without_a_stop == pytest.approx(
            risk.home_without_a_stop.plan - without.home_without_a_stop.plan
        )


def test_leaving_out_a_job_that_does_another_counts_that_one_too() -> None:
    """The hub off for the bearings greases the joints: skipped, both go on as they are."""
    greater = thing("bearings", km=10000, covers="joints")
    r, problem, _, _ = solved(DUSTY, tables(greater, JOINTS), Placing(((0,), ()), (), "test"))
    assert problem.tasks[0].item.id == "bearings"
    (left,) = [one for one in r.left if one.task == 0]
    assert left.items == (0, 1) and r.plan.paths == ((0,), (0,)) and left.case.paths == ((), ())


def test_water_left_in_costs_km_by_km_until_it_is_seen_to() -> None:
    """A look behind a ford would be worth nothing, or the same wherever it is made."""
    item = thing("bearings", km=10000, water="high", points="hub_centre")
    wet = trip(
        leg(1, 1000), leg(2, 1000, date(2026, 7, 5)), leg(3, 1000, date(2026, 7, 8)),
        stops=(stop("A", 1, date(2026, 7, 4)), stop("B", 2, date(2026, 7, 7))),
        crossings=({"leg": 1, "at_km": 500, "depth_m": 0.8, "water": "fresh", "origin": leg(1, 1).origin},),
    )  # fmt: skip
    rules = (water_rule("bearings", "days", "look", within_days=30),)
    catalogue = tables(item, water_rules=rules)
    _, problem, _, _ = solved(wet, catalogue, history=KNOWN[:1] + KNOWN[2:])
    (once,) = [i for i, task in enumerate(problem.tasks) if task.window is not None]
    sites = [site.id for site in problem.sites]
    found = {}
    for where in (None, "stop-1-a", "stop-2-b"):
        visits = tuple((sites.index(where),) if where and i == once else () for i in range(len(problem.tasks)))
        _, _, _, risk = solved(wet, catalogue, Placing(visits, (), "test"), history=KNOWN[:1] + KNOWN[2:])
        found[where] = risk.stops_expected.plan
    # 0.2 chance that water got in; twice its interval used: h (2^2 - 1) = 3 h over the 2500 km home
    added = 0.2 * 3 * 30 / 570
    assert found[None] - found["stop-1-a"] == pytest.approx(added * 2000 / 2500)
    assert found[None] - found["stop-2-b"] == pytest.approx(added * 1000 / 2500)


def test_every_item_tells_the_law_it_was_read_from() -> None:
    """`why` could not trace the figure to rows."""
    s, standings = looked_at(DUSTY, *KNOWN, catalogue=tables(BEARINGS, JOINTS))
    problem = stated(DUSTY, *KNOWN, catalogue=tables(BEARINGS, JOINTS))
    r = reckon(standings, (), problem, place_optimally(problem), s)
    told = item_risks(r, totals_of(r), s)[("joints", "wagon", "")]
    assert told.failures_per_interval == pytest.approx(told.act_price / (told.power - 1) / told.failure_price)
    assert (told.act_price, told.failure_price, told.power, told.stops_share) == (30, 435, 3, 0.5)
    assert told.origins


def test_words_of_a_skip_never_make_light_of_harm() -> None:
    """An owner would leave out the brakes because they cost no hours."""
    nothing = Skip(failures_expected=0, stops_expected=0, standing_hours_expected=0.01, home_without_a_stop=0)
    much = replace(nothing, standing_hours_expected=1.44, home_without_a_stop=0.0315)
    assert "next to nothing" in skip_words(nothing, False) and "hurt somebody" not in skip_words(nothing, False)
    assert "hurt somebody" in skip_words(nothing, True)
    assert "1.4 h" in skip_words(much, True) and "3 fewer" in skip_words(much, True)
    assert not any("safe" in skip_words(one, harms) for one in (nothing, much) for harms in (True, False))
