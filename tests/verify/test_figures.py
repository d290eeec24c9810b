"""Rules about the figures of the items: the sound small plan with one figure changed, and ends reckoned by hand."""

from collections.abc import Callable
from datetime import date
from functools import cache
from typing import Any

import pytest

from tests.small import camper, crossing, leg, planned, rig, row, stop, tables, thing, trip, wagon, workshop
from tests.verify.small_facts import Json, assuming, facts, names, sound, spoilt, told, with_cells
from tripplan.sheets.plan_json import plan_dict
from tripplan.verify.facts import Facts
from tripplan.verify.figures import figure_rules

EARLY, DAY, CAMP, TOWN, AFTER = range(5)
Change = Callable[[Json], object]


def broken(change: Change, good: Facts | None = None) -> set[str]:
    """The rules about figures that the spoilt plan breaks."""
    return names(figure_rules(spoilt(good or sound(), change)))


def of(item: str, position: str | None = None, /, **values: Any) -> Change:
    """Change fields of one item."""
    return lambda plan: line(plan, item, position).update(values)


def line(plan: Json, item: str, position: str | None = None) -> Json:
    """The plan's line for one item."""
    found: Json = next(one for one in plan["items"] if (one["item"], one["position"]) == (item, position))
    return found


def limit(item: str, number: int = 0, position: str | None = None, /, **values: Any) -> Change:
    """Change fields of one limit."""
    return lambda plan: line(plan, item, position)["limits"][number].update(values)


def wear(item: str, leg_number: int, /, **values: Any) -> Change:
    """Change what one leg takes of an item."""
    return lambda plan: next(one for one in line(plan, item)["wear"] if one["leg"] == leg_number).update(values)


def test_the_sound_plan_breaks_nothing() -> None:
    """If it did, no test here would show what it says."""
    assert broken(lambda plan: None) == set()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda plan: plan["items"].pop(), "listed 0 times, not once"),
        (lambda plan: plan["items"].append(dict(plan["items"][0])), "listed 2 times, not once"),
        (of("oil", unit="boat"), "the rig has no such item"),
        (of("coupling", unit="wagon"), "the rig has no such item"),
        (of("oil", position="left"), "the rig has no such item"),
        (of("front_wheel_bearings", "left", position=None), "the rig has no such item"),
    ],
)
def test_every_item_of_the_rig_is_listed_once(change: Change, says: str) -> None:
    """If not, a forgotten item would simply be missing from the sheet."""
    assert says in told(figure_rules(spoilt(sound(), change)), "all items")


@pytest.mark.parametrize(
    ("change", "rules"),
    [
        (limit("oil", interval=10001, left=9501), {"intervals"}),
        (limit("oil", interval=9999, left=9499), {"intervals"}),
        (limit("oil", meter="engaged_km"), {"intervals"}),
        (limit("oil", left=9501), {"intervals"}),
        (limit("oil", used=499), {"intervals"}),
        (limit("oil", 1, left=9), {"intervals"}),
        (wear("oil", 2, use=501), {"wear", "reserve"}),
        (wear("oil", 2, use=499), {"wear"}),
        (wear("oil", 2, low=1.1), {"wear"}),
        (wear("oil", 2, high=0.9), {"wear", "reserve"}),
        (wear("oil", 2, multiplier=1.2, high=1.2, reserve=620), {"wear"}),
        (wear("oil", 2, multiplier=1.5, high=1.5, reserve=770,
              parts=[{"mechanism": "grit", "multiplier": 1.25}, {"mechanism": "heat", "multiplier": 1.25}]), set()),
        (wear("oil", 2, multiplier=1.5625, high=1.6, reserve=820,
              parts=[{"mechanism": "grit", "multiplier": 1.25}, {"mechanism": "grit", "multiplier": 1.25}]), set()),
        (wear("oil", 2, multiplier=1.5625, high=1.6, reserve=820,
              parts=[{"mechanism": "grit", "multiplier": 1.25}, {"mechanism": "heat", "multiplier": 1.25}]), {"wear"}),
        (wear("oil", 2, reserve=490), {"reserve"}),
    ],
)  # fmt: skip
def test_one_figure_spoilt_is_named(change: Change, rules: set[str]) -> None:
    """If not, an interval or a leg's wear could be anything: separate mechanisms add, the same one multiplies."""
    assert broken(change) == rules


