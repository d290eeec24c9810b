"""What the plan leans on without being told, and what it cannot keep."""

from datetime import date
from typing import Any

import pytest

from tests.small import (
    TODAY,
    camper,
    crossing,
    leg,
    only,
    planned,
    row,
    stop,
    tables,
    thing,
    trip,
    wagon,
    water_rule,
    workshop,
)
from tripplan.files.demos import DEMOS, demo_folder
from tripplan.files.plan_folder import quick_plan, read
from tripplan.records.catalogue import Item

LEGS = (leg(1, 1000), leg(2, 1000, date(2026, 7, 10)))
HOME = trip(*LEGS, workshop_days=(workshop(date(2026, 6, 24)),))


def test_everything_not_given_is_listed() -> None:
    """If not, a number of ours would pass for the owner's."""
    bare = wagon(odometer_factor=None, usual_km_per_week=None, hubs=None, usual_speed_kmh=None)
    text = "\n".join(planned(trip(*LEGS), units=(bare,)).assumptions)
    assert "no odometer_factor given" in text
    assert "no usual_km_per_week given" in text
    assert "hubs not given" in text
    assert "mean speed, 50 km/h" in text
    assert "No workshop days are given" in text


def test_what_is_given_is_not_listed() -> None:
    """If not, the list would be too long to be read."""
    text = "\n".join(planned(HOME).assumptions)
    assert "odometer" not in text and "usual" not in text and "workshop" not in text
    assert "depth + 0.1 m" in text


def test_a_share_not_given_counts_in_full_and_says_so() -> None:
    """If not, free-wheeling hubs would be charged in silence."""
    text = "\n".join(planned(HOME, units=(wagon(usual_engaged_share=None),)).assumptions)
    assert "no usual_engaged_share given; ordinary driving counts as engaged in full" in text


def test_a_limit_that_cannot_be_kept_is_a_warning_with_the_overrun() -> None:
    """If not, the plan would look whole while an item runs past its end."""
    # 4700 of 5000 used, 300 left, and the only stop is at km 1000 without a day at home
    one = trip(*LEGS, stops=(stop("Two Wells", 1, date(2026, 7, 5)),))
    rows = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 4700, number=3))
    (text,) = planned(one, *rows, catalogue=tables(thing(km=5000, harms=True, harms_by="brakes"))).warnings
    assert text.text == (
        "Bearings: no workshop day or stop comes before its limit; done at Two Wells on 5 July, 700 km too late."
    )


def test_due_jobs_without_a_place_are_gathered_by_cause() -> None:
    """If not, forty lines would say the same thing."""
    items = (
        thing("one", km=100, harms=True, harms_by="brakes"),
        thing("two", act="renew", km=100, harms=True, harms_by="brakes"),
    )
    (text,) = planned(trip(*LEGS), catalogue=tables(*items)).warnings
    assert text.text.startswith("Done too late, at home, ") or text.text.startswith("Done not at all, because ")
    assert "One; Two" in text.text


def test_parts_that_may_come_late_are_a_warning() -> None:
    """If not, the day would be spent waiting for the post."""
    item = thing(km=100, consumables="seal 1", parts_lead_days=10, harms=True, harms_by="brakes")
    one = trip(*LEGS, stops=(stop("Two Wells", 1, date(2026, 6, 25)),))
    texts = [told.text for told in planned(one, catalogue=tables(item)).warnings]
    assert not any("Parts take about" in text for text in texts)  # placed after the parts can be there
    assert any("cannot arrive before its limit" in text or "too late" in text for text in texts)


def test_a_whole_plan_has_no_warnings() -> None:
    """If not, warnings would be a habit and not be read."""
    rows = (row(date(2026, 6, 1), 0, "bearings", "repack"), row(TODAY, 100, number=3))
    assert planned(HOME, *rows).warnings == ()


TOWED = (leg(1, 500, towing=True), leg(2, 500, date(2026, 7, 10)))
SIDES = thing("bearings", name="Bearings", km=10000, positions="left;right")


def found_bad(
    *sides: str, items: tuple[Any, ...] = (SIDES,), days: tuple[date, ...] = (date(2026, 6, 24),)
) -> list[str]:
    """Warnings of a bad finding on these sides."""
    rows = [row(date(2026, 6, 10), 100, "bearings", "look", number=n, position=side, finding="worn")
            for n, side in enumerate(sides, 5)]  # fmt: skip
    done = [row(date(2026, 6, 1), 0, "bearings", "repack", position="both"), row(TODAY, 200, number=9)]
    one_trip = trip(*TOWED, workshop_days=tuple(workshop(day) for day in days))
    plan = planned(one_trip, *done, *rows, catalogue=tables(*items))
    return [told.text for told in plan.warnings if told.kind == "found bad"]


