"""From texts of a track file to points: what cannot be a position is left out and counted."""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from msgspec import Struct, field

from tripplan.records.facts_in import Origin
from tripplan.records.problem_codes import problem
from tripplan.records.problems import Problem
from tripplan.records.track import DRAWN, RECORDED, Point
from tripplan.trip.route.geodesic import length_km

STUB_SHARE = 0.1  # judgement: under a tenth of the route a recording is not the way
ACCEPTED = "one way in a file: a recorded track, or a route"
Lines = tuple[tuple[Point, ...], ...]
POSITION_ACCEPTED = "latitude -90 to 90 and longitude -180 to 180, in degrees"
HEIGHTS_M = (-500.0, 9000.0)
VALUE_ACCEPTED = "metres, and times such as 2026-07-03T07:00:00Z"


class Refused(Exception):
    """A file that gives no track; carries the one Problem that says why."""

    def __init__(self, why: Problem) -> None:
        self.problem = why
        super().__init__(why.found)


def refusal(file: str, code: str, found: str, accepted: str, hint: str = "", row: int | None = None) -> Refused:
    """A refusal with this code."""
    return Refused(problem(code, Origin(file=file, row=row), None, found, accepted, hint))


class Oddities(Struct, kw_only=True):
    """What was left out while reading one file: how many, the first of them and its line."""

    file: str
    positions: int = 0
    values: int = 0
    told: list[Problem] = field(default_factory=list)
    first: dict[str, tuple[str, int | None]] = field(default_factory=dict)

    def position(self, found: str, where: Any) -> None:
        """Count a point that is not on the earth."""
        self.positions += 1
        self.first.setdefault("X06", (found, getattr(where, "sourceline", None)))

    def value(self, found: str, where: Any) -> None:
        """Count a height or time that cannot be read."""
        self.values += 1
        self.first.setdefault("X07", (found, getattr(where, "sourceline", None)))

    def tell(self, code: str, found: str, accepted: str, hint: str = "") -> None:
        """Say something about the file as a whole."""
        self.told.append(problem(code, Origin(file=self.file), None, found, accepted, hint))

    def problems(self) -> tuple[Problem, ...]:
        """What was told of the whole, and the two possible Problems of points, each once with its count."""
        told = list(self.told)
        for code, count, accepted in (
            ("X06", self.positions, POSITION_ACCEPTED), ("X07", self.values, VALUE_ACCEPTED),
        ):  # fmt: skip
            if count:
                found, row = self.first[code]
                more = f", and {count - 1} more" if count > 1 else ""
                told.append(problem(code, Origin(file=self.file, row=row), None, found + more, accepted))
        return tuple(told)


def point_of(
    lat: str | None, lon: str | None, ele: str | None, time: str | None, odd: Oddities, where: Any = None
) -> Point | None:
    """The point these texts mean, or None when they give no position; `where` is its element."""
    try:
        lat_deg, lon_deg = float(lat or ""), float(lon or "")
    except ValueError:
        lat_deg = lon_deg = 999.0
    if "_" in f"{lat}{lon}" or not (-90 <= lat_deg <= 90 and -180 <= lon_deg <= 180):
        odd.position(f"the position {(lat or 'nothing')[:20]}, {(lon or 'nothing')[:20]}", where)
        return None
    ele_m = _height(ele, odd, where) if ele else None
    when = _moment(time, odd, where) if time else None
    return Point(lat_deg, lon_deg, ele_m, when)


def _height(text: str, odd: Oddities, where: Any) -> float | None:
    try:
        found = float("nan" if "_" in text else text)
    except ValueError:
        found = float("nan")
    if HEIGHTS_M[0] <= found <= HEIGHTS_M[1]:
        return found
    if text.strip():
        odd.value(f"the height {text.strip()[:20]}", where)
    return None


def _moment(text: str, odd: Oddities, where: Any) -> datetime | None:
    """A time with its zone; one without is in UTC, as the GPX standard has it."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        try:
            found = datetime.fromisoformat(text.strip())
        except ValueError:
            if text.strip():
                odd.value(f"the time {text.strip()[:30]}", where)
            return None
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def chosen(
    recorded: Sequence[tuple[Point, ...]], drawn: Sequence[tuple[Point, ...]], odd: Oddities
) -> tuple[str, Lines]:
    """The kind and the lines that are used; those of one point are no lines."""
    tracks = tuple(line for line in recorded if len(line) > 1)
    routes = tuple(line for line in drawn if len(line) > 1)
    if not tracks or not routes:
        return (DRAWN, routes) if routes else (RECORDED, tracks)
    track_km, route_km = (sum(length_km(line) for line in lines) for lines in (tracks, routes))
    is_stub = track_km < STUB_SHARE * route_km
    track = _said(len(tracks), "recorded line", track_km)
    route = _said(len(routes), "drawn line or route", route_km)
    left, used = (track, route) if is_stub else (route, track)
    odd.tell("X14", f"{left}, left out beside {used}", ACCEPTED, "give each a file of its own to use the other")
    return (DRAWN, routes) if is_stub else (RECORDED, tracks)


def _said(count: int, what: str, km: float) -> str:
    many = what.replace("line", "lines").replace("route", "routes") if count > 1 else what
    return f"{count} {many} of {km:.0f} km"
