"""Where an interval is used up: leg, km in the leg, km of the trip, date, and which meter."""

from datetime import date

import numpy as np
import pytest

from tests.small import DEPART, camper, leg, trip, wagon
from tripplan.due.runs_out import (
    Course,
    MeterCourse,
    MonthTrack,
    along_trip,
    month_track,
    runs_out,
    share_used,
    use_on_stretches,
)
from tripplan.records.facts_in import Leg
from tripplan.records.plan import RunsOut
from tripplan.trip.timeline import Timeline, build_timeline
from tripplan.wear.mechanisms.uncertain import NODES, Z95
from tripplan.wear.total import piled

LEGS = (leg(1, 300), leg(2, 500, date(2026, 7, 5)))


def line(*legs: Leg) -> Timeline:
    """Those legs at 8 h a day."""
    return build_timeline(trip(*(legs or LEGS)), 8)


def track(
    interval: float, used: float, typical: tuple[float, ...], reserve: tuple[float, ...] = (), meter: str = "km"
) -> MeterCourse:
    """A meter with its wear piled up at the end of each leg; what it is above `typical` in one doubt."""
    more = np.diff([0.0, *(reserve or typical)]) - np.diff([0.0, *typical])
    excess = np.zeros((len(typical), 1, len(NODES)))
    for step, beyond in zip(excess, more, strict=True):
        step[0] = beyond * np.where(NODES > 0, NODES / Z95, 0.0)
    piles = np.concatenate([np.zeros_like(excess[:1]), excess.cumsum(axis=0)])
    ahead = piled(np.array([0.0, *typical]), piles)
    return along_trip(meter, interval, used, 0.0, ahead, ahead.after(used, None), 0.0)  # type: ignore[arg-type]


def course(*tracks: MeterCourse, months: MonthTrack | None = None, from_km: float = 0.0) -> Course:
    """What is known of an item."""
    return Course(tracks, months, True, from_km)


def end(one: Course, reserve: bool = False, timeline: Timeline | None = None) -> RunsOut | None:
    """Where it runs out on the two legs."""
    return runs_out(one, timeline or line(), DEPART, reserve)


def test_it_runs_out_inside_the_leg_where_the_interval_is_reached() -> None:
    """If not, the owner would be told the wrong leg to have the work done before."""
    # interval 10000, 9000 used, 1000 left; leg 1 takes 300, leg 2 500 km x 2 = 1000
    # 1000 - 300 = 700 of the 1000 on leg 2: 700 / 2 = 350 km, trip km 650
    found = end(course(track(10000, 9000, (300, 1300))))
    assert found is not None
    assert (found.leg, found.leg_km, found.trip_km, found.meter) == (2, pytest.approx(350), pytest.approx(650), "km")
    assert found.date == date(2026, 7, 5)  # 350 km at 50 km/h are 7 h


def test_the_reserve_runs_out_earlier() -> None:
    """If not, one trip in two would run short of what the plan calls its reserve."""
    one = track(10000, 9000, (300, 1300), (300, 1800))
    found = end(course(one), reserve=True)
    assert found is not None and found.leg == 2
    # at that km the 95 % value is the interval: as much of leg 2 as is left of what it adds
    assert one.used_reserve + one.reserve[0] < 10000 < one.used_reserve + one.reserve[1]
    assert found.leg_km == pytest.approx(500 * (10000 - 9300) / (one.reserve[1] - one.reserve[0]), rel=1e-3)
    typical = end(course(one))
    assert typical is not None and found.trip_km < typical.trip_km


def test_exactly_enough_lasts_the_trip() -> None:
    """If not, an interval equal to the trip would call for work on the doorstep."""
    assert end(course(track(10000, 8700, (300, 1300)))) is None
    assert end(course(track(10000, 8700.1, (300, 1300)))) is not None