def test_what_was_found_bad_names_its_side_and_its_day() -> None:
    """If not, the owner would open the wrong hub."""
    assert found_bad("left") == ["Not put right yet: Bearings (left), found worn on 10 June: repack, home, 24 June."]
    assert found_bad("left", "right") == [
        "Not put right yet: Bearings (left and right), found worn on 10 June: repack, home, 24 June."
    ]
    assert found_bad() == []


def test_what_was_found_bad_is_called_by_what_is_done_there() -> None:
    """If not, a knuckle that the day repacks after water would be said to be greased."""
    today = DEMOS["after-crossing"]
    inputs, catalogue, problems = read(demo_folder("after-crossing"), today)
    assert inputs is not None
    plan = quick_plan(inputs, catalogue, today, problems)
    (told,) = [one for one in plan.warnings if one.kind == "found bad"]
    for thing_ in told.about:
        done = [
            job for slot in plan.slots for job in slot.jobs
            if (job.item, job.unit, job.position) == (thing_.item, thing_.unit, thing_.position)
        ]  # fmt: skip
        assert any(f"{job.verb or job.act}, " in told.text for job in done)
    assert "Knuckle chamber (left), found contaminated on 16 August: repack, Home yard, 17 August" in told.text


def test_what_has_no_side_names_none() -> None:
    """If it did, a comma would stand before nothing."""
    rows = (
        row(date(2026, 6, 1), 0, "oil", "renew"), row(date(2026, 6, 10), 100, "oil", "look", number=5, finding="water"),
        row(TODAY, 200, number=9),
    )  # fmt: skip
    plan = planned(trip(*TOWED, workshop_days=(workshop(date(2026, 6, 24)),)), *rows,
                   catalogue=tables(thing("oil", name="Oil", act="renew", km=10000)))  # fmt: skip
    (told,) = [one for one in plan.warnings if one.kind == "found bad"]
    assert told.text == (
        "Not put right yet: Oil, found water on 10 June: renew, home, 24 June "
        "(the first place that can do it; the water should be out within 5 days)."
    )


@pytest.mark.parametrize(
    ("lead", "words"),
    [(3, ""), (4, ""), (5, "Parts take about 5 days and this work is planned in 4 days")],
)
def test_parts_that_come_after_the_work(lead: int, words: str) -> None:
    """If not, the day would be spent waiting for the post: 24 June is four days ahead."""
    item = thing("bearings", name="Bearings", km=100, consumables="seal 1", parts_lead_days=lead, harms=True,
                 harms_by="wheels")  # fmt: skip
    plan = planned(trip(*TOWED, workshop_days=(workshop(date(2026, 6, 24)),)), catalogue=tables(item))
    told = [one.text for one in plan.warnings if one.kind == "parts late"]
    assert [text.startswith(words) for text in told] == ([True] if words and told else [])


TRAILER = "Trailer hubs that were under water in an easy crossing are"


@pytest.mark.parametrize(
    ("choice", "units", "fords", "words"),
    [
        (None, (wagon(), camper()), 1, "looked at first and opened on what is seen, which is our choice"),
        ("look", (wagon(), camper()), 1, "looked at first and opened on what is seen, as trip.toml says"),
        ("repack", (wagon(), camper()), 1, "repacked each time, as trip.toml says"),
        (None, (wagon(),), 1, ""),
        (None, (wagon(), camper()), 0, ""),
    ],
)
def test_whose_choice_the_trailer_hubs_are(choice: str | None, units: tuple[Any, ...], fords: int, words: str) -> None:
    """If not, an owner would take our choice for the trade's."""
    one_trip = trip(*TOWED, crossings=(crossing(1, 100, 0.4),) * fords, trailer_hubs_after_water=choice)
    told = [text for text in planned(one_trip, units=units).assumptions if text.startswith(TRAILER)]
    assert [text.removeprefix(f"{TRAILER} ").startswith(words) for text in told] == ([True] if words else [])


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "An hour of work on the way counts 120, 2 times one at home"),
        ({"holiday_rate_per_hour": 25}, "An hour of work on the way counts 25, as trip.toml says."),
    ],
)
def test_what_an_hour_on_the_way_counts(changes: dict[str, Any], words: str) -> None:
    """If not, nobody could tell why work is done at home."""
    told = planned(trip(*TOWED, **changes), catalogue=tables(assumed={"holiday_hour_factor": 2.0})).assumptions
    assert any(text.startswith(words) for text in told)


HUB = thing("hub", name="Hub", km=40000, points="hub_centre", positions="left;right")
DONE = (row(date(2026, 6, 1), 0, "hub", "repack", position="both"), row(TODAY, 100, number=3))


def homeless(facility: str = "camp", minutes: float = 1000, act_minutes: float = 30, **rule: Any) -> list[str]:
    """What is said of work after a ford on the first leg, with one stop of so many minutes behind it."""
    asks = water_rule("hub", "days", "look", within_days=9, minutes=act_minutes, **{"facility": "town", **rule})
    one_trip = trip(*TOWED, crossings=(crossing(1, 100, 0.5),), workshop_days=(workshop(date(2026, 6, 24)),),
                    stops=(stop("Gums", 1, date(2026, 7, 3), facility=facility, minutes=minutes),))  # fmt: skip
    plan = planned(one_trip, *DONE, catalogue=tables(HUB, water_rules=(asks,)))
    return [told.text for told in plan.warnings if told.kind == "water work without a place"]


