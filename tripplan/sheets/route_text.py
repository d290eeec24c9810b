"""Proposed legs as a table for reading, as rows for legs.csv, and as JSON."""

import csv
import io
import textwrap
from collections.abc import Iterable, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from tripplan.files.tables import Table
from tripplan.files.zones import zone_at
from tripplan.records.facts_in import Leg
from tripplan.records.units import KM_PER_MILE
from tripplan.trip.route.cut_into_legs import ProposedLeg
from tripplan.trip.route.measured_way import FASTEST_KMH, Way

COLUMNS = (
    "leg", "from", "to", "depart", "distance_km", "speed_kmh", "surface", "corrugation", "dust", "heat_c",
    "load", "towing", "hubs", "low_range_km", "remote", "note", "track", "distance_low_km",
    "distance_high_km", "from_lat", "from_lon", "to_lat", "to_lon",
)  # fmt: skip
FOR_THE_OWNER = COLUMNS[COLUMNS.index("surface") : COLUMNS.index("note")]
SENTENCE_WIDTH = 88
HEADINGS = ("leg", "from", "to", "km", "km/h", "up m", "down m", "depart", "arrive")


def leg_rows(legs: Sequence[ProposedLeg], file: str, first_number: int) -> list[dict[str, str]]:
    """A row of legs.csv for each leg; what a track cannot tell stays empty."""
    rows = []
    for number, leg in enumerate(legs, first_number):
        row = dict.fromkeys(COLUMNS, "")
        row |= {
            "leg": str(number), "from": leg.from_, "to": leg.to, "distance_km": f"{leg.distance_km:.1f}",
            "track": file, "from_lat": f"{leg.start[0]:.5f}", "from_lon": f"{leg.start[1]:.5f}",
            "to_lat": f"{leg.end[0]:.5f}", "to_lon": f"{leg.end[1]:.5f}",
        }  # fmt: skip
        if leg.high_km > leg.low_km:
            row |= {"distance_low_km": f"{leg.low_km:.1f}", "distance_high_km": f"{leg.high_km:.1f}"}
        if leg.speed_kmh is not None:
            row["speed_kmh"] = f"{leg.speed_kmh:.0f}"
        if leg.depart is not None:
            row["depart"] = _clock(leg.depart, leg.start)
        rows.append(row)
    return rows


