"""What was found bad: how soon it has to be put right, and that no place with the time is passed by.

The days are those of TM 5-3825-229-14&P para 2-31 (the service within 5 days of fording, read in part).
"""

from datetime import date, timedelta

import pytest

from tests.small import (
    SOURCED,
    TODAY,
    crossing,
    leg,
    looked_at,
    planned,
    row,
    stop,
    tables,
    thing,
    trip,
    water_rule,
    workshop,
)
from tripplan.due.standing import Situation, Standing
from tripplan.placing.found_bad import days_and_km, last_in_time, price_of_leaving
from tripplan.placing.problem import build_sites
from tripplan.records.catalogue import Item
from tripplan.records.facts_in import Trip
from tripplan.records.mending import Remedy

OIL = thing("oil", name="Oil", act="drain and refill", place="engine sump", state="drained", km=10000, minutes=20)
RULE = water_rule("oil", "days", "drain and refill", from_grade=5, minutes=20, state="drained", resets=True,
                  within_days=2, within_km=500)  # fmt: skip


def found(
    one_trip: Trip, day: date, finding: str = "water", rules: tuple[object, ...] = (), item: Item = OIL
) -> tuple[Situation, Standing]:
    """The oil, drained three weeks ago, with that found in it on that day."""
    rows = (
        row(date(2026, 6, 1), 0, "oil", "drain and refill"), row(day, 100, "oil", "look", number=5, finding=finding),
        row(TODAY, 200, number=9),
    )  # fmt: skip
    s, (standing,) = looked_at(one_trip, *rows, catalogue=tables(item, water_rules=rules))
    return s, standing


def with_days(*days: int) -> Trip:
    """Days at home so many days from today, then 1000 km with a stop half-way."""
    legs = (leg(1, 500), leg(2, 500, date(2026, 7, 6)))
    return trip(*legs, stops=(stop("Gums", 1, date(2026, 7, 2)),),
                workshop_days=tuple(workshop(TODAY + timedelta(days=n)) for n in days))  # fmt: skip


@pytest.mark.parametrize(("rules", "span"), [((), (5.0, None)), ((RULE,), (2.0, 500.0))])
def test_the_days_are_those_of_its_own_row_or_of_the_manual(rules: tuple[object, ...], span: object) -> None:
    """If not, a row that says 2 days would be read as 5, or the other way round."""
    s, standing = found(with_days(1), TODAY, rules=rules)
    assert days_and_km(standing, s) == span


@pytest.mark.parametrize(
    ("days", "last"),
    [((1, 3, 9), 1), ((1, 9), 0), ((6, 9), 0), ((5,), 0)],
    ids=["both within 5 days", "one is", "none is: the first that can", "on the fifth day"],
)
def test_the_last_place_in_time(days: tuple[int, ...], last: int) -> None:
    """If not, it would be called late where it is in time, or left though a place came first."""
    s, standing = found(with_days(*days), TODAY)
    assert last_in_time(standing, build_sites(s.trip, s.timeline, TODAY), s) == last


@pytest.mark.parametrize(
    ("strands", "harms", "days", "last"),
    [(0.5, False, (1, 9), 1), (0.0, True, (1, 9), 1), (0.0, False, (1, 9), None), (0.5, False, (), 0)],
    ids=["can stop the rig", "can hurt somebody", "neither", "no day at home: the first stop"],
)
def test_what_is_known_to_be_worn_is_put_right_before_the_rig_goes_on(
    strands: float, harms: bool, days: tuple[int, ...], last: int | None
) -> None:
    """If not, a joint that clicks would be driven 780 km to a camp with three days in the shed behind it."""
    item = OIL.model_copy(update={"strands": strands, "harms": harms, "harms_by": "wheels" if harms else None})
    s, standing = found(with_days(*days), TODAY, finding="worn", item=item)
    assert last_in_time(standing, build_sites(s.trip, s.timeline, TODAY), s) == last


def test_leaving_it_is_priced_as_a_limit_that_is_broken() -> None:
    """The price of a broken limit once, here 9,000 in thousandths, and once more for each 5 days; after return is 12 July."""
    s, standing = found(with_days(1, 9), TODAY)
    sites = build_sites(s.trip, s.timeline, TODAY)
    price = price_of_leaving(standing, sites, s, 9_000_000.0)
    late = [(site.date - sites[0].date).days for site in sites]
    assert price == [0, *(round(9_000_000 * (1 + days / 5)) for days in late[1:])]
    assert price == sorted(price)


