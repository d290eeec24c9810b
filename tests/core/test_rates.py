"""Real rates from readings: suggested with their reason, never from too little."""

from datetime import date, timedelta

import pytest

from tests.core.small import camper, leg, row, wagon
from tripplan.rates import suggest_rates
from tripplan.records import HistoryRow

TODAY = date(2026, 6, 20)
START = date(2025, 6, 1)


def readings(*pairs: tuple[int, float], note: str = "") -> tuple[HistoryRow, ...]:
    """Readings so many days after the start."""
    return tuple(
        row(START + timedelta(days=days), km, number=number, note=note.format(hours=km / 50) or None)
        for number, (days, km) in enumerate(pairs, 2)
    )


def test_km_a_week_by_hand() -> None:
    """Otherwise use up to departure would be guessed wrong: 13000 km in 364 days are 250 a week."""
    found = suggest_rates(wagon(), readings((0, 1000), (100, 4000), (200, 8000), (364, 14000)), (), TODAY)[0]
    assert found.suggested == pytest.approx(250)
    assert found.low == pytest.approx(210) and found.high == pytest.approx(280)
    assert (found.key, found.stated) == ("usual_km_per_week", 0)


@pytest.mark.parametrize(
    ("pairs", "why"),
    [(((0, 0), (100, 1), (300, 2)), "4 are needed"), (((0, 0), (10, 1), (100, 2), (179, 3)), "180 are needed")],
)
def test_too_little_gives_no_number(pairs: tuple[tuple[int, float], ...], why: str) -> None:
    """Otherwise two readings of one holiday would stand for a whole year."""
    found = suggest_rates(wagon(), readings(*pairs), (), TODAY)[0]
    assert found.suggested is None and why in found.reason


def test_trips_are_left_out() -> None:
    """Otherwise the km of the last trip would count as ordinary weeks, and twice."""
    rows = readings((0, 0), (100, 1000), (200, 4000), (365, 6000))
    driven = (leg(1, 2000, START + timedelta(days=150)),)
    found = suggest_rates(wagon(), rows, driven, TODAY)[0]
    assert found.suggested == pytest.approx(4000 * 7 / 364)
    towed = [reading.model_copy(update={"unit": "camper"}) for reading in rows]
    assert suggest_rates(camper(), towed, driven, TODAY)[0].suggested == pytest.approx(6000 * 7 / 365)


def test_true_km_and_old_readings() -> None:
    """Otherwise an odometer that reads short would slow the wear, and the years of another life would count."""
    rows = readings((-3000, -0.0), (0, 1000), (100, 4000), (200, 8000), (364, 14000))
    found = suggest_rates(wagon(odometer_factor=1.1), rows, (), TODAY)[0]
    assert found.suggested == pytest.approx(275)


def test_an_estimate_is_no_reading() -> None:
    """Otherwise a value put between two readings would be taken for a third."""
    rows = readings((0, 0), (100, 1000), (364, 6000)) + readings((200, 3000), note="estimate: odometer not written")
    assert suggest_rates(wagon(), rows, (), TODAY)[0].suggested is None


def test_speed_from_the_hour_meter() -> None:
    """Otherwise engine hours would be counted at a guessed speed: 50 km for each hour here."""
    pairs = ((0, 1000.0), (100, 4000.0), (200, 8000.0), (364, 14000.0))
    found = suggest_rates(wagon(), readings(*pairs, note="hours {hours}"), (), TODAY)[1]
    assert (found.key, found.suggested) == ("usual_speed_kmh", pytest.approx(50))
    assert suggest_rates(wagon(), readings(*pairs), (), TODAY)[1].suggested is None
    standing = readings(*pairs, note="hours 100")
    assert "stands still" in suggest_rates(wagon(), standing, (), TODAY)[1].reason
