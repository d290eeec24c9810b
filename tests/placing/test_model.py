"""The programme cut into parts: groups by hand, and parts that together are the whole."""

import numpy as np
import pytest
from msgspec.structs import replace

from tests.placing.arrays import as_flags, as_set, model_of, small, some_visits, whole
from tripplan.placing.descent import priced
from tripplan.placing.model import NEVER, joined_plans, linked, looks_at, parts_of, times

SEEDS = range(12)


@pytest.mark.parametrize(
    ("count", "ties", "groups"),
    [
        (0, [], []),
        (3, [], [[0], [1], [2]]),
        (5, [(0, 2), (2, 4)], [[0, 2, 4], [1], [3]]),
        (6, [(5, 4), (3, 2), (1, 0), (5, 3)], [[0, 1], [2, 3, 4, 5]]),
        (4, [(0, 1, 2, 3)], [[0, 1, 2, 3]]),
        (4, [(0, 1), (1, 0), (0,)], [[0, 1], [2], [3]]),
        (7, [(0, 1), (2, 3), (4, 5), (1, 3), (3, 5)], [[0, 1, 2, 3, 4, 5], [6]]),
    ],
)
def test_what_hangs_together(count: int, ties: list[tuple[int, ...]], groups: list[list[int]]) -> None:
    """If not, two jobs behind one wheel would be placed as if they shared nothing."""
    assert linked(count, ties) == groups


@pytest.mark.parametrize("looks", [False, True])
@pytest.mark.parametrize("seed", SEEDS)
def test_parts_share_nothing_but_minutes(seed: int, looks: bool) -> None:
    """If they did, an opening would be paid by two, or one job be done on the way of another that nobody does."""
    model = model_of(seed, looks)
    parts = parts_of(model)
    assert sorted(t for part in parts for t in part.tasks.tolist()) == list(range(len(model.labour)))
    openings = [o for part in parts for o in part.openings.tolist()]
    assert len(openings) == len(set(openings))
    for part in parts:
        mine = part.tasks.tolist()
        for number, t in enumerate(mine):
            assert [mine[c] for c in part.model.covers[number]] == list(model.covers[t])
            assert set(np.flatnonzero(part.cover[number]).tolist()) == set(part.model.covers[number])
            named = {part.openings[o] for o in np.flatnonzero(part.model.need[number])}
            assert named == set(np.flatnonzero(model.need[t]).tolist())


@pytest.mark.parametrize("looks", [False, True])
@pytest.mark.parametrize("seed", SEEDS)
def test_the_parts_cost_what_the_whole_costs(seed: int, looks: bool) -> None:
    """If not, the sum of the parts would be another plan: cost and minutes, with looks some km later."""
    given, model = small(seed, looks), model_of(seed, looks)
    own = as_flags(given, some_visits(given, seed, 30))
    together = priced(whole(model), own)
    apart = [priced(part, own[:, part.tasks]) for part in parts_of(model)]
    can_be = together.cost < NEVER
    assert sum(plans.cost for plans in apart)[can_be] == pytest.approx(together.cost[can_be])
    assert sum(plans.spend for plans in apart) == pytest.approx(together.spend)


@pytest.mark.parametrize("seed", SEEDS)
def test_whoever_covers_stands_in_an_earlier_level(seed: int) -> None:
    """If not, a task would be placed before it is known what does it on the way."""
    for part in parts_of(model_of(seed)):
        level = {int(t): number for number, tasks in enumerate(part.levels) for t in tasks}
        assert sorted(level) == list(range(len(part.tasks)))
        for t, covers in enumerate(part.model.covers):
            assert all(level[c] < level[t] for c in covers)


def test_levels_are_as_few_as_can_be() -> None:
    """Three that do each other in a row are three levels, what hangs on nobody is in the first."""
    model = model_of(2)
    chain = replace(model, covers=((), (0,), (1,), ()))
    assert [level.tolist() for level in whole(chain).levels] == [[0, 3], [1], [2]]


