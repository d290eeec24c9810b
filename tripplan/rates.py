"""The real rates of a unit from its readings: km a week, and km for each engine hour.

They are suggestions beside the guesses of rig.toml, with their reasons; nothing is changed
here. Legs of the trip are left out of the usual week, as they are counted by themselves.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import median

from tripplan.records import HistoryRow, Leg, Origin, Unit
from tripplan.units import DAYS_PER_WEEK
from tripplan.usage import Mark, read_marks

LEAST_READINGS = 4
LEAST_DAYS = 180
WINDOW_DAYS = 3 * 365
HOUR_METER = re.compile(r"(?:hour ?meter|engine hours|hours run|hours)\s*[:=]?\s*(\d{1,6}(?:\.\d+)?)\b", re.I)


@dataclass(frozen=True, slots=True, kw_only=True)
class RateSuggestion:
    """A value for a key of rig.toml, or why there is none yet.

    `low` and `high` are the slowest and fastest stretch between two readings.
    """

    unit: str
    key: str
    stated: float | None
    suggested: float | None
    low: float | None = None
    high: float | None = None
    reason: str
    origins: tuple[Origin, ...] = ()


def suggest_rates(
    unit: Unit, rows: Sequence[HistoryRow], driven: Sequence[Leg], today: date
) -> tuple[RateSuggestion, ...]:
    """Usual km a week and usual speed of one unit, from at least 4 readings over at least 180 days."""
    own = [row for row in rows if row.unit == unit.id and row.date <= today]
    since = today - timedelta(days=WINDOW_DAYS)
    marks = [mark for mark in read_marks(unit, own) if mark.day >= since]
    marks = [mark for mark in marks if "estimate: " not in (mark.row.note or "")]
    legs = [leg for leg in driven if unit.kind == "vehicle" or leg.towing]
    found = [_km_per_week(unit, _one_a_day(marks), legs)]
    return (*found, _speed(unit, marks)) if unit.kind == "vehicle" else tuple(found)


def _one_a_day(marks: Sequence[Mark]) -> list[Mark]:
    return list({mark.day: mark for mark in marks}.values())


def _km_per_week(unit: Unit, marks: Sequence[Mark], legs: Sequence[Leg]) -> RateSuggestion:
    key, stated = "usual_km_per_week", unit.usual_km_per_week
    if short := _too_few(marks):
        return RateSuggestion(unit=unit.id, key=key, stated=stated, suggested=None, reason=short)
    first, last = marks[0], marks[-1]
    trip = [leg for leg in legs if first.day <= leg.date < last.day]
    trip_km = sum(leg.distance_km for leg in trip)
    trip_days = (max(leg.date for leg in trip) - min(leg.date for leg in trip)).days + 1 if trip else 0
    days = (last.day - first.day).days - trip_days
    if days < LEAST_DAYS:
        reason = f"{days} days outside trips between readings; {LEAST_DAYS} are needed"
        return RateSuggestion(unit=unit.id, key=key, stated=stated, suggested=None, reason=reason)
    km = last.true_km - first.true_km - trip_km
    weekly = [(b.true_km - a.true_km) * DAYS_PER_WEEK / (b.day - a.day).days for a, b in pairwise(marks)]
    without = f", without {trip_km:.0f} km of trips" if trip else ""
    reason = f"{len(marks)} readings from {first.day} to {last.day}: {km:.0f} true km in {days} days{without}"
    return RateSuggestion(
        unit=unit.id, key=key, stated=stated, suggested=max(0.0, km) * DAYS_PER_WEEK / days, low=min(weekly),
        high=max(weekly), reason=reason, origins=tuple(mark.row.origin for mark in marks),
    )  # fmt: skip


def _speed(unit: Unit, marks: Sequence[Mark]) -> RateSuggestion:
    """Mean speed over engine hours, from notes such as `hours 4210.5` beside readings."""
    key, stated = "usual_speed_kmh", unit.usual_speed_kmh
    timed = [(mark, float(match[1])) for mark in marks if (match := HOUR_METER.search(mark.row.note or ""))]
    if short := _too_few([mark for mark, _ in timed]):
        reason = f"{short}; readings count that have the hour meter in their note, such as hours 4210.5"
        return RateSuggestion(unit=unit.id, key=key, stated=stated, suggested=None, reason=reason)
    steps = [(b.true_km - a.true_km, high - low) for (a, low), (b, high) in pairwise(timed)]
    if any(hours <= 0 for _, hours in steps):
        reason = "the hour meter falls or stands still between readings"
        return RateSuggestion(unit=unit.id, key=key, stated=stated, suggested=None, reason=reason)
    speeds = [km / hours for km, hours in steps]
    km, hours = (sum(values) for values in zip(*steps, strict=True))
    middle = f"middle stretch {median(speeds):.0f} km/h"
    reason = f"{km:.0f} true km in {hours:.1f} engine hours, {len(timed)} readings; {middle}"
    return RateSuggestion(
        unit=unit.id, key=key, stated=stated, suggested=km / hours, low=min(speeds), high=max(speeds), reason=reason,
        origins=tuple(mark.row.origin for mark, _ in timed),
    )  # fmt: skip


def _too_few(marks: Sequence[Mark]) -> str:
    if len(marks) < LEAST_READINGS:
        return f"readings in the last three years: {len(marks)}; {LEAST_READINGS} are needed"
    days = (marks[-1].day - marks[0].day).days
    return f"readings over {days} days; {LEAST_DAYS} are needed" if days < LEAST_DAYS else ""
