"""`tripplan route add` and `route export`: what is printed, written and left alone."""

import csv
import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
from geopy.distance import geodesic

from tests.sheets.map_folder import map_folder, plan_on_map
from tests.support import FILES, TODAY, good_folder, replaced
from tests.track_texts import eastward, gpx, gpx_route, timed
from tripplan import planner
from tripplan.commands.route import add, export
from tripplan.files.folder import load
from tripplan.records.facts_in import Leg, Origin
from tripplan.sheets.route_files import cut_at_antimeridian
from tripplan.sheets.route_text import FOR_THE_OWNER
from tripplan.trip.distance_range import distance_factor

pytestmark = pytest.mark.usefixtures("by_rule")

EVENING = datetime(2026, 7, 3, 6, 0, tzinfo=UTC)  # 15:30 on the clock at 133 degrees east
MORNING = datetime(2026, 7, 3, 22, 30, tzinfo=UTC)
TWO_DAYS = gpx(
    timed(eastward(100, lon=133.0, step_deg=0.01), EVENING, 60),
    timed(eastward(150, lon=133.99, step_deg=0.01), MORNING, 60),
    waypoints=[(-23, 133.0, "Two Wells"), (-23, 133.99, "Red Pan")],
)
FIRST_DAY_KM = sum(geodesic((-23, 133 + n / 100), (-23, 133.01 + n / 100)).km for n in range(99))
STATUS_MADE, STATUS_LOOK, STATUS_STOPPED = 0, 1, 2


@pytest.fixture
def track(tmp_path: Path) -> Path:
    """The two days in a file outside the trip folder."""
    path = tmp_path / "outing.gpx"
    path.write_text(TWO_DAYS, encoding="utf-8")
    return path


