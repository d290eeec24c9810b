"""Readings on a trip held against its legs: one that they do not explain is asked about, and nothing is stopped.

The margins are judgement. A detour of a third is usual on tracks, so half as much again as the legs is asked about and
not less; beside them a rig may go round a town, 50 km a day. A reading of less than half the legs says that they were not driven
on their days.
"""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from itertools import pairwise

from tripplan.records.facts_in import HistoryRow, Leg, Rig, Trip, Unit
from tripplan.records.problem_codes import figure, problem
from tripplan.records.problems import Problem
from tripplan.wear.odometer_line import Reading, ordinary_km, read_marks

MOST_FACTOR, LEAST_SHARE, BESIDE_KM_A_DAY = 1.5, 0.5, 50.0
DRIVING_HOURS_A_DAY = 8.0


def check_trip_readings(rig: Rig, history: Sequence[HistoryRow], trip: Trip) -> Iterator[Problem]:
    """For each vehicle the readings of the trip, from the last one before it on, each with the one before."""
    if not trip.legs:
        return
    legs = sorted(trip.legs, key=lambda leg: (leg.date, leg.leg))
    home_again = max(trip.return_, legs[-1].date)
    for unit in (unit for unit in rig.units if unit.kind == "vehicle"):
        marks = read_marks(unit, [row for row in history if row.unit == unit.id])
        for low, high in pairwise(marks):
            if trip.depart < high.day <= home_again and low.day < high.day:
                yield from _odd(low, high, legs, trip, unit)


def _odd(low: Reading, high: Reading, legs: Sequence[Leg], trip: Trip, unit: Unit) -> Iterator[Problem]:
    gained_km = high.true_km - low.true_km
    at_home_km = ordinary_km(unit, low.day, trip.depart) + trip.shakedown_km if low.day < trip.depart else 0.0
    days = (high.day - max(low.day, trip.depart)).days + 1
    may_be = [leg for leg in legs if leg.date <= high.day and _driven_by(leg) >= low.day]
    for_certain = [leg for leg in legs if low.day < leg.date and _driven_by(leg) < high.day]
    most_km = sum(_long_km(leg) for leg in may_be) * MOST_FACTOR + at_home_km * MOST_FACTOR + days * BESIDE_KM_A_DAY
    least_km = sum(leg.distance_low_km or leg.distance_km for leg in for_certain) * LEAST_SHARE - BESIDE_KM_A_DAY
    if least_km <= gained_km <= most_km:
        return
    explained_km = sum(leg.distance_km for leg in (may_be if gained_km > most_km else for_certain))
    found = f"{figure(high.row.odometer_km or 0.0)} on {high.day}, {figure(round(gained_km))} km since {low.day}"
    accepted = f"about the {figure(round(explained_km))} km of the legs between (row {low.row.origin.row} has the reading before)"
    hint = "if it is right, leave it; else correct it, or put the days and distances of the legs right"
    yield problem("H24", high.row.origin, "odometer_km", found, accepted, hint)


def _long_km(leg: Leg) -> float:
    return leg.distance_high_km or leg.distance_km


def _driven_by(leg: Leg) -> date:
    """The day on which a leg is driven to its end, eight hours a day at its speed (judgement)."""
    return leg.date + timedelta(days=int(leg.distance_km / leg.speed_kmh / DRIVING_HOURS_A_DAY))
