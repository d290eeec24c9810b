"""How far gone an item is at every slot: reckoned by hand from the figures of a plan written here."""

from datetime import date
from typing import Any

import pytest

from tests.small import DEPART, TODAY, camper, leg, tables, thing, trip, wagon
from tests.verify.small_facts import facts
from tripplan.records.facts_in import Unit
from tripplan.verify.facts import Facts
from tripplan.verify.shares import is_overhaul, per_km, shares_of

DAY = {"kind": "workshop", "date": "2026-06-25", "after_leg": 0}
FIRST = {"kind": "stop", "date": "2026-07-03", "after_leg": 1}
SECOND = {"kind": "stop", "date": "2026-07-08", "after_leg": 2}
HOME = {"kind": "after", "date": "2026-08-01", "after_leg": 2}
TEN_A_DAY = {"usual_km_per_week": 70}


@pytest.mark.parametrize(
    ("unit", "meter", "on_leg", "usual"),
    [
        (wagon(), "km", 1.0, 1.0),
        (camper(), "km", 1.0, 1.0),
        (wagon(usual_towing_share=0.25), "towing_km", 1.0, 0.25),
        (wagon(usual_towing_share=None), "towing_km", 1.0, 1.0),
        (camper(usual_towing_share=0.25), "towing_km", 1.0, 1.0),
        (wagon(), "engine_hours", 1 / 40, 0.0),
        (camper(), "engine_hours", 0.0, 0.0),
        (wagon(usual_low_range_share=0.03), "low_range_km", 0.12, 0.03),
        (wagon(usual_low_range_share=None), "low_range_km", 0.12, 1.0),
        (camper(), "low_range_km", 0.0, 0.0),
        (wagon(usual_engaged_share=0.02), "engaged_km", 0.3, 0.02),
        (wagon(usual_engaged_share=None), "engaged_km", 0.3, 1.0),
        (wagon(hubs="fixed"), "engaged_km", 1.0, 1.0),
        (wagon(drive="full-time"), "engaged_km", 1.0, 1.0),
        (wagon(drive="rear"), "engaged_km", 0.0, 0.0),
        (camper(), "engaged_km", 0.0, 0.0),
    ],
)
def test_what_a_km_takes_of_a_meter(unit: Unit, meter: str, on_leg: float, usual: float) -> None:
    """If not, the checker would hold the plan against another rig: the rule of each meter stands in the README."""
    towed = leg(1, 100, towing=True, speed_kmh=40, low_range_km=12, hubs=0.3)
    assert per_km(unit, meter, towed) == pytest.approx(on_leg)
    assert per_km(unit, meter, None) == pytest.approx(usual)


@pytest.mark.parametrize(("unit", "meter", "share"), [
    (camper(), "km", 0.0), (wagon(), "km", 1.0), (camper(), "towing_km", 0.0), (wagon(), "towing_km", 0.0),
    (wagon(), "engaged_km", 1.0),
])  # fmt: skip
def test_a_trailer_left_at_home_uses_nothing(unit: Unit, meter: str, share: float) -> None:
    """If it did, its bearings would wear on legs that it never saw; hubs that nobody states are locked."""
    assert per_km(unit, meter, leg(1, 100, towing=False, hubs=None)) == share


def limit(meter: str, interval: float, used: float | None, at_departure: float | None = None) -> dict[str, Any]:
    """One limit of a plan's item."""
    return {"meter": meter, "interval": interval, "used": used, "at_departure": at_departure}


