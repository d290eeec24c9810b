"""What a crossing reaches, and what it calls for by when. Never whether it may be driven."""

from datetime import date
from typing import Any

import pytest

from tests.small import camper, crossing, leg, row, tables, thing, trip, wagon, water_rule
from tripplan.records.catalogue import Item
from tripplan.records.facts_in import Crossing, HistoryRow, Leg, Unit
from tripplan.trip.timeline import Timeline, build_timeline
from tripplan.water.crossing import (
    Call,
    calls,
    crossing_date,
    immersed_items,
    point_height_m,
    unknown_points,
    water_grades,
    wet_spans,
    wetting,
)
from tripplan.water.lines import BowWave
from tripplan.wear.last_done import read_history

ALLOWANCE_M = BowWave(front_m=0.10, front_high_m=0.25, elsewhere_m=0.10, elsewhere_high_m=0.25)
HUB = thing("hub", positions="left;right", points="hub_centre", water="high", km=40000)
BREATHER = thing("breather", points="breather_end", water="high", km=40000)
LEGS = (leg(1, 300), leg(2, 400, date(2026, 7, 5), remote=True), leg(3, 100, date(2026, 7, 9)))


def line(*crossings: Crossing, legs: tuple[Leg, ...] = LEGS) -> Timeline:
    """Three legs with those crossings."""
    return build_timeline(trip(*legs, crossings=crossings), 8)


def called(
    item: Item, *rules: Any, at: Crossing, rows: tuple[HistoryRow, ...] = (), unit: Unit | None = None,
    legs: tuple[Leg, ...] = LEGS,
) -> tuple[Call, ...]:  # fmt: skip
    """Everything one crossing calls for at one item."""
    known = tables(item, water_rules=tuple(rules))
    pairs = [(unit or wagon(), item, side) for side in item.positions or (None,)]
    return calls(pairs, line(at, legs=legs), known, read_history(rows, known), ALLOWANCE_M)


def test_the_water_line_is_depth_plus_bow_wave() -> None:
    """If not, hubs that were under would be left closed, or dry ones opened for nothing.

    Worked by hand: tyre 0.80 m, hub centre 0.40 m; 0.45 m of water + 0.10 m = 0.55 m, reached.
    """
    unit = wagon(tyre_diameter_mm=800, heights_mm={"breather_end": 1100})
    ford = crossing(1, 10, 0.45)
    wet = wetting(HUB, unit, ford, ALLOWANCE_M)
    assert (wet.grade, wet.point, wet.height_m) == (2, "hub_centre", 0.40)
    assert wet.water_line_m == pytest.approx(0.55)
    assert wetting(BREATHER, unit, ford, ALLOWANCE_M).grade == 1  # 0.55 < 1.10: splashed only


@pytest.mark.parametrize(("depth_m", "grade"), [(0, 0), (0.05, 1), (0.299, 1), (0.30, 2), (1.5, 2)])
def test_reaching_the_point_exactly_counts_as_under(depth_m: float, grade: int) -> None:
    """If not, the edge of the rule would be on the careless side: 0.30 + 0.10 = 0.40 m."""
    assert wetting(HUB, wagon(), crossing(1, 10, depth_m), ALLOWANCE_M).grade == grade


def test_given_heights_come_before_half_the_tyre() -> None:
    """If not, an owner who measured would be told what the tyre says."""
    assert point_height_m(wagon(heights_mm={"hub_centre": 395}), "hub_centre") == 0.395
    assert point_height_m(wagon(), "axle_centre") == 0.40
    assert point_height_m(wagon(), "lamp") is None
    assert point_height_m(camper(), "hub_centre") is None


def test_the_lowest_point_decides() -> None:
    """If not, a high breather would hide a low fill plug."""
    item = thing("diff", points="breather_end;axle_centre", water="high")
    wet = wetting(item, wagon(heights_mm={"breather_end": 900}), crossing(1, 10, 0.45), ALLOWANCE_M)
    assert (wet.grade, wet.point) == (2, "axle_centre")


def test_a_height_nobody_gave_is_said_and_not_guessed() -> None:
    """If not, a missing height would pass for a dry part."""
    assert unknown_points(wagon(), [HUB, BREATHER]) == ("wagon: breather_end",)
    other = BREATHER.model_copy(update={"points": ("breather_end", "airbox_seam")})
    assert unknown_points(wagon(), [HUB, BREATHER, other]) == ("wagon: airbox_seam, breather_end",)  # each point once
    assert wetting(BREATHER, wagon(), crossing(1, 10, 2), ALLOWANCE_M).grade == 1


