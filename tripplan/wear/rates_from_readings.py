"""The real rates of a unit from its readings: km a week, and km for each engine hour.

Where there are enough readings they replace what rig.toml guesses, unless the owner keeps
his own number there; the plan says which stood in for which, and from what. Trips are left
out of the usual week, as their legs are counted by themselves.
"""

import re
from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise
from statistics import median

from msgspec import Struct

from tripplan.records.facts_in import HistoryRow, Leg, Origin, Rig, Trip, Unit
from tripplan.records.plain_words import day_and_year
from tripplan.records.units import DAYS_PER_WEEK
from tripplan.wear.earlier_trips import by_trip, counted_legs
from tripplan.wear.odometer_line import REPLACED, Reading, read_marks

LEAST_READINGS = 4
LEAST_DAYS = 180
WINDOW_DAYS = 3 * 365
KM_PER_WEEK, SPEED = "usual_km_per_week", "usual_speed_kmh"
LIMITS = {KM_PER_WEEK: 10_000.0, SPEED: 150.0}
HOUR_METER = re.compile(
    r"(?:\b(?:hour ?meter|engine hours|hours run)|(?:^|[;,.|])\s*hours)\s*[:=]?\s*(\d{1,6}(?:\.\d+)?)\b(?!\s*(?:min|h\b|:))",
    re.I,
)


class Rate(Struct, frozen=True, kw_only=True):
    """What readings tell of one key of rig.toml, or why they tell nothing yet.

    `low` and `high` are the slowest and fastest stretch between two readings. `kept` is
    true where the owner asked to keep the number of rig.toml. `origins` are the readings
    that decide: the first, the last, and any change of instrument between them.
    """

    unit: str
    key: str
    stated: float | None
    measured: float | None
    kept: bool = False
    low: float | None = None
    high: float | None = None
    reason: str
    origins: tuple[Origin, ...] = ()

    @property
    def used(self) -> bool:
        """True when plans count with the measured value."""
        return self.measured is not None and not self.kept


def read_rates(rig: Rig, rows: Sequence[HistoryRow], trip: Trip, today: date) -> tuple[Rate, ...]:
    """The rates of every unit, each from at least 4 readings over at least 180 days up to `today`."""
    driven: list[Leg] = [*counted_legs(trip, today), *(leg for leg in trip.legs if leg.date < today)]
    return tuple(rate for unit in rig.units for rate in unit_rates(unit, rows, driven, today))


def with_rates(rig: Rig, rates: Sequence[Rate]) -> Rig:
    """The rig as plans count with it: measured rates in place of the stated ones."""
    changes: dict[str, dict[str, float]] = {}
    for rate in rates:
        if rate.measured is not None and rate.used:
            changes.setdefault(rate.unit, {})[rate.key] = rate.measured
    units = tuple(u.model_copy(update=changes[u.id]) if u.id in changes else u for u in rig.units)
    return rig.model_copy(update={"units": units}) if changes else rig


def unit_rates(unit: Unit, rows: Sequence[HistoryRow], driven: Sequence[Leg], today: date) -> tuple[Rate, ...]:
    """Usual km a week of one unit, and for a vehicle its usual speed over engine hours."""
    own = [row for row in rows if row.unit == unit.id and row.date <= today]
    since = today - timedelta(days=WINDOW_DAYS)
    marks = [mark for mark in read_marks(unit, own) if mark.day >= since]
    marks = [mark for mark in marks if "estimate: " not in (mark.row.note or "")]
    legs = [leg for leg in driven if unit.kind == "vehicle" or leg.towing]
    weekly = _km_per_week(unit, _at_home(_one_a_day(marks), legs), legs)
    return (weekly, _speed(unit, marks)) if unit.kind == "vehicle" else (weekly,)


def _one_a_day(marks: Sequence[Reading]) -> list[Reading]:
    return list({mark.day: mark for mark in marks}.values())


def _at_home(marks: Sequence[Reading], legs: Sequence[Leg]) -> list[Reading]:
    """Readings that are not of a trip itself: a week that ends half way along one is not usual."""
    spans = [(trip[0].date, trip[-1].date) for trip in by_trip(legs)]
    return [mark for mark in marks if not any(first < mark.day <= last for first, last in spans)]


