"""Rules of the trade, each broken once in the sound small plan (common practice, no source)."""

from collections.abc import Callable
from datetime import date

import pytest
from msgspec.structs import replace

from tests.small import crossing, water_rule
from tests.verify.small_facts import Json, assuming, jobs, names, sound, spoilt, told
from tripplan.records.catalogue import Catalogue
from tripplan.verify.facts import Facts
from tripplan.verify.trade import trade_rules

EARLY, DAY, CAMP, TOWN, AFTER = range(5)


def broken(change: Callable[[Json], object], good: Facts | None = None) -> set[str]:
    """The rules of the trade that the spoilt plan breaks."""
    return names(trade_rules(spoilt(good or sound(), change)))


def item(plan: Json, name: str, position: str | None = None) -> Json:
    """The plan's line for one item."""
    found: Json = next(one for one in plan["items"] if (one["item"], one["position"]) == (name, position))
    return found


def test_the_sound_plan_breaks_nothing() -> None:
    """If it did, no test here would show what it says."""
    assert broken(lambda plan: None) == set()


@pytest.mark.parametrize(
    ("values", "is_missed"),
    [
        ({}, False),
        ({"from_km": 60, "to_km": 90}, False),
        ({"from_km": 49}, True),
        ({"to_km": 101}, True),
        ({"item": "oil"}, True),
        ({"unit": "camper"}, True),
        ({"after_slot": "stop-1-gums"}, True),
    ],
)
def test_nuts_are_looked_at_after_50_to_100_km(values: Json, is_missed: bool) -> None:
    """If not, a wheel could come off: the nuts settle in the first hundred km."""
    assert broken(lambda plan: plan["rechecks"][0].update(values)) == ({"wheel off"} if is_missed else set())


@pytest.mark.parametrize(
    ("placed", "town_km", "shakedown_km", "is_missed"),
    [
        ([], 1100, 0, True),
        (["stop-2-town"], 1100, 0, True),  # a thousand km on
        (["stop-2-town"], 50, 0, False),
        (["stop-2-town"], 100, 0, False),
        (["stop-2-town"], 101, 0, True),
        (["stop-2-town"], 49, 0, True),
        (["workshop-2026-06-24"], 1100, 80, True),  # done before the wheel was off
        (["workshop-2026-06-25"], 1100, 80, True),  # done on the same day, with no km between
    ],
)
def test_nuts_done_anyway_in_that_window_are_enough(
    placed: list[str], town_km: float, shakedown_km: float, is_missed: bool
) -> None:
    """If not, the same nuts would be asked for twice at one place, or their own service be taken for the look."""

    def change(plan: Json) -> None:
        plan["rechecks"] = []
        item(plan, "wheel_nuts")["placed"] = placed
        plan["slots"][TOWN]["trip_km"] = town_km

    at = replace(sound(), trip=sound().trip.model_copy(update={"shakedown_km": shakedown_km}))
    assert ("wheel off" in broken(change, at)) is is_missed


@pytest.mark.parametrize(("shakedown_km", "is_missed"), [(0, True), (49, True), (50, False)])
def test_the_shakedown_drive_before_the_last_day_at_home_counts(shakedown_km: float, is_missed: bool) -> None:
    """Wheels off on the first day, nuts torqued on the last: whether they were driven 50 km between is what counts."""

    def change(plan: Json) -> None:
        plan["rechecks"] = []
        early, day = plan["slots"][EARLY], plan["slots"][DAY]
        early["opened"], day["opened"] = day["opened"], []
        early["jobs"], day["jobs"] = day["jobs"], []
        item(plan, "wheel_nuts")["placed"] = ["workshop-2026-06-25"]

    at = replace(sound(), trip=sound().trip.model_copy(update={"shakedown_km": shakedown_km}))
    assert ("wheel off" in broken(change, at)) is is_missed


def hub_job(side: str, **values: object) -> Callable[[Json], object]:
    """Change the repack of one side."""

    def change(plan: Json) -> None:
        next(job for _, job in jobs(plan, "front_wheel_bearings") if job["position"] == side).update(values)

    return change


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (hub_job("left", item="oil"), ["the hub of wagon left is off, without: repack front_wheel_bearings"]),
        (hub_job("right", kind="re-check"), ["the hub of wagon right is off, without: repack front_wheel_bearings"]),
        (hub_job("left", kind="after water", act="look"),
         ["the hub of wagon left is off, without: repack front_wheel_bearings"]),
        (hub_job("left", kind="after water"), []),  # the repack that water called for is a repack
        (lambda plan: None, []),
    ],
)  # fmt: skip
def test_what_belongs_to_a_hub_is_done_while_it_is_off(change: Callable[[Json], object], says: list[str]) -> None:
    """If not, a hub would come off and go on again with its old seal."""
    assert told(trade_rules(spoilt(sound(), change)), "hub off") == says


def sides(left: Json, right: Json, **town: object) -> set[str]:
    """What is broken with these changes to the two sides of the front wheel bearings; the job at both in one place."""

    def change(plan: Json) -> None:
        item(plan, "front_wheel_bearings", "left").update(left)
        item(plan, "front_wheel_bearings", "right").update(right)
        plan.update(town)

    return broken(change) & {"both sides"}


