"""Time zones from positions, without a network."""

import re
from datetime import date, datetime, timedelta
from importlib import resources
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from tests.support import TODAY, good_folder
from tripplan.files.folder import load
from tripplan.files.zones import nautical_zone, with_zones, zone_at
from tripplan.placing.greedy import place_greedily
from tripplan.planner import make_plan
from tripplan.records.facts_in import Origin, Stop
from tripplan.sheets.outputs import write_outputs

PLACES = [
    (-23.7, 133.88, "Australia/Darwin", 9.5),
    (-31.68, 128.88, "Australia/Eucla", 8.75),
    (-31.95, 141.47, "Australia/Broken_Hill", 9.5),
    (-27.47, 153.03, "Australia/Brisbane", 10),
    (27.72, 85.32, "Asia/Kathmandu", 5.75),
    (-43.95, -176.56, "Pacific/Chatham", 12.75),
    (35.69, 51.39, "Asia/Tehran", 3.5),
    (64.13, -21.9, "Atlantic/Reykjavik", 0),
]


def stop(**columns: Any) -> Stop:
    """A stop with these columns."""
    plain: dict[str, Any] = {
        "stop": "Red Pan", "after_leg": 1, "arrive": date(2026, 7, 3), "leave": date(2026, 7, 4),
        "facility": "camp", "minutes": 60, "origin": Origin(file="stops.csv", row=2),
    }  # fmt: skip
    return Stop(**(plain | columns))


@pytest.mark.parametrize(("lat", "lon", "name", "hours"), PLACES)
def test_half_and_quarter_hours(lat: float, lon: float, name: str, hours: float) -> None:
    """Otherwise work at a stop would stand in the calendar half an hour off.

    Zones and their winter offsets from memory, checked with the zone tables of this machine.
    """
    found = zone_at(lat, lon)
    assert (found.name, found.at_sea) == (name, False)
    assert datetime(2026, 7, 1, tzinfo=ZoneInfo(found.name)).utcoffset() == timedelta(hours=hours)


def principal_places() -> list[tuple[float, float, str]]:
    """The principal place of every zone, from the table zone.tab of the tz database."""
    text = resources.files("tzdata").joinpath("zoneinfo/zone.tab").read_text(encoding="utf-8")
    found = []
    for row in text.splitlines():
        if not row.startswith("#"):
            _, place, name, *_ = row.split("\t")
            marks = re.fullmatch(r"([+-]\d\d)(\d\d)(\d\d)?([+-]\d{3})(\d\d)(\d\d)?", place)
            assert marks is not None
            lat, lon = (degrees(*marks.groups()[n : n + 3]) for n in (0, 3))
            found.append((lat, lon, name))
    return found


def degrees(whole: str, minutes: str, seconds: str | None) -> float:
    """Degrees, minutes and seconds of the table as degrees."""
    size = abs(int(whole)) + int(minutes) / 60 + int(seconds or 0) / 3600
    return -size if whole.startswith("-") else size


def test_the_principal_place_of_every_zone() -> None:
    """Otherwise a zone that few live in would keep its neighbour's clock.

    Compared by the clock in January and July, since zones may be merged or renamed. A place
    on a shore or a border may lie outside by the half minute that the table is good to.
    """
    places = principal_places()
    wrong = [
        (name, found.name) for lat, lon, name in places
        for found in (zone_at(lat, lon),)
        if any(datetime(2026, month, 1, tzinfo=ZoneInfo(found.name)).utcoffset()
               != datetime(2026, month, 1, tzinfo=ZoneInfo(name)).utcoffset() for month in (1, 7))
    ]  # fmt: skip
    assert len(places) > 400
    assert len(wrong) <= len(places) // 100, wrong
    assert not {name for name, _ in wrong} & {"Australia/Eucla", "Asia/Kathmandu", "Pacific/Chatham", "Asia/Kolkata"}