@pytest.mark.parametrize(
    ("km_used", "hours_used", "meter", "trip_km"),
    # km: 10000 - used, at 1 a km. hours: 250 - used, at 0.02 a km
    [(9800, 240, "km", 200), (9800, 247, "engine_hours", 150), (9800, 246, "engine_hours", 200)],
)
def test_whichever_meter_is_first_decides(km_used: float, hours_used: float, meter: str, trip_km: float) -> None:
    """If not, an engine that idled much would keep its oil by the kilometre.

    Source: TM 9-2320-387-24-1 para 2-9, whichever comes first (read in part).
    """
    found = end(course(track(10000, km_used, (300, 800)), track(250, hours_used, (6, 16), meter="engine_hours")))
    assert found is not None and (found.meter, found.trip_km) == (meter, pytest.approx(trip_km))


def test_months_end_on_their_day_and_beat_km_that_come_later() -> None:
    """If not, old oil would be kept because little was driven."""
    # done 3 January, six months: 3 July. Leg 1 is driven on 1 July, so km 300 is reached by then
    months = month_track(date(2026, 1, 3), 6)
    found = end(course(track(10000, 9400, (300, 800)), months=months))
    assert found == RunsOut(leg=2, leg_km=0, trip_km=300, date=date(2026, 7, 3), meter="months")


def test_months_beyond_the_return_last() -> None:
    """If not, next year's work would be on this trip's list."""
    assert end(course(months=month_track(date(2026, 2, 1), 6))) is None  # 1 August, home on 31 July
    assert end(course(months=month_track(date(2026, 1, 31), 6))) is not None  # 31 July itself


def test_used_up_before_departure_is_kilometre_zero() -> None:
    """If not, overdue work would be shown somewhere down the track."""
    found = end(course(track(10000, 12000, (300, 800))))
    assert found is not None and (found.leg, found.trip_km, found.date) == (1, 0, DEPART)
    months = end(course(months=month_track(date(2025, 1, 1), 6)))
    assert months is not None and (months.trip_km, months.date) == (0, DEPART)


def test_used_up_on_the_way_already_is_where_the_rig_is() -> None:
    """If not, a re-plan under way would place the fault behind the rig."""
    found = end(course(track(10000, 12000, (0, 500)), from_km=300))
    assert found is not None and (found.leg, found.leg_km) == (2, 0)


def test_legs_that_do_not_use_the_meter_are_passed_over() -> None:
    """If not, a trailer left at home would run out on a leg it is not on."""
    legs = (leg(1, 300), leg(2, 500, date(2026, 7, 5), towing=True))
    uses = use_on_stretches(camper(), "km", line(*legs))
    assert uses == (0, 500)
    found = end(course(track(10000, 9900, (0, 500))), timeline=line(*legs))
    assert found is not None and (found.leg, found.leg_km) == (2, pytest.approx(100))


def test_use_of_each_meter_on_the_legs() -> None:
    """If not, engaged km, hours and towing would be charged to the wrong legs."""
    legs = (leg(1, 300, hubs=0.5, low_range_km=30), leg(2, 500, date(2026, 7, 5), speed_kmh=25, towing=True))
    one = line(*legs)
    assert use_on_stretches(wagon(), "km", one) == (300, 500)
    assert use_on_stretches(wagon(), "engaged_km", one) == (150, 0)
    assert use_on_stretches(wagon(), "low_range_km", one) == (pytest.approx(30), 0)
    assert use_on_stretches(wagon(), "towing_km", one) == (0, 500)
    assert use_on_stretches(wagon(), "engine_hours", one) == (pytest.approx(6), pytest.approx(20))


def test_the_share_used_is_that_of_the_worst_meter() -> None:
    """If not, spares would be carried for the wrong things."""
    one = course(track(10000, 5000, (300, 1300)), months=MonthTrack(6, date(2026, 1, 1), date(2026, 7, 1)))
    # at departure: km 0.5; months 181 of 181 days
    assert share_used(one, False, DEPART) == 1.0
    assert share_used(course(track(10000, 5000, (300, 1300))), True, DEPART) == pytest.approx(0.63)
    assert share_used(Course((), None, False), True, DEPART) is None
