"""The minutes that there are, as rows: three sites by hand, under the owner's ceilings."""

from datetime import date, timedelta

import numpy as np
import pytest
from msgspec.structs import replace

from tests.placing.small_placements import problem
from tripplan.placing.problem import Ceilings, PlacementProblem
from tripplan.placing.rooms import rooms_of

INF = float("inf")


def given(*, at_home: bool = False, water: bool = False, days: int = 1, **ceilings: float | None) -> PlacementProblem:
    """A day at home of 30 minutes, two stops of 200 and 120, home; the first stop may be at home too."""
    made = problem(3, 2, 1, 2, 1)
    stay = {"arrive": date(2026, 7, 3), "leave": date(2026, 7, 3) + timedelta(days=days), "date": date(2026, 7, 3)}
    sites = tuple(
        replace(site, minutes=minutes, **(stay if number == 1 else {}))
        for number, (site, minutes) in enumerate(zip(made.sites, (30.04, 200.0, 120.0, None), strict=True))
    )
    call = replace(
        made.tasks[-1],
        window=(1, 2),
        water_met=water,
        minutes=10,
        opens=((("wagon", "front wheel end", "left"), "wheel off"),),
    )
    return replace(
        made, sites=sites, tasks=(*made.tasks[:-1], call), ceilings=Ceilings(**ceilings),
        at_home=(True, at_home, False, True), place_factor=(1.0, 1.0 if at_home else 2.0, 1.5, 1.0),
    )  # fmt: skip


def test_without_ceilings_every_site_has_its_minutes() -> None:
    """Whole tenths, never more than there are; the road has no end; both stops count for it."""
    rows, room = rooms_of(given(), ())
    assert room.tolist() == [300.0, 2000.0, 1200.0, INF, INF]
    assert rows.tolist() == [[1, 0, 0, 0, 0], [0, 1, 0, 0, 1], [0, 0, 1, 0, 1], [0, 0, 0, 1, 0]]


@pytest.mark.parametrize(("days", "first"), [(1, 900.0), (2, 1800.0), (3, 2000.0)])
def test_a_day_on_the_road_is_as_long_as_the_owner_gives(days: int, first: float) -> None:
    """90 minutes a day at a stop of 200 in all; a stop at home has no ceiling."""
    _, room = rooms_of(given(days=days, day_minutes=90), ())
    assert room.tolist() == [300.0, first, 900.0, INF, INF]
    _, room = rooms_of(given(days=days, day_minutes=90, at_home=True), ())
    assert room.tolist() == [300.0, 2000.0, 900.0, INF, INF]


def test_the_road_as_a_whole_has_its_own_row() -> None:
    """150 minutes over the trip; a stop at home is none of it."""
    rows, room = rooms_of(given(trip_minutes=150, at_home=True), ())
    assert room.tolist()[-1] == 1500.0
    assert rows[:, -1].tolist() == [0.0, 0.0, 1.0, 0.0]


def test_water_met_comes_on_top_of_the_ceilings() -> None:
    """10 minutes and 10 + 8 for the wheel are 28: 56 at the first stop, 42 at the second; never beyond what is there."""
    _, room = rooms_of(given(water=True, day_minutes=20, trip_minutes=30), ())
    assert room.tolist() == [300.0, 760.0, 620.0, INF, 860.0]
    _, room = rooms_of(given(water=False, day_minutes=20, trip_minutes=30), ())
    assert room.tolist() == [300.0, 200.0, 200.0, INF, 300.0]
    _, room = rooms_of(given(water=True, day_minutes=100), ())
    assert room.tolist() == [300.0, 1560.0, 1200.0, INF, INF]


def test_halts_share_the_day_of_the_stop_that_ends_it() -> None:
    """Clocks of halts: one of the day that ends at the second stop, one of a day with no stop. Both are the road's."""
    rows, room = rooms_of(given(day_minutes=90, trip_minutes=150), (2, None))
    assert room.tolist() == [300.0, 900.0, 900.0, INF, 900.0, 1500.0]
    assert rows.tolist() == [
        [1, 0, 0, 0, 0, 0], [0, 1, 0, 0, 0, 1], [0, 0, 1, 0, 1, 1], [0, 0, 0, 1, 0, 0],
        [0, 0, 0, 0, 1, 1], [0, 0, 0, 0, 0, 1],
    ]  # fmt: skip
    _, room = rooms_of(given(trip_minutes=150), (2, None))
    assert room.tolist() == [300.0, 2000.0, 1200.0, INF, INF, 1500.0]


def test_minutes_are_whole_tenths() -> None:
    """If not, sums would depend on the order a processor adds in."""
    _, room = rooms_of(given(day_minutes=33.37), ())
    assert room[1] == 333.0 and (room[np.isfinite(room)] % 1 == 0).all()