def rows_text(rows: Iterable[dict[str, str]], columns: Sequence[str] = COLUMNS, header: bool = True) -> str:
    """Rows as CSV text; a cell that a spreadsheet would run as a formula is put in blanks."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, columns, extrasaction="ignore", lineterminator="\n", restval="")
    if header:
        writer.writeheader()
    for row in rows:
        writer.writerow({key: _harmless(key, value) for key, value in row.items()})
    return out.getvalue()


def merged_text(existing: str, table: Table, rows: Sequence[dict[str, str]]) -> str:
    """An existing legs.csv with the rows at its end; its own rows stay as they are.

    Columns that it lacks are added at the right of its header and stay empty in its rows.
    """
    used = {key for row in rows for key, value in row.items() if value}
    in_miles = [key for key in table.header if key.endswith("_mi")]
    rows = [_in_miles(row, in_miles) for row in rows]
    extra = [key for key in COLUMNS if key in used and key not in table.header and f"{key[:-3]}_mi" not in in_miles]
    columns = [*table.header, *extra]
    if not extra:
        return existing.rstrip("\n") + "\n" + rows_text(rows, columns, header=False)
    return rows_text([*(row for _, row in table.rows), *rows], columns)


def table_text(legs: Sequence[ProposedLeg], way: Way, first_number: int) -> str:
    """The legs as lines for reading, and what they were measured from."""
    cells = [HEADINGS, *(_cells(number, leg) for number, leg in enumerate(legs, first_number))]
    widths = [max(len(row[spot]) for row in cells) for spot in range(len(HEADINGS))]
    lines = ["  ".join(map(_padded, row, widths, range(len(row)))).rstrip() for row in cells]
    told = [row for remark in _remarks(way) for row in textwrap.wrap(remark, SENTENCE_WIDTH)]
    return "\n".join([*lines, "", *told])


def _padded(text: str, width: int, spot: int) -> str:
    return text.rjust(width) if HEADINGS[spot] in ("leg", "km", "km/h", "up m", "down m") else text.ljust(width)


def _cells(number: int, leg: ProposedLeg) -> tuple[str, ...]:
    spread = f" ({leg.low_km:.0f} to {leg.high_km:.0f})" if leg.high_km > leg.low_km else ""
    return (
        str(number), leg.from_, leg.to, f"{leg.distance_km:.1f}{spread}", _whole(leg.speed_kmh),
        _whole(leg.climb_m), _whole(leg.descent_m),
        _clock(leg.depart, leg.start) if leg.depart else "", _clock(leg.arrive, leg.end) if leg.arrive else "",
    )  # fmt: skip


def _remarks(way: Way) -> list[str]:
    told = [f"{way.length_km:.1f} km along the ellipsoid, halts of 60 s and more within 25 m taken out."]
    if way.winding.factor != 1:
        spread = f"{way.winding.factor:g} ({way.winding.low:g} to {way.winding.high:g})"
        told = [
            f"{way.length_km:.0f} km: the straight lines between points times {spread}, since roads wind "
            "(winding_factor, yours to set in overrides/assumptions.csv). The range stands in distance_low_km and "
            "distance_high_km and widens the reserve; empty both once you know the distance."
        ]
    if way.gap_km >= 0.1:
        told.append(f"{way.gap_km:.1f} km in straight lines between pieces of the track are not counted.")
    if way.jumps:
        points = "1 point" if way.jumps == 1 else f"{way.jumps} points"
        told.append(f"{points} left out as jumps of the receiver: over {FASTEST_KMH:g} km/h there and back.")
    if not way.has_times:
        told.append("The track has no times: departure and speed stay empty, and halts cannot be seen.")
    told.append("Climb counts from 10 m. Times are on the clock of the place.")
    told.append(f"Yours to fill, since no track tells it: {', '.join(FOR_THE_OWNER)}.")
    return told


def legs_json(legs: Sequence[ProposedLeg], rows: Sequence[dict[str, str]], way: Way) -> dict[str, Any]:
    """The same as data: rows as they would stand in legs.csv, with climb and spread beside them."""
    listed: list[dict[str, Any]] = [
        {**row, "arrive": _clock(leg.arrive, leg.end) if leg.arrive else None, "climb_m": leg.climb_m,
         "descent_m": leg.descent_m, "low_km": leg.low_km, "high_km": leg.high_km}
        for row, leg in zip(rows, legs, strict=True)
    ]  # fmt: skip
    return {"legs": listed, "length_km": way.length_km, "gap_km": way.gap_km, "remarks": _remarks(way)}


def _clock(when: Any, place: tuple[float, float]) -> str:
    return f"{when.astimezone(ZoneInfo(zone_at(*place).name)):%Y-%m-%d %H:%M}"


def _whole(value: float | None) -> str:
    return "" if value is None else f"{value:.0f}"


def _in_miles(row: dict[str, str], in_miles: Sequence[str]) -> dict[str, str]:
    turned = {key: f"{float(row[f'{key[:-3]}_km']) / KM_PER_MILE:.1f}" for key in in_miles if row.get(f"{key[:-3]}_km")}
    return row | turned


def _harmless(key: str, value: str) -> str:
    is_text = key in ("from", "to", "track", "note")
    return f" {value}" if is_text and value[:1] in ("=", "+", "-", "@") else value


def next_number(legs: Iterable[Leg]) -> int:
    """The number after the last leg that is there."""
    return max((leg.leg for leg in legs), default=0) + 1
