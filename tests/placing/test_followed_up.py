"""Where looks fall that work brings some km later. Common practice, no source; worked out by hand."""

from datetime import timedelta

from msgspec.structs import replace

from tests.placing.small_placements import NUTS, problem
from tripplan.placing.followed_up import Due, falls, halt_cost, halt_minutes, looks_due, stop_of_the_day, takes_looks
from tripplan.placing.problem import STOP, Ceilings, PlacementProblem, Placing

ROOM = frozenset((site, "nuts", "wagon", None) for site in range(9))


def trip(**changes: object) -> PlacementProblem:
    """Two workshop days two days apart, stops at km 100, 200 and 300, the end at km 400."""
    given = problem(4, 3, 2, 3, looks=True)
    days = tuple(
        replace(site, date=given.sites[0].date + timedelta(days=2 * i), minutes=60.0) if i < 2 else
        replace(site, minutes=60.0) if site.kind == STOP else site
        for i, site in enumerate(given.sites)
    )  # fmt: skip
    values = {"sites": days, "shakedown_km": 0.0, "takes_looks": ROOM, "ceilings": Ceilings()} | changes
    return replace(given, **values)  # type: ignore[arg-type]


def test_behind_a_shakedown_it_is_the_last_day_at_home() -> None:
    """If not, the drive before departure would go unused."""
    assert falls(trip(shakedown_km=90.0), 0, NUTS).site == 1
    assert falls(trip(shakedown_km=40.0), 0, NUTS).site == 2  # too short a drive; km 100 lies in 50 to 100


def test_on_the_road_it_is_the_first_stop_in_the_window_or_a_halt() -> None:
    """If not, the nuts would be left until the tools are far away."""
    assert falls(trip(), 2, NUTS).site == 3
    due = falls(trip(), 2, replace(NUTS, high_km=60.0))
    assert (due.site, due.at_km) == (None, 150.0)


def test_what_a_place_could_not_hold_goes_to_a_halt() -> None:
    """If not, a stop of a quarter of an hour would keep an owner from working at home."""
    given = trip()
    short = tuple(replace(site, minutes=5.0) if site.kind == STOP else site for site in given.sites)
    assert {site for site, *_ in takes_looks(given)} == {2, 3, 4}
    tight = replace(given, sites=short)
    tight = replace(tight, takes_looks=takes_looks(tight))
    assert falls(tight, 2, NUTS).site is None


def test_a_day_that_a_known_fault_needs_is_not_filled_with_looks() -> None:
    """If it were, oil found bad would be left in for the whole trip, since the look after draining it found no five minutes."""
    given = trip(shakedown_km=90.0)
    there = next(site for site, name, *_ in sorted(takes_looks(given)) if name == "nuts")
    assert there == 1
    fault = replace(given.tasks[0], found_bad=True, earliest=1, put_right_by=1, minutes=50.0, opens=())
    for minutes, takes in ((52.0, True), (54.0, False)):
        kept = replace(given, tasks=(replace(fault, minutes=minutes), *given.tasks[1:]), set_out_minutes=0.0)
        assert (1 in {site for site, *_ in takes_looks(kept)}) is takes, minutes
    for minutes, takes in (
        (60.0, False),
        (61.0, True),
    ):  # the day has 60: what it cannot take at all keeps no look from it
        kept = replace(given, tasks=(replace(fault, minutes=minutes), *given.tasks[1:]), set_out_minutes=0.0)
        assert (1 in {site for site, *_ in takes_looks(kept)}) is takes, minutes
    early = replace(given, tasks=(replace(fault, minutes=59.0, earliest=0), *given.tasks[1:]))
    assert 1 in {site for site, *_ in takes_looks(early)}
    side = replace(fault, minutes=54.0)
    for twins, takes in (((), False), (((0, 1),), True)):  # both sides of an axle take more than the day has
        axle = replace(given, tasks=(side, side, *given.tasks[2:]), twins=twins, set_out_minutes=0.0)
        assert (1 in {site for site, *_ in takes_looks(axle)}) is takes, twins


def test_a_halt_at_the_start_is_not_the_look_at_the_first_place() -> None:
    """If it were, a look under way would be on the sheet and not in the hours."""
    halt, there = (Due("nuts", "wagon", None, 10.0, site, 0.0) for site in (None, 0))
    assert halt.key != there.key


def test_two_jobs_ask_for_one_look() -> None:
    """If not, the same nuts would be counted twice at one halt."""
    given = trip(takes_looks=frozenset())
    given = replace(given, tasks=tuple(replace(task, again=(NUTS,)) for task in given.tasks))
    assert len(looks_due(given, Placing(((0,), (1,), (0, 1)), (), ""))) == 1
    assert len(looks_due(given, Placing(((0,), (2,), ()), (), ""))) == 2


def test_a_halt_takes_the_minutes_of_a_camp_and_after_return_those_of_home() -> None:
    """If not, a look in the dust would pass for one in the shed: 7 minutes, twice as long, at 120 an hour."""
    given = trip(takes_looks=frozenset())
    there, after = falls(given, 2, NUTS), falls(given, given.last, NUTS)
    assert (halt_minutes(given, there), halt_cost(given, there)) == (14.0, 28.0)
    assert (halt_minutes(given, after), halt_cost(given, after)) == (7.0, 7.0)


def test_a_halt_shares_the_day_of_the_stop_that_is_reached_on_it() -> None:
    """If not, the owner's hours of one day would be given twice."""
    given = trip()
    day = given.sites[2].date
    legs = ((100.0, day), (200.0, day), (300.0, day), (400.0, day))
    assert stop_of_the_day(replace(given, legs=legs), 50.0) == 2
    assert stop_of_the_day(replace(given, legs=legs), 150.0) is None  # the stop at km 200 is reached days later
    assert stop_of_the_day(replace(given, legs=legs), 450.0) is None
