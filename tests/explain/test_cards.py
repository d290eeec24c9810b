"""Cards for after a crossing: what each depth adds, and how the plan moves. Never whether to drive."""

from datetime import date
from typing import Any

import pytest

from tests.small import (
    DEPART,
    TODAY,
    camper,
    crossing,
    leg,
    rig,
    row,
    stop,
    tables,
    thing,
    trip,
    wagon,
    water_rule,
)
from tripplan.explain.card_places import CardJob
from tripplan.explain.cards import (
    BANK_STEPS,
    CardCase,
    CrossingCard,
    case_depths_m,
    crossing_cards,
)
from tripplan.planner import look_around
from tripplan.water.grades import Easy
from tripplan.water.lines import BowWave

HUB = thing("bearings", positions="left;right", points="hub_centre", water="high", km=90000)
LOW = thing("knuckle", points="knuckle_lower", water="high", km=90000)
LAMP = thing("lamps", points="lamp", water="high", km=90000)
FRAME = thing("frame", points="axle_centre", water="high", km=90000)
RULES = (
    water_rule("bearings", "bank", "look", within_hours=1),
    water_rule("bearings", "days", "look", within_days=2, within_km=500, sample=True),
    water_rule("bearings", "before remote", "repack", within_days=5, resets=True, facility="town"),
    water_rule("knuckle", "night", "look", within_hours=24),
    water_rule("lamps", "night", "look", within_hours=24),
    water_rule("frame", "bank", "clean", water="salt", within_hours=1),
    water_rule("bearings", "halt", "look", within_km=50, from_grade=3),
)
WAVE, LIMITS = BowWave(0.10, 0.25, 0.10, 0.25), Easy(0.51, 5, 30)
UNIT = wagon(heights_mm={"knuckle_lower": 300, "lamp": 620, "door_sill": 650})
LEGS = (leg(1, 300), leg(2, 400, date(2026, 7, 3)), leg(3, 300, date(2026, 7, 9), remote=True))
STOP = stop("Town", 2, date(2026, 7, 4), facility="town", minutes=300)


def cards(*crossings: Any, **changes: Any) -> tuple[CrossingCard, ...]:
    """The cards of a trip of three legs with a town behind the second."""
    items = (HUB, LOW, LAMP, FRAME)
    done = [row(date(2026, 6, 1), 0, item.id, "repack", n) for n, item in enumerate(items, 3)]
    one = trip(*LEGS, crossings=crossings, stops=changes.pop("stops", (STOP,)))
    known = tables(*items, water_rules=RULES)
    return crossing_cards(look_around(changes.pop("on", rig(UNIT)), (*done, row(TODAY, 0)), one, known, TODAY))


def acts(card: CrossingCard, key: str) -> set[tuple[str, str, str]]:
    """Window, act and name of everything a case adds."""
    return {
        (w.when, a.act, name) for w in card.windows for line in w.lines if line.case == key
        for a in line.acts for name in a.names
    }  # fmt: skip


def by_key(card: CrossingCard) -> dict[str, CardCase]:
    """The cases of a card by their key."""
    return {case.key: case for case in card.cases}


def test_one_card_for_each_crossing_still_ahead() -> None:
    """If not, a ford would be met without a card, or a card carried for one already behind."""
    made = crossing(1, 10, 0.4, crossed=date(2026, 6, 19))
    found = cards(made, crossing(2, 20, 0.4), crossing(2, 60, 0.2))
    assert [(card.leg, card.at_km, card.date) for card in found] == [
        (2, 20, date(2026, 7, 3)), (2, 60, date(2026, 7, 3)),
    ]  # fmt: skip
    assert cards(made) == ()


def test_the_depths_of_the_cases_follow_from_the_heights() -> None:
    """If not, the card would name a depth at which something else happens.

    By hand: tyre 0.80 m, hub centre 0.40 m; with 0.10 m of bow wave the hubs are reached at 0.30 m.
    """
    depths = case_depths_m([UNIT], WAVE, LIMITS)
    assert depths["below"][1] < 0.30 and depths["below"][1] == pytest.approx(0.30, abs=0.002)
    # as deep as easy may be, 20 in; the lamp at 0.62 m is the lowest point of the floor, 0.52 m deep with the wave
    assert depths["reached"] == (pytest.approx(0.30, abs=0.002), 0.51)
    assert depths["above"] == (pytest.approx(0.52), 0.65)
    assert case_depths_m([camper()], WAVE, LIMITS) == {}
    assert case_depths_m([wagon()], WAVE, LIMITS)["above"] == (0.80, 0.80)  # no height given: the tyre's top


def test_the_lowest_hub_of_the_whole_rig_decides_what_below_means() -> None:
    """If not, a trailer with small wheels would go under while the card says nothing is."""
    low = camper(heights_mm={"hub_centre": 300})
    assert case_depths_m([UNIT, low], WAVE, LIMITS)["below"][1] == pytest.approx(0.20, abs=0.002)


def test_each_case_adds_to_the_one_above_it() -> None:
    """If not, an act would be read twice, or left out by who reads one case only."""
    (card,) = cards(crossing(2, 20, 0.35, minutes=3))
    assert [case.key for case in card.cases] == ["below", "reached", "hard", "above", "stalled", "salt"]
    assert acts(card, "below") == {("night", "look", "Knuckle")}
    assert acts(card, "reached") == {
        ("bank", "look", "Bearings"), ("days", "look", "Bearings, left"), ("before remote", "repack", "Bearings"),
    }  # fmt: skip
    assert acts(card, "hard") == {("days", "look", "Bearings, right"), ("halt", "look", "Bearings")}
    assert acts(card, "above") == {("night", "look", "Lamps")}
    assert acts(card, "salt") == {("bank", "clean", "Frame")}


