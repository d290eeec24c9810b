"""The checker over random trips of whole rigs: every plan keeps every rule, and none takes long."""

import time

from tests.random_trips import how_many, random_trip
from tripplan.sheets.plan_json import plan_dict
from tripplan.verify.whole import verify

HARD = (26, 27, 60)
"""Trips whose plans once broke a rule: sides of an axle apart, and a share of an interval a hair below nought."""


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
