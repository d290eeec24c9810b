"""Looks some km later as openings of the place where they fall: what each costs, and whose minutes it takes."""

from datetime import timedelta

import numpy as np
import pytest
from msgspec.structs import replace

from tests.placing.by_hand import CAMP, DAY, HOME, given, task
from tests.placing.small_placements import NUTS
from tests.small import DEPART
from tripplan.placing.later_looks import HALT, LATER, looks_of, spots_of
from tripplan.placing.model import Looks
from tripplan.placing.problem import LookAgain, PlacementProblem
from tripplan.placing.stated import stated

PLAY = LookAgain("play", "wagon", "left", 50.0, 100.0, 4.0)
TAKES = frozenset({(CAMP, "nuts", "wagon", None)})


def trip(camp_km: float = 100.0, end_km: float = 200.0, takes: frozenset[object] = TAKES) -> PlacementProblem:
    """One job that brings the nuts, another that brings the nuts and the play; a leg to the camp, a leg home."""
    made = given(task(0, 20, again=(NUTS,)), task(1, 20, again=(NUTS, PLAY)), takes_looks=takes)
    km = (0.0, camp_km, end_km)
    sites = tuple(replace(site, trip_km=at) for site, at in zip(made.sites, km, strict=True))
    arrives = DEPART + timedelta(days=1)
    sites = (sites[DAY], replace(sites[CAMP], date=arrives, legs_done=1), sites[HOME])
    return replace(made, sites=sites, legs=((camp_km, arrives), (end_km, arrives + timedelta(days=2))))


def test_where_a_look_falls() -> None:
    """Nuts of the first day at the camp, 100 km on; those of the camp at a halt at 150, of the end after return."""
    found = spots_of(trip(), frozenset())
    nuts = {at: (spot.opening, spot.site) for (by, at), spot in found.items() if by == NUTS.opening}
    assert nuts[DAY] == ((("wagon", LATER, None), "nuts"), CAMP)
    assert nuts[CAMP] == ((("wagon", HALT, None), "nuts at 150"), CAMP)
    assert nuts[HOME] == ((("wagon", HALT, None), "nuts at 250"), HOME)
    play = {at: (spot.opening, spot.site) for (by, at), spot in found.items() if by == PLAY.opening}
    assert play[DAY] == ((("wagon", HALT, "left"), "play at 50"), DAY)  # the camp does not take it


def test_what_is_looked_at_on_the_spot_is_that_opening() -> None:
    """If not, it would be paid twice where work at the camp looks at the nuts anyway."""
    on_the_spot = NUTS.on_the_spot
    found = spots_of(trip(), frozenset({on_the_spot}))
    assert found[(NUTS.opening, DAY)].opening == on_the_spot


def looks(problem: PlacementProblem) -> tuple[Looks, tuple[int | None, ...], dict[tuple[str, int], float]]:
    """The arrays, the stops of the clocks, and the cost of each halt by its name and site."""
    spots = spots_of(problem, frozenset())
    openings = sorted({by for by, _ in spots} | {spot.opening for spot in spots.values()}, key=str)
    number = {opening: i for i, opening in enumerate(openings)}
    cost = np.zeros((len(openings), len(problem.sites)))
    found, stops = looks_of(problem, spots, number, cost)
    halts = {
        (openings[o][1], s): float(cost[o, s]) for o, s in zip(*np.nonzero(cost), strict=True)
    }  # fmt: skip
    return found, stops, halts


def test_halts_cost_what_a_camp_costs_and_take_the_day_of_the_stop() -> None:
    """Nuts are 7 minutes: three times that at 240 an hour are 84, at home 7. Play at km 50 is of the day that ends at
    the camp; the nuts at 150 of a day with no stop; what comes after return takes no time of the road."""
    found, stops, halts = looks(trip())
    assert halts == {("nuts at 150", CAMP): 84_000, ("nuts at 250", HOME): 7_000, ("play at 50", DAY): 48_000,
                     ("play at 150", CAMP): 48_000, ("play at 250", HOME): 4_000}  # fmt: skip
    assert set(stops) == {CAMP, None} and len(stops) == 2
    taken = {float(row[stops.index(CAMP)]) for row in found.halt}
    assert taken == {0.0, 120.0}  # the play's 4 minutes, three times, in tenths
    other = sorted(float(row[stops.index(None)]) for row in found.halt)
    assert other[-2:] == [120.0, 210.0] and sum(other) == 330.0


def test_two_jobs_that_ask_for_one_look_share_it() -> None:
    """Both ask for the nuts on the day: one place, counted once."""
    state = stated(trip())
    found = state.model.looks
    places = list(zip(found.what.tolist(), found.there.tolist(), strict=True))
    assert len(places) == len(set(places))
    nuts = next(i for i, (key, _) in enumerate(state.openings) if key[1] == "again" and "nuts" in state.openings[i][1])
    assert state.model.need[:, nuts].all()


@pytest.mark.parametrize("takes", [TAKES, frozenset()])
def test_clocks_of_halts_stand_behind_those_of_the_sites(takes: frozenset[object]) -> None:
    """If not, a halt would take the minutes of a site."""
    state = stated(trip(takes=takes))
    assert state.model.rows.shape[0] == len(state.problem.sites) + state.model.looks.halt.shape[1]
    assert state.model.open_spend.shape[1] == len(state.problem.sites)
