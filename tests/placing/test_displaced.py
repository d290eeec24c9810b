"""Limits planned alone: what the search misses is found so, and nothing gets dearer."""

from functools import cache

import numpy as np
import pytest

from tests.placing.test_limits_truth import passed
from tests.placing.test_limits_truth import past as past_again
from tests.random_trips import random_trip
from tripplan.placing.displaced import FOR_TIME, filled_up, limits_of, past_limits
from tripplan.placing.fine import bunches_of, whole_cost
from tripplan.placing.greedy import place_greedily, plain_visits
from tripplan.placing.model import NEVER
from tripplan.placing.optimise import found_for, place_unproven
from tripplan.placing.read_back import rows_of
from tripplan.placing.search import Found, search
from tripplan.placing.stated import Stated, stated
from tripplan.placing.unmet import FULL
from tripplan.planner import answer, look_around

MISSED, LEAST = 762, 7_035.5
"""A trip on which the search leaves the rear wheel bearings past their limit at 16,599; HiGHS on the whole programme
keeps every limit at 7,048.5 and proves that no plan costs less than `LEAST`.
"""


@cache
def arrays(seed: int) -> Stated:
    """The trip's problem in arrays."""
    one = random_trip(seed)
    return stated(answer(look_around(one.rig, one.history, one.trip, one.catalogue, one.today), place_greedily).problem)


@cache
def searched(seed: int) -> Found:
    """What the search by itself finds of it."""
    given = arrays(seed)
    return search(given.model, plain_visits(given))


def test_a_limit_that_the_search_misses_is_kept_at_less_than_half_the_cost() -> None:
    """If it were not, a rig would leave with wheel bearings past their limit where a day for them is there."""
    given, found = arrays(MISSED), searched(MISSED)
    better = filled_up(given.model, limits_of(given), found)
    assert sum(passed(given, found.own)) == 1 and not any(passed(given, better.own))
    assert better.cost == whole_cost(given.model, bunches_of(given.model).whole, better.own)
    assert LEAST <= better.cost / 1000 <= 1.03 * LEAST < found.cost / 1000


@pytest.mark.parametrize("seed", [35, 312])
def test_filling_up_is_never_dearer_and_the_plan_is_the_same_both_ways(seed: int) -> None:
    """If it were, a plan would be worse for a limit that it passes all the same."""
    given, found = arrays(seed), searched(seed)
    better = filled_up(given.model, limits_of(given), found)
    assert better.cost <= found.cost
    placing = place_unproven(given.problem)
    assert (rows_of(given, placing) == found_for(given).own).all() and (found_for(given).own == better.own).all()


@pytest.mark.parametrize("seed", [1, 35])
def test_the_limits_alone_fit_and_pass_no_more_than_the_plan(seed: int) -> None:
    """If they did not fit, they would show nothing."""
    given = arrays(seed)
    limits = limits_of(given)
    assert (past_limits(given) == past_again(given)).all()
    rest = np.setdiff1d(np.arange(len(limits.own)), limits.rows)
    assert not limits.own[rest].any()
    assert sum(passed(given, limits.own)) <= sum(passed(given, searched(seed).own))


@pytest.mark.parametrize("seed", [41, 256])
def test_what_opens_a_hub_that_nobody_does_on_the_way_is_read_back_as_its_own(seed: int) -> None:
    """If it were lost, ways out would be held against a plan that leaves what has to be done."""
    given = arrays(seed)
    own = found_for(given).own
    again = rows_of(given, place_unproven(given.problem))
    assert (again == own).all()
    whole = bunches_of(given.model).whole
    assert whole_cost(given.model, whole, again) == whole_cost(given.model, whole, own) < NEVER


def test_where_time_is_not_what_is_wanting_nothing_is_planned_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    """If it were, every trip with a limit that no day can keep would take longer."""
    seed = next(n for n in range(60) if any(passed(arrays(n), searched(n).own)) and _for_days(n))
    monkeypatch.setattr("tripplan.placing.optimise.limits_of", lambda _: pytest.fail("planned twice"))
    assert FULL not in {miss.why for miss in place_unproven(arrays(seed).problem).unmet}


def _for_days(seed: int) -> bool:
    return not any(miss.why in FOR_TIME for miss in place_unproven(arrays(seed).problem).unmet)