def test_the_windows_stand_in_the_order_of_the_hours() -> None:
    """If not, who reads from the top would repack a hub before the brakes are dry."""
    (card,) = cards(crossing(2, 20, 0.35, minutes=3))
    assert [window.when for window in card.windows] == ["bank", "halt", "night", "days", "before remote"]
    assert card.windows[0].steps == BANK_STEPS
    assert "brakes" in BANK_STEPS[2].lower() and "150 m" in BANK_STEPS[2]


def test_what_a_look_decides_is_not_on_the_card() -> None:
    """If not, the card would ask for the very work that a clean look spares."""
    told = water_rule("bearings", "before remote", "repack", within_days=5, from_grade=5, told_from=2)
    known = tables(HUB, water_rules=(told,))
    one = trip(*LEGS, crossings=(crossing(2, 20, 0.35),), stops=(STOP,))
    (card,) = crossing_cards(look_around(rig(UNIT), (row(TODAY, 0),), one, known, TODAY))
    assert acts(card, "reached") == set() and acts(card, "hard") == set()
    assert acts(card, "stalled") == {("before remote", "repack", "Bearings")}


def test_a_stalled_engine_is_left_alone_and_no_hub_is_a_sample() -> None:
    """If not, the driver would crank a wet engine, or open one hub and trust the other."""
    (card,) = cards(crossing(2, 20, 0.35, minutes=3))
    assert "do not crank" in by_key(card)["stalled"].notes[0]
    assert any("Stopped in the water: do not turn it" in step for step in card.windows[0].steps)
    assert ("days", "look", "Bearings, right") in acts(card, "hard")


def test_the_planned_depth_marks_its_case() -> None:
    """If not, the reader would not see which case the plan already holds."""
    for depth_m, key in ((0.15, "below"), (0.35, "reached"), (0.40, "reached"), (0.513, "hard"), (0.60, "above")):
        card = cards(crossing(2, 20, depth_m))[0]
        assert [case.key for case in card.cases if case.as_planned] == [key]


def test_jobs_a_deeper_crossing_adds_are_named_at_their_stop() -> None:
    """If not, nobody would see that the town stop fills up. Hubs under: two repacks before the remote leg."""
    found = by_key(cards(crossing(2, 20, 0.25))[0])
    assert found["below"].places == ()
    (town,) = found["reached"].places
    assert (town.place, town.day, town.jobs) == ("Town", date(2026, 7, 4), (CardJob(act="repack", name="bearings"),))


def test_what_the_plan_holds_already_is_not_added_again() -> None:
    """If not, the card would count the same repack twice."""
    found = by_key(cards(crossing(2, 20, 0.35))[0])
    assert found["reached"].places == ()


def test_work_that_no_stop_is_in_time_for_is_said() -> None:
    """If not, wet hubs would be taken into the remote leg without a word."""
    found = by_key(cards(crossing(2, 20, 0.25), stops=())[0])
    (nowhere,) = found["reached"].places
    assert (nowhere.day, nowhere.jobs) == (None, (CardJob(act="repack", name="bearings"),))


def test_salt_water_planned_needs_no_case_of_its_own() -> None:
    """If not, the card of a salt crossing would hide the rinse at its end."""
    (card,) = cards(crossing(2, 20, 0.35, water="salt"))
    assert "salt" not in by_key(card) and ("bank", "clean", "Frame") in acts(card, "reached")


def test_no_hub_height_gives_the_planned_case_only() -> None:
    """If not, depths would be invented for a rig nobody measured."""
    bare = wagon(tyre_diameter_mm=None, heights_mm={"lamp": 620})
    (case,) = cards(crossing(2, 20, 0.6), on=rig(bare))[0].cases
    assert (case.key, case.from_m, case.to_m) == ("planned", None, None)


def test_equal_inputs_give_equal_cards() -> None:
    """If not, a card printed again would differ without a reason."""
    assert cards(crossing(2, 20, 0.35)) == cards(crossing(2, 20, 0.35))


def test_departure_day_is_not_needed() -> None:
    """If not, cards could only be printed before the trip, not on the way."""
    assert cards(crossing(2, 20, 0.35))[0].date >= DEPART


def test_a_trailer_is_spoken_of_only_where_one_is_towed() -> None:
    """If not, the card would send the driver of a lone wagon to a lever that is not there, or leave a trailer's brakes wet."""
    both, towed = rig(UNIT, camper(heights_mm={"hub_centre": 350})), (leg(1, 300, towing=True), *LEGS[1:])
    alone, left_behind, behind = (
        " ".join(
            text
            for window in crossing_cards(
                look_around(
                    on,
                    (row(TODAY, 0),),
                    trip(*legs, crossings=(crossing(1, 20, 0.35),)),
                    tables(HUB, water_rules=RULES),
                    TODAY,
                )
            )[0].windows
            for text in window.steps
        )
        for on, legs in ((rig(UNIT), LEGS), (both, LEGS), (both, towed))
    )
    assert "trailer" not in alone + left_behind
    assert "trailer by its lever" in behind and "trailer hubs before they stand a night" in behind