DONE, NOT = {"placed": ["workshop-2026-06-25"]}, {"placed": []}


@pytest.mark.parametrize(
    ("left", "right", "is_broken"),
    [
        ({**DONE, "share_used_at_return": 1.0}, {**NOT, "share_used_at_return": 1.0}, True),
        ({**DONE, "share_used_at_return": 1.0}, {**NOT, "share_used_at_return": 0.75}, True),
        ({**DONE, "share_used_at_return": 1.0}, {**NOT, "share_used_at_return": 0.74}, False),
        ({**DONE, "share_used_at_return": 0.74}, {**NOT, "share_used_at_return": 1.0}, False),
        (
            {**DONE, "share_used_at_return": 1.0, "verdict": "lasts the trip"},
            {**NOT, "share_used_at_return": 1.0},
            False,
        ),
        ({**DONE, "share_used_at_return": None}, {**NOT, "share_used_at_return": None}, True),
        ({**DONE, "share_used_at_return": None}, {**NOT, "share_used_at_return": 1.0}, False),
        (
            {**DONE, "share_used_at_return": 1.0},
            {"placed": ["workshop-2026-06-24"], "share_used_at_return": 1.0},
            False,
        ),
        ({**DONE, "share_used_at_return": 1.0}, {"placed": ["stop-1-gums"], "share_used_at_return": 1.0}, True),
    ],
)
def test_two_sides_about_as_far_gone_are_done_at_one_place(left: Json, right: Json, is_broken: bool) -> None:
    """If not, an axle would be opened left at home and right at a camp; all days at home are one place."""
    assert sides(left, right) == ({"both sides"} if is_broken else set())


def test_two_sides_apart_are_allowed_where_the_plan_says_so() -> None:
    """If not, an owner who has parts for one side could not be given a plan."""
    said = "Front_wheel_bearings (wagon): one side at a time, since parts came for one."
    apart = {**DONE, "share_used_at_return": 1.0}, {**NOT, "share_used_at_return": 1.0}
    assert sides(*apart, assumptions=[said]) == set()
    assert sides(*apart, assumptions=["Oil (wagon): none"]) == {"both sides"}


def at_the_camp(side: str, **values: object) -> Callable[[Json], object]:
    """One side's hub opened at the camp as well, for the reason given."""

    def change(plan: Json) -> None:
        day, camp = plan["slots"][DAY], plan["slots"][CAMP]
        one = next(job for job in day["jobs"] if job["position"] == side)
        camp["jobs"].append({**one, **values})
        item(plan, "front_wheel_bearings", side)["placed"].append("stop-1-gums")
        item(plan, "front_wheel_bearings", "left")["share_used_at_return"] = 1.0
        item(plan, "front_wheel_bearings", "right")["share_used_at_return"] = 1.0

    return change


def test_a_hub_opened_as_a_sample_after_water_needs_no_other_side() -> None:
    """If it did, one drop of water on the left would take the right apart as well."""
    assert "both sides" not in broken(at_the_camp("left", kind="after water"))
    assert "both sides" in broken(at_the_camp("left"))
    assert "both sides" in broken(at_the_camp("left", kind="after water", unit="camper"))
    assert "both sides" in broken(at_the_camp("left", kind="after water", place="engine sump"))


def test_both_hubs_opened_after_water_are_no_sample() -> None:
    """If they were, one side renewed by water and the other not would pass."""

    def change(plan: Json) -> None:
        at_the_camp("left", kind="after water")(plan)
        at_the_camp("right", kind="after water")(plan)
        item(plan, "front_wheel_bearings", "right")["placed"].remove("stop-1-gums")

    assert "both sides" in broken(change)


def given(long: float = 1000.0, daily: float = 1000.0, day: float = 1440.0, **own: float) -> Facts:
    """The owner's hours on the road as assumed, and as written in the folder."""
    at = assuming(sound(), road_long_spell_minutes=long, road_daily_minutes=daily, road_day_limit_minutes=day)
    return replace(at, trip=at.trip.model_copy(update=own))


@pytest.mark.parametrize(
    ("limit", "leave", "is_too_much"),
    [
        (39.0, "2026-07-09", False),
        (38.0, "2026-07-09", True),
        (19.5, "2026-07-10", True),  # arrival and departure are one day
        (19.5, "2026-07-11", False),
        (19.0, "2026-07-11", True),
    ],
)
def test_a_day_at_a_stop_holds_what_the_owner_gives(limit: float, leave: str, is_too_much: bool) -> None:
    """39 minutes of work at the town, from the 9th on."""
    found = broken(lambda plan: plan["slots"][TOWN].update(leave=leave), given(day=limit))
    assert ("ceiling of a day" in found) is is_too_much
    own = given(day=1.0, road_day_limit_minutes=limit)
    assert ("ceiling of a day" in broken(lambda plan: plan["slots"][TOWN].update(leave=leave), own)) is is_too_much


