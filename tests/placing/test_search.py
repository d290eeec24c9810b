"""The search against every placing there is, against a second programme, and against itself."""

from functools import cache

import numpy as np
import pytest
from msgspec.structs import replace

from tests.placing.small_placements import best, fits, is_allowed, minutes, problem, with_twin, worth
from tripplan.placing.bound import bound
from tripplan.placing.greedy import place_greedily
from tripplan.placing.optimise import place_optimally, place_unproven
from tripplan.placing.problem import PlacementProblem, Placing, can_stand
from tripplan.placing.read_back import as_placing
from tripplan.placing.reckoning import site_minutes, totals
from tripplan.placing.search import search
from tripplan.placing.stated import stated, where_able

SEEDS = range(16)


@cache
def small(seed: int) -> PlacementProblem:
    """Two to four tasks, up to two days and two stops, water among them."""
    return problem(seed, 2 + seed % 3, seed % 3, 1 + seed % 2, seed % 2)


@cache
def placed(seed: int) -> Placing:
    """The placing found for `small`."""
    return place_optimally(small(seed))


@cache
def least_of(seed: int) -> float:
    """What the best of all placings of `small` costs."""
    return best(small(seed))


@pytest.mark.parametrize("seed", SEEDS)
def test_without_its_gap_a_placing_is_the_same(seed: int) -> None:
    """If not, `check` would warn of another plan than the one on the sheet."""
    assert place_unproven(small(seed)) == replace(placed(seed), gap=None)


@pytest.mark.parametrize("first", range(0, 30, 10))
def test_no_placing_at_all_is_much_better(first: int) -> None:
    """If there were, the plan would ask for work that pays for nothing, or leave what pays.

    Most problems are solved to the cheapest there is; none may be more than a hundredth above.
    """
    exact = 0
    for seed in range(first, first + 10):
        given, found = small(seed), placed(seed)
        assert fits(given, found.visits) and is_allowed(given, found.visits)
        ours, least = worth(given, found.visits), least_of(seed)
        assert least - 0.01 <= ours <= least * 1.01 + 0.01, seed
        exact += ours <= least + 0.01
    assert exact >= 9


@pytest.mark.parametrize("seed", SEEDS)
def test_minutes_and_cost_are_reckoned_twice(seed: int) -> None:
    """If they did not agree, the totals told would not be those of the plan."""
    given = small(seed)
    for found in (placed(seed), place_greedily(given)):
        assert site_minutes(given, found) == pytest.approx(minutes(given, found.visits))
        assert totals(given, found)[1] == pytest.approx(worth(given, found.visits), abs=0.01)


@pytest.mark.parametrize("seed", SEEDS)
def test_tasks_can_stand_where_the_table_says(seed: int) -> None:
    """If it did not agree with the rule for one task at one place, a plan would keep a job from where it can be done."""
    given, last = small(seed), len(small(seed).sites) - 1
    tasks = (*given.tasks, replace(given.tasks[0], look_first=True), replace(given.tasks[0], earliest=last))
    given = replace(given, tasks=tasks)
    able = [[can_stand(given, task, site) for site in range(len(given.sites))] for task in tasks]
    assert where_able(given).tolist() == able


@pytest.mark.parametrize("seed", SEEDS)
def test_the_search_knows_its_own_cost(seed: int) -> None:
    """If not, it would compare plans by a figure that is not theirs."""
    given = stated(small(seed))
    found = search(given.model)
    assert totals(given.problem, as_placing(given, found.own, ""))[1] == pytest.approx(found.cost / 1000, abs=0.05)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_bound_is_below_every_placing(seed: int) -> None:
    """If it were not, a gap would be told that is not proven."""
    state = stated(small(seed))
    least = bound(state.model, search(state.model))
    assert least is not None and least / 1000 <= least_of(seed) + 0.01


@pytest.mark.parametrize("seed", range(20))
def test_never_dearer_than_the_plain_rule(seed: int) -> None:
    """If it were, the search would be worth nothing."""
    given = problem(seed, 8, 2, 3, 2, ("left", "right"))
    plain = place_greedily(given)
    if fits(given, plain.visits) and is_allowed(given, plain.visits):
        assert totals(given, place_optimally(given))[1] <= totals(given, plain)[1] + 0.01


@pytest.mark.parametrize("seed", range(10))
def test_both_sides_of_an_axle_are_done_together(seed: int) -> None:
    """If not, an axle would be opened on the left at one stop and on the right at the next."""
    given = with_twin(problem(seed, 3, 1, 2))
    found = place_optimally(given)
    assert found.visits[0] == found.visits[given.twins[0][1]]


@pytest.mark.parametrize("seed", range(6))
def test_equal_problems_give_equal_placings(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """If not, the same folder would give two plans: on another machine, or without a solver."""
    given = problem(seed, 10, 2, 3, 2)
    found = place_optimally(given)
    assert place_optimally(given) == found
    monkeypatch.setitem(__import__("sys").modules, "highspy", None)
    alone = place_optimally(given)
    assert alone.gap is None and replace(alone, gap=found.gap) == found


def test_costs_and_minutes_are_whole_numbers() -> None:
    """If not, sums would depend on the order a processor adds in."""
    model = stated(problem(3, 10, 2, 3, 2)).model
    for values in (
        model.labour,
        model.spend,
        model.open_cost,
        model.open_spend,
        model.keep_cost,
        model.arc,
        model.fee_cost,
    ):
        assert (values == np.rint(values)).all()


def followed(seed: int) -> PlacementProblem:
    """Like `small`, with looks at the nuts after the work."""
    return problem(seed, 2 + seed % 3, seed % 3, 1 + seed % 2, seed % 2, looks=True)


@pytest.mark.parametrize("seed", range(20))
def test_looks_again_are_placed_and_priced_as_every_placing_says(seed: int) -> None:
    """If not, re-checks would cost nothing, or fill a day that has no room for them."""
    given = followed(seed)
    state = stated(given)
    found = place_optimally(given)
    least, ours = best(given), worth(given, found.visits)
    assert fits(given, found.visits) and is_allowed(given, found.visits)
    assert site_minutes(given, found) == pytest.approx(minutes(given, found.visits))
    assert totals(given, found)[1] == pytest.approx(ours, abs=0.01)
    assert least - 0.01 <= ours <= least * 1.01 + 0.01
    told = bound(state.model, search(state.model))
    assert told is not None and told / 1000 <= least + 0.01


def test_nothing_to_do_is_an_answer() -> None:
    """If not, a rig that needs nothing would get no plan."""
    given = problem(1, 1, 1, 1)
    empty = replace(given, tasks=(), covered_by=())
    assert place_optimally(empty).visits == ()
