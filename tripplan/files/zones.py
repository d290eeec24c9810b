"""Time zones: of a position, found without a network, and of a name that a stop or a calendar gives."""

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, time, tzinfo
from functools import cache
from zoneinfo import ZoneInfo, available_timezones

from msgspec import Struct

from tripplan.records.facts_in import Stop
from tripplan.records.problem_codes import problem
from tripplan.records.problems import Problem

NOON = time(12)


class PlaceZone(Struct, frozen=True, kw_only=True):
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


class Zones:
    """The zones of one calendar file, by the name that its entries use.

    A name of the public time zone list comes first, then the file's own description of
    the name, then the names that office programs use. `find` gives None for any other.
    """

    def __init__(self, home: tzinfo, described: Mapping[str, str]) -> None:
        self.home = home
        self._described = described
        self._found: dict[str, tzinfo | None] = {}

    def find(self, name: str) -> tzinfo | None:
        """The zone of that name, or None when nobody says what it is."""
        if name not in self._found:
            self._found[name] = listed_zone(name) or self._from_file(name) or _office_zone(name)
        return self._found[name]

    def at_home(self, wall: datetime, zone: tzinfo) -> datetime:
        """A wall time of a zone as wall time at home."""
        if zone is self.home:
            return wall
        return wall.replace(tzinfo=zone).astimezone(self.home).replace(tzinfo=None)

    def _from_file(self, name: str) -> tzinfo | None:
        if name not in self._described:
            return None
        from icalendar import Timezone

        try:
            description = Timezone.from_ical(self._described[name])
            if not isinstance(description, Timezone):
                return None
            zone: tzinfo = description.to_tz(lookup_tzid=False)
            datetime(2026, 1, 1, tzinfo=UTC).astimezone(zone)
        except Exception:  # a damaged description fails in many ways; the name is then unknown
            return None
        return zone


@cache
def listed_zone(name: str) -> tzinfo | None:
    """The zone with that name in the public time zone list."""
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return None


def _office_zone(name: str) -> tzinfo | None:
    from icalendar.timezone.windows_to_olson import WINDOWS_TO_OLSON

    listed = WINDOWS_TO_OLSON.get(name)
    return listed_zone(listed) if listed else None
