"""Which clock a calendar entry goes by: a named zone, one the file describes, or home."""

from collections.abc import Mapping
from datetime import UTC, datetime, tzinfo
from functools import cache
from zoneinfo import ZoneInfo


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
