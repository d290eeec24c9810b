"""Readings of a trip against its legs: what they do not explain is asked about. Km by hand."""

from datetime import date

import pytest

from tests.small import leg, rig, row, trip, wagon
from tripplan.records.problems import LOOK
from tripplan.wear.legs_and_readings import check_trip_readings

ONE = trip(leg(1, 300, date(2026, 7, 1)), leg(2, 400, date(2026, 7, 3)), leg(3, 300, date(2026, 7, 20)))


def told(*readings: tuple[date, float], usual: float = 0.0) -> list[str]:
    """The codes for those readings."""
    rows = [row(day, km, number=at) for at, (day, km) in enumerate(readings, 2)]
    return [one.code for one in check_trip_readings(rig(wagon(usual_km_per_week=usual)), rows, ONE)]


BEFORE, ON_THE_WAY, HOME = date(2026, 6, 30), date(2026, 7, 5), date(2026, 8, 2)


@pytest.mark.parametrize(
    ("gained_km", "codes"),
    [
        (700, []),  # the legs of 1 and 3 July
        (940, []),  # a detour of a third
        (1300, []),  # 1.5 x 700 and 50 km on each of the five days since departure
        (1301, ["H24"]),
        (5055, ["H24"]),
        (300, []),  # half of 700, and 50 km that may be read short
        (299, ["H24"]),  # the legs were not driven on their days
    ],
)
def test_a_reading_is_held_against_the_legs_since_the_one_before(gained_km: float, codes: list[str]) -> None:
    """Otherwise a slip of one figure would be taken for five thousand km of ordinary use, and wear everything out."""
    assert told((BEFORE, 10000), (ON_THE_WAY, 10000 + gained_km)) == codes


def test_what_is_driven_at_home_before_the_departure_is_no_leap() -> None:
    """Otherwise the first reading on the road after a month at home would always be asked about."""
    early = date(2026, 6, 3)  # four weeks before the departure: 4 x 1000 km at home
    assert told((early, 10000), (ON_THE_WAY, 14700), usual=1000) == []
    assert told((early, 10000), (ON_THE_WAY, 14700)) == ["H24"]


def test_readings_of_one_day_at_a_leg_of_that_day_may_lie_before_or_behind_it() -> None:
    """Otherwise a reading in the morning would be asked for the km of the afternoon."""
    third = date(2026, 7, 3)
    assert told((date(2026, 7, 2), 10300), (third, 10300)) == []
    assert told((date(2026, 7, 2), 10300), (third, 10700)) == []
    assert told((third, 10300), (ON_THE_WAY, 10700)) == []


def test_before_and_after_the_trip_nothing_is_asked() -> None:
    """Otherwise years of a history without legs would be full of questions."""
    assert told((date(2025, 6, 1), 1000), (BEFORE, 60000)) == []
    assert told((ON_THE_WAY, 10000), (HOME, 14000)) == []


def test_it_is_worth_a_look_and_stops_nothing() -> None:
    """Otherwise a true reading after a great detour could not be recorded on the road."""
    rows = [row(BEFORE, 10000), row(ON_THE_WAY, 15055, number=3)]
    (found,) = check_trip_readings(rig(), rows, ONE)
    assert (found.weight, found.row, found.column) == (LOOK, 3, "odometer_km")
    assert found.found == "15055 on 2026-07-05, 5055 km since 2026-06-30" and "about the 700 km" in found.accepted