def test_use_on_a_leg_goes_by_its_meter() -> None:
    """600 km towed on the first leg, none on the others."""
    used = {one["leg"]: one["use"] for one in line(dict(sound().plan), "coupling")["wear"]}
    assert used == {1: 600}
    assert "wear" in broken(wear("coupling", 1, use=500))
    assert "wear" in broken(wear("coupling", 1, leg=2))


@pytest.mark.parametrize(("reserve", "is_wrong"), [(500.0, False), (680.0, False), (700.0, True)])
def test_the_reserve_is_no_more_than_all_doubt(reserve: float, is_wrong: bool) -> None:
    """500 km at a high of 1.3, the interval itself in doubt by nothing, 5 % given: 682 at most."""
    assert ("reserve" in broken(wear("oil", 2, high=1.3, reserve=reserve))) is is_wrong


@pytest.mark.parametrize(("spread", "reserve", "is_wrong"), [
    ((0.5, 2.0), 1040.0, False), ((0.5, 2.0), 1060.0, True), ((1.0, 4.0), 1040.0, False), ((1.0, 4.0), 1060.0, True),
])  # fmt: skip
def test_the_doubt_about_the_interval_counts(spread: tuple[float, float], reserve: float, is_wrong: bool) -> None:
    """Half of a fourfold spread, either way: its fourth root taken twice is 2, so 500 km may be 1000 and 5 %."""
    at = assuming(with_cells(sound(), "oil", spread_low=spread[0], spread_high=spread[1]), interval_spread_share=1.0)
    assert ("reserve" in broken(wear("oil", 2, reserve=reserve), at)) is is_wrong


@pytest.mark.parametrize(
    ("water", "reserve", "is_wrong"),
    [
        ({"multiplier": 1.5, "high": 3.0}, 730.0, False),  # 500, and 50 of water at four times that: 700 and 5 %
        ({"multiplier": 1.5, "high": 3.0}, 740.0, True),
        ({"multiplier": 1.0, "high": 1.3}, 9000.0, False),  # nothing typical to take a share of
    ],
)
def test_what_water_adds_has_its_own_doubt(water: Json, reserve: float, is_wrong: bool) -> None:
    """If not, kilometres driven wet would be held to the doubt of dry ones."""
    assert ("reserve" in broken(wear("oil", 2, water_use=50.0, water=[water], reserve=reserve))) is is_wrong


def test_the_reserve_piles_up_with_the_typical() -> None:
    """If only single legs were compared, a reserve could fall behind on the second."""
    assert broken(wear("oil", 1, reserve=630)) == set()
    assert broken(lambda plan: (wear("oil", 1, reserve=630)(plan), wear("oil", 2, reserve=471)(plan))) == set()
    assert broken(lambda plan: (wear("oil", 1, reserve=630)(plan), wear("oil", 2, reserve=469)(plan))) == {"reserve"}


@pytest.mark.parametrize(
    ("change", "rules"),
    [
        (of("oil", placed=["stop-2-town"]), {"placed is a job"}),
        (of("coupling", placed=[]), {"placed is a job"}),
        (of("coupling", placed=["workshop-2026-06-24"]), {"placed is a job"}),
        (of("air_filter", placed=[]), {"placed is a job"}),
        (of("front_wheel_bearings", "left", placed=["workshop-2026-06-25", "stop-2-town"]), {"placed is a job"}),
    ],
)
def test_what_is_placed_is_a_job_and_a_job_is_placed(change: Change, rules: set[str]) -> None:
    """If not, an item would be renewed on paper alone; a look that water calls for renews nothing."""
    assert broken(change) == rules


