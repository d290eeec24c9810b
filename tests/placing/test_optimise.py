"""What the planner is given: the plan found, or that of the plain rule where this comes out cheaper."""

import pytest

from tests.random_trips import random_trip, with_findings
from tripplan.placing.followed_up import owed_left
from tripplan.placing.optimise import place_optimally
from tripplan.placing.reckoning import site_minutes, totals
from tripplan.planner import answer, look_around

MADE_ANYWAY = 96
"""Bearings set last month ask for three looks at home, and the plan packs them again on another day, with looks of its own."""
ONE_HUB = 1737
"""A trip on which the plain rule opens one hub alone for a knuckle: what comes along with it is a gain that the search does not count."""


@pytest.mark.parametrize("seed", [ONE_HUB, 0])
def test_no_plan_is_dearer_than_that_of_the_plain_rule(seed: int) -> None:
    """If one were, an owner would be told a worse plan than a rule of thumb gives, with a search behind it."""
    one = random_trip(seed)
    found = answer(look_around(one.rig, one.history, one.trip, one.catalogue, one.today), place_optimally)
    assert totals(found.problem, found.placing)[1] <= totals(found.problem, found.plain)[1]
    assert found.placing.gap is None or 0 <= found.placing.gap < 1


@pytest.mark.parametrize("seed", [MADE_ANYWAY, 0])
def test_minutes_kept_for_looks_that_the_plan_makes_anyway_are_put_to_use(seed: int) -> None:
    """If not, 25 of 60 minutes at home would stand empty, and the sheet would say that there is no time."""
    one = random_trip(seed)
    s = look_around(one.rig, one.history, one.trip, one.catalogue, one.today)
    found = answer(s, place_optimally)
    problem, placing = found.problem, found.placing
    assert set(problem.spared) == set(problem.owed) - set(owed_left(problem, placing))
    for site, minutes in zip(problem.sites, site_minutes(problem, placing), strict=True):
        assert site.minutes is None or minutes <= site.minutes + 1e-6
    assert (seed == MADE_ANYWAY) == (len(problem.spared) == 3 and site_minutes(problem, placing)[0] > 50)


def test_what_no_bound_counts_on_is_not_told_as_proven() -> None:
    """A seal renewed on one side, and the failed bearing packed along: 22 times cheaper than what a bound knows of."""
    one = with_findings(562)
    found = answer(look_around(one.rig, one.history, one.trip, one.catalogue, one.today), place_optimally)
    problem, placing = found.problem, found.placing
    assert totals(problem, placing)[1] == totals(problem, found.plain)[1] and placing.gap is None
    for site, minutes in zip(problem.sites, site_minutes(problem, placing), strict=True):
        assert site.minutes is None or minutes <= site.minutes + 1e-6
