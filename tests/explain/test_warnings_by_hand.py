"""Warnings and assumptions with sides, days and the owner's choice in them: one rig, one thing changed."""

from datetime import date
from typing import Any

import pytest

from tests.small import TODAY, camper, crossing, leg, planned, row, tables, thing, trip, wagon, workshop

LEGS = (leg(1, 500, towing=True), leg(2, 500, date(2026, 7, 10)))
SIDES = thing("bearings", name="Bearings", km=10000, positions="left;right")


def found_bad(
    *sides: str, items: tuple[Any, ...] = (SIDES,), days: tuple[date, ...] = (date(2026, 6, 24),)
) -> list[str]:
    """Warnings of a bad finding on these sides."""
    rows = [row(date(2026, 6, 10), 100, "bearings", "look", number=n, position=side, finding="worn")
            for n, side in enumerate(sides, 5)]  # fmt: skip
    done = [row(date(2026, 6, 1), 0, "bearings", "repack", position="both"), row(TODAY, 200, number=9)]
    one_trip = trip(*LEGS, workshop_days=tuple(workshop(day) for day in days))
    plan = planned(one_trip, *done, *rows, catalogue=tables(*items))
    return [told.text for told in plan.warnings if told.kind == "found bad"]


def test_what_was_found_bad_names_its_side_and_its_day() -> None:
    """If not, the owner would open the wrong hub."""
    assert found_bad("left") == [
        "Not put right yet: Bearings (wagon, left), found worn on 10 June: repack, home, 24 June."
    ]
    assert found_bad("left", "right") == [
        "Not put right yet: Bearings (wagon, left and right), found worn on 10 June: repack, home, 24 June."
    ]
    assert found_bad() == []


def test_what_has_no_side_names_none() -> None:
    """If it did, a comma would stand before nothing."""
    rows = (
        row(date(2026, 6, 1), 0, "oil", "renew"), row(date(2026, 6, 10), 100, "oil", "look", number=5, finding="water"),
        row(TODAY, 200, number=9),
    )  # fmt: skip
    plan = planned(trip(*LEGS, workshop_days=(workshop(date(2026, 6, 24)),)), *rows,
                   catalogue=tables(thing("oil", name="Oil", act="renew", km=10000)))  # fmt: skip
    (told,) = [one for one in plan.warnings if one.kind == "found bad"]
    assert told.text == "Not put right yet: Oil (wagon), found water on 10 June: renew, home, 24 June."


@pytest.mark.parametrize(
    ("lead", "words"),
    [(3, ""), (4, ""), (5, "Parts take about 5 days and this work is planned in 4 days")],
)
def test_parts_that_come_after_the_work(lead: int, words: str) -> None:
    """If not, the day would be spent waiting for the post: 24 June is four days ahead."""
    item = thing("bearings", name="Bearings", km=100, consumables="seal 1", parts_lead_days=lead, harms=True,
                 harms_by="wheels")  # fmt: skip
    plan = planned(trip(*LEGS, workshop_days=(workshop(date(2026, 6, 24)),)), catalogue=tables(item))
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
    one_trip = trip(*LEGS, crossings=(crossing(1, 100, 0.4),) * fords, trailer_hubs_after_water=choice)
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
    told = planned(trip(*LEGS, **changes), catalogue=tables(assumed={"holiday_hour_factor": 2.0})).assumptions
    assert any(text.startswith(words) for text in told)
