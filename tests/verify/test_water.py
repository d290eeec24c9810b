"""What follows work, and what water calls for, as the checker sees it: heights, grades and windows by hand."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from msgspec.structs import replace

from tests.small import DEPART, camper, crossing, leg, row, stop, tables, thing, trip, wagon, water_rule
from tests.verify.small_facts import Json, facts, jobs, names, sound, spoilt, told, with_cells
from tripplan.records.catalogue import Catalogue, Item, WaterRule
from tripplan.records.facts_in import Unit
from tripplan.verify.facts import Facts
from tripplan.verify.water import follow_up_rules, recheck_rules, water_rules

EARLY, DAY, CAMP, TOWN, AFTER = range(5)
MADE = DEPART
Change = Callable[[Json], object]
HEIGHTS = {"knuckle_lower": 330, "shackle": 450, "hub_centre": 400, "bell_housing_drain": 420, "diff_breather": 560,
           "starter": 600, "door_sill": 620, "airbox_seam": 1100}  # fmt: skip
"""In millimetres; the wave of the small tables is 0.10 m everywhere."""


def graded(number: int, **changes: Any) -> tuple[Item, WaterRule]:
    """An item for which a crossing of that grade asks, wherever the water stood."""
    name = f"grade_{number}"
    return thing(name, act="look"), water_rule(name, "days", "look", from_grade=number, own_point=False, **changes)


GRADED = [graded(number) for number in range(1, 6)]
POINTS = (thing("starter", points="starter"), thing("filter", points="airbox_seam"))


def at_water(*pairs: tuple[Item, WaterRule], items: tuple[Item, ...] = (), units: tuple[Unit, ...] = (),
             entry: Json | None = None, history: tuple[Any, ...] = (), towing: bool = False, owner: str | None = None,
             **ford: Any) -> Facts:  # fmt: skip
    """A crossing made in three minutes on the first leg, of which the plan says nothing yet."""
    made = crossing(1, 100, ford.pop("depth_m", 0.45), **{"crossed": MADE, "minutes": 3, **ford})
    plan: Json = {
        "leg": 1, "at_km": 100, "depth_m": made.depth_m, "trip_km": 100, "date": "2026-07-01", "immersed": [],
        "crossed": None, "acts": [], "contingent": [], **(entry or {})}  # fmt: skip
    table = tables(*items, *(item for item, _ in pairs), water_rules=tuple(rule for _, rule in pairs))
    one_trip = trip(leg(1, 300, towing=towing), leg(2, 400, date(2026, 7, 5), remote=True), crossings=(made,),
                    trailer_hubs_after_water=owner, stops=(stop("Town", 1, date(2026, 7, 2)),))  # fmt: skip
    return facts({"crossings": [plan]}, one_trip, *(units or (wagon(heights_mm=HEIGHTS),)), catalogue=table,
                 history=history)  # fmt: skip


def called(at: Facts) -> list[str]:
    """What the checker misses of what the water calls for."""
    return [says.removesuffix(" is not called for") for says in told(water_rules(at), "water act")
            if says.endswith("called for")]  # fmt: skip


def grade(*more: tuple[Item, WaterRule], **ford: Any) -> int:
    """The hardest grade for which the checker asks."""
    units = ford.pop("units", (wagon(heights_mm=HEIGHTS),))
    found = called(at_water(*GRADED, *more, items=POINTS, units=units, **ford))
    numbers = sorted(int(says.split("grade_")[1]) for says in found)
    assert numbers == list(range(1, len(numbers) + 1))
    return len(numbers)


@pytest.mark.parametrize(
    ("depth_m", "expected"),
    [(0.0, 0), (0.22, 0), (0.23, 1), (0.29, 1), (0.30, 2), (0.45, 2), (0.46, 3), (0.49, 3), (0.50, 4), (1.5, 4)],
)
def test_grades_by_the_points_that_are_under(depth_m: float, expected: int) -> None:
    """Knuckle at 0.33, hub at 0.40, breather at 0.56, starter at 0.60; the wave adds 0.10 (TM 10-3930-675 WP 0006)."""
    assert grade(depth_m=depth_m) == expected


@pytest.mark.parametrize(
    ("ford", "expected"),
    [
        ({}, 2), ({"minutes": 5}, 2), ({"minutes": 6}, 3), ({"minutes": 30}, 3), ({"minutes": 31}, 5),
        ({"minutes": None}, 3), ({"water": "muddy"}, 3), ({"hubs_hot": True}, 3), ({"water": "salt"}, 5),
        ({"water": "salt", "depth_m": 0.25}, 1), ({"stalled": True}, 5), ({"stalled": True, "depth_m": 0.1}, 5),
        ({"water": "muddy", "depth_m": 0.25}, 1), ({"hubs_hot": True, "depth_m": 0.25}, 1),
    ],
)  # fmt: skip
def test_grades_by_what_happened(ford: dict[str, Any], expected: int) -> None:
    """Twenty inches for five minutes is easy (TM 9-2320-273-10); hot hubs draw in (TM 9-2330-331-14&P WP 0022)."""
    assert grade(**ford) == expected


def bare(**heights: int) -> tuple[Unit, ...]:
    """A wagon with those heights alone; small tyres, so that hubs not given are at 0.20 m."""
    return (wagon(heights_mm=heights, tyre_diameter_mm=None),)


@pytest.mark.parametrize(
    ("heights", "depth_m", "expected"),
    [
        ({"hub_centre": 400}, 0.51, 2),
        ({"hub_centre": 400}, 0.52, 3),  # deeper than twenty inches
        ({"axle_centre": 400}, 0.30, 2),
        ({"bell_housing_drain": 420}, 0.35, 2),
        ({"bell_housing_drain": 420}, 0.31, 0),
        ({"trailer_coupling": 420}, 0.35, 2),
        ({"door_sill": 420}, 0.35, 4),
        ({"breather_end": 420}, 0.35, 3),
        ({"shaft": 420}, 0.35, 1),
        ({}, 1.5, 0),
    ],
)
def test_grades_by_single_points(heights: dict[str, int], depth_m: float, expected: int) -> None:
    """If not, a clutch housing with water in it would pass for wet wheels."""
    assert grade(units=bare(**heights), depth_m=depth_m) == expected


@pytest.mark.parametrize(("depth_m", "expected"), [(0.24, 0), (0.25, 2)])
def test_hubs_not_given_are_at_half_the_tyre(depth_m: float, expected: int) -> None:
    """Tyres of 0.70 m: 0.35 less the wave."""
    assert grade(units=(wagon(tyre_diameter_mm=700),), depth_m=depth_m) == expected


def test_water_ahead_is_no_harder_than_easy_hubs() -> None:
    """If it were, a plan would book work for water that nobody has seen."""
    assert grade(depth_m=1.2, minutes=60, crossed=None) == 2
    assert grade(depth_m=0.25, crossed=None) == 1
    assert grade(depth_m=0.45, crossed=None, minutes=None) == 2


def test_dry_ground_asks_for_nothing() -> None:
    """If it did, a ford recorded as dry would open hubs, stalled or not."""
    assert grade(depth_m=0.0, stalled=True) == 0


@pytest.mark.parametrize(("towing", "expected"), [(False, []), (True, ["look brakes left", "look brakes right"])])
def test_a_trailer_is_wet_only_where_it_is_towed(towing: bool, expected: list[str]) -> None:
    """If not, a camper at home would have its hubs opened."""
    brakes = thing("brakes", unit_kind="trailer", positions="left;right", points="hub_centre")
    pair = (brakes, water_rule("brakes", "days", "look", from_grade=1))
    units = (wagon(heights_mm=HEIGHTS), camper(heights_mm={"hub_centre": 400}))
    assert called(at_water(pair, units=units, towing=towing)) == expected


@pytest.mark.parametrize(
    ("changes", "ford", "is_called"),
    [
        ({"water": "salt"}, {}, False),
        ({"water": "muddy"}, {"water": "muddy"}, True),
        ({"from_grade": 3}, {}, False),
        ({"from_grade": 2}, {}, True),
        ({"from_grade": None}, {"depth_m": 0.31}, True),  # a row that names no grade asks from 1 on
        ({"from_grade": None, "told_from": 2}, {}, False),  # only told
        ({"when": "later", "decided_by": "hubs look"}, {}, False),  # the second step
        ({"when": "later"}, {}, True),
        ({"sample": True}, {}, False),
        ({"own_point": True}, {"depth_m": 0.25}, False),  # the hubs stayed dry
        ({"owner_from": 1, "from_grade": 5}, {}, False),
    ],
)
def test_a_rule_of_the_table_asks_or_not(changes: dict[str, Any], ford: dict[str, Any], is_called: bool) -> None:
    """If not, the plan would be blamed for what no row asks for, or let off."""
    hubs = thing("hubs", points="hub_centre")
    rule = water_rule("hubs", **{"when": "days", "act": "look", "from_grade": 1, **changes})
    assert called(at_water((hubs, rule), **ford)) == (["look hubs "] if is_called else [])


def test_an_owner_may_ask_for_more_at_the_hubs_of_a_trailer() -> None:
    """If not, who repacks after every wetting would be held to the looks of others."""
    hubs = thing("hubs", points="hub_centre")
    rule = water_rule("hubs", "days", "repack", from_grade=5, owner_from=2)
    assert called(at_water((hubs, rule), owner="repack")) == ["repack hubs "]
    assert called(at_water((hubs, rule), owner="look")) == []
    plain = water_rule("hubs", "days", "repack", from_grade=5)
    assert called(at_water((hubs, plain), owner="repack")) == []


def test_one_act_for_the_unit_is_asked_for_once() -> None:
    """If not, both sides would be asked for where the rule names the axle."""
    hubs = thing("hubs", positions="left;right", points="hub_centre")
    once = water_rule("hubs", "days", "look", from_grade=1, once=True)
    each = water_rule("hubs", "days", "look", from_grade=1)
    assert called(at_water((hubs, once))) == ["look hubs "]
    assert called(at_water((hubs, each))) == ["look hubs left", "look hubs right"]


def test_the_high_line_asks_for_looks_sooner() -> None:
    """The wave may be 0.25 m: at 0.20 m of water the hub at 0.40 m is under by the high line alone."""
    hubs = thing("hubs", points="hub_centre")
    at = at_water((hubs, water_rule("hubs", "days", "look", from_grade=1, line="high")), depth_m=0.20)
    assert called(at) == []
    rows = tuple(
        one.model_copy(update={"high": 0.25}) if "wave" in one.name else one for one in at.catalogue.assumptions
    )
    wavy = replace(at, catalogue=Catalogue(**{**dict(at.catalogue), "assumptions": rows}))
    assert called(wavy) == ["look hubs "]
    typical = replace(wavy, catalogue=Catalogue(**{
        **dict(wavy.catalogue), "water_rules": (water_rule("hubs", "days", "look", from_grade=1),)
    }))  # fmt: skip
    assert called(typical) == []


def test_the_wave_stands_at_the_front_of_the_vehicle() -> None:
    """0.30 m at the front alone: at 0.85 m of water an air box at 1.10 m is under, a winch of the trailer is not."""
    filters = thing("filter", points="airbox_seam"), water_rule("filter", "days", "look", from_grade=1)
    at = at_water(filters, depth_m=0.85)
    rows = tuple(
        one.model_copy(update={"value": 0.30}) if one.name == "bow_wave_front" else one
        for one in at.catalogue.assumptions
    )
    assert called(at) == []
    assert called(replace(at, catalogue=Catalogue(**{**dict(at.catalogue), "assumptions": rows}))) == ["look filter "]


@pytest.mark.parametrize(
    ("on", "item", "is_called"), [(MADE, "starter", False), (date(2026, 6, 30), "starter", True), (MADE, None, True)]
)
def test_work_since_the_crossing_may_have_settled_it(on: date, item: str | None, is_called: bool) -> None:
    """If not, a plan made after the hubs were cleaned would be blamed for not asking again."""
    hubs = thing("hubs", points="hub_centre"), water_rule("hubs", "days", "look", from_grade=1)
    assert bool(called(at_water(hubs, history=(row(on, 100, item),)))) is is_called


def test_an_act_called_for_by_a_crossing_of_the_same_day_is_enough() -> None:
    """If not, ten fords in a morning would ask for ten looks; one of the day before is not enough."""
    hubs = thing("hubs", points="hub_centre"), water_rule("hubs", "days", "look", from_grade=1, within_days=3)
    act = {"item": "hubs", "unit": "wagon", "position": None, "act": "look", "within_days": 3, "within_km": None,
           "slot": None, "window_kind": "later"}  # fmt: skip
    at = at_water(hubs)
    first = {**at.plan["crossings"][0], "at_km": 50, "acts": [act]}
    for on, missing in (("2026-07-01", []), ("2026-06-30", ["look hubs "])):
        both = [{**first, "date": on}, at.plan["crossings"][0]]
        assert called(replace(at, plan={**at.plan, "crossings": both})) == missing
    other = {**act, "within_days": 4}
    both = [{**first, "date": "2026-07-01", "acts": [other]}, at.plan["crossings"][0]]
    assert called(replace(at, plan={**at.plan, "crossings": both})) == ["look hubs "]


def immersed(at: Facts) -> bool:
    """Whether heights and depth do not agree with what the plan says is under."""
    return bool(told(water_rules(at), "immersed"))


def test_what_the_plan_says_is_under_agrees_with_heights_and_depth() -> None:
    """If not, a wet starter would be missing from the sheet: it sits at 0.60 m, 0.50 m and the wave reach it."""
    part = {"item": "starter", "unit": "wagon", "position": None}
    assert immersed(at_water(items=POINTS, depth_m=0.50))
    assert not immersed(at_water(items=POINTS, depth_m=0.50, entry={"immersed": [part]}))
    assert immersed(at_water(items=POINTS, depth_m=0.49, entry={"immersed": [part]}))
    assert not immersed(at_water(items=POINTS, depth_m=0.49))


def test_a_crossing_of_the_folder_is_in_the_plan() -> None:
    """If not, a ford could be forgotten with all that it calls for."""
    at = at_water(items=POINTS)
    for other in ({"leg": 2}, {"at_km": 99}, {"depth_m": 0.4}):
        entry = {**at.plan["crossings"][0], **other}
        assert told(water_rules(replace(at, plan={**at.plan, "crossings": [entry]})), "immersed") == ["not in the plan"]


def act(name: str = "front_wheel_bearings", /, **values: Any) -> Change:
    """Change the first act after water at an item."""
    return lambda plan: next(one for entry in plan["crossings"] for one in entry["acts"] if one["item"] == name).update(
        values
    )


def broken(change: Change, good: Facts | None = None) -> set[str]:
    """The rules about water that the spoilt plan breaks."""
    return names(water_rules(spoilt(good or sound(), change)))


def test_the_sound_plan_breaks_nothing() -> None:
    """If it did, no test here would show what it says."""
    assert broken(lambda plan: None) == set()
    assert names(follow_up_rules(sound())) | names(recheck_rules(sound())) == set()


@pytest.mark.parametrize(
    ("change", "rules"),
    [
        (act(act="renew"), {"water act"}),
        (act(within_days=2), {"water act"}),
        (act(within_km=50), {"water act"}),
        (act(item="oil"), {"water act"}),
        (act(slot="nowhere"), {"water window"}),
        (act(slot="stop-1-gums"), {"water window"}),  # before the ford
        (act(slot="after"), {"water window"}),  # behind the next remote leg
        (act(slot="workshop-2026-06-25"), {"water window"}),
        (act(window_kind="night"), {"water window"}),  # the rig stands there three nights later
        (act(slot=None), {"water act warned"}),
        (act(slot=None, window_kind="later"), set()),
        (act(act="repack"), {"water act", "water ahead"}),
    ],
)
def test_one_act_spoilt_is_named(change: Change, rules: set[str]) -> None:
    """If not, water in a hub could wait for August."""
    assert broken(change) == rules


def said(*acts: int, kind: str = "water work without a place", crossings: int = 1) -> Change:
    """Both acts without a slot; warnings for the left and the right side as numbered."""

    def change(plan: Json) -> None:
        entry = plan["crossings"][0]
        for one in entry["acts"]:
            one["slot"] = None
        sides = [{name: one[name] for name in ("item", "unit", "position")} for one in entry["acts"]]
        plan["warnings"] = [{"kind": kind, "about": [sides[number]]} for number in acts]
        plan["crossings"] += [dict(entry, at_km=200 + n) for n in range(crossings - 1)]

    return change


@pytest.mark.parametrize(
    ("change", "is_unsaid"),
    [
        (said(0, 1), False),
        (said(0), True),
        (said(1), True),
        (said(0, 1, kind="parts late"), True),
        (said(0, 1, crossings=2), True),  # two fords, one warning each
        (said(0, 1, 0, 1, crossings=2), False),
    ],
)
def test_work_after_water_without_a_place_is_said_for_each_ford(change: Change, is_unsaid: bool) -> None:
    """If not, a hub full of water could be left shut and nobody told."""
    assert ("water act warned" in broken(change)) is is_unsaid


@pytest.mark.parametrize(
    ("days", "hours", "km", "is_late"),
    [(None, None, None, False), (2, None, None, True), (3, None, None, False), (None, 48, None, True),
     (None, 72, None, False), (None, 71, None, True), (None, None, 399, True), (None, None, 400, False)],
)  # fmt: skip
def test_windows_end_on_their_day_or_km(
    days: float | None, hours: float | None, km: float | None, is_late: bool
) -> None:
    """The ford is at km 700 on the 6th, the town at 1100 on the 9th: three days and 400 km."""

    def change(plan: Json) -> None:
        for one in plan["crossings"][0]["acts"]:
            one.update(within_days=days, within_km=km)

    rules = tuple(
        rule.model_copy(update={"within_days": days, "within_hours": hours, "within_km": km})
        if rule.act == "look"
        else rule
        for rule in sound().catalogue.water_rules
    )
    at = replace(sound(), catalogue=Catalogue(**{**dict(sound().catalogue), "water_rules": rules}))
    assert ("water window" in broken(change, at)) is is_late


@pytest.mark.parametrize(
    ("remote", "is_late"), [({3}, False), ({2}, False), ({1}, False), ({2, 3}, False), (set(), False)]
)
def test_before_remote_is_before_the_next_such_leg(remote: set[int], is_late: bool) -> None:
    """Leg 3 starts at 1100, where the town is; what lies behind the ford counts no more."""

    def change(plan: Json) -> None:
        for one in plan["legs"]:
            one["remote"] = one["number"] in remote

    assert ("water window" in broken(change)) is is_late


def test_a_place_behind_the_start_of_the_next_remote_leg_is_too_late() -> None:
    """A remote leg that starts at 1000 makes the town at 1100 too late, for what is to be done before it."""

    def change(plan: Json) -> None:
        plan["legs"][2]["trip_km_start"] = 1000

    assert "water window" in broken(change)

    def in_days(plan: Json) -> None:
        change(plan)
        for one in plan["crossings"][0]["acts"]:
            one["window_kind"] = "days"

    assert "water window" not in broken(in_days)


def town_job(side: str = "left", **values: Any) -> Change:
    """Change the look at one side in the town."""

    def change(plan: Json) -> None:
        next(job for slot, job in jobs(plan, "front_wheel_bearings")
             if job["kind"] == "after water" and job["position"] == side).update(values)  # fmt: skip

    return change


@pytest.mark.parametrize(
    ("change", "is_done"),
    [
        (town_job(act="repack", kind="service"), True),  # a repack looks on the way
        (town_job(act="renew", kind="service"), True),
        (town_job(act="torque", kind="service"), False),
        (town_job(act="repack"), True),  # the repack that the water called for
        (town_job(act="measure"), False),  # after water, and no rule says that it renews
        (town_job(act="repack", kind="re-check"), False),
        (town_job(position="right"), False),
        (town_job(position=None), True),
        (town_job(unit="camper"), False),
        (town_job(item="oil"), False),
    ],
)
def test_a_greater_act_at_the_same_item_does_a_lesser(change: Change, is_done: bool) -> None:
    """If not, a hub repacked in the town would be opened once more to be looked at."""
    assert ("water window" not in broken(change)) is is_done


def test_a_greater_act_opens_as_far_as_the_lesser_asks() -> None:
    """If not, a look with the hub off would be done by an act with the wheel on."""
    rules = tuple(
        rule.model_copy(update={"state": "hub off"}) if rule.act == "look" else rule
        for rule in sound().catalogue.water_rules
    )
    at = replace(sound(), catalogue=Catalogue(**{**dict(sound().catalogue), "water_rules": rules}))
    service = {"act": "repack", "kind": "service"}
    assert "water window" in broken(town_job(**service, state="wheel off"), at)
    assert "water window" not in broken(town_job(**service, state="hub off"), at)
    assert "water window" not in broken(town_job(**service, state="knuckle open"), at)


def contingent(**values: Any) -> Change:
    """A repack that a look in the town decides, told there."""

    def change(plan: Json) -> None:
        one = {"item": "front_wheel_bearings", "unit": "wagon", "position": "left", "act": "repack", "minutes": 25,
               "slot": "stop-2-town", **values}  # fmt: skip
        plan["crossings"][0]["contingent"] = [one]
        plan["slots"][TOWN]["contingent"] = [dict(one)]

    return change


@pytest.mark.parametrize(
    ("values", "is_wrong"),
    [({}, False), ({"minutes": 24}, True), ({"minutes": 26}, True), ({"act": "look", "minutes": 9}, True),
     ({"item": "air_filter", "act": "look", "minutes": 7}, True), ({"slot": None}, False)],
)  # fmt: skip
def test_what_a_look_decides_is_a_row_of_the_table(values: dict[str, Any], is_wrong: bool) -> None:
    """If not, what might come on top would be told too short, or asked for and left open at once."""
    assert ("contingent" in broken(contingent(**values))) is is_wrong


def test_what_a_look_decides_is_told_at_its_slot() -> None:
    """If not, the sheet of that day would not say what may come on top."""

    def forgotten(plan: Json) -> None:
        contingent()(plan)
        plan["slots"][TOWN]["contingent"] = []

    assert broken(forgotten) == {"contingent"}

    def elsewhere(plan: Json) -> None:
        contingent()(plan)
        plan["slots"][CAMP]["contingent"], plan["slots"][TOWN]["contingent"] = plan["slots"][TOWN]["contingent"], []

    assert broken(elsewhere) == {"contingent"}


def asked_and_left_open(plan: Json) -> None:
    """The same repack called for outright and left to a look."""
    contingent()(plan)
    plan["crossings"][0]["acts"].append(
        {"item": "front_wheel_bearings", "unit": "wagon", "position": "left", "act": "repack", "within_days": None,
         "within_km": None, "slot": None, "window_kind": "later"}
    )  # fmt: skip


def test_nothing_is_asked_for_and_left_open_at_once() -> None:
    """If it were, the owner would not know whether to open the hub."""
    says = told(water_rules(spoilt(sound(), asked_and_left_open)), "contingent")
    assert says == ["repack front_wheel_bearings left (wagon) is asked for and left to a look at once"]


@pytest.mark.parametrize(
    ("changes", "act_name", "owner", "is_too_much"),
    [
        ({"from_grade": 2}, "look", None, False),
        ({"from_grade": 3}, "look", None, True),
        ({"from_grade": None, "told_from": 2}, "look", None, True),
        ({"from_grade": None}, "look", None, False),
        ({"from_grade": 2, "resets": True}, "repack", None, True),
        ({"from_grade": 2, "resets": True}, "grease", None, False),
        ({"from_grade": 2, "owner_from": 1, "resets": True}, "repack", "repack", False),
        ({"from_grade": 2, "owner_from": 1, "resets": True}, "repack", None, True),
        ({"from_grade": 2, "resets": True}, "repack", "repack", True),
    ],
)
def test_water_ahead_books_looks_and_nipples_alone(
    changes: dict[str, Any], act_name: str, owner: str | None, is_too_much: bool
) -> None:
    """If not, a ford on the map would take hubs apart before anybody saw it."""
    hubs = thing("hubs", points="hub_centre"), water_rule("hubs", "days", act_name, **changes)
    booked = {"item": "hubs", "unit": "wagon", "position": None, "act": act_name, "within_days": None,
              "within_km": None, "slot": None, "window_kind": "later"}  # fmt: skip
    at = at_water(hubs, crossed=None, owner=owner, entry={"acts": [booked]})
    assert ("water ahead" in names(water_rules(at))) is is_too_much
    made = at_water(hubs, owner=owner, entry={"acts": [booked]})
    assert "water ahead" not in names(water_rules(made))


@pytest.mark.parametrize(
    ("own_point", "ford", "item", "is_unasked"),
    [
        (True, {"depth_m": 0.25}, "hubs", True),  # the hubs stayed dry
        (True, {"depth_m": 0.30}, "hubs", False),
        (False, {"depth_m": 0.25}, "hubs", False),  # the grade alone decides
        (True, {"depth_m": 0.25, "stalled": True}, "filter", False),  # an engine that stopped may have drunk
        (True, {"depth_m": 0.25}, "filter", True),
        (True, {"depth_m": 0.25, "stalled": True}, "hubs", True),
    ],
)
def test_nothing_is_asked_for_where_no_water_was(
    own_point: bool, ford: dict[str, Any], item: str, is_unasked: bool
) -> None:
    """If it were, hubs would be opened for a ford that wet the tyres."""
    pairs = [
        (thing(name, points=point), water_rule(name, "days", "look", from_grade=1, own_point=own_point))
        for name, point in (("hubs", "hub_centre"), ("filter", "airbox_seam"))
    ]
    booked = {"item": item, "unit": "wagon", "position": None, "act": "look", "within_days": None,
              "within_km": None, "slot": None, "window_kind": "later"}  # fmt: skip
    at = at_water(*pairs, entry={"acts": [booked]}, **ford)
    says = told(water_rules(at), "water act")
    assert (f"look {item} (wagon): no rule calls for it" in says) is is_unasked


def follow(change: Change, good: Facts | None = None) -> list[str]:
    """What is missed of the looks that follow work."""
    return told(follow_up_rules(spoilt(good or sound(), change)), "follow-up")


LEFT_OUT = "not looked at again: wheel_nuts 50-100 km"


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda plan: plan["rechecks"].clear(), [LEFT_OUT, LEFT_OUT]),
        (lambda plan: plan["rechecks"][0].update(from_km=51), [LEFT_OUT, LEFT_OUT]),
        (lambda plan: plan["rechecks"][0].update(after_slot="stop-1-gums"), [LEFT_OUT, LEFT_OUT]),
        (lambda plan: plan["rechecks"][0].update(unit="camper"), [LEFT_OUT, LEFT_OUT]),
    ],
)
def test_looks_that_follow_work_are_on_the_list(change: Change, says: list[str]) -> None:
    """If not, the nuts would be looked at when a wheel is loose."""
    assert follow(change) == says


def nuts_done(slot: str, km: float | None = None) -> Change:
    """No look, but the nuts' own service in that slot, which is at that km."""

    def change(plan: Json) -> None:
        plan["rechecks"].clear()
        next(one for one in plan["items"] if one["item"] == "wheel_nuts")["placed"] = [slot]
        if km is not None:
            next(one for one in plan["slots"] if one["id"] == slot)["trip_km"] = km

    return change


