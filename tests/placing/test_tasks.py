"""From standings and water calls to tasks: renewals, one-shot work, and what belongs to the morning round."""

from datetime import date

from tests.small import TODAY, crossing, leg, row, stated, stop, tables, thing, trip, water_rule, workshop
from tripplan.placing.problem import Task
from tripplan.placing.tasks import is_walk_round

LEGS = (leg(1, 300), leg(2, 300, date(2026, 7, 4)), leg(3, 300, date(2026, 7, 20)))
STOPS = (stop("First", 1, date(2026, 7, 2)), stop("Second", 2, date(2026, 7, 5)))
HUB = thing("hub", km=40000, points="hub_centre", water="high")


def once(*crossings: object, rules: tuple[object, ...], item: object = HUB) -> list[Task]:
    """The one-shot tasks of a trip with those crossings; sites are day 0, stops 1 and 2, after 3."""
    one = trip(*LEGS, stops=STOPS, crossings=crossings, workshop_days=(workshop(date(2026, 6, 24)),))
    catalogue = tables(item, water_rules=rules)  # type: ignore[arg-type]
    rows = (row(date(2026, 6, 1), 0, "hub", "repack"), row(TODAY, 100, number=3))
    return [task for task in stated(one, *rows, catalogue=catalogue).tasks if task.window is not None]


def test_a_call_becomes_work_at_the_stops_in_its_window() -> None:
    """If not, a wet hub would be opened before the water or after the failure."""
    rule = water_rule("hub", "days", "look", within_days=10, within_km=500, minutes=15, facility="town")
    (task,) = once(crossing(1, 100, 0.5), rules=(rule,))
    # made on 1 July at km 100: by km 600 and 11 July; stops at km 300 and 600, home on 1 August
    assert (task.window, task.act, task.minutes, task.facility) == ((1, 2), "look", 15, "town")


def test_a_narrow_window_takes_one_stop() -> None:
    """If not, two days would be stretched to four."""
    rule = water_rule("hub", "days", "look", within_days=2, within_km=500)
    (task,) = once(crossing(1, 100, 0.5), rules=(rule,))
    assert task.window == (1, 1)  # by 3 July; the second stop is on the 5th


def test_a_window_without_a_stop_makes_no_task() -> None:
    """If not, the plan would claim a place for work that has none; the warning says so instead."""
    assert once(crossing(2, 100, 0.5), rules=(water_rule("hub", "days", "look", within_days=0),)) == []


def test_work_at_the_bank_and_much_later_is_not_given_a_slot() -> None:
    """If not, drying the brakes would wait for a workshop."""
    rules = (water_rule("hub", "bank", "exercise", within_hours=1), water_rule("hub", "later", "look", within_km=500))
    assert once(crossing(1, 100, 0.5), rules=rules) == []


def test_what_a_look_decides_becomes_no_task() -> None:
    """If not, hubs would be opened for water that nobody has met yet."""
    told = water_rule("hub", "before remote", "repack", within_days=9, from_grade=5, told_from=2)
    assert once(crossing(1, 100, 0.5), rules=(told,)) == []


def test_a_hand_on_the_hub_is_given_no_slot() -> None:
    """If not, a look of two minutes at the first halt would wait for a stop."""
    assert once(crossing(1, 100, 0.5), rules=(water_rule("hub", "halt", "look", within_km=50),)) == []


def test_calls_whose_windows_meet_share_a_visit() -> None:
    """If not, three fords in a row would have the same hub opened three times."""
    rule = water_rule("hub", "days", "look", within_days=10, within_km=1000)
    fords = (crossing(1, 100, 0.5), crossing(1, 200, 0.5), crossing(2, 100, 0.5))
    (task,) = once(*fords, rules=(rule,))
    assert (task.window, task.calls) == ((2, 2), (0, 1))  # those of the first day are one call; met at the second stop


def test_calls_whose_windows_do_not_meet_are_apart() -> None:
    """If not, the first wet hub would wait for the second ford."""
    rule = water_rule("hub", "days", "look", within_days=3)
    first, second = once(crossing(1, 100, 0.5), crossing(2, 100, 0.5), rules=(rule,))
    assert (first.window, second.window) == ((1, 1), (2, 2))


def test_only_a_rule_that_resets_renews_the_item() -> None:
    """If not, a look after the ford would pass for the repack of the year."""
    one = trip(*LEGS, stops=STOPS, crossings=(crossing(1, 100, 0.5),))
    for resets, expected in ((True, ((1,), (0,))), (False, ((), (0,)))):
        rules = (water_rule("hub", "before remote", "repack", within_days=5, resets=resets),)
        problem = stated(one, catalogue=tables(HUB, water_rules=rules))
        assert [task.window is None for task in problem.tasks] == [True, False]
        assert problem.covered_by == expected


def test_a_look_after_water_is_done_by_the_greater_job_that_opens_as_far() -> None:
    """If not, the hub would be opened to look for water and, at the same stop, to be packed."""
    one, done = trip(*LEGS, stops=STOPS, crossings=(crossing(1, 100, 0.5),)), row(date(2026, 6, 1), 0, "hub", "repack")
    hub = thing("hub", km=400, points="hub_centre", water="high", place="front wheel end", state="wheel off")
    for state, act, is_met in (
        ("wheel off", "look", True), ("closed", "look", True), ("hub off", "look", False), ("closed", "renew", False),
    ):  # fmt: skip
        rules = (water_rule("hub", "days", act, within_days=10, within_km=1000, state=state),)
        problem = stated(one, done, row(TODAY, 100, number=3), catalogue=tables(hub, water_rules=rules))
        (call,) = [i for i, task in enumerate(problem.tasks) if task.window is not None]
        assert problem.covered_by[call] == ((1 - call,) if is_met else ()), (state, act)


def test_a_look_at_once_comes_with_the_job_and_is_paid_once() -> None:
    """If not, the play check with the wheel in the air would be left out of the day, or counted twice."""
    catalogue = tables(
        thing("bearings", km=1000, minutes=30, follow_ups="play 0-0 km", positions="left"),
        thing("seals", act="renew", km=1000, minutes=10, follow_ups="play 0-0 km", positions="left"),
        thing("play", act="measure", km=40000, minutes=7, positions="left"),
    )
    problem = stated(trip(*LEGS), catalogue=catalogue)
    bearings, _, seals = problem.tasks
    assert bearings.opens == seals.opens
    assert len(bearings.opens) == 1
    assert problem.open_minutes[(bearings.opens[0][0][1], bearings.opens[0][1])] == 7


def test_the_morning_round_is_not_given_a_slot_on_the_road() -> None:
    """If not, tyre pressures would have a workshop day of their own every 500 km."""
    tyres = thing("tyres", act="adjust", km=200, rhythm="walk-round")
    assert is_walk_round(tyres) and not is_walk_round(HUB)
    rows = (row(date(2026, 6, 1), 0, "tyres", "adjust"), row(TODAY, 100, number=3))
    task = stated(trip(*LEGS, stops=STOPS), *rows, catalogue=tables(tyres)).tasks[0]
    assert set(task.reach) == {2}  # two stops and home: every renewal reaches home
