"""Small placement problems as arrays, with random visits, for tests of the search's own steps."""

from functools import cache
from random import Random

import numpy as np

from tests.placing.small_placements import Visits, choices, problem
from tripplan.placing.model import Flags, Model, Part, Plans, part_of
from tripplan.placing.problem import PlacementProblem
from tripplan.placing.stated import stated


@cache
def small(seed: int, looks: bool = False) -> PlacementProblem:
    """Two to four tasks, up to two days and two stops, water among them."""
    return problem(seed, 2 + seed % 3, seed % 3, 1 + seed % 2, seed % 2, looks=looks)


@cache
def model_of(seed: int, looks: bool = False) -> Model:
    """The same as arrays."""
    return stated(small(seed, looks)).model


def whole(model: Model) -> Part:
    """All tasks as one part."""
    return part_of(model, np.arange(len(model.labour), dtype=np.intp))


def some_visits(given: PlacementProblem, seed: int, count: int) -> list[Visits]:
    """Random sets of sites for every task, at places where it can be done; every other one of few."""
    draw, able = Random(seed), [choices(given, index) for index in range(len(given.tasks))]
    few = [[sites for sites in sets if len(sites) < 2] for sets in able]
    return [tuple(draw.choice(sets) for sets in (able, few)[number % 2]) for number in range(count)]


def as_flags(given: PlacementProblem, several: list[Visits]) -> Flags:
    """Those visits as the search holds them: plans, tasks, sites."""
    own = np.zeros((len(several), len(given.tasks), len(given.sites)), dtype=bool)
    for number, visits in enumerate(several):
        for index, at in enumerate(visits):
            own[number, index, list(at)] = True
    return own


def as_set(plans: Plans) -> set[tuple[bool, ...]]:
    """Plans as sets of visits, to be compared."""
    return {tuple(own.ravel().tolist()) for own in plans.own}