def _km_per_week(unit: Unit, marks: Sequence[Reading], legs: Sequence[Leg]) -> Rate:
    if short := _too_few(marks):
        return _untold(unit, KM_PER_WEEK, short)
    first, last = marks[0], marks[-1]
    trips = by_trip(leg for leg in legs if first.day <= leg.date < last.day)
    trip_km = sum(leg.distance_km for trip in trips for leg in trip)
    trip_days = sum((trip[-1].date - trip[0].date).days + 1 for trip in trips)
    days = (last.day - first.day).days - trip_days
    if days < LEAST_DAYS:
        return _untold(unit, KM_PER_WEEK, f"{days} days outside trips between readings; {LEAST_DAYS} are needed")
    km = last.true_km - first.true_km - trip_km
    weeks = [(b.true_km - a.true_km) * DAYS_PER_WEEK / (b.day - a.day).days for a, b in pairwise(marks)]
    without = f", without {trip_km:.0f} km of trips" if trips else ""
    reason = f"{len(marks)} readings, {day_and_year(first.day)} to {day_and_year(last.day)}: {km:.0f} true km in {days} days{without}"
    return _told(unit, KM_PER_WEEK, km * DAYS_PER_WEEK / days, weeks, reason, marks)


def _speed(unit: Unit, marks: Sequence[Reading]) -> Rate:
    """Mean speed over engine hours, from notes such as `hours 4210.5` beside readings."""
    read = [(mark, float(match[1])) for mark in marks if (match := HOUR_METER.search(mark.row.note or ""))]
    timed = list({mark.day: (mark, hours) for mark, hours in read}.values())
    if short := _too_few([mark for mark, _ in timed]):
        hint = "readings count that have the hour meter in their note, such as hours 4210.5"
        return _untold(unit, SPEED, f"{short}; {hint}")
    steps = [(b.true_km - a.true_km, high - low) for (a, low), (b, high) in pairwise(timed)]
    if any(hours <= 0 for _, hours in steps):
        return _untold(unit, SPEED, "the hour meter falls or stands still between readings")
    speeds = [km / hours for km, hours in steps]
    km, hours = (sum(values) for values in zip(*steps, strict=True))
    marks = [mark for mark, _ in timed]
    reason = (
        f"{len(timed)} readings, {day_and_year(marks[0].day)} to {day_and_year(marks[-1].day)}: {km:.0f} true km in {hours:.1f} engine hours; "
        f"middle stretch {median(speeds):.0f} km/h"
    )
    return _told(unit, SPEED, km / hours, speeds, reason, marks)


def _told(
    unit: Unit, key: str, measured: float, stretches: Sequence[float], reason: str, marks: Sequence[Reading]
) -> Rate:
    """The rate, unless it is one that rig.toml itself would refuse."""
    least = 0.0 if key == KM_PER_WEEK else 1.0
    if not least <= measured < LIMITS[key]:
        return _untold(unit, key, f"{reason}; that would be {measured:.0f}, which cannot be right")
    swaps = [mark for mark in marks[1:-1] if mark.row.act == REPLACED]
    return Rate(
        unit=unit.id, key=key, stated=getattr(unit, key), measured=measured, kept=unit.rates_from_readings is False,
        low=min(stretches), high=max(stretches), reason=reason,
        origins=tuple(mark.row.origin for mark in (marks[0], *swaps, marks[-1])),
    )  # fmt: skip


def _untold(unit: Unit, key: str, reason: str) -> Rate:
    return Rate(unit=unit.id, key=key, stated=getattr(unit, key), measured=None, reason=reason)


def _too_few(marks: Sequence[Reading]) -> str:
    if len(marks) < LEAST_READINGS:
        return f"readings in the last three years: {len(marks)}; {LEAST_READINGS} are needed"
    days = (marks[-1].day - marks[0].day).days
    return f"readings over {days} days; {LEAST_DAYS} are needed" if days < LEAST_DAYS else ""