def test_work_after_water_without_a_place_says_why_and_on_which_side() -> None:
    """If not, the owner could not tell whether a longer stop or a better one would help."""
    head, tail = "Crossing on leg 1 at km 100:", "; do it at camp by the dates given, or add a stop."
    both = "Hub left, Hub right"
    assert homeless(facility="town") == []
    assert homeless() == [f"{head} no stop in its window can take {both}{tail}"]
    assert homeless("town", minutes=20) == [f"{head} no stop in its window is long enough for {both}{tail}"]
    assert homeless(once=True) == [f"{head} no stop in its window can take Hub{tail}"]


def test_work_that_may_wait_for_home_needs_no_place() -> None:
    """Only what is opened within days or before a remote leg is missed."""
    later = water_rule("hub", "later", "look", within_km=900, minutes=30, facility="workshop")
    one_trip = trip(*TOWED, crossings=(crossing(1, 100, 0.5),))
    plan = planned(one_trip, *DONE, catalogue=tables(HUB, water_rules=(later,)))
    assert [told for told in plan.warnings if told.kind == "water work without a place"] == []


def overhaul(**changes: Any) -> Item:
    """A bearing that is opened after years, whose own play tells whether it has to be."""
    values: dict[str, Any] = {"harms": True, "harms_by": "wheels", "follow_ups": "play 50-100 km"}
    return thing(months=36, minutes=40, **{**values, **changes})


def test_no_record_of_what_harms_is_a_look_with_a_place() -> None:
    """If not, bearings that nobody knows would be told in a side remark, and not when they are looked at."""
    look = thing("play", act="measure", months=6, minutes=10, strands=0)
    plan = planned(HOME, catalogue=tables(overhaul(), look))
    found = only(plan, "bearings")
    assert found.left_shut and found.look_instead is not None and not found.placed
    assert (found.look_instead.item, found.look_instead.slot) == ("play", "workshop-2026-06-24")
    assert plan.warnings == ()
    (told,) = [reason.text for reason in found.reasons if reason.kind == "left shut"]
    assert told == "Not opened without a record alone, but on what a look finds: play on 24 June, home."


def test_no_record_of_what_harms_and_no_look_is_told_at_the_top() -> None:
    """If not, a rig would leave on bearings that nobody opened and nobody looks at."""
    look = thing("play", act="measure", months=6, strands=0, parts_lead_days=60, consumables="seal 1")
    plan = planned(HOME, catalogue=tables(overhaul(), look))
    (text,) = [told for told in plan.warnings if told.kind == "no record and no look"]
    assert text.only is not None and text.only.item == "bearings"
    assert text.text.endswith("ask who had it open last: Bearings.")
    assert only(plan, "bearings").look_instead is None


def test_no_record_of_what_no_look_tells_of_is_renewed_like_anything_else() -> None:
    """If not, a timing belt of unknown age would be left shut until a look finds play, leaks or noise."""
    elsewhere = thing("play", act="measure", months=6, place="outside", strands=0)
    plans = [planned(HOME, catalogue=tables(*items)) for items in ((overhaul(follow_ups=""),), (overhaul(), elsewhere))]
    assert only(plans[0], "bearings").placed == ("workshop-2026-06-24",)
    assert all(only(plan, "bearings").placed and not only(plan, "bearings").left_shut for plan in plans)


def test_what_neither_harms_nor_stops_the_rig_is_no_warning() -> None:
    """If it were, the plugs of an engine would stand beside wheel bearings."""
    mild = thing(months=36, minutes=40, strands=0.25)
    assert planned(HOME, catalogue=tables(mild)).warnings == ()


@pytest.mark.parametrize(("minutes", "is_told"), [(240, True), (5, False)])
def test_a_place_with_time_for_what_was_found_is_told_where_it_waits_for_home(minutes: float, is_told: bool) -> None:
    """If not, water would stay in an axle for 800 km past an empty afternoon in a town, and nobody had been told of it."""
    rows = (
        row(date(2026, 6, 1), 0, "oil", "renew"), row(date(2026, 6, 10), 100, "oil", "look", number=5, finding="water"),
        row(TODAY, 200, number=9),
    )  # fmt: skip
    dear = trip(*TOWED, stops=(stop("Gums", 1, date(2026, 7, 5), minutes=minutes),), holiday_rate_per_hour=100_000)
    plan = planned(dear, *rows, catalogue=tables(thing("oil", name="Oil", act="renew", km=10000)))
    (told,) = [one.text for one in plan.warnings if one.kind == "found bad"]
    assert "renew, home" in told and ("there is time for it sooner, at Gums" in told) is is_told
