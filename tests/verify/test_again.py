"""Looks that follow work some km later, in the sound small plan: the nuts after the bearings, at a halt on leg 1."""

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from tests.small import thing
from tests.verify.small_facts import Json, assuming, names, sound, spoilt, told, with_cells
from tripplan.verify.again import again_rules, away_looks, away_minutes
from tripplan.verify.facts import Facts

EARLY, DAY, CAMP, TOWN, AFTER = range(5)


def check(**values: object) -> Callable[[Json], object]:
    """Change the look at the nuts."""
    return lambda plan: plan["rechecks"][0].update(values)


def broken(change: Callable[[Json], object], good: Facts | None = None) -> list[str]:
    """What is said of the spoilt plan."""
    return told(again_rules(spoilt(good or sound(), change)), "look again")


def test_the_same_look_at_one_halt_is_done_once() -> None:
    """If not, two jobs that ask for the nuts at one halt would take twice the time; at another halt they do."""
    (one,) = away_looks(sound())

    def twice(plan: Json) -> None:
        plan["rechecks"] += [{**one, "because_of": "Tyres"}, {**one, "from_km": 60}, {**one, "slot": "stop-1-gums"}]

    assert [found["from_km"] for found in away_looks(spoilt(sound(), twice))] == [50, 60]


def test_a_halt_takes_the_minutes_of_its_factor_and_after_return_those_of_home() -> None:
    """Six minutes in the shed, twice that at a halt by this table's factor."""
    (one,) = away_looks(sound())
    assert away_minutes(sound(), one) == 12.0
    assert away_minutes(sound(), {**one, "leg": None}) == 6.0
    assert away_minutes(assuming(sound(), place_factor_halt=3.0), one) == 18.0


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (check(minutes=11), "takes 12 by the tables, said 11"),
        (check(minutes=13), "takes 12 by the tables, said 13"),
        (check(leg=None, minutes=6), "road or after return?"),
        (check(from_km=2700, to_km=2750), "road or after return?"),
        (check(slot="workshop-2026-06-25", minutes=12), "takes 6 by the tables, said 12"),
        (check(slot="stop-2-town", minutes=6), "takes 9 by the tables, said 6"),
    ],
)
def test_minutes_and_place_of_a_look_are_held_to_the_tables(change: Callable[[Json], object], says: str) -> None:
    """If not, looks on the road would cost nothing."""
    found = broken(change)
    assert len(found) == 1 and says in found[0], found


@pytest.mark.parametrize("change", [
    lambda plan: None,
    check(from_km=2700, to_km=2750, leg=None, minutes=6),
    check(slot="stop-2-town", minutes=9, leg=None),
    check(slot="stop-2-town", minutes=9),
])  # fmt: skip
def test_sound_looks_are_left_alone(change: Callable[[Json], object]) -> None:
    """If not, a plan that keeps the rules would be refused: on the road, after return, at the town."""
    assert broken(change) == []


@pytest.mark.parametrize(
    ("from_km", "to_km", "passes"),
    [(550, 650, True), (600, 650, True), (550, 600, True), (601, 650, False), (550, 599, False)],
)
def test_the_first_place_in_the_window_takes_the_look(from_km: float, to_km: float, passes: bool) -> None:
    """The camp is at km 600: whoever stands there with 300 minutes need not halt 20 km on for the nuts."""
    found = broken(check(from_km=from_km, to_km=to_km))
    assert bool(found) is passes and all("stop-1-gums" in one for one in found)


@pytest.mark.parametrize(("minutes", "passes"), [(12, True), (11.9, False), (None, True)])
def test_a_place_without_the_time_for_every_look_is_passed(minutes: float | None, passes: bool) -> None:
    """Six minutes of the shed are twelve at a camp: no place is blamed that could not hold all looks there are."""

    def change(plan: Json) -> None:
        plan["rechecks"][0].update(from_km=550, to_km=650)
        plan["slots"][CAMP]["minutes_available"] = minutes

    assert bool(broken(change)) is passes


@pytest.mark.parametrize(
    ("own", "assumed", "passes"), [(6, 5, True), (5.9, 500, False), (None, 6, True), (None, 5.9, False)]
)
def test_a_day_on_the_road_is_as_long_as_the_owner_gives(own: float | None, assumed: float, passes: bool) -> None:
    """If not, an owner who works a few minutes a day at most would be told that there was time: the camp has two days."""
    at = assuming(sound(), road_day_limit_minutes=assumed)
    at = replace(at, trip=at.trip.model_copy(update={"road_day_limit_minutes": own}))
    assert bool(broken(check(from_km=550, to_km=650), at)) is passes


@pytest.mark.parametrize(("shakedown_km", "passes"), [(0, False), (49, False), (50, True), (80, True)])
def test_the_shakedown_drive_brings_looks_to_the_last_day_at_home(shakedown_km: float, passes: bool) -> None:
    """Work on the first day and 50 km driven before the last: the nuts are looked at in the shed."""
    at = replace(sound(), trip=sound().trip.model_copy(update={"shakedown_km": shakedown_km}))
    found = broken(check(after_slot="workshop-2026-06-24"), at)
    assert bool(found) is passes and all("workshop-2026-06-25" in one for one in found)
    assert broken(check(after_slot="workshop-2026-06-25"), at) == []


def test_every_side_of_every_look_counts() -> None:
    """Hubs that are looked at after 50 km on two sides: 2 x 25 and the nuts' 6 are 112 minutes at a camp."""
    asks = thing("oil", follow_ups="front_wheel_bearings 50-100 km;coupling 0-0 km").follow_ups
    at = with_cells(sound(), "oil", follow_ups=asks)
    for minutes, passes in ((112.0, True), (111.0, False)):

        def change(plan: Json, minutes: float = minutes) -> None:
            plan["rechecks"][0].update(from_km=550, to_km=650)
            plan["slots"][CAMP]["minutes_available"] = minutes

        assert bool(broken(change, at)) is passes


def test_the_sound_plan_breaks_nothing() -> None:
    """If it did, no test here would show what it says."""
    assert names(again_rules(sound())) == set()
