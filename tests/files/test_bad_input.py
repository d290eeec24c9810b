"""Every problem code is made to happen, each by one small mistake in a good folder."""

import csv
import io
import os
import zipfile
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.support import FILES, LEGS, TODAY, good_folder, replaced
from tripplan.files.data_tables import DATA
from tripplan.files.folder import load
from tripplan.records.problem_codes import CODES, ONLY_WORTH_A_LOOK
from tripplan.records.problems import LOOK, STOPS, Problem

Spoil = Callable[[Path], object]
OLD_OVERRIDE = "id,name,safety,consequence,severity\nwinch,Winch,no,endangers,I\n"
REMEDIES = "at,found,by,act,minutes,basis,source,locator\n"
GOOD_OVERRIDE = (
    "place,state,parent,open_minutes,close_minutes,words,basis,source,locator\n"
    "underbody,on ramps,,20,10,up on ramps,judgement,none,we drive onto ramps at home\n"
)


def change(name: str, old: str, new: str) -> Spoil:
    """A mistake that replaces one piece of text."""
    return lambda folder: replaced(folder, name, old, new)


def write(name: str, content: str | bytes) -> Spoil:
    """A mistake that replaces a whole file, or adds one."""
    raw = content.encode("utf-8") if isinstance(content, str) else content
    return lambda folder: _write(folder / name, raw)


def _write(path: Path, raw: bytes) -> None:
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(raw)


def override(old: str, new: str) -> Spoil:
    """A mistake in an override of the table of teardown states."""
    assert old in GOOD_OVERRIDE
    return write("overrides/teardown.csv", GOOD_OVERRIDE.replace(old, new, 1))


def override_assumption(value: str) -> Spoil:
    """An override of a number, with that value."""
    head = "name,value,unit,meaning,basis,source,locator\n"
    return write("overrides/assumptions.csv", head + f"own number,{value},km,ours,judgement,none,ours\n")


def without_column(name: str, column: str) -> Spoil:
    """A mistake that takes a column out of the header by giving it another name."""
    header = FILES[name].partition("\n")[0]
    cells = ["zzzz" if cell == column else cell for cell in header.split(",")]
    return change(name, header, ",".join(cells))


def with_ends(folder: Path) -> None:
    """Ends of every leg some 100 km apart, where 250 km and more are typed."""
    for column, value in (("from_lat", "-23"), ("from_lon", "133"), ("to_lat", "-23"), ("to_lon", "134")):
        with_column("legs.csv", column, value)(folder)


def with_heights(folder: Path) -> None:
    """A descent of 900 m on each leg, and a track that falls 100 m on its whole length."""
    rows = "".join(f'<trkpt lat="-23" lon="{133 + n}"><ele>{500 - 10 * n}</ele></trkpt>' for n in range(11))
    with_track(track_of(rows))(folder)
    with_column("legs.csv", "descent_m", "900")(folder)


def with_range(low: str, high: str) -> Spoil:
    """A range of the distance on every leg."""

    def spoil(folder: Path) -> None:
        with_column("legs.csv", "distance_low_km", low)(folder)
        with_column("legs.csv", "distance_high_km", high)(folder)

    return spoil


def with_column(name: str, column: str, value: str) -> Spoil:
    """A column more, with the same value in every row."""

    def spoil(folder: Path) -> None:
        head, *rows = (folder / name).read_text(encoding="utf-8").splitlines()
        text = "\n".join([f"{head},{column}", *(f"{row},{value}" for row in rows)])
        (folder / name).write_text(text + "\n", encoding="utf-8")

    return spoil


ROUTE_TOO = '<rte><rtept lat="-23" lon="133"/><rtept lat="-23" lon="133.01"/></rte></gpx>'


def in_system(name: str) -> str:
    """A GeoJSON line that names this system of coordinates."""
    named = f'{{"type": "name", "properties": {{"name": "{name}"}}}}'
    return f'{{"type": "LineString", "crs": {named}, "coordinates": [[133, -23], [134, -23]]}}'


def with_track(content: str | bytes) -> Spoil:
    """Every leg naming one track file, with that content."""

    def spoil(folder: Path) -> None:
        with_column("legs.csv", "track", "way.gpx")(folder)
        write("tracks/way.gpx", content)(folder)

    return spoil


def track_of(*points: str) -> str:
    """A small GPX file with these track points, written in full."""
    return f'<gpx version="1.1" creator="t"><trk><trkseg>{"".join(points)}</trkseg></trk></gpx>'