@pytest.mark.parametrize("seed", SEEDS)
def test_ladders_are_those_that_some_task_asks_for(seed: int) -> None:
    """Each once, none empty; two mirror each other only where they cost the same everywhere."""
    part = whole(model_of(seed))
    asked = {tuple(need.tolist()) for need in part.model.need if need.any()}
    assert {tuple(leaf.tolist()) for leaf in part.leaves} == asked and len(part.leaves) == len(asked)
    cost = part.leaves.astype(float) @ part.model.open_cost
    alike = [
        (i, j) for i in range(len(asked)) for j in range(i + 1, len(asked))
        if (cost[i] == cost[j]).all() and part.leaves[i].sum() == part.leaves[j].sum()
    ]  # fmt: skip
    assert list(part.mirrored) == alike


def test_two_sides_of_an_axle_mirror_each_other() -> None:
    """Two openings at one price, each asked for by one task."""
    model = model_of(2)
    need = np.zeros((4, 2), dtype=bool)
    need[0, 0] = need[1, 1] = True
    count = model.sites
    two = replace(
        model, need=need, open_cost=np.ones((2, count)), open_spend=np.ones((2, count)), keep_cost=np.zeros((2, count)),
        keep_here=np.zeros((2, count)), keep_next=np.zeros((2, count)),
    )  # fmt: skip
    assert whole(two).mirrored == ((0, 1),)
    dearer = replace(two, open_cost=np.array([[1.0], [2.0]]) * np.ones((2, count)))
    assert whole(dearer).mirrored == ()


def test_joined_plans_are_each_once_in_their_order() -> None:
    """If not, the same plan would fill the pool again and again."""
    given, model = small(4), model_of(4)
    plans = priced(whole(model), as_flags(given, some_visits(given, 1, 12)))
    both = joined_plans([plans, plans.take(np.array([3, 1])), plans])
    assert len(as_set(both)) == len(both.cost) == len(as_set(plans))
    assert (both.own[0] == plans.own[0]).all() and both.cost[0] == plans.cost[0]


def test_the_fee_is_taken_from_the_rows_of_its_site() -> None:
    """15 tenths of setting out at the second of two sites, which counts for its own row and for the road's."""
    model = replace(
        model_of(2), labour=np.zeros((4, 2)), fee_spend=np.array([10.0, 15.0]),
        rows=np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 1.0], [0.0, 0.0, 1.0]]),
    )  # fmt: skip
    assert model.fee_rows.tolist() == [[10.0, 0.0, 0.0], [0.0, 15.0, 15.0]]


def test_a_place_is_looked_at_where_anything_brings_it() -> None:
    """Three openings bring two places, given out of order: the second is brought by the first and by the last."""
    numbers = tuple(np.array(values, dtype=np.intp) for values in ((0, 1, 1), (2, 0, 1), (1, 0, 1)))
    places = np.array([5, 6], dtype=np.intp), np.array([3, 3], dtype=np.intp)
    found = looks_at((numbers[0], numbers[1], numbers[2]), places, np.zeros((2, 0)))
    used = np.zeros((4, 2, 3), dtype=bool)
    used[1, 0, 2] = used[2, 1, 0] = used[3, 1, 1] = True
    assert found.made(used).tolist() == [[False, False], [False, True], [True, False], [False, True]]
    assert sorted(zip(found.by.tolist(), found.at.tolist(), found.to.tolist(), strict=True)) == [
        (0, 2, 1), (1, 0, 0), (1, 1, 1)
    ]  # fmt: skip


def test_a_product_row_by_row_is_the_product() -> None:
    """If not, minutes would be counted otherwise than by hand: 1 x 3 + 2 x 5 is 13."""
    left, right = np.array([[1.0, 2.0], [0.0, 4.0]]), np.array([[3.0, 1.0], [5.0, 0.0]])
    assert times(left, right).tolist() == [[13.0, 1.0], [20.0, 0.0]]
    assert times(left > 0, right[:, 0]).tolist() == [8.0, 5.0]
