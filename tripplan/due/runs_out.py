"""Where in the trip an item runs out: the first of its meters to reach its interval.

An item position is followed as a set of tracks, one a meter: the use at today, the use by
departure, and the wear piled up along the trip's stretches, typical and with reserve. The
reserve is the 95 % value of the whole since the act was last done (`wear/total.py`).
Months are counted on the calendar and are not multiplied.
"""

from bisect import bisect_left
from dataclasses import dataclass, field
from datetime import date

from msgspec import Struct
from msgspec.structs import replace

from tripplan.records.facts_in import Meter, Unit
from tripplan.records.plan import RunsOut
from tripplan.trip.timeline import Timeline, add_months
from tripplan.wear.odometer_line import per_km
from tripplan.wear.total import Total, log_sd


@dataclass(frozen=True, slots=True)
class MeterCourse:
    """One distance or hours meter of one item position, along the whole trip.

    `used` and `used_reserve` are at departure, typical and as the 95 % value. `typical` and
    `reserve` are what is added to each by the end of each stretch. `total` is the running
    total behind them, `sigma` the doubt about the interval in it. `log_sd` is the doubt
    about the trip's wear alone, the standard deviation of its logarithm: for a typical wear m
    the expected b-th power is m^b exp(b^2 log_sd^2 / 2).
    """

    meter: Meter
    interval: float
    used_today: float
    used: float
    used_reserve: float
    idle_per_day: float
    typical: tuple[float, ...]
    reserve: tuple[float, ...]
    use_per_stretch: tuple[float, ...]
    sigma: float
    log_sd: float
    total: Total = field(repr=False, compare=False)


def along_trip(
    meter: Meter, interval: float, used_today: float, idle_per_day: float, ahead: Total, all_told: Total, sigma: float
) -> MeterCourse:  # fmt: skip
    """The track of a meter: `ahead` is the trip by itself, `all_told` what was used before added to it."""
    typical, reserve = all_told.typical, all_told.reserve(sigma)
    return MeterCourse(
        meter=meter, interval=interval, used_today=used_today, used=float(typical[0]), used_reserve=float(reserve[0]),
        idle_per_day=idle_per_day, typical=tuple((typical[1:] - typical[0]).tolist()),
        reserve=tuple((reserve[1:] - reserve[0]).tolist()),
        use_per_stretch=tuple((ahead.use[1:] - ahead.use[:-1]).tolist()),
        total=all_told, sigma=sigma, log_sd=log_sd(ahead),
    )  # fmt: skip


class MonthTrack(Struct, frozen=True):
    """The calendar meter: the day the act was done, and the day it is due again."""

    interval: float
    done: date
    due: date


class Course(Struct, frozen=True):
    """All tracks of one item position; `known` is False when history does not tell enough.

    `from_km` is the trip km already driven at today.
    """

    tracks: tuple[MeterCourse, ...]
    months: MonthTrack | None
    known: bool
    from_km: float = 0.0


def use_on_stretches(unit: Unit, meter: Meter, timeline: Timeline) -> tuple[float, ...]:
    """Unmultiplied use of a meter on each stretch of the trip."""
    legs = timeline.legs
    rates = [per_km(unit, meter, leg, 0.0) for leg in legs]
    return tuple(s.length_km * rates[s.leg_index] for s in timeline.stretches)


def runs_out(course: Course, timeline: Timeline, depart: date, reserve: bool) -> RunsOut | None:
    """The first meter to run out on the trip, or None; used up before departure counts as km 0."""
    found = [_track_end(track, timeline, reserve, course.from_km) for track in course.tracks]
    if course.months:
        found.append(_months_end(course.months, timeline, depart))
    ends = [end for end in found if end]
    return min(ends, key=lambda end: (end.trip_km, end.date, end.meter)) if ends else None


def _track_end(track: MeterCourse, timeline: Timeline, reserve: bool, from_km: float) -> RunsOut | None:
    left = track.interval - (track.used_reserve if reserve else track.used)
    piled = track.reserve if reserve else track.typical
    if not piled or (left > 0 and left >= piled[-1]):
        return None
    if left <= 0:
        return _point(timeline, from_km, track.meter)
    index = bisect_left(piled, left)
    if reserve:
        share = track.total.reaches(index + 1, track.interval, track.sigma)
    else:
        before = piled[index - 1] if index else 0.0
        share = (left - before) / (piled[index] - before)
    stretch = timeline.stretches[index]
    return _point(timeline, stretch.start_km + share * stretch.length_km, track.meter)


def _months_end(months: MonthTrack, timeline: Timeline, depart: date) -> RunsOut | None:
    if months.due > timeline.return_date or not timeline.legs:
        return None
    trip_km = timeline.km_at_start_of(months.due)
    return replace(_point(timeline, min(trip_km, timeline.total_km), "months"), date=max(months.due, depart))


def _point(timeline: Timeline, trip_km: float, meter: str) -> RunsOut:
    index = timeline.leg_at(trip_km)
    leg_km = min(trip_km - timeline.starts_km[index], timeline.legs[index].distance_km)
    day = timeline.date_at(index, leg_km)
    return RunsOut(leg=timeline.legs[index].leg, leg_km=leg_km, trip_km=trip_km, date=day, meter=meter)


def month_track(done: date, interval: float) -> MonthTrack:
    """The calendar meter of an act done on that day."""
    return MonthTrack(interval, done, add_months(done, interval))


def share_used(course: Course, at_return: bool, day: date) -> float | None:
    """The largest share of any interval used at departure, or by the end of the trip."""
    if not course.known:
        return None
    shares = []
    for track in course.tracks:
        extra = track.typical[-1] if at_return and track.typical else 0.0
        shares.append((track.used + extra) / track.interval)
    if course.months:
        span = (course.months.due - course.months.done).days
        shares.append((day - course.months.done).days / span)
    return max(shares, default=0.0)
