"""What it costs to leave undone what water calls for: by hand, with the law of lateness L(u) = P u^b / (b - 1)."""

from datetime import date
from typing import Any

import pytest

from tests.small import TODAY, crossing, leg, row, stated, stop, tables, thing, trip, water_rule, workshop

LEGS = (leg(1, 300), leg(2, 300, date(2026, 7, 4)), leg(3, 300, date(2026, 7, 20)))


def undone(state: str = "closed", legs: tuple[Any, ...] = LEGS, at_km: float = 100, **item: Any) -> float:
    """The price of leaving a look of 30 minutes undone at a hub that water reached, in the owner's currency."""
    hub = thing("hub", km=40000, points="hub_centre", water="high", **item)
    rule = water_rule("hub", "days", "look", within_days=10, within_km=500, minutes=30, state=state)
    one_trip = trip(*legs, stops=(stop("First", 1, date(2026, 7, 2)),), crossings=(crossing(1, at_km, 0.5),),
                    workshop_days=(workshop(date(2026, 6, 24)),))  # fmt: skip
    rows = (row(date(2026, 6, 1), 0, "hub", "repack"), row(TODAY, 100, number=3))
    problem = stated(one_trip, *rows, catalogue=tables(hub, water_rules=(rule,), assumed={"hours_to_help_near": 3.0}))
    (task,) = [one for one in problem.tasks if one.window is not None]
    return task.undone / 1000


def test_owed_at_home_and_risked_on_the_way() -> None:
    """30 minutes are 30; wear of two intervals risks 30 x (4 - 1) = 90 on the legs to home: 120."""
    assert undone() == pytest.approx(120)


def test_half_of_the_opening_counts() -> None:
    """Behind both wheels: twice 4 + 3 and 5 + 5 minutes are 34, half of them 17, so 47 and three times that: 188."""
    assert undone("wheel off") == pytest.approx(188)


def test_a_steeper_life_risks_more() -> None:
    """Shape 3: L(2) - L(1) = 30 / 2 x (8 - 1) = 105, and 30."""
    assert undone(life_shape=3) == pytest.approx(135)


def test_far_from_help_it_is_dearer_for_the_km_that_are_far() -> None:
    """From km 100 on 200 km near, 300 near, 300 remote at (300 + 48 x 90) / (300 + 270) = 8.105 times."""
    remote = (*LEGS[:2], leg(3, 300, date(2026, 7, 20), remote=True))
    mean = (500 * 1 + 300 * 4620 / 570) / 800
    assert undone(legs=remote) == pytest.approx(30 + 90 * mean, abs=0.01)
    assert undone(legs=remote, at_km=200) == pytest.approx(30 + 90 * (400 + 300 * 4620 / 570) / 700, abs=0.01)
