"""Every task's cheapest path, against every way there is of a few sites."""

from itertools import combinations

import numpy as np
import pytest
from msgspec.structs import replace

from tests.placing.arrays import model_of, whole
from tripplan.placing.descent import priced
from tripplan.placing.model import NEVER, Flags, Floats, part_of
from tripplan.placing.paths import paths, shortest, visit_prices, ways_through

SITES, NOBODY = 4, np.zeros(1, dtype=np.intp)


def path_cost(arc: Floats, again: Floats, visit: Floats, own: set[int], through: set[int]) -> float:
    """One way from today to the end, step by step."""
    at, total = 0, 0.0
    for s in sorted(own | through):
        total += arc[at, s] + (visit[s] + again[at, s] if s in own else 0.0)
        at = s + 1
    return total + float(arc[at, len(visit)])


def drawn(seed: int) -> tuple[Floats, Floats, Floats, Flags, Flags]:
    """What waiting, a visit after another, and a visit cost; where a path leads through, and where it has to stop."""
    draw, size = np.random.default_rng(seed), SITES + 1
    arc = np.where(np.triu(np.ones((size, size))) > 0, draw.integers(0, 100, (size, size)), NEVER)
    arc = np.where(draw.random(arc.shape) < 0.1, NEVER, arc)
    arc[:, SITES] = draw.integers(0, 200, size)
    again = np.where(draw.random(arc.shape) < 0.2, NEVER, draw.integers(0, 20, arc.shape)).astype(float)
    visits = np.where(draw.random(SITES) < 0.2, NEVER, draw.integers(0, 50, SITES)).astype(float)
    return arc, again, visits, draw.random(SITES) < 0.25, draw.random(SITES) < 0.15


def ways(passed: set[int], asked: set[int]) -> list[set[int]]:
    """Every set of visits besides those sites that are passed, all that are asked for among them."""
    free = sorted(set(range(SITES)) - passed - asked)
    return [asked | set(more) for size in range(len(free) + 1) for more in combinations(free, size)]


@pytest.mark.parametrize("seed", range(25))
def test_the_shortest_path_is_the_cheapest_of_all(seed: int) -> None:
    """If not, the search would leave the cheapest plan at prices that it knows; every set of visits is tried."""
    arc, again, visits, through, forced = drawn(seed)
    found = shortest(arc[None], again[None], NOBODY, visits[None], through[None], forced[None])[0]
    passed = set(np.flatnonzero(through).tolist())
    asked = set(np.flatnonzero(forced).tolist()) - passed
    least = min(path_cost(arc, again, visits, own, passed) for own in ways(passed, asked))
    if least < NEVER:
        assert path_cost(arc, again, visits, set(np.flatnonzero(found).tolist()), passed) == least


def test_of_two_ways_as_cheap_the_one_from_the_earlier_start_is_taken() -> None:
    """If not, equal problems could give two plans: to go on from today, or to renew at no price."""
    arc = np.zeros((1, 3, 3))
    zeros, none = np.zeros((1, 2)), np.zeros((1, 2), dtype=bool)
    assert not shortest(arc, np.zeros((1, 3, 3)), NOBODY, zeros, none, none).any()


@pytest.mark.parametrize("seed", range(25))
def test_what_the_cheapest_way_through_a_site_costs_more(seed: int) -> None:
    """If it were told too dear, a move that makes that way the cheapest would be taken to change nothing."""
    arc, again, visits, through, _ = drawn(seed)
    model = part_of(model_of(1), NOBODY).model
    more = ways_through(replace(model, arc=arc[None], again=again[None]), visits[None], through[None])[0]
    passed = set(np.flatnonzero(through).tolist())
    costs = [(own | passed, path_cost(arc, again, visits, own, passed)) for own in ways(passed, set())]
    least = min(cost for _, cost in costs)
    seen = 0
    for site in range(SITES):
        by_site = min((cost for at, cost in costs if site in at), default=NEVER)
        if least < NEVER:
            seen += 1
            assert more[site] == by_site - least or (more[site] >= NEVER / 2 and by_site >= NEVER)
    assert seen or least >= NEVER


def test_paths_at_no_price_of_visits_do_no_work_that_costs() -> None:
    """Visits at a price of NEVER are made by nobody, unless they have to be."""
    part = whole(model_of(3))
    visit = np.full((1, *part.model.labour.shape), NEVER)
    forced = np.zeros(visit.shape, dtype=bool)
    able = np.argwhere(part.model.labour < NEVER)[0]
    forced[0, able[0], able[1]] = True
    assert paths(part, visit, forced)[0, able[0], able[1]]


@pytest.mark.parametrize("seed", range(8))
def test_a_visit_by_itself_costs_what_its_price_tells(seed: int) -> None:
    """One visit alone, where nothing else is done: its price is its labour and all that it opens."""
    model = model_of(seed)
    for task in (t for t in range(len(model.labour)) if not model.covers[t]):
        part = part_of(model, np.array([task], dtype=np.intp))
        price, able = visit_prices(part, np.zeros(len(model.rows))), np.flatnonzero(part.model.labour[0] < NEVER)
        for site in able.tolist():
            own = np.zeros((1, *part.model.labour.shape), dtype=bool)
            own[0, 0, site] = True
            waits = part.model.arc[0, 0, site] + part.model.again[0, 0, site] + part.model.arc[0, site + 1, model.sites]
            if waits < NEVER:
                assert priced(part, own).cost[0] == pytest.approx(waits + price[0, site])
