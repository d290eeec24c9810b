"""Distances that are estimated, and what their range does to wear.

A leg of which only points far apart are known has a distance that is the straight lines
times a winding factor, with a low and a high. Use of every km and hours meter grows with
the distance, so the doubt about the distance is a doubt about the use:

    use of the leg = use x a lognormal of median 1 that 1 in 20 times exceeds high km / km

one more mechanism beside the others. A typed distance brings none.
"""

from collections.abc import Iterable, Sequence
from datetime import date

from tripplan.records.facts_in import HistoryRow, Leg, Trip
from tripplan.records.plan import Factor
from tripplan.records.problem_codes import figure

CONDITION = "distance"
SOURCE = "high over typical distance of the leg"


def distance_factor(leg: Leg) -> Factor | None:
    """The factor of an estimated distance: 1, with the range as shares of it; None for a typed one."""
    if leg.distance_low_km is None or leg.distance_high_km is None:
        return None
    high = leg.distance_high_km / leg.distance_km
    return Factor(
        condition=CONDITION, mechanism=CONDITION, grade=f"estimated {range_words(leg)}, with reserve x{high:.2f}", multiplier=1.0,
        low=leg.distance_low_km / leg.distance_km, high=high,
        basis="derived", source=SOURCE, origin=leg.origin,
    )  # fmt: skip


def range_words(leg: Leg) -> str:
    """An estimated distance with its range: 250 km (230 to 330)."""
    low, high = (figure(km) for km in (leg.distance_low_km, leg.distance_high_km) if km is not None)
    return f"{figure(leg.distance_km)} km ({low} to {high})"


def known_by_odometer(trip: Trip, history: Iterable[HistoryRow], today: date) -> Trip:
    """The trip with no range on legs that are driven and have a later reading behind them.

    Between two readings the odometer rules, so nothing about their length is in doubt any more.
    """
    readings = [row.date for row in history if row.odometer_km is not None]
    last = max(readings, default=date.min)
    known = {leg.leg for leg in trip.legs if leg.date < today and leg.date < last}
    if not any(distance_factor(leg) for leg in trip.legs if leg.leg in known):
        return trip
    plain = {"distance_low_km": None, "distance_high_km": None}
    legs = tuple(leg.model_copy(update=plain) if leg.leg in known else leg for leg in trip.legs)
    return trip.model_copy(update={"legs": legs})


def estimated_sentences(legs: Sequence[Leg]) -> list[str]:
    """What the plan leans on where distances are estimated; nothing where all are typed."""
    found = [f"leg {leg.leg} {range_words(leg)}" for leg in legs if distance_factor(leg)]
    if not found:
        return []
    return [
        f"Distance estimated, not measured: {'; '.join(found)}. With reserve the range counts as one more doubt "
        "beside those of wear, high over typical km; where things run out is told in typical km."
    ]