def test_a_trailer_gets_wet_only_where_it_is_towed() -> None:
    """If not, the camper left in town would be repacked for a ford it never saw."""
    item = thing("hubs", unit_kind="trailer", points="hub_centre", water="high")
    unit = camper(heights_mm={"hub_centre": 350})
    legs = (leg(1, 300, towing=True), leg(2, 400, date(2026, 7, 5)))
    one = line(crossing(1, 10, 0.5), crossing(2, 10, 0.5), legs=legs)
    assert water_grades(item, unit, one, ALLOWANCE_M, 0.4) == (2, 0)
    assert water_grades(HUB, wagon(), one, ALLOWANCE_M, 0.4) == (2, 2)


def test_splash_reaches_only_so_far_above_the_water() -> None:
    """If not, a ford of 0.20 m would wear the mouth of a snorkel at 1.95 m."""
    mouth = thing("mouth", points="intake_mouth", water="high")
    one = line(crossing(1, 10, 0.2), crossing(1, 20, 0.9))
    # water lines at 0.30 and 1.00 m; 0.4 m of splash above them reach 0.70 and 1.40 m
    assert water_grades(mouth, wagon(heights_mm={"intake_mouth": 1950}), one, ALLOWANCE_M, 0.4) == (0, 0)
    assert water_grades(mouth, wagon(heights_mm={"intake_mouth": 1400}), one, ALLOWANCE_M, 0.4) == (0, 1)
    assert water_grades(mouth, wagon(heights_mm={"intake_mouth": 700}), one, ALLOWANCE_M, 0.4) == (1, 2)
    assert water_grades(mouth, wagon(), one, ALLOWANCE_M, 0.4) == (1, 1)  # no height given: splashed


def test_each_km_behind_the_water_counts_once() -> None:
    """If not, three fords in a row would wear the same kilometres three times."""
    one = line(crossing(1, 100, 0.5), crossing(1, 120, 0.5), crossing(1, 250, 0.2))
    reach_km = (0.0, 50.0, 100.0)
    # immersed from 100 to 200 by the first, from 200 to 220 by the second; splash from 250 to 300
    assert km_of((2, 2, 1), one, reach_km) == [(100, 0, 0), (20, 0, 0), (50, 0, 0)]
    assert km_of((2, 1, 0), one, reach_km) == [(100, 0, 0), (0, 0, 0), (0, 0, 0)]  # splash inside the wet
    # splash from 100 to 150; immersed from 120 to 220, 30 km of which were splashed
    assert km_of((1, 2, 0), one, reach_km) == [(50, 0, 0), (70, 30, 0), (0, 0, 0)]
    trip_ends = km_of((0, 0, 2), one, (0.0, 50.0, 1e6))
    assert trip_ends == [(0, 0, 0), (0, 0, 0), (one.total_km - 250, 0, 0)]
    assert km_of((0, 0, 0), one, reach_km) == [(0, 0, 0)] * 3


def km_of(grades: tuple[int, ...], one: Timeline, reach_km: tuple[float, ...]) -> list[tuple[float, ...]]:
    """For each crossing the km it keeps wet, dry before, splashed before, and under before."""
    return [
        tuple(sum(end - start for start, end in spans) for spans in of_one)
        for of_one in wet_spans(grades, one, reach_km)
    ]


def test_immersed_items_name_the_side_and_the_point() -> None:
    """If not, the list after a crossing would not say what to open."""
    pairs = [(wagon(), HUB, "left"), (wagon(), HUB, "right"), (wagon(), BREATHER, None)]
    found = immersed_items(0, pairs, line(crossing(1, 10, 0.45)), ALLOWANCE_M)
    assert [(one.item, one.position, one.point) for one in found] == [
        ("hub", "left", "hub_centre"), ("hub", "right", "hub_centre"),
    ]  # fmt: skip


def test_windows_in_days_and_km_count_from_the_crossing() -> None:
    """If not, the two days or 500 km would start at departure."""
    rule = water_rule("hub", "days", "look", within_days=2, within_km=500)
    left, right = called(HUB, rule, at=crossing(1, 100, 0.5))
    assert (left.after_km, left.by_km, left.by_date) == (100, 600, date(2026, 7, 3))
    assert (left.position, right.position) == ("left", "right")


def test_the_same_night_is_by_the_next_day() -> None:
    """If not, level plugs would be looked at a week later."""
    (call,) = called(BREATHER, water_rule("breather", "night", "look", within_hours=24), at=crossing(1, 100, 2),
                     unit=wagon(heights_mm={"breather_end": 900}))  # fmt: skip
    assert (call.by_km, call.by_date) == (None, date(2026, 7, 2))