def job_at(number: int, item: str, /, **values: Any) -> Change:
    """One more job in a slot."""
    job = {"item": item, "unit": "wagon", "position": None, "act": "look", "kind": "service", **values}
    return lambda plan: plan["slots"][number]["jobs"].append(job)


def test_what_a_bigger_act_does_on_the_way_is_placed_there() -> None:
    """If not, a repack that greases would leave the nipple to be greased at the same place."""
    at = with_cells(sound(), "oil", covers=("wheel_nuts",))

    def both(plan: Json) -> None:
        job_at(CAMP, "oil", act="drain and refill")(plan)
        line(plan, "oil")["placed"] = ["stop-1-gums"]
        line(plan, "wheel_nuts")["placed"] = ["stop-1-gums"]

    assert "placed is a job" not in broken(both, at)
    assert "placed is a job" in broken(both)
    one_side = with_cells(sound(), "front_wheel_bearings", covers=("wheel_nuts",))
    there = of("wheel_nuts", placed=["workshop-2026-06-25"])
    assert "placed is a job" in broken(there, one_side)  # done on one side is not done on the whole


def test_a_recheck_does_what_is_placed_there_and_asks_for_no_place() -> None:
    """If it asked, each look at the nuts would count as their service."""
    again = job_at(CAMP, "wheel_nuts", kind="re-check", act="torque")
    assert "placed is a job" not in broken(again)
    both = (again, of("wheel_nuts", placed=["stop-1-gums"]))
    assert "placed is a job" not in broken(lambda plan: [change(plan) for change in both])


def test_water_work_that_renews_is_placed() -> None:
    """If not, bearings repacked after a ford would be told as run since last year."""
    job = {"position": "left", "act": "repack", "kind": "after water"}
    assert "placed is a job" in broken(job_at(TOWN, "front_wheel_bearings", **job))
    assert "placed is a job" not in broken(job_at(TOWN, "front_wheel_bearings", **{**job, "act": "look"}))


def ends(at_km: float | None, reserve_km: float | None = None) -> Change:
    """Say where the air filter runs out, typically and with reserve."""

    def change(plan: Json) -> None:
        one = line(plan, "air_filter")
        one["runs_out"] = None if at_km is None else {"trip_km": at_km}
        one["runs_out_reserve"] = None if reserve_km is None else {"trip_km": reserve_km}

    return change


@pytest.mark.parametrize(
    ("change", "rules"),
    [
        (ends(2500.0, 2500.0), set()),  # 500 of 3000 used before: the last 2500 km from the start
        (ends(2499.5, 2499.5), set()),
        (ends(2502.0, 2500.0), {"runs out there"}),
        (ends(2498.0, 2498.0), {"runs out there"}),
        (ends(None, 2500.0), {"runs out there", "verdict"}),
        (ends(2500.0, 2600.0), {"reserve is sooner"}),
        (ends(2500.0, 2701.5), {"reserve is sooner", "runs out there"}),
        (ends(2500.0, 1798.0), {"runs out there"}),  # with reserve some place of leg 4, which starts at 1800
        (ends(2500.0, 1801.0), set()),
        (ends(2500.0, None), {"reserve is sooner", "runs out there"}),
    ],
)
def test_an_item_runs_out_where_its_wear_says(change: Change, rules: set[str]) -> None:
    """If not, the owner would be told 200 km too late."""
    assert broken(change) == rules


@pytest.mark.parametrize(
    ("item", "position", "right"),
    [("air_filter", None, "runs out on the way"), ("oil", None, "lasts the trip"), ("coupling", None, "no record"),
     ("front_wheel_bearings", "left", "due before departure")],
)  # fmt: skip
def test_the_verdict_is_what_the_limits_say(item: str, position: str | None, right: str) -> None:
    """If not, the first column of the sheet would contradict the rest."""
    assert line(dict(sound().plan), item, position)["verdict"] == right
    for verdict in ("runs out on the way", "lasts the trip", "no record", "due before departure"):
        assert broken(of(item, position, verdict=verdict)) == (set() if verdict == right else {"verdict"})


