"""Futures of a trip: drawn evenly from the stated ranges, the same on any machine, the plan itself first."""

from datetime import date, timedelta

import numpy as np
import pytest
from msgspec.structs import replace

from tests.small import DEPART, TODAY, crossing, leg, trip
from tripplan.files.data_tables import read_catalogue
from tripplan.records.facts_in import Trip
from tripplan.trip.draws import (
    AS_PLANNED,
    DEPTH_STEPS,
    VARIANTS,
    Ranges,
    depth_m,
    draw,
    drawn_trip,
    ranges_of,
    uniform,
    variant_of,
)
from tripplan.trip.timeline import Timeline, build_timeline

RANGES = Ranges(5, 10, 0.5, 0.3, 0.1, 0.9, 1.2, 0.5, 2.0)


def three_legs(**changes: object) -> tuple[Trip, Timeline]:
    """Three legs and two crossings, one made already."""
    legs = tuple(leg(n, 100.0 * n, DEPART + timedelta(days=n), dust="light", low_range_km=10) for n in (1, 2, 3))
    made = trip(*legs, crossings=(crossing(2, 50, 0.4), crossing(3, 60, 0.6)), **changes)
    return made, build_timeline(made, 8.0)


def test_uniform_numbers_are_those_of_the_library() -> None:
    """Another reading of the same bits would draw other futures than the documented generator (NumPy's PCG64)."""
    ours = uniform(np.random.PCG64(42), 1000)
    assert ours.tolist() == np.random.Generator(np.random.PCG64(42)).random(1000).tolist()


def test_equal_seeds_give_equal_futures_and_others_do_not() -> None:
    """An owner who asks twice would be told two things."""
    one_trip, line = three_legs()
    first, again, other = (draw(one_trip, line, RANGES, TODAY, 50, seed) for seed in (3, 3, 4))
    assert (first.variant == again.variant).all() and (first.distance_factor == again.distance_factor).all()
    assert (first.variant != other.variant).any()


def test_the_first_row_is_the_plan() -> None:
    """What changes would be told against something that nobody planned."""
    one_trip, line = three_legs()
    assert drawn_trip(one_trip, line, draw(one_trip, line, RANGES, TODAY, 5, 1), 0) == one_trip


def test_shares_and_bounds_are_the_stated_ones() -> None:
    """Futures would be worse or better than the table says. Four standard deviations of 9000 and 3000 draws."""
    one_trip, line = three_legs()
    draws = draw(one_trip, line, replace(RANGES, shared_share=0.0), TODAY, 3000, 11)
    corrugation = draws.variant[1:] % 3 - 1
    assert (corrugation == 1).mean() == pytest.approx(0.3, abs=0.02) and (corrugation == -1).mean() == pytest.approx(
        0.1, abs=0.013
    )
    factor = draws.distance_factor[1:]
    assert (
        0.9 <= factor.min() < 0.905 and 1.195 < factor.max() < 1.2 and factor.mean() == pytest.approx(1.05, abs=0.004)
    )
    shift = draws.shift_days[1:]
    assert set(shift.tolist()) == set(range(-5, 11)) and shift.mean() == pytest.approx(2.5, abs=0.34)
    assert set(draws.depth_step[1:].ravel().tolist()) == set(range(DEPTH_STEPS))


def test_a_season_is_shared_by_the_legs() -> None:
    """In a dry year one leg would be bulldust and the next wet, and bad luck never come together."""
    one_trip, line = three_legs()
    apart, joined = (draw(one_trip, line, replace(RANGES, shared_share=share), TODAY, 3000, 5) for share in (0.0, 1.0))
    assert (joined.distance_factor[:, 0] == joined.distance_factor[:, 2]).all()
    assert np.corrcoef(apart.distance_factor[1:].T)[0, 2] == pytest.approx(0.0, abs=0.08)


def test_nothing_leaves_before_tomorrow_and_nothing_driven_changes() -> None:
    """A future would lie in the past."""
    one_trip, line = three_legs()
    near = draw(one_trip, line, RANGES, DEPART - timedelta(days=2), 300, 1)
    assert near.shift_days.min() == -1
    under_way = draw(one_trip, line, RANGES, DEPART + timedelta(days=2), 300, 1)
    assert (under_way.shift_days == 0).all() and (under_way.variant[:, 0] == AS_PLANNED).all()
    assert (under_way.distance_factor[:, 0] == 1).all() and (under_way.distance_factor[1:, 2] != 1).any()


def test_grades_move_by_one_and_stop_at_the_ends() -> None:
    """A sealed road would become bulldust, or a grade be asked for that no table has."""
    one = leg(1, 100, dust="none", corrugation="severe")
    seen = {(variant_of(one, v).dust, variant_of(one, v).corrugation) for v in range(VARIANTS)}
    assert seen == {("none", "severe"), ("light", "severe"), ("none", "moderate"), ("light", "moderate")}
    assert variant_of(one, AS_PLANNED) == one


def test_depths_go_from_low_to_high_on_a_scale_of_factors() -> None:
    """The middle step would not be the middle. By hand: sqrt(0.5 x 2) = 1, and never beyond 3 m."""
    assert depth_m(0.4, DEPTH_STEPS // 2, RANGES) == pytest.approx(0.4)
    assert depth_m(0.4, -1, RANGES) == 0.4
    deep = [depth_m(0.4, step, RANGES) for step in range(DEPTH_STEPS)]
    assert deep == sorted(deep) and 0.2 < deep[0] < deep[-1] < 0.8
    assert depth_m(2.9, DEPTH_STEPS - 1, RANGES) == 3.0


def test_a_leg_with_a_range_of_its_own_is_drawn_from_that() -> None:
    """A leg measured to the km would be drawn as if it were guessed, or a guessed one as if it were measured."""
    one = leg(1, 100, DEPART, distance_low_km=80, distance_high_km=200)
    made = trip(one)
    factor = draw(made, build_timeline(made, 8.0), RANGES, TODAY, 500, 2).distance_factor[1:, 0]
    assert 0.8 <= factor.min() < 0.83 and 1.95 < factor.max() <= 2.0


def test_a_drawn_trip_is_a_whole_trip() -> None:
    """Its low-range km, its crossings and its days would belong to another road."""
    one_trip, line = three_legs()
    draws = draw(one_trip, line, RANGES, TODAY, 40, 9)
    row = next(n for n in range(1, 41) if draws.shift_days[n] > 0)
    made, days = drawn_trip(one_trip, line, draws, row), int(draws.shift_days[row])
    assert made.depart == DEPART + timedelta(days=days) and made.legs[1].date == one_trip.legs[1].date + timedelta(
        days=days
    )
    factor = draws.distance_factor[row, 1]
    assert made.legs[1].distance_km == pytest.approx(200 * factor) and made.legs[1].low_range_km == pytest.approx(
        10 * factor
    )
    assert made.crossings[0].at_km == pytest.approx(50 * factor)


def test_the_ranges_are_rows_of_the_tables() -> None:
    """An owner could not state a range of their own."""
    ranges = ranges_of(read_catalogue()[0])
    assert ranges.later_days > 0 and 0 < ranges.depth_low_factor < 1 < ranges.depth_high_factor
    assert date.fromordinal(TODAY.toordinal() + ranges.later_days) > TODAY