def entry(*limits: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """An item of a plan: 300 km at 1.5 and 50 for water on the first leg, 100 km on the second."""
    wear = [
        {"leg": 1, "meter": "km", "use": 300.0, "multiplier": 1.5, "water_use": 50.0},
        {"leg": 2, "meter": "km", "use": 100.0, "multiplier": 1.0, "water_use": 0.0},
    ]
    return {"item": "bearings", "unit": "wagon", "position": None, "last_done": "2026-01-01", "found": None,
            "limits": list(limits), "wear": wear, **changes}  # fmt: skip


def seen(today: date = TODAY, **trip_changes: Any) -> Facts:
    """A day at home, two stops and home, eleven days before departure; at home ten km a day."""
    one_trip = trip(leg(1, 300), leg(2, 100, date(2026, 7, 5)), **trip_changes)
    item = thing(km=1000, state="wheel off", act="look", months=24, follow_ups="play 50-100 km")
    return facts({"slots": [DAY, FIRST, SECOND, HOME], "today": today.isoformat()}, one_trip, wagon(**TEN_A_DAY),
                 catalogue=tables(item, thing("play", act="measure", km=1000)))  # fmt: skip


@pytest.mark.parametrize(
    ("at_departure", "shakedown_km", "day", "first"),
    [
        (310.0, 0, 0.250, 0.810),
        (None, 0, 0.250, 0.810),
        (None, 80, 0.250, 0.890),
        (390.0, 80, 0.250, 0.890),
        (440.0, 20, 0.300, 0.940),
    ],
)
def test_shares_at_home_and_on_the_road(
    at_departure: float | None, shakedown_km: float, day: float, first: float
) -> None:
    """200 of 1000 used; 5 of 11 days at ten km (or 20) a day at home, the shakedown drive behind all days at home."""
    found = shares_of(seen(shakedown_km=shakedown_km), entry(limit("km", 1000.0, 200.0, at_departure)))
    assert found.today == pytest.approx((0.2,))
    assert [at[0] for at in found.at] == pytest.approx([day, first, first + 0.1, first + 0.1])
    assert found.between(None, 1) == pytest.approx(first)
    assert found.between(0, 3) == pytest.approx(first + 0.1 - day)
    assert found.doubt == pytest.approx(1e-6)


def test_on_the_road_nothing_is_added_for_days_at_home() -> None:
    """If it were, a plan made anew on the way would count the shakedown drive a second time."""
    found = shares_of(seen(date(2026, 7, 2), shakedown_km=80), entry(limit("km", 1000.0, 200.0)))
    assert [at[0] for at in found.at[1:]] == pytest.approx([0.7, 0.8, 0.8])


def test_months_run_by_the_day() -> None:
    """1 January to 20 June are 170 days of 365; 25 June 175, 3 July 183, 8 July 188, home on 31 July 211."""
    found = shares_of(seen(), entry(limit("months", 12, 5.6)))
    assert found.today == pytest.approx((170 / 365,))
    assert [at[0] for at in found.at] == pytest.approx([175 / 365, 183 / 365, 188 / 365, 211 / 365])
    assert found.doubt == pytest.approx(1.5 / 360)


def test_a_stop_before_the_start_counts_from_the_start() -> None:
    """If not, a stop where the rig already stands would be younger than today."""
    early = facts({"slots": [{**FIRST, "date": "2026-06-22"}, HOME]}, trip(leg(1, 300)), catalogue=tables(thing()))
    found = shares_of(early, entry(limit("months", 12, 5.6), wear=[]))
    assert found.at[0][0] == pytest.approx(181 / 365)


def test_what_nobody_has_a_record_of_is_used_up() -> None:
    """If it counted as new, the thinnest book would have the least work; months run on by 41 days of 365."""
    found = shares_of(seen(shakedown_km=80), entry(limit("km", 1000.0, None), limit("months", 12, None), last_done=None,
                                                   item="bearings", position="left"))  # fmt: skip
    assert found.today == pytest.approx((1.0, 1.0))
    assert found.at[-1] == pytest.approx((1.0 + 0.110 + 0.080 + 0.600, 1 + 41 / 365))
    assert found.doubt == pytest.approx((110 + 110) / 1000)


def test_one_meter_without_a_record_is_none_for_all() -> None:
    """If not, an item done on a day nobody read the odometer would count as half known."""
    found = shares_of(seen(), entry(limit("km", 1000.0, 200.0, 310.0), limit("towing_km", 1000.0, None)))
    assert found.today == (1.0, 1.0)
    assert found.at[0] == pytest.approx((1.05, 1.0))


def test_hours_that_no_leg_tells_are_in_doubt() -> None:
    """80 km of shakedown and 110 at home, at no less than 20 km/h, of 250 hours."""
    found = shares_of(seen(shakedown_km=80), entry(limit("engine_hours", 250.0, 50.0, 53.0), wear=[]))
    assert found.doubt == pytest.approx(190 / 20 / 250)


@pytest.mark.parametrize(("used", "today"), [(200.0, 1.5), (1500.0, 1.5), (1700.0, 1.7)])
def test_a_bad_finding_is_at_least_what_the_table_says(used: float, today: float) -> None:
    """If not, water found in a bearing renewed last week would wait until home."""
    found = shares_of(seen(), entry(limit("km", 1000.0, used), found={"finding": "water"}))
    assert found.today == pytest.approx((today,))
    assert found.at[0][0] == pytest.approx(today + 0.05)


def test_an_overhaul_without_a_record_is_a_look_first() -> None:
    """If it counted as used up, every rig bought used would be taken apart before its first trip."""
    found = shares_of(seen(), entry(limit("km", 1000.0, None), limit("months", 24, None), last_done=None))
    assert found.today == pytest.approx((0.5, 0.5))


@pytest.mark.parametrize(
    ("changes", "position", "last_done", "is_one"),
    [
        ({"act": "repack", "state": "closed"}, None, None, True),
        ({"act": "renew", "state": "closed"}, None, None, True),
        ({"act": "look", "state": "closed"}, None, None, False),
        ({"act": "repack", "state": "closed"}, None, "2026-01-01", False),
        ({"act": "repack", "state": "closed", "months": 23}, None, None, False),
        ({"act": "repack", "state": "closed", "months": None}, None, None, False),
        ({"act": "repack", "state": "closed", "family": "fluid"}, None, None, False),
        ({"act": "look", "state": "wheel off"}, None, None, True),  # both sides, 17 minutes each
        ({"act": "look", "state": "wheel off"}, "left", None, False),  # one side: 17
        ({"act": "look", "state": "hub off"}, "left", None, True),  # 23 behind 17
        ({"act": "look", "state": "drained", "place": "engine sump"}, None, None, False),  # 15, no sides
    ],
)
def test_what_an_overhaul_is(
    changes: dict[str, Any], position: str | None, last_done: str | None, is_one: bool
) -> None:
    """Two years or more between, big or deep (30 minutes to open and close), no look tells its state, no record."""
    item, look = (
        thing(**{"months": 24, "follow_ups": "play 50-100 km", **changes}),
        thing("play", act="measure", km=1000),
    )
    assert is_overhaul(facts(catalogue=tables(item, look)), entry(position=position, last_done=last_done)) is is_one


@pytest.mark.parametrize("look", [{"act": "renew"}, {"place": "engine bay"}, {"needs": "gearbox=automatic"}])
def test_an_overhaul_that_no_look_tells_of_is_none(look: dict[str, Any]) -> None:
    """If it were, a timing belt of unknown age would wait for play, leaks or noise that it never shows."""
    item = thing(months=24, act="renew", follow_ups="play 50-100 km")
    told = {"act": "measure", "km": 1000, **look}
    assert not is_overhaul(facts(catalogue=tables(item, thing("play", **told))), entry(last_done=None))


def test_a_finding_makes_an_overhaul_no_look() -> None:
    """If not, a bearing found worn would be looked at once more."""
    at = facts(catalogue=tables(thing(months=24)))
    assert not is_overhaul(at, entry(last_done=None, found={"finding": "worn"}))


def test_the_largest_meter_counts() -> None:
    """If not, oil of last spring would be as good as its km."""
    found = shares_of(seen(), entry(limit("km", 1000.0, 200.0, 310.0), limit("months", 12, 5.6)))
    assert found.between(None, 0) == pytest.approx(175 / 365)
    assert found.between(0, 1) == pytest.approx(0.56)


def test_the_start_is_departure() -> None:
    """If not, this file would count other days than it says."""
    assert (DEPART - TODAY).days == 11 and seen().start == DEPART