def test_a_finding_not_put_right_is_due() -> None:
    """If not, water in a bearing would wait for its km."""
    found = {"finding": "water"}
    assert broken(of("oil", found=found)) == {"verdict"}
    assert broken(of("oil", found=found, verdict="due before departure")) == set()


@pytest.mark.parametrize(
    ("done", "end_km", "verdict"),
    [
        ("2025-07-15", 1800.0, "runs out on the way"),
        ("2025-07-01", 0.0, "due before departure"),
        ("2025-08-01", None, "lasts the trip"),
        ("2025-07-31", 2700.0, "runs out on the way"),
    ],
)
def test_twelve_months_end_on_their_day(done: str, end_km: float | None, verdict: str) -> None:
    """Oil of 15 July is a year old on the 15th, when leg 3 (700 km from 12 July, at 50 km/h 8 h a day) is driven: km 1800."""
    change = of("oil", last_done=done, verdict=verdict)
    said = None if end_km is None else {"trip_km": end_km}
    both = (change, of("oil", runs_out=said, runs_out_reserve=said))
    assert broken(lambda plan: [one(plan) for one in both]) == set()


@cache
def under_way() -> Facts:
    """Seen on 7 July with 1100 km driven: the filter of 900 km was used up on the road, the oil at the end of it."""
    legs = (leg(1, 600), leg(2, 500, date(2026, 7, 4)), leg(3, 700, date(2026, 7, 12)))
    one_trip = trip(*legs, stops=(stop("Town", 2, date(2026, 7, 6), leave=date(2026, 7, 11)),),
                    workshop_days=(workshop(date(2026, 6, 24)),), crossings=(crossing(1, 100, 0.1, crossed=date(2026, 7, 1)),))  # fmt: skip
    items = (thing("filter", km=900, act="look"), thing("oil", km=2000, act="look"))
    history = (row(date(2026, 6, 30), 5000, "filter", "look"), row(date(2026, 6, 30), 5000, "oil", "look"))
    catalogue, today = tables(*items), date(2026, 7, 7)
    plan = planned(one_trip, *history, catalogue=catalogue, today=today)
    return Facts(plan_dict(plan), rig(), history, one_trip, catalogue)


def test_what_is_used_up_already_ran_out_where_the_rig_stands() -> None:
    """1100 km driven: the filter's end is told there, the verdict is due; the oil of 2000 has 900 left of 700 to go."""
    at = under_way()
    assert broken(lambda plan: None, at) == set()
    assert line(dict(at.plan), "filter")["runs_out"]["trip_km"] == pytest.approx(1100)
    assert broken(of("filter", runs_out={"trip_km": 600.0}), at) == {"runs out there", "reserve is sooner"}
    assert broken(of("filter", runs_out=None), at) == {"runs out there"}
    assert broken(of("filter", verdict="runs out on the way"), at) == {"verdict"}


def test_legs_already_driven_wear_nothing_more() -> None:
    """If they did, a plan made on the way would count them twice."""
    driven = {"leg": 2, "meter": "km", "use": 500.0, "multiplier": 1.0, "low": 1.0, "high": 1.0, "parts": [],
              "water_use": 0.0, "water": [], "reserve": 500.0}  # fmt: skip
    assert "wear" in broken(lambda plan: line(plan, "oil")["wear"].insert(0, driven), under_way())


def test_a_trailer_that_is_no_part_of_the_trip_still_has_its_items() -> None:
    """If not, the camper's hubs would be forgotten on the one trip that it stays at home."""
    at = facts({}, trip(leg(1, 100)), wagon(), camper(), catalogue=tables(thing("hubs", unit_kind="trailer")))
    assert told(figure_rules(at), "all items") == ["listed 0 times, not once"]


def test_of_two_meters_the_one_that_ends_first_counts() -> None:
    """Oil of 15 July 2025 ends by the calendar on the way, though its km last: said to last the trip it is told off."""
    change = of("oil", last_done="2025-07-15", verdict="lasts the trip", runs_out=None, runs_out_reserve=None)
    assert "runs out there" in broken(change)