@pytest.mark.parametrize(
    ("lat", "lon", "hours"), [(-20, 155, 10), (0, -30, -2), (0, 0.5, 0), (0, 179.9, 12), (0, -179.9, -12)]
)
def test_at_sea_by_longitude_and_told(lat: float, lon: float, hours: int) -> None:
    """Otherwise a slip in a coordinate would give a clock without a word."""
    (filled,), (problem,) = with_zones([stop(lat=lat, lon=lon)])
    assert problem.code == "X10" and "at sea" in problem.found
    assert filled.zone is not None
    assert datetime(2026, 7, 1, tzinfo=ZoneInfo(filled.zone)).utcoffset() == timedelta(hours=hours)
    assert nautical_zone(lon) == filled.zone


def test_only_empty_zones_are_filled() -> None:
    """Otherwise the owner's own word would be overruled by a map."""
    kept = stop(lat=-23.7, lon=133.88, zone="Australia/Adelaide")
    bare, half = stop(), stop(lat=-23.7)
    filled, problems = with_zones([kept, bare, half, stop(lat=-23.7, lon=133.88)])
    assert filled[:3] == (kept, bare, half)
    assert filled[3].zone == "Australia/Darwin"
    assert problems == ()
    assert [p.code for p in with_zones([kept.model_copy(update={"zone": "Australia/Perth"})])[1]] == ["X11"]


def test_a_folder_gets_the_zones_of_its_stops(tmp_path: Path) -> None:
    """Otherwise the coordinates in stops.csv would change nothing."""
    folder = good_folder(tmp_path)
    head = "stop,after_leg,arrive,leave,facility,minutes,lat,lon"
    (folder / "stops.csv").write_text(f"{head}\nRed Pan,2,2026-07-07,2026-07-11,camp,240,-31.68,128.88\n")
    inputs, _, problems = load(folder, TODAY)
    assert problems == ()
    assert inputs is not None and inputs.trip.stops[0].zone == "Australia/Eucla"


@pytest.mark.parametrize(("zone", "is_told"), [("", True), ("Australia/Eucla", False)])
def test_a_zone_read_off_the_map_is_told_in_the_plan(tmp_path: Path, zone: str, is_told: bool) -> None:
    """Otherwise the calendar would keep a clock that nobody chose and nobody sees."""
    folder = good_folder(tmp_path)
    head = "stop,after_leg,arrive,leave,facility,minutes,lat,lon,zone"
    row = f"Red Pan,2,2026-07-07,2026-07-11,camp,240,-31.68,128.88,{zone}"
    (folder / "stops.csv").write_text(f"{head}\n{row}\n", encoding="utf-8")
    inputs, catalogue, problems = load(folder, TODAY)
    assert inputs is not None
    plan = make_plan(inputs.rig, inputs.history, inputs.trip, catalogue, TODAY, problems, place_greedily)
    told = "Zone read from the position, since stops.csv gives none: Red Pan: Australia/Eucla."
    assert (told in plan.assumptions) is is_told
    assert any("zone" in text.lower() for text in plan.assumptions) is is_told


def test_work_stands_in_the_calendar_on_the_clock_of_its_place(tmp_path: Path) -> None:
    """Otherwise work where the clock goes by three quarters of an hour would ring at the hour of home."""
    folder = good_folder(tmp_path / "trip")
    head = "stop,after_leg,arrive,leave,facility,minutes,lat,lon"
    row = "Red Pan,2,2026-07-07 15:30,2026-07-11,town,600,-31.68,128.88"
    (folder / "stops.csv").write_text(f"{head}\n{row}\n", encoding="utf-8")
    inputs, catalogue, problems = load(folder, TODAY)
    assert inputs is not None
    plan = make_plan(inputs.rig, inputs.history, inputs.trip, catalogue, TODAY, problems, place_greedily)
    write_outputs(plan, tmp_path / "out")
    calendar = Calendar.from_ical((tmp_path / "out" / "calendar.ics").read_bytes())
    starts = [event["DTSTART"].dt for event in calendar.walk("VEVENT") if event.get("LOCATION") == "Red Pan"]
    assert [start.isoformat() for start in starts] == ["2026-07-07T15:30:00+08:45"]
