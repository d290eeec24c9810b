"""Sunrise and sunset against almanac values.

Read: the tables of the United States Naval Observatory for 39 N 105 W and for Beijing, and
the values of NREL's web calculator of the solar position algorithm (Reda and Andreas,
NREL/TP-560-34302) for 35 S 0 E, all as the tests of the package pvlib 0.16.1 quote them
(tests/test_spa.py and tests/test_solarposition.py). They print whole minutes, and seconds.

From memory: what almanacs and newspapers print for the solstices in London and Sydney, of
years whose times differ by a minute; hence a tolerance of 2 minutes there.
"""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from tests.wear.mechanisms.legs import a_leg
from tripplan.records.facts_in import Leg
from tripplan.trip.daylight import arrives_after_dark, sun_times

TOLERANCE = timedelta(minutes=2)
LONDON = (51.507, -0.128, "Europe/London")
SYDNEY = (-33.869, 151.209, "Australia/Sydney")
ALMANAC = [
    (LONDON, date(2026, 6, 21), "04:43", "21:21"),
    (LONDON, date(2026, 12, 21), "08:04", "15:53"),
    (SYDNEY, date(2026, 6, 21), "07:00", "16:54"),
    (SYDNEY, date(2026, 12, 21), "05:41", "20:05"),
]
OBSERVATORY_MOUNTAINS = [
    (date(2015, 1, 2), "07:19", "16:49"), (date(2015, 4, 2), "05:43", "18:24"),
    (date(2015, 8, 2), "05:01", "19:10"), (date(2015, 12, 2), "07:01", "16:38"),
]  # fmt: skip
OBSERVATORY_BEIJING = [
    (date(2015, 1, 2), "07:36", "17:00"), (date(2015, 4, 2), "05:58", "18:39"),
    (date(2015, 8, 2), "05:13", "19:28"), (date(2015, 12, 2), "07:17", "16:50"),
]  # fmt: skip
CALCULATOR_SOUTH = [(date(1996, 7, 5), "07:08:15", "17:01:04"), (date(2004, 12, 4), "04:38:57", "19:02:03")]
TROMSO = (69.65, 18.96, "Europe/Oslo")


@pytest.mark.parametrize(("place", "day", "rise", "set_"), ALMANAC)
def test_almanac_values(place: tuple[float, float, str], day: date, rise: str, set_: str) -> None:
    """Otherwise a leg would be said to end in daylight when it ends among the cattle in the dark."""
    zone = ZoneInfo(place[2])
    found = sun_times(day, place[0], place[1], zone)
    for ours, printed in ((found.sunrise, rise), (found.sunset, set_)):
        assert ours is not None and ours.date() == day
        expected = datetime.combine(day, datetime.strptime(printed, "%H:%M").time(), zone)
        assert abs(ours - expected) <= TOLERANCE


@pytest.mark.parametrize(("day", "rise", "set_"), OBSERVATORY_BEIJING + OBSERVATORY_MOUNTAINS)
def test_observatory_tables(day: date, rise: str, set_: str) -> None:
    """Otherwise what is checked would be what we remember."""
    is_west = (day, rise, set_) in OBSERVATORY_MOUNTAINS
    lat, lon, name = (39.0, -105.0, "America/Phoenix") if is_west else (39.917, 116.383, "Asia/Shanghai")
    zone = ZoneInfo(name)  # Phoenix keeps mountain standard time all year, as the table does
    found = sun_times(day, lat, lon, zone)
    for ours, printed in ((found.sunrise, rise), (found.sunset, set_)):
        assert ours is not None
        expected = datetime.combine(day, time.fromisoformat(printed), zone)
        assert abs(ours - expected) <= timedelta(seconds=75), (ours, printed)


@pytest.mark.parametrize(("day", "rise", "set_"), CALCULATOR_SOUTH)
def test_the_calculator_of_the_solar_position_algorithm(day: date, rise: str, set_: str) -> None:
    """Otherwise a slip of a minute in the south would hide in the whole minutes of a table."""
    found = sun_times(day, -35.0, 0.0, UTC)
    for ours, printed in ((found.sunrise, rise), (found.sunset, set_)):
        assert ours is not None
        assert abs(ours - datetime.combine(day, time.fromisoformat(printed), UTC)) <= timedelta(seconds=30)


@pytest.mark.parametrize("zone", ["Australia/Sydney", "Pacific/Auckland", "Pacific/Kiritimati", "Pacific/Honolulu"])
@pytest.mark.parametrize("lon", [-157.0, -179.9, 133.0, 151.2, 179.9])
def test_the_day_is_the_day_of_the_clock(zone: str, lon: float) -> None:
    """Otherwise, east of Greenwich, the sunrise of the next morning would be given."""
    day = date(2026, 3, 20)
    found = sun_times(day, -20.0, lon, ZoneInfo(zone))
    assert found.sunrise is not None and found.sunrise.date() == day
    assert found.sunset is not None and found.sunset.date() == day


def test_sun_that_stays() -> None:
    """Otherwise a summer trip in the far north would end in a traceback."""
    zone = ZoneInfo(TROMSO[2])
    summer, winter = (sun_times(date(2026, month, 21), *TROMSO[:2], zone) for month in (6, 12))
    assert (summer.sunrise, summer.sunset, summer.stays) == (None, None, "up")
    assert (winter.sunrise, winter.sunset, winter.stays) == (None, None, "down")


def leg(depart: datetime | date, distance_km: float, lat: float | None = -33.869, lon: float | None = 151.209) -> Leg:
    """A leg at 50 km/h with an end on the map."""
    return a_leg(depart=depart, distance_km=distance_km, speed_kmh=50, to_lat=lat, to_lon=lon)


def test_arriving_after_dark() -> None:
    """Otherwise a leg planned into the night would be driven without a warning."""
    zone = ZoneInfo("Australia/Sydney")
    noon = datetime(2026, 6, 21, 12)
    told = arrives_after_dark(leg(noon, 260), zone)
    assert told is not None and "17:12" in told and "after sunset at 16:5" in told
    assert arrives_after_dark(leg(noon, 230), zone) is None
    early = arrives_after_dark(leg(datetime(2026, 6, 20, 23), 300), zone)
    assert early is not None and "05:00" in early and "before sunrise" in early
    assert arrives_after_dark(leg(date(2026, 6, 21), 600), zone) is None
    assert arrives_after_dark(leg(noon, 600, lat=None), zone) is None


def test_arriving_where_the_sun_stays() -> None:
    """Otherwise the polar night would be called daylight, or the midnight sun dark."""
    zone = ZoneInfo(TROMSO[2])
    assert arrives_after_dark(leg(datetime(2026, 6, 21, 20), 200, *TROMSO[:2]), zone) is None
    told = arrives_after_dark(leg(datetime(2026, 12, 21, 9), 100, *TROMSO[:2]), zone)
    assert told is not None and "does not rise" in told
