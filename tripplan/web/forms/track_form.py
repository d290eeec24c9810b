"""A track file dropped into the trip: kept in `tracks/`, and its legs put into the form to be filled up.

The legs are those of `tripplan route add`. What a leg is like no track tells, so nothing of
legs.csv is saved until the owner has said it.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from tripplan.commands import route
from tripplan.commands.status import STOPPED
from tripplan.files.passing import passing_folder
from tripplan.files.way_in import content
from tripplan.records.problems import BadInput
from tripplan.records.units import KM_PER_MILE
from tripplan.web.forms.fields import typed_problem
from tripplan.web.forms.table_form import Grid, Row
from tripplan.web.forms.trip_form import TripTyped
from tripplan.web.open_trip import Desk, captured, problems_of

TRACK_NAME = re.compile(r"[\w][\w .()+-]{0,80}\.(?:gpx|kml|geojson|json)", re.I)
OVERNIGHT, WAYPOINTS, KM = "overnight", "waypoints", "km"
WAYS = {OVERNIGHT: "the nights in it", WAYPOINTS: "its named waypoints", KM: "so many km a day"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Dropped:
    """A file as it was sent, and how it is to be cut into legs."""

    name: str
    content: bytes
    by: str
    km_a_day: str = ""


def with_track(desk: Desk, typed: TripTyped, dropped: Dropped) -> tuple[TripTyped, int | None, str]:
    """The form with the track's legs at its end, the number under which the file was saved, and what to say.

    Raises BadInput, with nothing written, for a file that gives no legs.
    """
    name = Path(dropped.name.replace("\\", "/")).name
    if not dropped.content or not TRACK_NAME.fullmatch(name):
        raise BadInput([typed_problem("track", name or "no file", "a GPX, KML or GeoJSON file with a plain name")])
    legs, told = _proposed(desk.folder, name, dropped)
    kept = f"tracks/{name}"
    old = content(desk.folder / kept)
    if old is not None and old != dropped.content:
        raise BadInput([typed_problem("track", f"another file at {kept}", "a name not used there yet")])
    number = desk.save({kept: dropped.content}, f"The track {name}") if old is None else None
    grids = tuple(_longer(grid, legs) if grid.part == "legs" else grid for grid in typed.grids)
    note = f"{len(legs)} legs from {name} are in the table below. Say what each is like, then save."
    return replace(typed, grids=grids), number, " ".join([note, *told])


def _proposed(folder: Path, name: str, dropped: Dropped) -> tuple[list[dict[str, Any]], list[str]]:
    km_a_day = float(dropped.km_a_day) if re.fullmatch(r"\d{1,4}", dropped.km_a_day, re.ASCII) else None
    with passing_folder() as place:
        path = place / name
        path.write_bytes(dropped.content)
        status, document = captured(lambda: route.add(folder, path, dropped.by, km_a_day, False, True))
    if status == STOPPED:
        raise BadInput(problems_of(document["problems"]))
    return document["legs"], [*document["remarks"], *document["told"]]


def _longer(grid: Grid, legs: list[dict[str, Any]]) -> Grid:
    """The table with the legs as new rows, and with the columns of their places."""
    rows = [_cells(grid, leg) for leg in legs]
    more = tuple(
        column for column in ("track", "from_lat", "from_lon", "to_lat", "to_lon") if column not in grid.columns
    )
    grown = replace(grid, columns=(*grid.columns, *more), rows=grid.filled()).with_blank(len(rows))
    fresh = grown.rows[len(grown.rows) - len(rows) :]
    filled = [Row(key=blank.key, cells={**blank.cells, **cells}) for blank, cells in zip(fresh, rows, strict=True)]
    return replace(grown, rows=(*grown.rows[: len(grown.rows) - len(rows)], *filled))


def _cells(grid: Grid, leg: Mapping[str, Any]) -> dict[str, str]:
    cells = {column: value for column, value in leg.items() if isinstance(value, str) and column != "arrive"}
    if "distance_mi" in grid.columns:
        cells["distance_mi"] = f"{float(cells.pop('distance_km')) / KM_PER_MILE:.1f}"
    return cells
