"""What the ceilings on road work keep out, against placings worked out one by one."""

from functools import cache

import numpy as np
import pytest
from msgspec.structs import replace

from tests.placing.small_placements import fits, is_allowed, problem, worth
from tripplan.placing.beyond import beyond_ceilings
from tripplan.placing.bunches import whole_cost
from tripplan.placing.model import part_of
from tripplan.placing.optimise import place_optimally
from tripplan.placing.problem import Ceilings, PlacementProblem, Placing
from tripplan.placing.read_back import rows_of
from tripplan.placing.stated import stated

SEEDS = range(40)


@cache
def tight(seed: int) -> PlacementProblem:
    """Four tasks, no workshop day, two stops with more minutes than the owner gives the road."""
    given = problem(seed, 4, 0, 2)
    sites = tuple(replace(site, minutes=None if site.minutes is None else 200.0) for site in given.sites)
    return replace(given, sites=sites, ceilings=Ceilings(None, 40.0))


@cache
def placed(seed: int) -> Placing:
    """The placing found for `tight`."""
    return place_optimally(tight(seed))


@pytest.mark.parametrize("seed", SEEDS)
def test_each_saves_what_is_told(seed: int) -> None:
    """If not, the owner would give an hour of the holiday for nothing."""
    given, found = tight(seed), placed(seed)
    free = replace(given, ceilings=Ceilings())
    before = worth(given, found.visits)
    for one in beyond_ceilings(given, found):
        assert one.minutes > 0 and one.leaving > one.cost > 0
        better = []
        for at in placings_with(found.visits, one.tasks, one.site):
            if fits(free, at) and is_allowed(free, at) and not fits(given, at):
                better.append(before - worth(free, at))
        assert max(better) == pytest.approx(one.leaving - one.cost, abs=0.02)


def placings_with(
    visits: tuple[tuple[int, ...], ...], tasks: tuple[int, ...], site: int
) -> list[tuple[tuple[int, ...], ...]]:
    """The placing with these tasks at the site besides, and with each of their other visits given up for it."""
    found = []
    for gone in (None, *sorted({s for task in tasks for s in visits[task]})):
        found.append(tuple(
            tuple(sorted({site, *(s for s in at if s != gone)})) if index in tasks else at
            for index, at in enumerate(visits)
        ))  # fmt: skip
    return found


def test_some_are_found_and_none_without_ceilings() -> None:
    """If nothing were ever found, the list would prove nothing."""
    assert sum(bool(beyond_ceilings(tight(seed), placed(seed))) for seed in SEEDS) >= 5
    free = [replace(tight(seed), ceilings=Ceilings()) for seed in SEEDS[:20]]
    assert not any(beyond_ceilings(one, place_optimally(one)) for one in free)


@pytest.mark.parametrize("seed", range(12))
def test_a_placing_read_back_costs_the_same(seed: int) -> None:
    """If not, what is told would be beside another plan than the owner's."""
    given = problem(seed, 6, 1, 2, 1, ("left", "right"))
    found, model = place_optimally(given), stated(given)
    own = rows_of(model, found)
    whole = part_of(model.model, np.arange(len(own), dtype=np.intp))
    assert whole_cost(model.model, whole, own) / 1000 == pytest.approx(worth(given, found.visits), abs=0.05)
