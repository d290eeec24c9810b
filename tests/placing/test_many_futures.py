"""The price of each job in many futures, against the price a plan of that future alone is made with."""

from itertools import product

import numpy as np
import pytest

from tests.due.test_many_futures import demo
from tripplan.placing.greedy import place_greedily
from tripplan.placing.many_futures import (
    Priced,
    _from,
    _later,
    patterns,
    priced_jobs,
    waiting_in_all,
    worth_doing,
)
from tripplan.placing.problem import last_chance, renewals
from tripplan.placing.tasks import act_prices
from tripplan.placing.waiting import rates_of
from tripplan.planner import Answer, answer, look_around
from tripplan.trip.draws import drawn_trip

ROUNDED = 1.01
"""Whole thousandths: each side may round another way."""


@pytest.fixture(scope="module")
def found() -> Answer:
    """The long tour, placed by the plain rule: prices do not hang on how good a placing is."""
    return answer(demo("long-tour")[3].s, place_greedily)


@pytest.fixture(scope="module")
def priced(found: Answer) -> list[Priced]:
    """Its jobs, priced in all futures."""
    return priced_jobs(found.standings, found.problem, found.placing, demo("long-tour")[3])


@pytest.mark.parametrize("row", [32])
def test_waiting_is_priced_as_in_a_plan_of_that_future(found: Answer, row: int) -> None:
    """A job would be told as worth its labour at a price that no plan knows."""
    inputs, catalogue, today, f, _, fates = demo("long-tour")
    drawn = drawn_trip(inputs.trip, f.s.timeline, f.draws, row)
    there = answer(look_around(inputs.rig, inputs.history, drawn, catalogue, today), place_greedily)
    assert [site.id for site in there.problem.sites] == [site.id for site in found.problem.sites]
    prices = act_prices(found.standings, found.problem.teardown, rates_of(f.s).home_hour)
    own = {task.thing: task for task in there.problem.tasks if task.window is None}
    looked = 0
    for standing, fate in zip(found.standings, fates, strict=True):
        task = own[(standing.item.id, standing.unit.id, standing.position or "")]
        if standing.item.rhythm != "walk-round":
            price = prices[(standing.item.id, standing.unit.id)]
            late, worth = waiting_in_all(standing, fate, price, found.problem, task.look_first, f)
            np.testing.assert_allclose(late[row], task.late, atol=ROUNDED, err_msg=standing.item.id)
            np.testing.assert_allclose(worth[row], task.worth, atol=ROUNDED, err_msg=standing.item.id)
            looked += 1
    assert looked > 90


def test_what_is_left_takes_the_cheapest_way_there_is() -> None:
    """Leaving a job would be priced dearer than its owner would do it later. Every set of places looked at."""
    draw = np.random.default_rng(4)
    sites, home = 5, 2
    late = draw.integers(0, 900, (3, sites + 1, sites)).astype(float)
    worth, labour = draw.integers(0, 300, (3, sites + 1)).astype(float), [10.0, 20.0, 150.0, np.inf, 80.0]
    later = _later(late, worth, labour, home)
    for row in range(3):
        best = min(
            cost_of([s for s, is_used in enumerate(used) if is_used], late[row], worth[row], labour)
            for used in product((False, True), repeat=sites)
            if not any(used[:home])
        )
        assert _from(0, late, worth, labour, later, home)[row] == pytest.approx(best)


def cost_of(visits: list[int], late: np.ndarray, worth: np.ndarray, labour: list[float]) -> float:
    """What one way of doing it costs, step by step."""
    total, start = 0.0, -1
    for site in visits:
        total += late[start + 1, site] + labour[site]
        start = site
    last = late.shape[1] - 1
    return total if start == last else total + late[start + 1, last] + worth[start + 1]


def test_jobs_and_what_is_worth_doing(found: Answer, priced: list[Priced]) -> None:
    """A job would be proposed that the plan has, that does not pay, or for which the day has no minutes."""
    *_, today, f, _, _ = demo("long-tour")
    home = last_chance(found.problem.sites, today) + 1
    for one in priced:
        before = [site for site in renewals(found.problem, found.placing, one.index) if site < home]
        assert one.is_planned == bool(before)
        assert one.pays.shape == (f.rows,) and (one.site is None or one.site < home)
        gone = f.draws.shift_days + f.s.trip.depart.toordinal()
        if one.site is not None:
            early = found.problem.sites[one.site].date.toordinal() > gone
            assert (one.done == one.left)[early].all()
    offers = worth_doing(priced, found.problem, found.placing)
    assert all(not offer.priced.is_planned and offer.gain > 0 and offer.minutes > 0 for offer in offers)
    used: dict[int, float] = {}
    for offer in offers:
        used[offer.priced.site or 0] = used.get(offer.priced.site or 0, 0.0) + offer.minutes
    assert all(minutes <= (found.problem.sites[site].minutes or 0) for site, minutes in used.items())


def test_patterns_count_every_future_that_changes_once(priced: list[Priced]) -> None:
    """The search would be sent to futures in which nothing changes, or one be counted twice."""
    rows = patterns(priced)
    changing = np.any([one.pays != one.pays[0] for one in priced if one.site is not None], axis=0)
    assert sum(count for count, _, _ in rows) == int(changing.sum()) > 0
    assert all(changing[first] and jobs > 0 for _, jobs, first in rows)
