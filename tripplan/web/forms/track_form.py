"""A track file dropped into the trip: kept in `tracks/`, and its legs put into the form to be filled up.

The legs are those of `tripplan route add`. What a leg is like no track tells, so nothing of
legs.csv is saved until the owner has said it.
"""

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from tripplan.commands import route
from tripplan.commands.status import STOPPED
from tripplan.files.passing import passing_folder
from tripplan.files.way_in import content
from tripplan.records.problems import BadInput
from tripplan.records.units import KM_PER_MILE
from tripplan.web.forms.fields import slipped
from tripplan.web.forms.table_form import Grid, Row
from tripplan.web.forms.trip_form import TripTyped
from tripplan.web.open_trip import Desk, captured, problems_of

TRACK_NAME = re.compile(r"[\w][\w .()+-]{0,80}\.(?:gpx|kml|geojson|json)", re.I)


def with_track(desk: Desk, typed: TripTyped, sent: tuple[str, bytes], by: str, km_a_day: str) -> tuple[TripTyped, str]:
    """The form with the legs of a file as it was sent at its end, and what to say; the file is saved.

    Raises BadInput, with nothing written, for a file that gives no legs.
    """
    name, raw = Path(sent[0].replace("\\", "/")).name, sent[1]
    if not raw or not TRACK_NAME.fullmatch(name):
        raise slipped("track", name or "no file", "a GPX, KML or GeoJSON file with a plain name")
    legs, told = _proposed(desk.folder, name, raw, by, km_a_day)
    kept = f"tracks/{name}"
    old = content(desk.folder / kept)
    if old is not None and old != raw:
        raise slipped("track", f"another file at {kept}", "a name not used there yet")
    if old is None:
        desk.save({kept: raw}, f"The track {name}")
    grids = tuple(_longer(grid, legs) if grid.part == "legs" else grid for grid in typed.grids)
    note = f"{len(legs)} legs from {name} are in the table below. Say what each is like, then save."
    return replace(typed, grids=grids), " ".join([note, *told])


def _proposed(folder: Path, name: str, raw: bytes, by: str, km: str) -> tuple[list[dict[str, Any]], list[str]]:
    km_a_day = float(km) if re.fullmatch(r"\d{1,4}", km, re.ASCII) else None
    with passing_folder() as place:
        path = place / name
        path.write_bytes(raw)
        status, document = captured(lambda: route.add(folder, path, by, km_a_day, False, True))
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
