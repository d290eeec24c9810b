"""The solved placement against every placing there is, on small problems."""

from random import Random

import pytest

from tests.placing.small_placements import Kept, best, fits, minutes, problem, together, with_twin, worth
from tripplan.placing.both_sides import split_twins
from tripplan.placing.greedy import place_greedily
from tripplan.placing.optimise import place_optimally, priced
from tripplan.placing.problem import PlacementProblem, Placing, site_minutes, totals

SEEDS = range(300)
CHUNK = 20
TOLERANCE = 1e-3


def small(seed: int) -> PlacementProblem:
    """Two to four tasks, up to two workshop days, one or two stops, now and then a water call."""
    rng = Random(seed)
    tasks, days, stops = rng.choice((2, 2, 3, 3, 4)), rng.choice((0, 1, 1, 2, 2)), rng.choice((1, 1, 2))
    return problem(seed, min(tasks, 3) if days + stops > 3 else tasks, days, stops, rng.choice((0, 0, 1)))


def kept(placing: Placing) -> Kept:
    """Nights, sides and states of what stays open; in these problems there is one place only."""
    return frozenset((night, (key[2] or "", state)) for night, key, state in placing.kept_open)


@pytest.mark.parametrize("first", range(SEEDS.start, SEEDS.stop, CHUNK))
def test_no_placing_at_all_is_better(first: int) -> None:
    """If one were, the owner would carry more risk or pay for more hours than the plan claims is possible."""
    for seed in range(first, first + CHUNK):
        given = small(seed)
        placing = place_optimally(given)
        broken, cost = worth(given, placing.visits, kept(placing))
        (lowest, lowest_cost), (least, cheapest) = best(given)
        assert placing.gap is not None, seed
        margin = max(TOLERANCE, placing.gap)
        assert lowest - 1e-5 <= broken <= least + margin * broken + 1e-5, seed
        if broken <= lowest + 1e-5:
            assert cost >= lowest_cost - TOLERANCE, seed
        if abs(broken - least) <= 1e-5:
            assert cost <= cheapest + margin * cost + 1e-6, seed


@pytest.mark.parametrize("first", range(SEEDS.start, SEEDS.stop, CHUNK))
def test_minutes_and_cost_are_reckoned_twice(first: int) -> None:
    """If the two reckonings differed, the hours and the money at the top of the plan would be wrong."""
    for seed in range(first, first + CHUNK):
        given = small(seed)
        for placing in (place_optimally(given), place_greedily(given)):
            own = worth(given, placing.visits, kept(placing))
            assert priced(given, placing) == pytest.approx(own, abs=1e-5), seed
            assert site_minutes(given, placing) == pytest.approx(minutes(given, placing.visits, kept(placing))), seed
            assert totals(given, placing) == pytest.approx((sum(site_minutes(given, placing)), own[1])), seed
            assert fits(given, placing.visits, kept(placing)), seed


def test_the_solved_placing_is_never_worse_than_the_plain_one() -> None:
    """If it were, the plan would be dearer than one made by rule of thumb."""
    for seed in SEEDS:
        given = small(seed)
        broken, cost = priced(given, place_optimally(given))
        plain_broken, plain_cost = priced(given, place_greedily(given))
        assert broken <= plain_broken + 1e-6
        assert broken < plain_broken - 1e-6 or cost <= plain_cost + 1e-6


@pytest.mark.parametrize("first", range(0, 120, CHUNK))
def test_both_sides_of_an_axle_are_done_together_where_they_can_be(first: int) -> None:
    """If not, one hub would be opened at one stop and its twin at the next, for a few minutes on paper."""
    seen = {True: 0, False: 0}
    for seed in range(first, first + CHUNK):
        rng = Random(seed)
        given = with_twin(problem(seed, 2, rng.choice((0, 1, 2)), 1, rng.choice((0, 1))))
        placing = place_optimally(given)
        broken, cost = worth(given, placing.visits, kept(placing))
        _, (least, cheapest) = best(given, together)
        seen[least == 0.0] += 1
        assert placing.gap is not None, seed
        margin = max(TOLERANCE, placing.gap)
        if least == 0.0:
            assert broken == 0.0, seed
            assert not split_twins(given, placing) or cost < cheapest, seed
            assert cost <= cheapest + margin * cost + 1e-6, seed
        else:
            _, (least, _) = best(given)
            assert broken <= least + margin * broken + 1e-5, seed
    assert all(seen.values())


def test_equal_problems_give_equal_placings() -> None:
    """If not, the same folder would give another plan tomorrow."""
    for seed in range(0, 300, 10):
        assert place_optimally(small(seed)) == place_optimally(small(seed))


def test_nothing_to_do_is_an_answer() -> None:
    """If not, a rig that needs nothing would get no plan."""
    given = problem(1, 0, 1, 1)
    placing = place_optimally(given)
    assert (placing.visits, placing.unmet, placing.gap) == ((), (), 0.0)
