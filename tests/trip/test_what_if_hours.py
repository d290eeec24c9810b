"""A trip with fewer hours of work: dealt out to the days as they are, refused where the days cannot hold them."""

from datetime import date

import pytest

from tests.small import leg, trip, workshop
from tripplan.records.problems import BadInput
from tripplan.trip.what_if import within_hours

TODAY = date(2026, 6, 20)
DAYS = (workshop(date(2026, 6, 10), 300), workshop(date(2026, 6, 21), 360), workshop(date(2026, 6, 27), 120))


def test_hours_at_home_are_dealt_out_to_the_days_ahead() -> None:
    """A day that is over would eat hours: 4 h over 360 and 120 minutes are 180 and 60."""
    found = within_hours(trip(leg(1, 100), workshop_days=DAYS), 4, None, TODAY)
    assert [day.minutes for day in found.workshop_days] == [300, 180, 60]
    assert found.road_daily_minutes is None


def test_hours_on_the_road_are_all_there_is_of_them() -> None:
    """The days' own minutes would come on top."""
    found = within_hours(trip(leg(1, 100), workshop_days=DAYS), None, 2.5, TODAY)
    assert (found.road_daily_minutes, found.road_long_spell_minutes) == (0, 150)
    assert found.workshop_days == DAYS


@pytest.mark.parametrize("days", [(), DAYS[:1], DAYS])
def test_more_than_the_days_can_hold_is_refused(days: tuple[object, ...]) -> None:
    """A plan would be made in hours that are not there."""
    with pytest.raises(BadInput) as refused:
        within_hours(trip(leg(1, 100), workshop_days=days), 60, None, TODAY)
    assert refused.value.problems[0].code == "A05"