@pytest.mark.parametrize(
    ("change", "is_enough"),
    [
        (nuts_done("stop-1-gums", 50), True),
        (nuts_done("stop-1-gums", 100), True),
        (nuts_done("stop-1-gums", 49), False),
        (nuts_done("stop-1-gums", 101), False),
        (nuts_done("workshop-2026-06-25"), False),  # in the same hour
        (nuts_done("workshop-2026-06-24"), False),  # before it
    ],
)
def test_a_service_in_the_window_is_that_look(change: Change, is_enough: bool) -> None:
    """If not, nuts torqued at km 80 would be asked for at a halt as well."""
    assert (follow(change) == []) is is_enough


def test_a_later_day_at_home_is_behind_the_shakedown() -> None:
    """Work on the first day at home, nuts on the last: looked at again."""

    def change(plan: Json) -> None:
        early, day = plan["slots"][EARLY], plan["slots"][DAY]
        early["jobs"], day["jobs"] = day["jobs"], []
        nuts_done("workshop-2026-06-25")(plan)

    assert follow(change) == []


@pytest.mark.parametrize(("placed", "is_enough"), [("workshop-2026-06-25", True), ("stop-1-gums", False)])
def test_a_look_at_once_is_in_the_same_slot(placed: str, is_enough: bool) -> None:
    """If not, play measured a week later would pass for play measured on the spot."""
    asks = thing("coupling", follow_ups="wheel_nuts 0-0 km", unit_kind="trailer").follow_ups
    at = with_cells(sound(), "front_wheel_bearings", follow_ups=asks)
    assert (follow(nuts_done(placed), at) == []) is is_enough


