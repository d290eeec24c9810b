"""What one job lays on others: nuts after a wheel, play after a hub, and looks on the sides of the work."""

from datetime import date
from typing import Any

import pytest
from msgspec.structs import replace

from tests.small import crossing, leg, planned, row, stated, stop, tables, thing, trip, water_rule, workshop
from tripplan.placing.looks_brought import looks_after, sides_of
from tripplan.placing.trade_rules import opened_looks

LEGS = (leg(1, 300), leg(2, 300, date(2026, 7, 4)))
FORD = crossing(1, 100, 0.5, crossed=date(2026, 7, 1))
NUTS = thing("wheel_nuts", act="torque", km=50000, minutes=5, place="outside")
PLAY = thing("front_bearing_play", act="measure", km=50000, minutes=10, positions="left;right")


@pytest.mark.parametrize(
    ("state", "ordinary", "wet"),
    [
        ("wheel raised", [], []),
        ("wheel off", ["wheel_nuts"], ["wheel_nuts", "front_bearing_play"]),
        ("hub off", ["wheel_nuts", "front_bearing_play"], ["wheel_nuts", "front_bearing_play"]),
    ],
)
def test_what_follows_an_opened_wheel_end(state: str, ordinary: list[str], wet: list[str]) -> None:
    """If not, preload set anew would not be felt again, or a dry wheel change would ask for it.

    Nuts after any wheel, play after packed bearings: common practice, no source. After water, play after any
    wheel that was off.
    """
    item = thing("part", km=500, positions="left", points="hub_centre", state=state, harms=True, harms_by="brakes")
    rule = water_rule("part", "days", "clean", within_days=5, within_km=900, state=state)
    one = trip(
        *LEGS, crossings=(FORD,), stops=(stop("A", 1, date(2026, 7, 2)),), workshop_days=(workshop(date(2026, 6, 24)),)
    )
    problem = stated(one, catalogue=tables(item, NUTS, PLAY, water_rules=(rule,)))
    own = next(task for task in problem.tasks if task.item.id == "part" and task.window is None)
    water = next(task for task in problem.tasks if task.window is not None)
    for task, names in ((own, ordinary), (water, wet)):
        looks = opened_looks(task)
        assert [look.item for look in looks] == names
        assert {(look.low_km, look.high_km) for look in looks} <= {(50.0, 100.0)}
    again = looks_after(water, tables(item, NUTS, PLAY))
    assert [look.side for look in again if look.item == "front_bearing_play"] == ["left"] * (len(wet) == 2)
    assert opened_looks(replace(water, item=item.model_copy(update={"place": "outside"}))) == tuple(
        look for look in opened_looks(water) if look.item == "wheel_nuts"
    )


@pytest.mark.parametrize(
    ("positions", "side", "found"),
    [("left;right", "left", ("left",)), ("left;right", None, ("left", "right")), ("", "left", (None,)), ("", None, (None,))],
)  # fmt: skip
def test_a_look_has_the_sides_of_the_work(positions: str, side: str | None, found: tuple[Any, ...]) -> None:
    """If not, play would be on the list without a side, beside the same look left and right."""
    assert sides_of(thing("play", positions=positions), side) == found


def test_work_without_a_side_looks_at_both() -> None:
    """If not, one wheel of two would be rocked, and nobody could say which."""
    both = thing("rotation", km=500, minutes=60, follow_ups="front_bearing_play 0-0 km", harms=True, harms_by="wheels")
    one = trip(*LEGS, workshop_days=(workshop(date(2026, 6, 24)),))
    rows = (
        row(date(2026, 6, 1), 0, "front_bearing_play", "measure", position="both"),
        row(date(2026, 6, 20), 10, number=3),
    )
    plan = planned(one, *rows, catalogue=tables(both, PLAY))
    visits = [slot.id for slot in plan.slots if any(job.item == "rotation" for job in slot.jobs)]
    found = [(check.after_slot, check.item, check.position) for check in plan.rechecks]
    assert found == [(visit, "front_bearing_play", side) for visit in visits for side in ("left", "right")]