def test_two_days_become_two_legs(tmp_path: Path, track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise the owner would type in by hand what the receiver knows."""
    assert add(tmp_path, track, "overnight", None, False, True) == STATUS_MADE
    one, two = json.loads(capsys.readouterr().out)["legs"]
    assert (one["from"], one["to"], one["depart"]) == ("Two Wells", "Red Pan", "2026-07-03 15:30")
    assert (two["from"], two["to"], two["depart"]) == ("Red Pan", "end of the track", "2026-07-04 08:00")
    assert float(one["distance_km"]) == pytest.approx(FIRST_DAY_KM, abs=0.06)
    assert 60 <= float(one["speed_kmh"]) <= 63


def test_conditions_are_never_guessed(tmp_path: Path, track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise a road nobody looked at would be planned as sealed."""
    add(tmp_path, track, "km", 60, False, True)
    legs = json.loads(capsys.readouterr().out)["legs"]
    assert len(legs) == 5
    assert all(leg[name] == "" for leg in legs for name in FOR_THE_OWNER)
    add(tmp_path, track, "km", 60, False, False)
    printed = capsys.readouterr().out
    assert "Yours to fill, since no track tells it: surface, corrugation, dust" in printed
    assert not (tmp_path / "legs.csv").exists()


def test_rows_join_the_legs_that_are_there(tmp_path: Path, track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise the owner's own rows could be lost or changed."""
    folder = good_folder(tmp_path / "trip")
    assert add(folder, track, "overnight", None, True, False) == STATUS_MADE
    with (folder / "legs.csv").open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    before = list(csv.DictReader(FILES["legs.csv"].splitlines()))
    assert [{key: row[key] for key in before[0]} for row in rows[:3]] == before
    assert [row["leg"] for row in rows] == ["1", "2", "3", "4", "5"]
    assert [row["track"] for row in rows] == ["", "", "", "outing.gpx", "outing.gpx"]
    assert (folder / "tracks" / "outing.gpx").read_bytes() == track.read_bytes()
    codes = {problem.code for problem in load(folder, TODAY)[2]}
    assert "L02" in codes and not codes & {"L01", "L03", "L07", "F02"}


def test_another_track_of_that_name_is_never_replaced(
    tmp_path: Path, track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise the way of an earlier leg would become that of a later one."""
    folder = good_folder(tmp_path / "trip")
    kept = folder / "tracks" / track.name
    kept.parent.mkdir()
    kept.write_text(TWO_DAYS.replace("Red Pan", "Blue Pan"), encoding="utf-8")
    assert add(folder, track, "overnight", None, True, False) == STATUS_STOPPED
    assert "[A14 " in capsys.readouterr().err
    assert "Blue Pan" in kept.read_text(encoding="utf-8")
    assert (folder / "legs.csv").read_text(encoding="utf-8") == FILES["legs.csv"]


def test_miles_stay_miles(tmp_path: Path, track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise kilometres would be written under a heading of miles."""
    folder = replaced(good_folder(tmp_path / "trip"), "legs.csv", "distance_km", "distance_mi")
    add(folder, track, "overnight", None, True, False)
    with (folder / "legs.csv").open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    assert float(rows[3]["distance_mi"]) == pytest.approx(FIRST_DAY_KM / 1.609344, abs=0.06)
    assert "distance_km" not in rows[3]


def test_a_new_folder_starts_with_leg_1(tmp_path: Path, track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise a first trip could not begin with a track."""
    folder = tmp_path / "new"
    folder.mkdir()
    assert add(folder, track, "waypoints", None, True, False) == STATUS_MADE
    assert (folder / "legs.csv").read_text(encoding="utf-8").startswith("leg,from,to,depart,")
    assert add(tmp_path / "nowhere", track, "waypoints", None, True, False) == STATUS_STOPPED


def test_a_name_that_a_spreadsheet_would_run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise a waypoint's name from someone else's file could run as a formula."""
    track = tmp_path / "a.gpx"
    track.write_text(gpx(eastward(100, step_deg=0.01), waypoints=[(-23, 133, "=HYPERLINK(1)")]), encoding="utf-8")
    add(tmp_path, track, "waypoints", None, True, False)
    assert ", =HYPERLINK(1)," in (tmp_path / "legs.csv").read_text(encoding="utf-8")


def test_a_drawn_route_shows_its_spread(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise straight lines on a map would pass for the road's length."""
    track = tmp_path / "drawn.gpx"
    track.write_text(gpx_route(eastward(10, step_deg=0.5)), encoding="utf-8")
    assert add(tmp_path, track, "km", 300, False, False) == STATUS_MADE
    printed = capsys.readouterr().out
    assert "times 1.2 (1.1 to 1.6), since roads wind" in printed
    assert "300.0 (275 to 400)" in printed
    assert "winding_factor, yours to set" in " ".join(printed.split())


def test_the_spread_goes_into_the_folder_and_into_the_reserve(tmp_path: Path) -> None:
    """Otherwise a distance that is a guess would be planned on like one that was driven."""
    folder = good_folder(tmp_path / "trip")
    own = "name,value,unit,low,high,meaning,basis,source,locator\nwinding_factor,1.4,factor,1.3,1.7,ours,judgement,none,hills\n"
    (folder / "overrides").mkdir()
    (folder / "overrides" / "assumptions.csv").write_text(own, encoding="utf-8")
    track = tmp_path / "drawn.gpx"
    track.write_text(gpx_route([(-23, 133), (-23, 135)]), encoding="utf-8")
    assert add(folder, track, "km", 2000, True, False) == STATUS_MADE
    *_, row = csv.DictReader((folder / "legs.csv").read_text(encoding="utf-8").splitlines())
    straight_km = geodesic((-23, 133), (-23, 135)).km
    given = [float(row[name]) for name in ("distance_low_km", "distance_km", "distance_high_km")]
    assert given == pytest.approx([straight_km * factor for factor in (1.3, 1.4, 1.7)], abs=0.06)
    filled = {
        "depart": "2026-07-15",
        "speed_kmh": "60",
        "surface": "sealed",
        "corrugation": "none",
        "dust": "none",
        "heat_c": "20",
        "load": "normal",
        "towing": "no",
        "hubs": "free",
        "low_range_km": "0",
        "remote": "no",
    }
    leg = Leg.model_validate(
        {k: v for k, v in (row | filled).items() if v} | {"origin": Origin(file="legs.csv", row=5)}
    )
    factor = distance_factor(leg)
    assert factor is not None and factor.high == pytest.approx(1.7 / 1.4, abs=1e-3)


@pytest.mark.parametrize(
    ("by", "km", "code"),
    [
        ("moon", None, "A11"),
        ("km", None, "A12"),
        ("km", 0.0, "A12"),
        ("km", float("nan"), "A12"),
        ("overnight", None, "A13"),
        ("waypoints", None, "A13"),
    ],
)
def test_what_cannot_be_cut_is_told(
    tmp_path: Path, by: str, km: float | None, code: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise a whole trip would come out as one leg without a word."""
    track = tmp_path / "bare.gpx"
    track.write_text(gpx(eastward(50, step_deg=0.01)), encoding="utf-8")
    assert add(tmp_path, track, by, km, False, False) == STATUS_STOPPED
    assert f"[{code} stops the plan]" in capsys.readouterr().err
    assert add(tmp_path, tmp_path / "none.gpx", "km", 100, False, False) == STATUS_STOPPED


def test_export_leaves_both_files(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise the stops and crossings could not be taken along in the receiver."""
    monkeypatch.setattr(planner, "make_plan", lambda *_: plan_on_map())
    folder = map_folder(tmp_path / "trip")
    status = export(folder, tmp_path / "out", f"{TODAY}", False)
    assert status in (STATUS_MADE, STATUS_LOOK)
    data = json.loads((tmp_path / "out" / "route.geojson").read_text(encoding="utf-8"))
    assert {path.name for path in (tmp_path / "out").iterdir()} >= {
        "route.gpx", "route.geojson", "trip_line.svg", "route_map.svg", "wear_profile.svg",
    }  # fmt: skip
    kinds = {feature["properties"]["kind"] for feature in data["features"]}
    assert kinds == {"stop", "crossing", "runs out", "leg"}
    crossing = next(f for f in data["features"] if f["properties"]["kind"] == "crossing")
    assert "not a word that it can be driven" in crossing["properties"]["lines"][0]
    assert not crossing["properties"]["approximate"]
    guessed = [f["properties"]["approximate"] for f in data["features"] if f["properties"].get("trip_km", 0) > 935]
    assert guessed and all(guessed)


def test_export_draws_the_items_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise the owner could only see the four items that the program finds worst."""
    monkeypatch.setattr(planner, "make_plan", lambda *_: plan_on_map())
    folder = map_folder(tmp_path / "trip")
    export(folder, tmp_path / "out", f"{TODAY}", False, ["Engine oil and filter", "trailer_bearings"])
    drawn = (tmp_path / "out" / "wear_profile.svg").read_text(encoding="utf-8")
    assert "Engine oil and filter" in drawn and "Trailer wheel bearings" in drawn and "Raised intake" not in drawn
    assert export(folder, tmp_path / "two", f"{TODAY}", False, ["moon dust"]) == STATUS_STOPPED
    # words that fit two items, as `why` shows both of them
    assert export(folder, tmp_path / "three", f"{TODAY}", False, ["wheel bearings"]) != STATUS_STOPPED
    drawn = (tmp_path / "three" / "wear_profile.svg").read_text(encoding="utf-8")
    assert "Front wheel bearings" in drawn and "Rear wheel bearings" in drawn
    assert "A02" in capsys.readouterr().err


def test_export_without_positions_says_what_is_missing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise an empty file would be taken along."""
    assert export(good_folder(tmp_path / "trip"), tmp_path / "out", f"{TODAY}", False) == STATUS_STOPPED
    assert "A15" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_lines_are_cut_at_the_antimeridian() -> None:
    """Otherwise a map program would draw the leg right round the world (RFC 7946, 3.1.9, from memory)."""
    parts = cut_at_antimeridian([(-16.0, 179.0), (-17.0, -179.0), (-18.0, -178.0), (-18.0, 179.0)])
    assert parts == [
        [(-16.0, 179.0), (-16.5, 180.0)],
        [(-16.5, -180.0), (-17.0, -179.0), (-18.0, -178.0), (-18.0, -180.0)],
        [(-18.0, 180.0), (-18.0, 179.0)],
    ]
    assert cut_at_antimeridian([(1.0, 2.0), (3.0, 4.0)]) == [[(1.0, 2.0), (3.0, 4.0)]]