def into_the_night(folder: Path) -> None:
    """The first leg, on the map, leaves late in the afternoon."""
    change("legs.csv", "2026-07-03 07:00", "2026-07-03 16:00")(folder)
    head, *rows = (folder / "legs.csv").read_text(encoding="utf-8").splitlines()
    ends = ["-23.7,133.9,-19.6,134.2", *[",,," for _ in rows[1:]]]
    lines = [f"{head},from_lat,from_lon,to_lat,to_lon", *(f"{row},{end}" for row, end in zip(rows, ends, strict=True))]
    (folder / "legs.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def without_line(name: str, start: str) -> Spoil:
    """A mistake that leaves out the line with that start."""
    line = next(line for line in FILES[name].splitlines() if line.startswith(start))
    return change(name, line + "\n", "")


def added(name: str, row: str) -> Spoil:
    """A mistake that adds a row at the end."""
    return write(name, FILES[name] + row + "\n")


def folder_instead(name: str) -> Spoil:
    """A folder where a file should be."""

    def spoil(folder: Path) -> None:
        (folder / name).unlink()
        (folder / name).mkdir()

    return spoil


def removed(name: str) -> Spoil:
    """A file that is not there."""
    return lambda folder: (folder / name).unlink()


def spreadsheet(sheets: dict[str, list[list[object]]]) -> bytes:
    """An .xlsx file with these sheets."""
    import openpyxl  # type: ignore[import-untyped]

    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    raw = io.BytesIO()
    book.save(raw)
    return raw.getvalue()


def history_as_xlsx(sheets: dict[str, list[list[object]]]) -> Spoil:
    """The history as a spreadsheet file instead of a CSV file."""

    def spoil(folder: Path) -> None:
        (folder / "history.csv").unlink()
        (folder / "history.xlsx").write_bytes(spreadsheet(sheets))

    return spoil


def history_from(raw: bytes) -> Spoil:
    """A history.xlsx with these bytes."""

    def spoil(folder: Path) -> None:
        (folder / "history.csv").unlink()
        (folder / "history.xlsx").write_bytes(raw)

    return spoil


def with_declaration() -> bytes:
    """A zip file whose XML declares an entity, as a file made to exhaust memory does."""
    raw = io.BytesIO()
    with zipfile.ZipFile(raw, "w") as archive:
        archive.writestr("xl/workbook.xml", '<!DOCTYPE x [<!ENTITY a "aaaa">]><x>&a;</x>')
    return raw.getvalue()


def own_item(folder: Path, **changes: str) -> None:
    """An override of items whose id is not a plain word, or with other cells changed."""
    rows = list(csv.reader((DATA / "items.csv").open(encoding="utf-8", newline="")))
    row = dict(zip(rows[0], rows[1], strict=True)) | {"locator": "our own"} | (changes or {"id": "My Item"})
    (folder / "overrides").mkdir()
    with (folder / "overrides" / "items.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([rows[0], [row[column] for column in rows[0]]])


HISTORY_ROWS: list[list[object]] = [
    ["date", "unit", "odometer_km", "act"],
    ["2026-06-14", "wagon", 188150, "reading"],
]
FORMULA_ROW: list[object] = ["=A2", "wagon", 188150, "reading"]
ODD_LETTER = FILES["stops.csv"].replace("Pan", "Pän").encode("cp1252")
LAST_READING = "2026-06-14,wagon,188150,,,reading"
FIRST_LEG = "1,Ironbark,Two Wells,2026-07-03 07:00,520,85,sealed"
STOP_ROW = "Red Pan,2,2026-07-07,2026-07-11,camp,240"
ZONED_STOP = f"stop,after_leg,arrive,leave,facility,minutes,zone\n{STOP_ROW},Mars\n"
AT_ONCE = "2026-07-06 15:20"
CROSSING_ROW = "2,140,0.55,30,2,muddy,"


def busy(*lines: str, keys: str = "workshop_minutes = 300\n") -> Spoil:
    """A calendar with one event of these lines instead of workshop.csv, and those keys in trip.toml."""

    def spoil(folder: Path) -> None:
        (folder / "workshop.csv").unlink()
        replaced(folder, "trip.toml", "rate_per_hour", keys + "rate_per_hour")
        with_calendar(*lines)(folder)

    return spoil


def with_calendar(*lines: str) -> Spoil:
    """A calendar with one event of these lines beside the other files."""
    body = ("BEGIN:VCALENDAR", "VERSION:2.0", "BEGIN:VEVENT", *lines, "END:VEVENT", "END:VCALENDAR", "")
    return write("busy.ics", "\r\n".join(body))


def far_departure(folder: Path) -> None:
    """A trip planned three years ahead from a calendar."""
    busy("DTSTART:20260627T090000")(folder)
    text = (folder / "trip.toml").read_text(encoding="utf-8")
    (folder / "trip.toml").write_text(text.replace("2026-07", "2029-07"), encoding="utf-8")
    for name in ("legs.csv", "stops.csv"):
        text = (folder / name).read_text(encoding="utf-8")
        (folder / name).write_text(text.replace("2026-07", "2029-07"), encoding="utf-8")


def under_way_far_on(folder: Path) -> None:
    """A trip that began on 11 June with a leg of 520 km, and 12 100 km more on the odometer three days later."""
    replaced(folder, "trip.toml", "depart = 2026-07-03", "depart = 2026-06-11")
    replaced(folder, "legs.csv", "2026-07-03 07:00", "2026-06-11 07:00")
    replaced(folder, "history.csv", "188150", "199000")


BUSY_START = "DTSTART:20260627T090000"
POINTS = ('<trkpt lat="-23" lon="133"/>', '<trkpt lat="-23" lon="134"/>')
SET_STOP = f"stop,after_leg,arrive,leave,facility,minutes,lat,lon,zone\n{STOP_ROW},"

CASES: list[tuple[str, str, Spoil]] = [
    ("F01", "no history", removed("history.csv")),
    ("F01", "no legs", removed("legs.csv")),
    ("F02", "a folder named history.csv", folder_instead("history.csv")),
    ("F02", "a folder named rig.toml", folder_instead("rig.toml")),
    ("F03", "a Windows-1252 file", write("stops.csv", ODD_LETTER)),
    ("F03", "half a UTF-16 file", write("stops.csv", b"\xff\xfea\x00b")),
    ("F04", "an empty file", write("legs.csv", "")),
    ("F04", "blank rows only", write("legs.csv", "\n,,\n \n")),
    ("F04", "an empty rig", write("rig.toml", " \n")),
    ("F05", "a header only", write("history.csv", FILES["history.csv"].partition("\n")[0] + "\n")),
    ("F06", "two histories", write("history.xlsx", spreadsheet({"s": HISTORY_ROWS}))),
    ("F07", "zero bytes", change("workshop.csv", "360", "3\x0060")),
    ("F08", "semicolons", write("workshop.csv", FILES["workshop.csv"].replace(",", ";"))),
    ("F08", "tabs", write("workshop.csv", FILES["workshop.csv"].replace(",", "\t"))),
    ("F09", "an open quotation mark", change("history.csv", 'seal renewed"', "seal renewed")),
    ("F10", "not a spreadsheet", history_from(b"date,unit,act\n")),
    ("F10", "a locked spreadsheet", history_from(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600)),
    ("F10", "declared entities", history_from(with_declaration())),
    ("F10", "a cut file", history_from(spreadsheet({"s": HISTORY_ROWS})[:2000])),
    ("F11", "a formula without result", history_as_xlsx({"s": [*HISTORY_ROWS, FORMULA_ROW]})),
    ("F12", "a column twice", change("workshop.csv", "date,minutes", "date,date")),
    ("F12", "km and miles", change("legs.csv", "remote,note", "remote,distance_mi")),
    ("F13", "a thousands separator", change("workshop.csv", "360", "1,360")),
    ("F13", "a very wide row", change("workshop.csv", "360", "360" + "," * 600)),
    ("F14", "an unfinished line", change("rig.toml", 'fuel = "diesel"', "fuel = ")),
    ("F14", "brackets without end", write("trip.toml", "a = " + "[" * 5000)),
    ("F15", "an unknown override", write("overrides/item.csv", GOOD_OVERRIDE)),
    ("F16", "two sheets", history_as_xlsx({"s": HISTORY_ROWS, "old": HISTORY_ROWS})),
    ("F17", "crossing.csv", write("crossing.csv", FILES["crossings.csv"])),
    ("F17", "legs.xlsx", write("legs.xlsx", b"")),
    ("F18", "a demo's name of the rig", change("rig.toml", '"Wagon and camper"', '"REPLACE (invented): Old wagon"')),
    ("R01", "a missing key", without_line("rig.toml", "home_zone")),
    ("R01", "no units", write("rig.toml", 'name = "a"\nhome_zone = "UTC"\n')),
    ("R02", "an empty name", change("rig.toml", '"Wagon and camper"', '""')),
    ("R03", "a number as text", change("rig.toml", "1.02", '"1.02"')),
    ("R03", "yes as a number", change("rig.toml", "1.02", "true")),
    ("R03", "no number", change("rig.toml", "1.02", "nan")),
    ("R03", "a height as text", change("rig.toml", "= 1080", '= "high"')),
    ("R05", "an unknown drive", change("rig.toml", '"part-time"', '"parttime"')),
    ("R06", "a factor of 3", change("rig.toml", "1.02", "3")),
    ("R06", "a hub below the ground", change("rig.toml", "hub_centre = 395", "hub_centre = -395")),
    ("R06", "a lamp on the ground", change("rig.toml", "lamp = 800", "lamp = 0")),
    ("R07", "a misspelt key", change("rig.toml", "odometer_factor", "odometer_facter")),
    ("R08", "a list as a word", change("rig.toml", '["electric-brakes"]', '"electric-brakes"')),
    ("R08", "one unit section", write("rig.toml", 'name = "a"\nhome_zone = "UTC"\n[unit]\nid = "a"\n')),
    ("R08", "a number as a name", change("rig.toml", '"Wagon and camper"', "5")),
    ("R10", "no vehicle", change("rig.toml", '"vehicle"', '"trailer"')),
    ("R10", "two vehicles", change("rig.toml", '"trailer"', '"vehicle"')),
    ("R11", "two ids the same", change("rig.toml", '"camper"', '"wagon"')),
    ("R12", "no gearbox", without_line("rig.toml", "gearbox =")),
    ("R12", "no front axle", without_line("rig.toml", "front_axle")),
    ("R13", "an unknown zone", change("rig.toml", "Australia/Darwin", "Australia/Darwen")),
    ("R13", "a zone that is a path", change("rig.toml", "Australia/Darwin", "../etc")),
    ("R14", "an unknown point", change("rig.toml", "axle_centre", "axle_center")),
    ("R15", "no usual km", without_line("rig.toml", "usual_km_per_week = 0")),
    ("R16", "a height left out", without_line("rig.toml", "knuckle_lower")),
    ("R17", "something fitted", change("rig.toml", '"winch"', '"wynch"')),
    ("R18", "a country in words", change("rig.toml", "home_zone", 'country = "Austrailia"\nhome_zone')),
    ("R19", "a region of another", change("rig.toml", "home_zone", 'country = "AU"\nregion = "TX"\nhome_zone')),
    ("R19", "a region alone", change("rig.toml", "home_zone", 'region = "NT"\nhome_zone')),
    ("R21", "a fuel with two letters changed", change("rig.toml", 'fuel = "diesel"', 'fuel = "deisel"')),
    ("R20", "a height in centimetres", change("rig.toml", "hub_centre = 395", "hub_centre = 38")),
    ("H01", "no act column", without_column("history.csv", "act")),
    ("H02", "no date", change("history.csv", LAST_READING, ",wagon,188150,,,reading")),
    ("H02", "no act", change("history.csv", LAST_READING, "2026-06-14,wagon,188150,,,")),
    ("H03", "a letter for a digit", change("history.csv", "184300", "18430O")),
    ("H03", "a thousands separator", change("history.csv", "184300", '"184,300"')),
    ("H03", "a unit in the cell", change("history.csv", "184300", "184300 km")),
    ("H04", "day and month unclear", change("history.csv", "2026-02-28", "03/04/2026")),
    ("H04", "no such day", change("history.csv", "2026-02-28", "2026-02-30")),
    ("H05", "an unknown finding", change("history.csv", "as new", "perfect")),
    ("H06", "a negative reading", change("history.csv", "184300", "-1")),
    ("H07", "a column more", change("history.csv", "lubricant,note", "lubricant,weather")),
    ("H10", "an unknown unit", change("history.csv", LAST_READING, "2026-06-14,wagen,188150,,,reading")),
    ("H11", "the odometer goes back", change("history.csv", "188150", "181200")),
    ("H12", "an unknown item", change("history.csv", "trailer_bearings", "trailer_baerings")),
    ("H13", "an item of another unit", change("history.csv", "trailer_bearings", "winch")),
    ("H14", "an unknown position", change("history.csv", "both,repack", "middle,repack")),
    ("H14", "a position too many", change("history.csv", "filter,,drain", "filter,left,drain")),
    ("H15", "an unknown act", change("history.csv", "both,repack", "both,repak")),
    ("H16", "an act on nothing", change("history.csv", "front_wheel_bearings", "")),
    ("H17", "a date in the future", change("history.csv", "2026-06-14", "2026-06-21")),
    ("H18", "a leap of the odometer", change("history.csv", "188150", "981500")),
    ("H24", "more km than the legs", under_way_far_on),
    ("H19", "a row twice", added("history.csv", "2026-06-14,wagon,188150,,,reading,,,")),
    ("H20", "one figure of two", added("history.csv", "2026-06-15,wagon,0,,,odometer replaced,,,")),
    ("H21", "a reading of nothing", change("history.csv", "188150", "")),
    ("H23", "a point for thousands", write("history.csv", FILES["history.csv"].partition("\n")[0] + "\n2026-05-02,wagon,188.150,,,reading,,,\n")),
    ("H22", "a sheet repacked", change("history.csv", "engine_oil_filter,,drain and refill,as new", "service_six_month,,repack,as new")),
    ("T01", "a missing key", without_line("trip.toml", "shakedown_km")),
    ("T02", "an empty name", change("trip.toml", '"North by the old road"', '""')),
    ("T03", "a number as text", change("trip.toml", "= 60", '= "60"')),
    ("T04", "a number as a date", change("trip.toml", "2026-07-03", "20260703")),
    ("T04", "a time as a date", change("trip.toml", "2026-07-03", "07:00:00")),
    ("T01", "a calendar and no minutes", busy(BUSY_START, keys="")),
    ("T05", "an unknown weekday", busy(BUSY_START, keys='workshop_weekdays = ["caturday"]\n')),
    ("T06", "ten minutes a day", busy(BUSY_START, keys="workshop_minutes = 10\n")),
    ("T06", "a negative rate", change("trip.toml", "= 60", "= -60")),
    ("T07", "legs in the wrong file", change("trip.toml", "rate_per_hour", "legs = []\nrate_per_hour")),
    ("T08", "a list as a name", change("trip.toml", '"North by the old road"', "[1]")),
    ("T10", "back before it starts", change("trip.toml", "2026-07-20", "2026-07-01")),
    ("T11", "minutes and no calendar", change("trip.toml", "rate_", "workshop_minutes = 300\nrate_")),
    ("L01", "no dust column", without_column("legs.csv", "dust")),
    ("L02", "no dust", change("legs.csv", "moderate,heavy", "moderate,")),
    ("L03", "a share in words", change("legs.csv", ",33,", ",hot,")),
    ("L03", "half a leg", change("legs.csv", FIRST_LEG, FIRST_LEG.replace("1,", "1.5,", 1))),
    ("L04", "a time that is not", change("legs.csv", "2026-07-03 07:00", "2026-07-03 27:00")),
    ("L05", "an unknown surface", change("legs.csv", "gravel,moderate", "dirt,moderate")),
    ("L05", "perhaps towing", change("legs.csv", "heavy,yes,locked", "heavy,maybe,locked")),
    ("L05", "hubs half", change("legs.csv", "yes,locked", "yes,half")),
    ("L06", "a distance of zero", change("legs.csv", ",410,", ",0,")),
    ("L06", "a negative distance", change("legs.csv", ",410,", ",-410,")),
    ("L07", "a column more", change("legs.csv", "remote,note", "remote,weather")),
    ("L10", "no legs", write("legs.csv", FILES["legs.csv"].partition("\n")[0] + "\n")),
    ("L11", "a number twice", change("legs.csv", "3,Red Pan", "2,Red Pan")),
    ("L12", "numbers out of order", change("legs.csv", "\n2,", "\n9,")),
    ("L12", "dates out of order", change("legs.csv", "2026-07-12", "2026-07-05")),
    ("L13", "legs overlap", change("legs.csv", "2026-07-06", "2026-07-03 12:00")),
    ("L14", "before the trip", change("legs.csv", "2026-07-03 07:00", "2026-07-02 07:00")),
    ("L14", "after the return", change("legs.csv", "2026-07-12", "2026-07-22")),
    ("L15", "from elsewhere", change("legs.csv", "2,Two Wells", "2,Three Wells")),
    ("L20", "an earlier leg of this trip", write("earlier_legs.csv", "trip," + LEGS.replace("\n1,", "\nOld,1,").replace("\n2,", "\nOld,2,").replace("\n3,", "\nOld,3,"))),
    ("L18", "half a washboard", with_column("legs.csv", "corrugation_mm", "12")),
    ("L16", "more low range than leg", change("legs.csv", "locked,12", "locked,500")),
    ("L19", "half a range", with_column("legs.csv", "distance_high_km", "480")),
    ("L19", "a range beside the distance", with_range("411", "480")),
    ("L17", "towing nothing", write("rig.toml", FILES["rig.toml"].partition('[[unit]]\nid = "camper"')[0])),
    ("C01", "no depth column", without_column("crossings.csv", "depth_m")),
    ("C02", "no depth", change("crossings.csv", "0.55", "")),
    ("C03", "a depth in words", change("crossings.csv", "0.55", "knee")),
    ("C04", "a crossing done", change("crossings.csv", "muddy,", "muddy,yes")),
    ("C05", "unknown water", change("crossings.csv", "muddy", "brown")),
    ("C06", "a depth in cm", change("crossings.csv", "0.55", "55")),
    ("C06", "a leg of twenty digits", change("crossings.csv", "2,140", "99999999999999999999,140")),
    ("C07", "a column more", change("crossings.csv", "crossed", "crossed,weather")),
    ("C10", "on no leg", change("crossings.csv", "2,140", "7,140")),
    ("C11", "beyond its leg", change("crossings.csv", "2,140", "2,1400")),
    ("C12", "done in the future", change("crossings.csv", "muddy,", "muddy,2026-07-06 15:20")),
    ("C13", "done before its leg", change("crossings.csv", "muddy,", "muddy,2026-06-01")),
    ("C18", "done long after the return", change("crossings.csv", "muddy,", "muddy,2026-08-21")),
    ("C14", "a crossing twice", added("crossings.csv", CROSSING_ROW)),
    ("C19", "two at one moment", write("crossings.csv", FILES["crossings.csv"].replace("muddy,", f"muddy,{AT_ONCE}\n2,150,0.55,30,2,muddy,{AT_ONCE}"))),
    ("S01", "no minutes column", without_column("stops.csv", "minutes")),
    ("S02", "no minutes", change("stops.csv", ",240", ",")),
    ("S03", "minutes in words", change("stops.csv", ",240", ",four hours")),
    ("S04", "no such day", change("stops.csv", "2026-07-11", "2026-07-32")),
    ("S05", "an unknown facility", change("stops.csv", "camp", "tent")),
    ("S06", "negative minutes", change("stops.csv", ",240", ",-240")),
    ("S07", "a column more", change("stops.csv", "minutes", "minutes,weather")),
    ("S10", "after no leg", change("stops.csv", "Pan,2,", "Pan,9,")),
    ("S11", "left before reached", change("stops.csv", "2026-07-11", "2026-07-06")),
    ("S12", "reached before its leg", change("stops.csv", "2026-07-07", "2026-07-05")),
    ("S13", "past the next departure", change("stops.csv", "2026-07-11", "2026-07-13")),
    ("S14", "an unknown zone", write("stops.csv", ZONED_STOP)),
    ("S15", "the same stop twice", change("stops.csv", "Red Pan,2", "Red pan.,2,2026-07-07,2026-07-11,camp,60\nRed Pan,2")),
    ("W01", "no minutes column", without_column("workshop.csv", "minutes")),
    ("W02", "no minutes", change("workshop.csv", "360", "")),
    ("W03", "minutes in words", change("workshop.csv", "360", "all day")),
    ("W04", "two forms of date", change("workshop.csv", "2026-06-27", "27.6.26")),
    ("W06", "no minutes at all", change("workshop.csv", "360", "0")),
    ("W07", "a column more", change("workshop.csv", "minutes", "minutes,who")),
    ("W10", "after departure", change("workshop.csv", "2026-06-27", "2026-07-04")),
    ("W11", "a year too early", change("workshop.csv", "2026-06-21", "2025-06-21")),
    ("W12", "a day twice", change("workshop.csv", "2026-06-27", "2026-06-21")),
    ("F03", "a calendar in Windows-1252", write("busy.ics", "SUMMARY:Z\u00e4hne\r\n".encode("cp1252"))),
    ("F04", "an empty calendar", write("busy.ics", "")),
    ("F17", "a slip in the calendar's name", write("bussy.ics", "x")),
    ("B01", "an event without a start", busy("UID:1")),
    ("B04", "a thirteenth month", busy("DTSTART:20261301T090000")),
    ("B09", "no calendar", write("busy.ics", "date,minutes\n")),
    ("B09", "a calendar cut short", write("busy.ics", "BEGIN:VCALENDAR\nBEGIN:VEVENT\nDTSTART:2026")),
    ("B10", "an unknown zone", busy("DTSTART;TZID=Mars/Base:20260627T090000")),
    ("B11", "an end before the start", busy(BUSY_START, "DTEND:20260627T080000")),
    ("B12", "a huge calendar", write("busy.ics", b" " * 20_000_001)),
    ("B13", "every second", busy(BUSY_START, "DURATION:PT1H", "RRULE:FREQ=SECONDLY")),
    ("B14", "busy on a workshop day", with_calendar(BUSY_START, "DURATION:PT1H")),
    ("B15", "a departure years off", far_departure),
    ("B16", "a rule that is none", busy(BUSY_START, "DURATION:PT1H", "RRULE:FREQ=SOMETIMES")),
    ("B16", "a length that is none", busy(BUSY_START, "DURATION:an hour")),
    ("F01", "no track of that name", with_column("legs.csv", "track", "way.gpx")),
    ("F02", "a track elsewhere", with_column("legs.csv", "track", "../way.gpx")),
    ("X01", "a packed track", with_track(b"PK\x03\x04")),
    ("X01", "an empty track", with_track("")),
    ("X02", "a declared entity", with_track('<!DOCTYPE gpx [<!ENTITY a "b">]>' + track_of(*POINTS))),
    ("X03", "a deep track", with_track("<gpx>" + "<a>" * 5000 + "</a>" * 5000 + "</gpx>")),
    ("X04", "a cut track", with_track(track_of(*POINTS)[:-10])),
    ("X05", "one point", with_track(track_of(POINTS[0]))),
    ("X06", "a point nowhere", with_track(track_of(*POINTS, '<trkpt lat="undefined" lon="134"/>'))),
    ("X07", "a height in words", with_track(track_of(*POINTS, '<trkpt lat="-23" lon="134"><ele>high</ele></trkpt>'))),
    ("X14", "a route beside a track", with_track(track_of(*POINTS).replace("</gpx>", ROUTE_TOO))),
    ("X15", "an older GeoJSON", with_track(in_system("urn:ogc:def:crs:OGC:1.3:CRS84"))),
    ("X16", "a grid of metres", with_track(in_system("EPSG:3857"))),
    ("X08", "a short track", with_track(track_of(*POINTS))),
    ("X08", "ends too near for the distance", with_ends),
    ("X13", "a descent that the track has not", with_heights),
    ("X09", "a word on remote", with_track(track_of(*POINTS))),
    ("X10", "a stop at sea", write("stops.csv", SET_STOP + "-20,155,\n")),
    ("X12", "in the dark", into_the_night),
    ("X11", "another clock", write("stops.csv", SET_STOP + "-23.7,133.9,Australia/Perth\n")),
    ("O01", "no place column", override("place,", "zzzz,")),
    ("O02", "no minutes", override("ramps,,20", "ramps,,")),
    ("O03", "minutes in words", override("ramps,,20", "ramps,,long")),
    ("O05", "an unknown place", override("underbody,", "under body,")),
    ("O06", "negative minutes", override("ramps,,20", "ramps,,-20")),
    ("O07", "a column more", override("locator\n", "locator,weather\n")),
    ("O09", "an id with blanks", own_item),
    ("O09", "a re-check without its end", lambda folder: own_item(folder, follow_ups="wheel_nuts 50 km")),
    ("O12", "a part that no table has", lambda folder: own_item(folder, consumables="ragg 1")),
    ("O10", "no reason", override("we drive onto ramps at home", "")),
    ("O11", "a row twice", write("overrides/teardown.csv", GOOD_OVERRIDE + GOOD_OVERRIDE.partition("\n")[2])),
    ("O12", "a remedy at nothing", write("overrides/remedies.csv", REMEDIES + "front brakes,worn,,renew,60,judgement,none,ours\n")),
    ("O12", "a remedy by nobody", write("overrides/remedies.csv", REMEDIES + "belts,worn,bolts,,,judgement,none,ours\n")),
    ("O12", "a remedy without an act", write("overrides/remedies.csv", REMEDIES + "belts,worn,,,,judgement,none,ours\n")),
    ("O12", "an unknown source", override("judgement,none", "judgement,hearsay")),
    ("O12", "a number that nothing reads", override_assumption("3")),
    ("O12", "an opening behind one that no table has", override("on ramps,,20", "on ramps,on a cloud,20")),
    ("O14", "an opening behind itself", override("on ramps,,20", "on ramps,on ramps,20")),
    ("O13", "a row copied before the columns changed", write("overrides/items.csv", OLD_OVERRIDE)),
]  # fmt: skip


def problems_of(folder: Path) -> tuple[Problem, ...]:
    """What a whole reading of the folder finds."""
    return load(folder, TODAY)[2]


def test_a_good_folder_has_no_problems(tmp_path: Path) -> None:
    """Otherwise an owner with nothing to correct would be told to correct something."""
    assert [problem.as_text() for problem in problems_of(good_folder(tmp_path))] == []


@pytest.mark.parametrize(("code", "about", "spoil"), CASES, ids=[f"{c} {about}" for c, about, _ in CASES])
def test_each_mistake_is_told(tmp_path: Path, code: str, about: str, spoil: Spoil) -> None:
    """Otherwise this mistake would go into the plan unseen, or end in a traceback."""
    spoil(good_folder(tmp_path))
    told = [problem for problem in problems_of(tmp_path) if problem.code == code]
    assert told, f"{about}: {[problem.as_text() for problem in problems_of(tmp_path)]}"
    for problem in told:
        assert problem.found
        assert problem.accepted
        assert "invalid" not in problem.as_text().lower()


FIELD_CODES = {"C15", "C16", "C17"}  # made to happen in test_field_commands.py


def test_every_code_is_made_to_happen() -> None:
    """Otherwise a code could be listed that no mistake gives, or given without being listed."""
    assert {code for code, _, _ in CASES} == set(CODES) - FIELD_CODES


@pytest.mark.parametrize(("code", "spoil"), [(code, spoil) for code, _, spoil in CASES])
def test_each_mistake_brings_few_others(tmp_path: Path, code: str, spoil: Spoil) -> None:
    """Otherwise one slip would bury its owner under follow-on messages about other rows."""
    spoil(good_folder(tmp_path))
    found = problems_of(tmp_path)
    assert {problem.code for problem in found} <= set(CODES)
    assert len(found) <= 12, [problem.as_text() for problem in found]


def test_weights_follow_the_code(tmp_path: Path) -> None:
    """Otherwise a harmless oddity would stop the plan, or a real mistake would not."""
    for code, about, spoil in CASES:
        spoil(good_folder(tmp_path / about / code))
        weights = {problem.weight for problem in problems_of(tmp_path / about / code) if problem.code == code}
        if code[1:] != "07":
            assert weights == {LOOK if code in ONLY_WORTH_A_LOOK else STOPS}, about


def test_extra_column_is_worth_a_look_and_a_misspelt_one_stops(tmp_path: Path) -> None:
    """Otherwise a depth in a column named `deptt` would be dropped, or a remark would stop the trip."""
    replaced(good_folder(tmp_path / "extra"), "history.csv", "lubricant,note", "lubricant,weather")
    replaced(good_folder(tmp_path / "slip"), "history.csv", "lubricant,note", "lubricent,note")
    assert [p.weight for p in problems_of(tmp_path / "extra") if p.code == "H07"] == [LOOK]
    assert [(p.weight, p.hint) for p in problems_of(tmp_path / "slip") if p.code == "H07"] == [
        (STOPS, "perhaps lubricant is meant")
    ]


def test_locked_file_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a file held open by another program would end in a traceback."""
    good_folder(tmp_path)
    real = os.open

    def refuse(path: Path, *more: Any) -> int:
        if Path(path).name == "history.csv":
            raise PermissionError(13, "locked")
        return real(path, *more)

    monkeypatch.setattr(os, "open", refuse)
    assert [(p.code, p.file) for p in problems_of(tmp_path)] == [("F02", "history.csv")]


def test_mistakes_in_every_file_are_told_at_once(tmp_path: Path) -> None:
    """Otherwise the owner would correct one file, run again, and meet the next mistake."""
    good_folder(tmp_path)
    replaced(tmp_path, "rig.toml", "1.02", "9")
    replaced(tmp_path, "trip.toml", "= 60", "= -60")
    replaced(tmp_path, "history.csv", "184300", "18430O")
    replaced(tmp_path, "history.csv", "186900", "l86900")
    replaced(tmp_path, "legs.csv", ",410,", ",0,")
    replaced(tmp_path, "stops.csv", "camp", "tent")
    _write(tmp_path / "overrides" / "thing.csv", b"a\n1\n")
    codes = [problem.code for problem in problems_of(tmp_path)]
    assert codes == ["H03", "H03", "L06", "F15", "R06", "S05", "T06"]


def test_no_folder_is_told(tmp_path: Path) -> None:
    """Otherwise a mistyped folder name would end in a traceback."""
    inputs, catalogue, problems = load(tmp_path / "nowhere", date(2026, 6, 20))
    assert inputs is None
    assert catalogue.items
    assert [problem.code for problem in problems] == ["F01"]


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("2025-09-14,wagon,179800,engine oil,,renew", "engine_oil_filter (Engine oil and filter)"),
        ("2025-09-14,wagon,179800,engine oil,,look", "engine_oil_level (Engine oil level)"),
        ("2025-09-14,wagon,179800,Oil-filter,,drain and refill", "engine_oil_filter (Engine oil and filter)"),
        ("2025-09-14,camper,,wheel bearings,,repack", "trailer_bearings (Trailer wheel bearings)"),
    ],
)
def test_a_word_that_is_part_of_a_name_is_answered_with_the_items_it_may_mean(
    tmp_path: Path, typed: str, first: str
) -> None:
    """Otherwise somebody who wrote that the engine oil was renewed would be offered the dipstick first, and engine mounts."""
    replaced(good_folder(tmp_path), "history.csv", LAST_READING, typed)
    (told,) = [problem for problem in problems_of(tmp_path) if problem.code == "H12"]
    assert told.accepted.startswith(f"an item of the catalogue by id or name, such as {first}")