def test_before_the_next_remote_leg() -> None:
    """If not, a wet hub would be taken along into the leg where help is furthest."""
    rule = water_rule("hub", "before remote", "repack", within_days=5)
    call = called(HUB, rule, at=crossing(1, 100, 0.5))[0]
    assert (call.by_km, call.by_date) == (300, date(2026, 7, 6))  # leg 2 is remote and starts at 300
    on_the_remote_leg = called(HUB, rule, at=crossing(2, 50, 0.5))[0]
    assert on_the_remote_leg.by_km is None  # no remote leg comes after it


def test_muddy_and_salt_rules_hold_for_their_water_only() -> None:
    """If not, salt would be left on, or clean water would call for a strip-down."""
    rules = [water_rule("hub", "night", "clean", water=kind) for kind in ("any", "muddy", "salt")]
    found = {
        water: {call.rule.water for call in called(HUB, *rules, at=crossing(1, 10, 0.5, water=water))}
        for water in ("fresh", "muddy", "salt")
    }
    assert found == {"fresh": {"any"}, "muddy": {"any", "muddy"}, "salt": {"any", "salt"}}


def test_a_splash_calls_for_nothing() -> None:
    """If not, every puddle would fill the worksheet."""
    assert called(HUB, water_rule("hub", "night", "look"), at=crossing(1, 10, 0.2)) == ()


def test_the_day_of_a_crossing() -> None:
    """If not, windows would run from the wrong day."""
    one = line(crossing(2, 350, 0.5), crossing(2, 390, 0.5, crossed=date(2026, 7, 8)))
    assert crossing_date(0, one) == date(2026, 7, 5)
    assert crossing_date(1, one) == date(2026, 7, 8)


REPACK = water_rule("hub", "before remote", "repack", within_days=5)
LOOK = water_rule("hub", "days", "look", within_days=2)
MADE = date(2026, 7, 1)


def after(*rows: HistoryRow, water: str = "fresh") -> list[tuple[str | None, str]]:
    """Side and act of what is still open after those rows."""
    ford = crossing(1, 100, 0.5, crossed=MADE, water=water)
    return [(call.position, call.rule.act) for call in called(HUB, LOOK, REPACK, at=ford, rows=rows)]


OPEN = [("left", "look"), ("left", "repack"), ("right", "look"), ("right", "repack")]


def test_what_was_done_since_the_crossing_is_settled() -> None:
    """If not, the owner would be sent to open a hub that was just packed."""
    assert after() == OPEN
    assert after(row(date(2026, 7, 2), None, "hub", "repack", position="left")) == OPEN[2:]
    assert after(row(date(2026, 6, 30), None, "hub", "repack", position="left")) == OPEN  # before the water


def test_a_clean_look_relaxes_the_repack_in_fresh_water_only() -> None:
    """If not, opened and still perfect would change nothing, or silt would be trusted."""
    seen = row(date(2026, 7, 2), None, "hub", "look", position="left", finding="as new")
    assert after(seen) == OPEN[2:]
    assert after(seen, water="muddy") == [("left", "repack"), *OPEN[2:]]


def test_a_bad_look_settles_nothing_but_the_repack_does() -> None:
    """If not, water found in a hub would be ticked off as looked at."""
    seen = row(date(2026, 7, 2), None, "hub", "look", position="left", finding="water")
    assert ("left", "repack") in after(seen)
    packed = row(date(2026, 7, 2), None, "hub", "repack", position="left", finding="water")
    assert after(packed) == OPEN[2:]


def test_a_planned_crossing_is_never_settled() -> None:
    """If not, work done before the trip would pass for work after a ford still to come."""
    rows = (row(date(2026, 7, 2), None, "hub", "repack", position="both"),)
    assert len(called(HUB, REPACK, at=crossing(1, 100, 0.5), rows=rows)) == 2


@pytest.mark.parametrize(
    ("finding", "asked"),
    [("water", [("left", "repack")]), ("contaminated", [("left", "repack")]), ("worn", []), ("failed", [])],
)
def test_above_the_water_only_water_or_dirt_that_is_found_calls_for_anything(
    finding: str, asked: list[tuple[str, str]]
) -> None:
    """If not, a worn joint found the day after would have dry hubs taken apart for a ford that came to the rims."""
    repack = water_rule("hub", "before remote", "repack", within_days=5, decided_by="hub look", told_from=2)
    shallow = crossing(1, 100, 0.1, crossed=MADE)
    seen = row(date(2026, 7, 2), None, "hub", "look", position="left", finding=finding)
    assert [(call.position, call.rule.act) for call in called(HUB, repack, at=shallow, rows=(seen,))] == asked