def test_days_of_a_stop_count_from_where_the_rig_stands() -> None:
    """If not, a plan made on the second day of three would have three days of work left."""

    def change(plan: Json) -> None:
        plan["slots"][TOWN].update(arrive="2026-07-09", date="2026-07-10", leave="2026-07-11")

    assert "ceiling of a day" in broken(change, given(day=30.0))
    assert "ceiling of a day" not in broken(change, given(day=39.0))


@pytest.mark.parametrize(("leg", "day", "limit", "is_too_much"), [
    (2, "2026-07-06", 50.0, True), (2, "2026-07-06", 51.0, False), (2, "2026-07-05", 39.0, False),
    (1, "2026-07-06", 39.0, False),
])  # fmt: skip
def test_looks_at_halts_of_the_day_count_with_the_stop_behind(
    leg: int, day: str, limit: float, is_too_much: bool
) -> None:
    """Twelve minutes at a halt of the leg that ends at the stop on the same day, and 39 there."""

    def change(plan: Json) -> None:
        plan["rechecks"][0].update(leg=leg)
        plan["slots"][TOWN].update(date=day, arrive=day, leave=day)

    assert ("ceiling of a day" in broken(change, given(day=limit))) is is_too_much


@pytest.mark.parametrize(
    ("long", "daily", "is_too_much"),
    [(51.0, 0.0, False), (50.0, 0.0, True), (20.0, 1.0, False), (19.0, 1.0, True), (0.0, 51 / 31, False)],
)
def test_the_whole_trip_holds_what_the_owner_gives(long: float, daily: float, is_too_much: bool) -> None:
    """39 minutes at the town and 12 at a halt; 31 days on the road, the first and the last counted."""
    assert ("ceiling of the trip" in broken(lambda plan: None, given(long, daily))) is is_too_much
    own = given(1.0, 0.0, road_long_spell_minutes=long, road_daily_minutes=daily)
    assert ("ceiling of the trip" in broken(lambda plan: None, own)) is is_too_much


def test_looks_after_return_are_no_work_on_the_road() -> None:
    """If they were, a trip would be over its ceiling for what is done at home in August."""
    later = {"leg": None, "from_km": 2700, "to_km": 2750}
    assert broken(lambda plan: plan["rechecks"][0].update(later), given(39.0, 0.0)) & {"ceiling of the trip"} == set()


def met(good: Facts) -> Facts:
    """The same with the ford crossed and a repack of both hubs called for, one rule of 25 behind the hub."""
    rules = (water_rule("front_wheel_bearings", "before remote", "repack", minutes=25, state="hub off"),
             water_rule("front_wheel_bearings", "before remote", "repack", minutes=9, state="wheel off", water="salt"),
             water_rule("front_wheel_bearings", "before remote", "look", minutes=300))  # fmt: skip
    table = Catalogue(**{**dict(good.catalogue), "water_rules": rules})
    made = crossing(2, 100, 0.45, minutes=3, crossed=date(2026, 7, 6))
    return replace(good, catalogue=table, trip=good.trip.model_copy(update={"crossings": (made,)}))


@pytest.mark.parametrize(
    ("planned", "is_too_much"),
    [(10 + 1.5 * 65, False), (10 + 1.5 * 65 + 1, True)],
)
def test_what_water_asks_for_comes_on_top_of_the_day(planned: float, is_too_much: bool) -> None:
    """One act: 25 minutes and 23, 10 and 7 to open and close are 65 of the shed, half as much again in a town."""

    def change(plan: Json) -> None:
        plan["crossings"][0]["crossed"] = "2026-07-06T09:00"
        plan["crossings"][0]["acts"] = [{**plan["crossings"][0]["acts"][0], "act": "repack"}]
        plan["slots"][TOWN].update(minutes_planned=planned, leave="2026-07-09")

    assert ("ceiling of a day" in broken(change, met(given(day=10.0)))) is is_too_much


@pytest.mark.parametrize(("planned", "is_too_much"), [(2 * 65, False), (2 * 65 + 1, True)])
def test_what_water_asks_for_comes_on_top_of_the_trip(planned: float, is_too_much: bool) -> None:
    """The dearest place of the trip is the camp, where each minute is two."""

    def change(plan: Json) -> None:
        plan["crossings"][0]["crossed"] = "2026-07-06T09:00"
        plan["crossings"][0]["acts"] = [{**plan["crossings"][0]["acts"][0], "act": "repack"}]
        plan["slots"][TOWN]["minutes_planned"] = planned
        plan["rechecks"] = []

    assert ("ceiling of the trip" in broken(change, met(given(0.0, 0.0)))) is is_too_much


def test_water_still_ahead_gives_no_more_time() -> None:
    """If it did, a ford on the map would let the plan work through the nights."""

    def change(plan: Json) -> None:
        plan["crossings"][0]["acts"] = [{**plan["crossings"][0]["acts"][0], "act": "repack"}]
        plan["slots"][TOWN].update(minutes_planned=107.0, leave="2026-07-09")

    assert "ceiling of a day" in broken(change, met(given(day=10.0)))
