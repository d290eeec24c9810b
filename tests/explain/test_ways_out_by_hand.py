"""What time could not take, and what each way out changes: a day at home, a camp, home again."""

from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace

from tests.explain.test_moves_by_hand import bench
from tests.placing.by_hand import CAMP, DAY, HOME, placing, task
from tests.small import leg, looked_at, thing, trip
from tripplan.due.standing import Situation
from tripplan.explain.ways_out import holding, ways_out
from tripplan.explain.ways_taken import Way, changed, planned_again
from tripplan.explain.ways_tried import wants
from tripplan.placing.problem import Ceilings, PlacementProblem, Placing, Unmet
from tripplan.placing.read_back import rows_of
from tripplan.placing.stated import stated

S: Situation = looked_at(trip(leg(1, 100)))[0]
HARMS: dict[str, Any] = {"harms": True, "harms_by": "wheels"}


def due(minutes: float = 20, item: dict[str, Any] | None = None, **changes: Any) -> PlacementProblem:
    """One task that is due, and can strand, unless said otherwise."""
    made = thing("item_0", act="grease", place="front wheel end", **(item or {}))
    return bench(task(0, minutes, item=made, **{"overdue": True, **changes}))


@pytest.mark.parametrize(
    ("problem", "visits", "is_wanted"),
    [
        (due(), (), True),
        (due(), (CAMP,), True),  # only on the way
        (due(), (DAY,), False),
        (due(), (DAY, CAMP), False),
        (due(overdue=False), (), False),
        (due(minutes=0), (), False),  # the daily look takes no slot
        (due(earliest=CAMP), (), False),  # parts come too late for anybody
        (due(window=(CAMP, HOME), undone=5), (), False),
        (due(item={"strands": 0}), (), False),
        (due(item={"strands": 0, **HARMS}), (), True),
        (due(item={"strands": 0.1}), (), True),
    ],
)
def test_what_time_could_not_take(problem: PlacementProblem, visits: tuple[int, ...], is_wanted: bool) -> None:
    """If not, ways out would be sought for what can wait, or none for a brake that is due."""
    assert wants(problem, placing(visits), S) == ((0,) if is_wanted else ())


def test_what_is_past_its_limit_is_wanted_whatever_it_is() -> None:
    """If not, a limit passed would be told and no way out of it."""
    past = Placing(((DAY,),), (Unmet(task=0, site=None, why="no time left"),), "by hand")
    assert wants(due(overdue=False), past, S) == (0,)


def test_what_each_way_changes() -> None:
    """An hour more at one place; an hour more of the road, where that has an end; a job left changes no minutes."""
    problem = replace(due(), ceilings=Ceilings(30.0, 100.0))
    longer = changed(problem, Way("", CAMP, 60.0))
    assert [site.minutes for site in longer.sites] == [45.0, 260.0, None]
    assert longer.ceilings == problem.ceilings
    road = changed(problem, Way("", None, 60.0))
    assert road.ceilings == Ceilings(30.0, 160.0) and road.sites == problem.sites
    free = due()  # a road without an end
    assert changed(free, Way("", None, 60.0)) is free
    assert changed(problem, Way("", left=0)) is problem


def short_day() -> PlacementProblem:
    """Two jobs of 30 minutes that are due and cost 200 a step to take along, in a day that holds one of them."""
    late = ((0, 200_000, 400_000), (0, 0, 0), (0, 0, 0), (0, 0, 0))
    tasks = [
        task(number, 30, item=thing(f"item_{number}", act="grease", place="front wheel end"), overdue=True, late=late)
        for number in (0, 1)
    ]
    return bench(*tasks, day=45.0, camp=0.0)


def test_an_hour_more_at_home_is_the_way_out() -> None:
    """70 minutes are wanted of 45. With both on the day 30 minutes are worked there instead of 40 when home, nothing waits
    (400), and at the end it is worth 4 less: 406 are gained."""
    problem = short_day()
    now = placing((DAY,), (HOME,))
    found = holding(problem, now, S)
    assert [(one.way.site, one.way.minutes, one.tasks) for one in found][:1] == [(DAY, 60.0, (1,))]
    assert found[0].gain == pytest.approx(10 + 400 - 4)
    told = ways_out(problem, now, (), S)
    assert told[0] == (
        "An hour more at home on Wednesday 24 June gets done in time: Item_1. "
        "With that time counted it is at least 406 cheaper, in the money of trip.toml."
    )


def test_where_no_second_plan_is_made_the_words_say_so() -> None:
    """The same hour for a plan that took long: the same 406, of the plan that there is. If not said, the owner would look for that plan."""
    told = ways_out(short_day(), replace(placing((DAY,), (HOME,)), weighed=10**9), (), S)
    assert told[0] == (
        "An hour more at home on Wednesday 24 June has room for: Item_1. "
        "With that time counted it is 406 cheaper, in the money of trip.toml. "
        "That is this plan with the time put to use; made again with it, a plan may do other work in that time."
    )


def test_time_enough_needs_no_way_out() -> None:
    """If it did, a plan with nothing missing would ask for more."""
    assert holding(short_day(), placing((DAY,), (DAY,)), S) == []


def test_a_plan_made_again_is_never_dearer() -> None:
    """With an hour more at home the second job goes there; with nothing more the plan stays as it is."""
    problem = short_day()
    now = placing((DAY,), (HOME,))
    way = Way("", DAY, 60.0)
    again = stated(changed(problem, way))
    own = rows_of(again, now)
    better = planned_again(again, own, way, [1])
    assert better[1, DAY] and better[0, DAY]
    same = planned_again(stated(problem), own, Way("", CAMP, 0.0), [1])
    assert (same == own).all() and np.flatnonzero(own[1]).tolist() == [HOME]


def one_that_harms(**changes: Any) -> PlacementProblem:
    """The same two jobs, but the second can hurt somebody."""
    problem = short_day()
    item = thing("item_1", act="grease", place="front wheel end", **HARMS)
    return replace(problem, tasks=(problem.tasks[0], replace(problem.tasks[1], item=item, **changes)))


def test_leaving_a_job_makes_room_for_what_can_hurt_somebody() -> None:
    """The first left before departure, the second done then; for one that hurts nobody the plan stays as it is."""
    given = stated(one_that_harms())
    own = rows_of(given, placing((DAY,), (HOME,)))
    found = planned_again(given, own, Way("", left=0), [1])
    assert not found[0, DAY] and found[1, DAY]
    assert (planned_again(stated(short_day()), own, Way("", left=0), [1]) == own).all()


def test_leaving_a_job_is_told_where_it_costs_little() -> None:
    """Both cost 400 to take along: told. Where the second costs but 200, leaving the first for it is 200 dearer: not told."""
    now = placing((DAY,), (HOME,))
    left = [one for one in holding(one_that_harms(), now, S) if one.way.left is not None]
    assert [(one.way.left, one.tasks) for one in left] == [(0, (1,))]
    assert left[0].way.words == "Leaving item_0 for later"
    cheap = one_that_harms(late=((0, 100_000, 200_000), (0, 0, 0), (0, 0, 0), (0, 0, 0)))
    assert all(one.way.left is None for one in holding(cheap, now, S))
