"""The trip as one line: where legs start, where they are cut, and which day a kilometre falls on."""

from datetime import date

from tests.small import DEPART, crossing, leg, trip
from tripplan.trip.timeline import add_months, build_timeline, leg_ends, months_between

HOURS = 8.0  # 50 km/h for 8 h = 400 km a day


def test_legs_lie_end_to_end_in_the_order_of_their_numbers() -> None:
    """If not, every run-out point behind the first leg would be at the wrong kilometre."""
    line = build_timeline(trip(leg(2, 100, date(2026, 7, 2)), leg(1, 250)), HOURS)
    assert [piece.leg for piece in line.legs] == [1, 2]
    assert line.starts_km == (0, 250)  # leg 2 starts where leg 1's 250 km end
    assert line.total_km == 350


def test_a_leg_boundary_belongs_to_the_later_leg() -> None:
    """If not, an item used up exactly at a stop would be told to fail before it or after it by chance."""
    line = build_timeline(trip(leg(1, 250), leg(2, 100, date(2026, 7, 2))), HOURS)
    assert [line.leg_at(km) for km in (0, 249.9, 250, 350, 999)] == [0, 0, 1, 1, 1]


def test_the_line_is_cut_at_a_crossing() -> None:
    """If not, water would wear kilometres driven before the crossing."""
    wet = trip(leg(1, 100), leg(2, 100, date(2026, 7, 2)), crossings=(crossing(1, 60, 0.4),))
    found = [(s.leg_index, s.start_km, s.length_km, s.crossing) for s in build_timeline(wet, HOURS).stretches]
    assert found == [(0, 0, 60, None), (0, 60, 0, 0), (0, 60, 40, None), (1, 100, 100, None)]


def test_crossings_stand_in_the_order_they_are_met() -> None:
    """If not, the second of two fords would be charged before the first."""
    wet = trip(leg(1, 100), crossings=(crossing(1, 100, 0.6), crossing(1, 0, 0.4), crossing(1, 20, 0.5)))
    line = build_timeline(wet, HOURS)
    assert line.crossing_km == (0, 20, 100)
    found = [(s.start_km, s.length_km, s.crossing) for s in line.stretches]
    assert found == [(0, 0, 0), (0, 20, None), (20, 0, 1), (20, 80, None), (100, 0, 2)]
    assert leg_ends(line) == (5,)


def test_a_long_leg_takes_several_days() -> None:
    """If not, everything on a long leg would be dated to the day it starts."""
    line = build_timeline(trip(leg(1, 900)), HOURS)
    # 400 km a day: km 400 on the first day, 401 and 800 on the second, 900 on the third
    assert [line.date_at(0, km).day for km in (0, 1, 400, 401, 800, 900)] == [1, 1, 1, 2, 2, 3]


def test_no_day_is_later_than_the_next_departure() -> None:
    """If not, a leg driven faster than planned hours would run past the start of the next one."""
    line = build_timeline(trip(leg(1, 900), leg(2, 100, date(2026, 7, 2))), HOURS)
    assert line.date_at(0, 900) == date(2026, 7, 2)


def test_a_leg_hardly_moving_ends_with_the_trip() -> None:
    """Otherwise a speed with its point in the wrong place would lead beyond the last year that a date can have."""
    line = build_timeline(trip(leg(1, 780, speed_kmh=0.000001)), HOURS)
    assert line.date_at(0, 780) == line.return_date


def test_kilometres_driven_before_a_day_begins() -> None:
    """If not, an interval in months would be said to end on the wrong leg."""
    line = build_timeline(trip(leg(1, 900), leg(2, 100, date(2026, 7, 10))), HOURS)
    # 0 on the first morning, 400 on the second, 800 on the third, 900 all driven, 1000 after leg 2
    days = [DEPART, date(2026, 7, 2), date(2026, 7, 3), date(2026, 7, 4), date(2026, 7, 10), date(2026, 7, 11)]
    assert [line.km_at_start_of(day) for day in days] == [0, 400, 800, 900, 900, 1000]


def test_two_legs_of_one_day_share_its_hours() -> None:
    """If not, cutting a leg in two at lunch would let the rig drive twice as far that day."""
    whole = build_timeline(trip(leg(1, 900)), HOURS)
    cut = build_timeline(trip(leg(1, 250), leg(2, 650)), HOURS)
    # 250 km take 5 of the 8 h; 3 h are left, so 150 km of leg 2 on the first day, 400 in all
    assert cut.km_at_start_of(date(2026, 7, 2)) == whole.km_at_start_of(date(2026, 7, 2)) == 400
    assert [cut.date_at(1, km).day for km in (150, 151, 550, 551)] == [1, 2, 2, 3]


def test_month_ends_follow_the_calendar() -> None:
    """If not, work done on the last of a month would fall due some days into the wrong month."""
    assert add_months(date(2026, 1, 31), 1) == date(2026, 2, 28)
    assert add_months(date(2024, 1, 31), 1) == date(2024, 2, 29)
    assert add_months(date(2026, 8, 31), 6) == date(2027, 2, 28)
    # a quarter month = 0.25 x 30.4375 = 7.6 days, so 8
    assert add_months(date(2026, 3, 1), 0.25) == date(2026, 3, 9)


def test_months_between_two_days() -> None:
    """If not, the share of a calendar interval already used would be wrong."""
    # 5 May to 20 June: one month to 5 June, then 15 of the 30 days to 5 July
    assert months_between(date(2026, 5, 5), date(2026, 6, 20)) == 1.5
    assert months_between(date(2026, 1, 31), date(2026, 2, 28)) == 1.0
    assert months_between(date(2024, 2, 29), date(2026, 2, 28)) == 24.0
