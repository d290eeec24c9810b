"""How far from help: the straight rise and fall between two places of help, by hand."""

from datetime import date
from typing import Any

import pytest

from tests.wear.mechanisms.legs import a_leg
from tripplan.records.facts_in import Leg, Origin, Stop, Trip
from tripplan.records.problems import LOOK
from tripplan.trip.route.distance_to_help import remote_questions, remoteness, standing_hours


def trip(*legs: Leg, stops: tuple[tuple[int, str], ...] = ()) -> Trip:
    """A trip of these legs with stops given as after_leg and facility; help beyond 150 km is far."""
    rows = tuple(
        Stop(stop=f"Stop {after}", after_leg=after, arrive=date(2026, 7, 3), leave=date(2026, 7, 4),
             facility=facility, minutes=0, origin=Origin(file="stops.csv", row=2))
        for after, facility in stops
    )  # fmt: skip
    given: dict[str, Any] = {
        "name": "t", "depart": date(2026, 7, 1), "return": date(2026, 7, 30), "shakedown_km": 0,
        "remote_beyond_km": 150, "rate_per_hour": 0, "cost_per_stranded_hour": 0, "legs": legs, "stops": rows,
        "origin": Origin(file="trip.toml"),
    }  # fmt: skip
    return Trip(**given)


def leg(number: int, km: float, kmh: float = 50, remote: bool = False, **columns: Any) -> Leg:
    """A leg of that length and speed."""
    return a_leg(leg=number, distance_km=km, speed_kmh=kmh, remote=remote, **columns)


ON_MAP = {"from_lat": -23, "from_lon": 133, "to_lat": -24, "to_lon": 134}


def test_help_lies_at_home_and_at_towns() -> None:
    """Otherwise the loneliest stretch would be sought in the wrong leg."""
    made = trip(leg(1, 200), leg(2, 300), leg(3, 100), stops=((1, "camp"), (2, "town")))
    one, two, three = remoteness(made, 150)
    assert (one.help_km, one.stretches) == (200, ((150, 200),))
    assert (two.help_km, two.stretches) == (250, ((0, 150),))
    assert (three.help_km, three.stretches) == (50, ())


def test_hours_follow_the_speeds_of_the_legs_between() -> None:
    """Otherwise slow sand and a sealed road would be the same distance from help."""
    made = trip(leg(1, 100, kmh=100), leg(2, 100, kmh=20), leg(3, 400, kmh=80))
    assert remoteness(made, 150)[1].hours_to_help == pytest.approx(1 + 5)


def test_cutting_a_leg_changes_no_stretch() -> None:
    """Otherwise the same way would be remote or not by how it is written down."""
    whole = remoteness(trip(leg(1, 500)), 150)
    halves = remoteness(trip(leg(1, 300), leg(2, 200)), 150)
    remote_km = [sum(end - start for far in way for start, end in far.stretches) for way in (whole, halves)]
    assert remote_km == pytest.approx([200, 200])
    assert max(part.help_km for part in halves) == whole[0].help_km == 250


def test_the_word_remote_is_questioned_on_the_map_only() -> None:
    """Otherwise a trip without positions would be questioned on what it cannot know."""
    off = trip(leg(1, 500), leg(2, 60, remote=True))
    assert remote_questions(off) == ()
    on = trip(leg(1, 500, **ON_MAP), leg(2, 60, remote=True, track="way.gpx"))
    far, near = remote_questions(on)
    assert (far.code, far.weight, far.found) == ("X09", LOOK, "no")
    assert "280 km" in far.accepted and "150 km are accepted" in far.accepted
    assert near.found == "yes" and near.accepted.startswith("no")
    agreed = trip(leg(1, 500, remote=True, **ON_MAP), leg(2, 60, **ON_MAP))
    assert remote_questions(agreed) == ()


def test_the_drive_of_help_lengthens_the_standing_on_the_map_only() -> None:
    """Otherwise a stop in the loneliest place would cost what one near town does, or a guess would be called known."""
    legs = (leg(1, 200, kmh=50, **ON_MAP), leg(2, 600, kmh=60, remote=True, **ON_MAP), leg(3, 100, remote=True))
    made = trip(*legs, stops=((1, "town"),))
    # help is 100 km of 50 km/h from the middle of leg 1; between its town and home lie 700 km, whose
    # middle is 350 km of 60 km/h from the town; leg 3 is not on the map
    assert standing_hours(made, 6, 48) == pytest.approx((6 + 2 * 2, 48 + 2 * 350 / 60, 48))
    assert standing_hours(trip(leg(1, 200), leg(2, 600, remote=True)), 6, 48) == (6, 48)
