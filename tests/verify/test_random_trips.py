"""The checker over random trips of whole rigs: every plan keeps every rule, and none takes long."""

import time

import pytest

from tests.random_trips import RandomTrip, how_many, random_trip, under_way, with_findings
from tripplan.sheets.plan_json import plan_dict
from tripplan.verify.whole import verify

HARD = (26, 27, 60, 1685)
"""Trips whose plans once broke a rule: sides of an axle apart; a share of an interval a hair below nought; what comes along
with one hub alone, gone through again by sums that do not count it."""
FOUND = (227, 272, 280, 435, 562, 1685, 2010, 4146)
"""Linings of one axle put right on two days; a fault left for a look of five minutes; dearer than by the plain rule; a look
made twice at one place, for its own sake and for a ford; one left to a halt for a fault that the stop
could not take; one at a halt at the start that was not counted."""
ON_THE_WAY = (75, 115, 163, 297, 456, 730, 938, 4072)
"""Brakes taken apart for a ford that came to the rims, since a joint was found worn; linings renewed on one side alone; play
felt after a repack that water asks for, and not counted; a fault left for looks that are made elsewhere."""


def test_every_plan_of_a_random_trip_keeps_every_rule() -> None:
    """If one did not, some owner's plan would promise what its own figures deny."""
    slowest, found = (0.0, -1), []
    for seed in (*range(how_many(15)), *HARD):
        case = random_trip(seed)
        began = time.process_time()
        plan = case.plan()
        slowest = max(slowest, (time.process_time() - began, seed))
        broken = verify(plan_dict(plan), case.rig, case.history, case.trip, case.catalogue)
        found += [(seed, one) for one in broken]
    print(f"{how_many(15)} trips; slowest planned in {slowest[0]:.2f} s of processor time (seed {slowest[1]})")
    assert found == []


def broken(cases: list[RandomTrip]) -> list[tuple[int, object]]:
    """The rules that their plans break, with the seeds."""
    return [
        (case.seed, one) for case in cases
        for one in verify(plan_dict(case.plan()), case.rig, case.history, case.trip, case.catalogue)
    ]  # fmt: skip


@pytest.mark.parametrize("seeds", [FOUND, tuple(range(how_many(4)))], ids=["known", "drawn"])
def test_every_plan_keeps_every_rule_for_an_owner_who_has_found_things(seeds: tuple[int, ...]) -> None:
    """If one did not, what an owner saw and wrote down would be the worse for it."""
    assert broken([with_findings(seed) for seed in seeds]) == []


@pytest.mark.parametrize("seeds", [ON_THE_WAY, tuple(range(how_many(3)))], ids=["known", "drawn"])
def test_every_plan_made_on_the_way_keeps_every_rule(seeds: tuple[int, ...]) -> None:
    """If one did not, it would fail where nobody can ask: after a ford, with half of the work done."""
    assert broken([under_way(seed) for seed in seeds]) == []
