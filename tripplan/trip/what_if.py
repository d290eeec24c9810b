"""A trip changed on purpose, to see what would move: another departure, a harsher leg, no stop."""

from datetime import date
from typing import Any

from tripplan.records.facts_in import Leg, Trip
from tripplan.records.problem_codes import nearest
from tripplan.records.problems import STOPS, BadInput, Problem
from tripplan.records.units import MINUTES_PER_HOUR

MINUTES_PER_DAY = 1440
DATED = (("legs", ("depart",)), ("stops", ("arrive", "leave")))


def departing(trip: Trip, depart: date) -> Trip:
    """The whole trip moved so that it departs on that day; workshop days stay."""
    shift = depart - trip.depart
    changes: dict[str, Any] = {"depart": depart, "return_": trip.return_ + shift}
    for part, columns in DATED:
        changes[part] = tuple(
            row.model_copy(update={column: getattr(row, column) + shift for column in columns})
            for row in getattr(trip, part)
        )
    return trip.model_copy(update=changes)


def with_leg(trip: Trip, number: int, column: str, value: str) -> Trip:
    """The trip with one cell of one leg changed, read as if it stood in legs.csv; what it cannot hold is pydantic's to refuse."""
    legs = {leg.leg: leg for leg in trip.legs}
    if number not in legs:
        raise BadInput([_problem("A05", f"leg {number}", f"a leg of the trip: {', '.join(map(str, legs))}")])
    columns = [field.alias or name for name, field in Leg.model_fields.items() if name != "origin"]
    if column not in columns:
        raise BadInput([_problem("A05", column, f"a column of legs.csv: {nearest(column, columns, 6)}")])
    cells = legs[number].model_dump(by_alias=True) | {column: value}
    changed = Leg.model_validate(cells)
    return trip.model_copy(update={"legs": tuple(changed if leg.leg == number else leg for leg in trip.legs)})


def without_stop(trip: Trip, name: str) -> Trip:
    """The trip without the stops of that name."""
    left = tuple(stop for stop in trip.stops if stop.stop.casefold() != name.casefold())
    if len(left) == len(trip.stops):
        accepted = nearest(name, [stop.stop for stop in trip.stops]) or "none: the trip has no stops"
        raise BadInput([_problem("A05", name, f"a stop of the trip: {accepted}")])
    return trip.model_copy(update={"stops": left})


def _problem(code: str, found: str, accepted: str, hint: str = "") -> Problem:
    return Problem(code=code, weight=STOPS, file="command line", found=found, accepted=accepted, hint=hint)


def within_hours(trip: Trip, home_hours: float | None, road_hours: float | None, today: date) -> Trip:
    """The trip with only so many hours of work, before setting out and on the road; None leaves that as it is.

    Hours at home are dealt out to the workshop days still to come as they are now, each the same share of them.
    """
    changes: dict[str, Any] = {}
    if home_hours is not None:
        days = trip.workshop_days
        ahead = [day.minutes for day in days if day.date >= today]
        share = home_hours * MINUTES_PER_HOUR / sum(ahead) if ahead else 0.0
        if not ahead or share * max(ahead) > MINUTES_PER_DAY:
            hint = f"{len(ahead)} workshop days lie ahead, of 24 hours each" if ahead else "no workshop day lies ahead"
            accepted = "hours that the workshop days can hold"
            raise BadInput([_problem("A05", f"{home_hours:g} hours at home", accepted, hint)])
        changes["workshop_days"] = tuple(
            day.model_copy(update={"minutes": day.minutes * share}) if day.date >= today else day for day in days
        )
    if road_hours is not None:
        changes |= {"road_daily_minutes": 0.0, "road_long_spell_minutes": road_hours * MINUTES_PER_HOUR}
    return trip.model_copy(update=changes)
