"""The time zone of a position, found without a network, and put where a stop has none."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, time
from zoneinfo import ZoneInfo, available_timezones

from tripplan.records.facts_in import Stop
from tripplan.records.problem_codes import problem
from tripplan.records.problems import Problem

NOON = time(12)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceZone:
    """A zone's name; `at_sea` means that it follows from the longitude alone."""

    name: str
    at_sea: bool


def zone_at(lat: float, lon: float) -> PlaceZone:
    """The zone that holds at a position. Off every land area it is whole hours by longitude."""
    import tzfpy

    name = tzfpy.get_tz(lon, lat)
    if name and not name.startswith("Etc/"):
        return PlaceZone(name=name, at_sea=False)
    return PlaceZone(name=name or nautical_zone(lon), at_sea=True)


def zones_like(text: str) -> tuple[str, ...]:
    """The zones a text can mean: the one it names, else those of a town or region so called, in order."""
    word = "_".join(text.split()).casefold()
    zones = sorted(available_timezones())
    exact = [zone for zone in zones if zone.casefold() == word]
    named = [zone for zone in zones if word and "/" in zone and word in zone.casefold().split("/")[1:]]
    return tuple(exact or named)


def nautical_zone(lon: float) -> str:
    """The zone of whole hours at a longitude; in these names the sign is turned round."""
    hours = round(lon / 15)
    return "Etc/GMT" if hours == 0 else f"Etc/GMT{-hours:+d}"


def with_zones(stops: Iterable[Stop]) -> tuple[tuple[Stop, ...], tuple[Problem, ...]]:
    """The stops, each with a position and no zone having the zone of its position.

    A zone the owner gave is kept; a Problem says so where it keeps another time.
    """
    filled, problems = [], []
    for stop in stops:
        if stop.lat is None or stop.lon is None:
            filled.append(stop)
            continue
        found = zone_at(stop.lat, stop.lon)
        if stop.zone is None:
            problems += [_at_sea(stop, found)] if found.at_sea else []
            filled.append(stop.model_copy(update={"zone": found.name}))
        else:
            problems += [] if _same_time(stop, found.name) else [_other_time(stop, found.name)]
            filled.append(stop)
    return tuple(filled), tuple(problems)


def _same_time(stop: Stop, name: str) -> bool:
    moment = datetime.combine(stop.date, NOON)
    try:
        return moment.replace(tzinfo=ZoneInfo(stop.zone or name)).utcoffset() == moment.replace(
            tzinfo=ZoneInfo(name)).utcoffset()  # fmt: skip
    except (KeyError, ValueError, OSError):
        return True


def _at_sea(stop: Stop, found: PlaceZone) -> Problem:
    return problem("X10", stop.origin, "lat", f"{stop.lat}, {stop.lon}, at sea",
                   "a position on land, or a zone", f"the clock of {found.name} is used")  # fmt: skip


def _other_time(stop: Stop, name: str) -> Problem:
    return problem("X11", stop.origin, "zone", f"{stop.zone} at {stop.lat}, {stop.lon}",
                   f"{name}, the zone of that position",
                   "the clock on the day of arrival is not the same; what stands in the column is used")  # fmt: skip