def test_follow_ups_of_sides() -> None:
    """A job on one side asks for that side, one for the whole for both; what does not fit the unit is not asked for."""
    asks = thing("oil", follow_ups="front_wheel_bearings 20-30 km;coupling 20-30 km").follow_ups
    at = with_cells(sound(), "air_filter", follow_ups=asks)
    one = "not looked at again: front_wheel_bearings 20-30 km"
    assert follow(lambda plan: None, at) == [f"{one} left", f"{one} right"]
    sided = with_cells(sound(), "front_wheel_bearings", follow_ups=asks)
    assert follow(lambda plan: None, sided) == [f"{one} left", f"{one} right"]  # each side its own
    whole = with_cells(sound(), "front_wheel_bearings", follow_ups=thing("oil", follow_ups="oil 20-30 km").follow_ups)
    assert follow(lambda plan: None, whole) == ["not looked at again: oil 20-30 km"] * 2


def test_what_renews_nothing_brings_no_look() -> None:
    """A look after water and a look again bring none; a repack after water does."""

    def change(kind: str, name: str) -> Change:
        return lambda plan: [
            job.update(kind=kind, act=name) for _, job in jobs(plan, "front_wheel_bearings")
        ] and plan["rechecks"].clear()  # fmt: skip

    assert follow(change("re-check", "repack")) == []
    assert follow(change("after water", "look")) == []
    assert len(follow(change("after water", "repack"))) == 4
    assert len(follow(change("service", "look"))) == 4


def test_a_look_said_to_fall_in_a_slot_is_a_job_there() -> None:
    """If not, the look would be on no sheet at all."""
    check = {"slot": "stop-1-gums"}
    at = spoilt(sound(), lambda plan: plan["rechecks"][0].update(check))
    assert told(recheck_rules(at), "follow-up") == ["said to fall at stop-1-gums, where it is no job"]

    def with_job(plan: Json, kind: str = "re-check") -> None:
        plan["rechecks"][0].update(check)
        plan["slots"][CAMP]["jobs"].append({"item": "wheel_nuts", "unit": "wagon", "position": None, "kind": kind})

    assert told(recheck_rules(spoilt(sound(), with_job)), "follow-up") == []
    assert told(recheck_rules(spoilt(sound(), lambda plan: with_job(plan, "service"))), "follow-up") != []