@pytest.mark.parametrize(("minutes", "where"), [(240.0, "stop-1-gums"), (5.0, "after")])
def test_it_is_drained_at_the_first_place_with_the_time(minutes: float, where: str) -> None:
    """If not, water would stay in an axle for 500 km past an empty afternoon."""
    rows = (
        row(date(2026, 6, 1), 0, "oil", "drain and refill"), row(TODAY, 200, "oil", "look", number=5, finding="water"),
        row(TODAY, 200, number=9),
    )  # fmt: skip
    legs = (leg(1, 500), leg(2, 500, date(2026, 7, 6)))
    one = trip(*legs, stops=(stop("Gums", 1, date(2026, 7, 2), minutes=minutes),), holiday_rate_per_hour=600)
    plan = planned(one, *rows, catalogue=tables(OIL))
    assert [slot.id for slot in plan.slots for job in slot.jobs if job.item == "oil"] == [where]
    (told,) = [one.text for one in plan.warnings if one.kind == "found bad"]
    assert "the water should be out within 5 days" in told


def test_what_puts_a_finding_right_is_no_part_of_a_greater_act() -> None:
    """If it were, brakes worn to 2 mm would count as renewed because the hub behind them was packed."""
    pads = thing("pads", act="look", positions="left", family="brake", harms=True, harms_by="brakes", place="front wheel end",
                 state="wheel off", km=10000, months=12)  # fmt: skip
    hub = thing("hub", act="repack", positions="left", place="front wheel end", state="hub off", covers="pads", km=1000)
    mended = Remedy(
        at="brake",
        found=("worn",),
        act="renew",
        minutes=45,
        facility="camp",
        parts_lead_days=0,
        consumables="seal 1",
        **SOURCED,
    )
    rows = (
        row(date(2026, 6, 1), 0, "pads", "look"), row(date(2026, 6, 10), 100, "pads", "look", number=5, finding="worn"),
        row(date(2026, 1, 1), 0, "hub", "repack", number=7), row(TODAY, 2000, number=9),
    )  # fmt: skip
    plan = planned(with_days(1, 9), *rows, catalogue=tables(pads, hub, remedies=(mended,)))
    done = [(job.item, job.act) for slot in plan.slots for job in slot.jobs if slot.kind == "workshop"]
    assert ("hub", "repack") in done and ("pads", "renew") in done


def test_a_worn_joint_is_not_put_right_by_the_grease_after_water() -> None:
    """If it were, a tie-rod end known to be worn would be driven home because a ford had it greased on the way."""
    joint = thing(
        "joint", act="grease", family="joint", harms=True, harms_by="steering", km=10000, months=6, points="hub_centre"
    )
    wet = water_rule("joint", "days", "grease", resets=True, within_days=2, within_km=500)
    mended = Remedy(at="joint", found=("worn",), act="renew", minutes=90, facility="town", parts_lead_days=0, **SOURCED)
    rows = (
        row(date(2026, 6, 1), 0, "joint", "grease"), row(date(2026, 6, 10), 100, "joint", "look", number=5, finding="worn"),
        row(TODAY, 200, number=9),
    )  # fmt: skip
    legs = (leg(1, 500), leg(2, 500, date(2026, 7, 6)), leg(3, 500, date(2026, 7, 9)))
    stops = (
        stop("Ford", 1, date(2026, 7, 2), minutes=120.0, facility="camp"),
        stop("Gums", 2, date(2026, 7, 6), minutes=240.0, facility="town"),
    )
    one = trip(*legs, stops=stops, crossings=(crossing(1, 400, 1.1),))
    plan = planned(one, *rows, catalogue=tables(joint, remedies=(mended,), water_rules=(wet,)))
    done = [
        (slot.id, job.act) for slot in plan.slots for job in slot.jobs if job.item == "joint" and job.kind != "re-check"
    ]
    assert ("stop-1-ford", "grease") in done and ("stop-2-gums", "renew") in done
    assert next(one for one in plan.items if one.item == "joint").placed == ("stop-2-gums",)
