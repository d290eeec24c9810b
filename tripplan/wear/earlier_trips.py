"""Trips made before the one in hand: their legs count with their own wear, and make no usual week."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from itertools import groupby

from msgspec import Struct

from tripplan.records.catalogue import Catalogue, Item
from tripplan.records.facts_in import EarlierLeg, Leg, Trip, Unit
from tripplan.records.problem_codes import figure, problem
from tripplan.records.problems import Problem
from tripplan.trip.timeline import build_timeline
from tripplan.wear.multipliers import KindWear, Severity


class EarlierWear(Struct, frozen=True):
    """Wear multipliers of earlier legs, looked up as those of the trip are; water is not counted."""

    severity: Severity
    spot_of: dict[tuple[str, int], int]

    def of(self, item: Item, unit: Unit, leg: EarlierLeg) -> tuple[KindWear, int]:
        """The multipliers of this item on earlier legs, and which entry is this leg's."""
        return self.severity.of(item, unit), self.spot_of[(leg.trip, leg.leg)]


def counted_legs(trip: Trip, today: date) -> tuple[EarlierLeg, ...]:
    """The earlier legs by day that lie before `today` and before the trip in hand, each once."""
    first = min((leg.date for leg in trip.legs), default=date.max)
    found = {(leg.trip, leg.leg): leg for leg in trip.earlier_legs if leg.date < min(first, today)}
    return tuple(sorted(found.values(), key=lambda leg: (leg.date, leg.leg)))


def earlier_wear(legs: Sequence[EarlierLeg], trip: Trip, catalogue: Catalogue) -> EarlierWear | None:
    """What the legs of earlier trips wore; None when none are known."""
    if not legs:
        return None
    before = trip.model_copy(update={"legs": tuple(legs), "crossings": (), "stops": ()})
    line = build_timeline(before, catalogue.assumed("driving_hours_per_day").value)
    spot_of = {(trip_of(leg) or "", leg.leg): spot for spot, leg in enumerate(line.legs)}
    return EarlierWear(Severity(catalogue, line), spot_of)


def trip_of(leg: Leg) -> str | None:
    """The earlier trip that a leg belongs to; None for the trip in hand."""
    return leg.trip if isinstance(leg, EarlierLeg) else None


def by_trip(legs: Iterable[Leg]) -> list[list[Leg]]:
    """The legs by day, cut where one trip ends and the next begins."""
    return [list(group) for _, group in groupby(sorted(legs, key=lambda leg: leg.date), key=trip_of)]


def check_earlier_legs(trip: Trip, today: date) -> Iterator[Problem]:
    """Legs of earlier trips are named once each, and lie before the trip in hand."""
    counted = {id(leg) for leg in counted_legs(trip, today)}
    for leg in trip.earlier_legs:
        if id(leg) not in counted:
            found = f"leg {leg.leg} of {leg.trip} on {leg.date}"
            yield problem("L20", leg.origin, "depart", found, "a day before this trip, each leg once")
        yield from low_range_beyond(leg)


def low_range_beyond(leg: Leg) -> Iterator[Problem]:
    """No more km are driven in low range than the leg is long."""
    if leg.low_range_km > leg.distance_km:
        accepted = f"0 to {figure(leg.distance_km)}, the distance of the leg"
        yield problem("L16", leg.origin, "low_range_km", figure(leg.low_range_km), accepted)
