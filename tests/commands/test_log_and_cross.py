"""`tripplan cross` and `tripplan log` on a real folder: recorded once, or refused and nothing written."""

import csv
import json
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.support import TODAY, good_folder, replaced
from tripplan.commands import plan as plan_command
from tripplan.commands import why as why_command
from tripplan.commands.log_and_cross import cross, log
from tripplan.commands.sources import in_folder
from tripplan.files.folder import load
from tripplan.files.held import FOLDER_LOCK
from tripplan.files.logbook import book as logbook
from tripplan.files.logbook import store as logbook_store

pytestmark = pytest.mark.usefixtures("by_rule")

AT = "2026-07-06 14:10"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A good trip folder with one planned crossing, on leg 2 at km 140."""
    return good_folder(tmp_path / "trip")


def files(folder: Path) -> dict[str, bytes]:
    """Every file below a folder by its path, but the empty one that is locked."""
    every = (path for path in folder.rglob("*") if path.is_file() and path.name != FOLDER_LOCK)
    return {str(path.relative_to(folder)): path.read_bytes() for path in every}


def rows(folder: Path, name: str = "crossings.csv") -> list[dict[str, str]]:
    """The rows of a table."""
    with (folder / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def crossed(folder: Path, **changes: Any) -> int:
    """One crossing of leg 2 recorded, changed as asked."""
    given = {"leg": "2", "depth": "0.7", "minutes": "4", "water": "muddy", "at": AT}
    return cross(folder, **{**given, **changes})


def test_the_planned_crossing_is_filled_in(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise the same water would be in the plan twice, once made and once to come."""
    assert crossed(folder, stalled=True) in (0, 1)
    (row,) = rows(folder)
    assert (row["depth_m"], row["water"], row["crossed"], row["length_m"]) == ("0.7", "muddy", AT, "30")
    assert (row["at_km"], row["stalled"]) == ("140", "yes")
    said = " ".join(capsys.readouterr().out.split())
    # by hand: hub centres 0.395 and 0.37 are under 0.70 m; the air box at 1.08 is over 0.70 + 0.10 m and + 0.25 m
    assert "0.7 m deep, with 0.1 m for the bow wave at the front" in said
    assert "Grade 5 of 5, stood: the engine stopped in the water." in said
    wagon, camper = said.partition("camper, under")[0], said.partition("camper, under")[2]
    assert "hub centre 0.4 m" in wagon and "hub centre 0.37 m" in camper
    assert "airbox seam 1.08 m" in said.partition("wagon, above it")[2].partition("camper")[0]
    assert "do not crank" in said and "cannot be pressed together" in said
    assert "At the bank" in said and "The same night" in said and "Before the next remote leg" in said
    assert "not say whether water can be driven" in said


def test_numbers_are_taken_as_well_as_text(folder: Path) -> None:
    """Otherwise a caller with figures at hand would have to spell them."""
    assert cross(folder, 2, 0.7, 4, "muddy", AT) in (0, 1)
    assert rows(folder)[0]["depth_m"] == "0.7"


def test_a_crossing_elsewhere_on_the_leg_is_added(folder: Path) -> None:
    """Otherwise an unplanned ford 80 km away would take the place of the planned one."""
    assert crossed(folder, at_km="60") in (0, 1)
    assert [(row["at_km"], row["crossed"]) for row in rows(folder)] == [("140", ""), ("60", AT)]


def test_near_the_planned_place_it_is_the_planned_one(folder: Path) -> None:
    """Otherwise an odometer that reads 3 km more would make a second crossing of one ford."""
    assert crossed(folder, at_km="143") in (0, 1)
    assert [(row["at_km"], row["crossed"]) for row in rows(folder)] == [("143", AT)]


BAD = {
    "an unknown leg": ({"leg": "9", "at_km": "3"}, "C10"),
    "a leg in words": ({"leg": "two"}, "C03"),
    "before the leg departs": ({"at": "2026-07-04 10:00"}, "C13"),
    "before the trip": ({"at": "2026-06-21 10:00"}, "C13"),
    "in the future": ({"today": "2026-07-05"}, "C12"),
    "below nothing": ({"depth": "-0.4"}, "C06"),
    "depth in centimetres": ({"depth": "55"}, "C06"),
    "above the highest point": ({"depth": "1.3"}, "C15"),
    "a depth with its unit": ({"depth": "0.4m"}, "C03"),
    "no depth": ({"depth": ""}, "C02"),
    "no water": ({"water": ""}, "C02"),
    "a formula": ({"depth": "=1+1"}, "C03"),
    "unknown water": ({"water": "brackish"}, "C05"),
    "no such day": ({"at": "2026-02-30"}, "A01"),
    "day and month unclear": ({"at": "06/07/2026"}, "A01"),
    "no day": ({"at": ""}, "A01"),
    "beyond the leg": ({"at_km": "900"}, "C11"),
    "behind the start": ({"at_km": "-3"}, "C06"),
    "a length of nothing": ({"length": "0"}, "C06"),
    "days in the water": ({"minutes": "5000"}, "C06"),
    "no way to tell which": ({"leg": "1", "at": "2026-07-03 10:00"}, "C17"),
    "an unreadable today": ({"today": "soon"}, "A01"),
}


@pytest.mark.parametrize(("changes", "code"), BAD.values(), ids=BAD)
def test_a_crossing_that_cannot_be_is_refused(
    folder: Path, capsys: pytest.CaptureFixture[str], changes: dict[str, str], code: str
) -> None:
    """Otherwise one slip of the keys on the track would spoil the folder or the plan."""
    before = files(folder)
    assert crossed(folder, out=folder / "out", **changes) == 2
    assert files(folder) == before
    assert code in capsys.readouterr().err


def test_recording_twice_is_refused(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise pressing enter twice would soak every hub twice."""
    assert crossed(folder) in (0, 1)
    before = files(folder)
    for again in ({}, {"at_km": "140"}, {"at_km": "140.6"}):
        assert crossed(folder, **again) == 2
        assert "C16" in capsys.readouterr().err
    assert files(folder) == before


def test_a_roof_height_raises_the_limit(folder: Path) -> None:
    """Otherwise an owner who gave the roof could not record how deep it really was."""
    rig = folder / "rig.toml"
    rig.write_text(rig.read_text().replace("airbox_seam = 1080", "airbox_seam = 1080\nroof = 1850"))
    assert crossed(folder, depth="1.3") in (0, 1)
    assert rows(folder)[0]["depth_m"] == "1.3"


def test_without_a_height_that_tells_how_high_the_rig_is_no_depth_is_refused(folder: Path) -> None:
    """Otherwise whoever measured the sill alone could not record a ford deeper than the sill."""
    rig = folder / "rig.toml"
    text = rig.read_text(encoding="utf-8").replace("airbox_seam = 1080\n", "").replace("intake_mouth = 1100\n", "")
    rig.write_text(text, encoding="utf-8")
    assert crossed(folder, depth="1.3") in (0, 1)
    assert rows(folder)[0]["depth_m"] == "1.3"


def test_with_out_the_outputs_are_brought_up_to_date(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise the worksheet in the glove box would still show the plan from before the water."""
    out = folder / "out"
    assert plan_command.plan(folder, out, "2026-06-20", False) in (0, 1)
    old = json.loads((out / "plan.json").read_text())
    capsys.readouterr()
    assert crossed(folder, out=out) in (0, 1)
    new = json.loads((out / "plan.json").read_text())
    assert (old["crossings"][0]["crossed"], new["crossings"][0]["depth_m"]) == (None, 0.7)
    said = capsys.readouterr().out
    assert f"What changed against the plan in {out}" in said
    assert "crossing on leg 2 at km 140: 0.55 m, muddy, planned -> 0.7 m, muddy, made" in said


def test_an_earlier_calendar_that_is_not_ours_stops_it_before_anything_is_written(folder: Path) -> None:
    """Otherwise the crossing would be recorded and the outputs left half behind."""
    out = folder / "out"
    out.mkdir()
    (out / "calendar.ics").write_text("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//other//EN\r\nEND:VCALENDAR\r\n")
    before = files(folder)
    assert crossed(folder, out=out) == 2
    assert files(folder) == before


def test_json_says_the_same(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise a program could not read what the owner can."""
    assert crossed(folder, as_json=True) in (0, 1)
    said = json.loads(capsys.readouterr().out)
    assert (said["row"], said["filled_in"], said["crossing"]["leg"]) == (2, True, 2)
    under = {mark["point"] for mark in said["crossing"]["marks"] if mark["under"] and mark["unit"] == "camper"}
    # by hand: 0.85 m is over the camper's hubs, shackles, coupling, floor, plug and lamps
    assert under == {"hub_centre", "shackle", "trailer_coupling", "trailer_floor", "trailer_plug", "lamp"}
    assert said["changes"]["others"][0]["what"] == "crossing on leg 2 at km 140"
    assert said["today"] == "2026-07-06"


@pytest.mark.parametrize(
    ("at", "hint"), [("2026-07-06 25:40", "no such time of day"), ("2026-06-31", "no such day"), ("", "")]
)
def test_a_moment_that_cannot_be_is_told_as_that(
    folder: Path, capsys: pytest.CaptureFixture[str], at: str, hint: str
) -> None:
    """Otherwise the form of it would be looked at again, which is right."""
    assert cross(folder, 2, 0.6, 4, "muddy", at, at_km=140, today="2026-07-06") == 2
    told = capsys.readouterr().err
    assert "[A01 " in told and hint in told


def test_what_a_crossing_calls_for_is_said_as_on_the_sheet(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise the brakes of the rig would be those of the wagon, and the same act have two names."""
    assert cross(folder, 2, 0.6, 4, "muddy", "2026-07-06 11:40", at_km=140, today="2026-07-06") in (0, 1)
    said = capsys.readouterr().out
    assert "[ ] Work all brakes of the rig\n" in said and "the rig (wagon)" not in said
    assert "[ ] Measure trailer wheel bearing play, left and right" in said


def test_a_job_is_logged_and_the_plan_moves(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise work done would be planned again."""
    assert log(folder, "wagon", ["engine_oil_filter"], "drain and refill", "2026-06-20", odometer=188400,
               finding="as new", lubricant="engine oil", note="=now()") in (0, 1)  # fmt: skip
    row = rows(folder, "history.csv")[-1]
    assert (row["item"], row["odometer_km"], row["finding"], row["note"]) == (
        "engine_oil_filter", "188400", "as new", "'=now()",
    )  # fmt: skip
    said = " ".join(capsys.readouterr().out.split())
    assert "Engine oil and filter (wagon): lasts the trip" in said or "Engine oil and filter (wagon): runs out" in said


@pytest.mark.parametrize(
    ("note", "finding", "asked"),
    [("a bit notchy", None, 1), ("slightly blued, seal weeping", None, 1), ("no play, not worn", None, 0), ("a bit notchy", "worn", 0),
     ("hot day, sand everywhere", None, 0)],
)  # fmt: skip
def test_words_of_wear_in_a_note_raise_one_question(
    folder: Path, capsys: pytest.CaptureFixture[str], note: str, finding: str | None, asked: int
) -> None:
    """Otherwise the only word on a worn bearing would stand in a note that no plan reads."""
    done = log(
        folder, "wagon", ["front_wheel_bearings:left"], "repack", "2026-06-20", finding=finding, note=note, as_json=True
    )
    said = json.loads(capsys.readouterr().out)
    assert done in (0, 1) and len(said["questions"]) == asked
    if asked:
        row = said["rows"][0]
        assert "was the finding worn?" in said["questions"][0] and f"--undo {row}" in said["questions"][0]
        again = log(folder, "wagon", ["front_wheel_bearings:left"], "repack", "2026-06-20", finding="worn", note=note,
                    undo=str(row), because="its finding")  # fmt: skip
        assert again in (0, 1) and rows(folder, "history.csv")[-1]["finding"] == "worn"


def test_several_jobs_at_once(folder: Path) -> None:
    """Otherwise an evening under the car would take ten commands."""
    jobs = ["wagon front_bearing_play left measure serviceable", "wagon winch - look as new",
            "wagon front_diff_oil - drain and refill water"]  # fmt: skip
    assert log(folder, None, [], None, "2026-06-20", odometer="188300", jobs=jobs) in (0, 1)
    last = rows(folder, "history.csv")[-3:]
    assert [(r["item"], r["position"], r["act"], r["finding"], r["odometer_km"]) for r in last] == [
        ("front_bearing_play", "left", "measure", "serviceable", "188300"),
        ("winch", "", "look", "as new", "188300"),
        ("front_diff_oil", "", "drain and refill", "water", "188300"),
    ]


def test_a_bare_reading(folder: Path) -> None:
    """Otherwise the odometer could only be noted together with work."""
    assert log(folder, "wagon", [], None, "2026-06-20", odometer="188300") in (0, 1)
    assert rows(folder, "history.csv")[-1]["act"] == "reading"


GOOD_JOB: dict[str, Any] = {"unit": "wagon", "items": ["winch"], "act": "look", "on": "2026-06-20"}
BAD_LOG = {
    "an unknown unit": ({"unit": "wagn"}, "H10"),
    "an unknown item": ({"items": ["winsh"]}, "H12"),
    "an unknown act": ({"act": "polish"}, "H15"),
    "an unknown side": ({"items": ["front_wheel_bearings:middle"], "act": "look"}, "H14"),
    "a side where there is none": ({"items": ["winch:left"]}, "H14"),
    "an item the unit does not have": ({"items": ["trailer_bearings"]}, "H13"),
    "an odometer that goes back": ({"odometer": "100000"}, "H11"),
    "an odometer that leaps": ({"odometer": "999999"}, "H18"),
    "an odometer in words": ({"odometer": "188k"}, "H03"),
    "in the future": ({"on": "2026-06-25", "today": "2026-06-20"}, "H17"),
    "an unknown finding": ({"finding": "rusty"}, "H05"),
    "no act": ({"act": None}, "A06"),
    "nothing at all": ({"items": [], "act": None}, "A06"),
    "a job of two words": ({"items": [], "act": None, "jobs": ["wagon winch"]}, "A06"),
    "two units, one odometer": (
        {"unit": None, "items": [], "act": None, "odometer": "188300",
         "jobs": ["wagon winch - look", "camper trailer_bearings both repack"]}, "A06"),
    "no such day": ({"on": "2026-02-30"}, "A01"),
    "one good and one bad": ({"items": ["winch", "winsh"]}, "H12"),
}  # fmt: skip


@pytest.mark.parametrize(("changes", "code"), BAD_LOG.values(), ids=BAD_LOG)
def test_work_that_cannot_be_is_refused(
    folder: Path, capsys: pytest.CaptureFixture[str], changes: dict[str, Any], code: str
) -> None:
    """Otherwise the history, on which every interval leans, would hold a wrong row."""
    before = files(folder)
    assert log(folder, **{**GOOD_JOB, **changes}, out=folder / "out") == 2
    assert files(folder) == before
    assert code in capsys.readouterr().err


def test_the_same_work_twice_is_refused(folder: Path) -> None:
    """Otherwise a repeated command would leave the same row twice."""
    assert log(folder, **GOOD_JOB) in (0, 1)
    before = files(folder)
    assert log(folder, **GOOD_JOB) == 2
    assert files(folder) == before


def verdicts(out: Path, item: str) -> dict[str, str]:
    """The verdict of each side of an item in the plan left in `out`."""
    plan = json.loads((out / "plan.json").read_text())
    return {one["position"]: one["verdict"] for one in plan["items"] if one["item"] == item}


def test_water_found_on_one_side_makes_both_sides_due(folder: Path) -> None:
    """Otherwise the other hub, which went through the same water, would be left shut."""
    out = folder / "out"
    assert log(folder, "wagon", ["front_wheel_bearings:left"], "look", "2026-06-20", finding="serviceable",
               out=out) in (0, 1)  # fmt: skip
    assert set(verdicts(out, "front_wheel_bearings").values()) != {"due before departure"}
    assert log(folder, "wagon", ["front_wheel_bearings:left"], "look", "2026-06-21", finding="water",
               out=out) in (0, 1)  # fmt: skip
    assert set(verdicts(out, "front_wheel_bearings").values()) == {"due before departure"}


def repack_called(out: Path, item: str) -> bool:
    """True when the crossing still calls for a repack of that item, outright or if a look finds water."""
    crossing = json.loads((out / "plan.json").read_text())["crossings"][0]
    return any((x["item"], x["act"]) == (item, "repack") for x in (*crossing["acts"], *crossing["contingent"]))


@pytest.mark.parametrize(("water", "still"), [("fresh", False), ("salt", True)])
def test_a_clean_look_relaxes_the_window_in_fresh_water_only(folder: Path, water: str, still: bool) -> None:
    """Otherwise a clean hub would be repacked for nothing, or a salty one taken along."""
    out = folder / "out"
    assert crossed(folder, water=water, out=out) in (0, 1)
    assert repack_called(out, "front_wheel_bearings")
    items = ["front_wheel_bearings:left", "front_wheel_bearings:right"]
    assert log(folder, "wagon", items, "look", "2026-07-07", finding="as new", out=out) in (0, 1)
    assert repack_called(out, "front_wheel_bearings") is still


def test_a_damaged_earlier_plan_does_not_stop_it(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise a half-copied file on the track would keep the record from being made."""
    out = folder / "out"
    out.mkdir()
    (out / "plan.json").write_text("{")
    assert crossed(folder, out=out) in (0, 1)
    assert "No earlier plan to compare with" in capsys.readouterr().out


def test_what_if_writes_nothing(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise trying a later departure would overwrite the plan that holds."""
    before = files(folder)
    assert plan_command.plan(folder, None, "2026-06-20", False, legs=["2 dust=bulldust"], depart="2026-07-10") in (0, 1)
    said = capsys.readouterr().out
    assert "as it is" in said and "10 July 2026" in said and "nothing was written" in said
    assert files(folder) == before


@pytest.mark.parametrize(("changes", "code"), [
    ({}, "A08"), ({"legs": ["2"]}, "A07"), ({"legs": ["9 dust=none"]}, "A05"), ({"depart": "soon"}, "A01"),
    ({"legs": ["2 dust=thick"]}, "A05"), ({"stops_left_out": ["Nowhere"]}, "A05"),
])  # fmt: skip
def test_a_what_if_that_cannot_be_is_refused(
    folder: Path, capsys: pytest.CaptureFixture[str], changes: dict[str, Any], code: str
) -> None:
    """Otherwise a mistyped change would be dropped and the answer be that of the trip as it is."""
    assert plan_command.plan(folder, None, "2026-06-20", False, **changes) == 2
    assert code in capsys.readouterr().err


@pytest.mark.parametrize(
    ("typed", "accepted"), [("2 dust=thick", "bulldust"), ("2 speed_kmh=-4", "150 km/h"), ("2 heat_c=hot", "deg C")]
)
def test_a_what_if_is_refused_in_the_words_of_the_table(
    folder: Path, capsys: pytest.CaptureFixture[str], typed: str, accepted: str
) -> None:
    """Otherwise the same slip would be told in one way in legs.csv and in another, not ours, on the command line."""
    assert plan_command.plan(folder, None, "2026-06-20", False, legs=[typed]) == 2
    told = capsys.readouterr().err
    assert typed.partition(" ")[2] in told and accepted in told and "Input should" not in told


def test_planning_over_an_issued_plan_says_what_moved(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise the owner would have to lay two worksheets side by side."""
    out = folder / "out"
    for _ in range(2):
        assert plan_command.plan(folder, out, "2026-06-20", False) in (0, 1)
    assert "Nothing changed against" in capsys.readouterr().out
    replaced(folder, "stops.csv", "Red Pan,2,2026-07-07,2026-07-11,camp,240\n", "")
    assert plan_command.plan(folder, out, "2026-06-20", False) in (0, 1)
    assert "What changed against" in capsys.readouterr().out


WRONG = ("wagon", ["engine_oil_filter"], "drain and refill", "2026-06-19", "188400")


def test_a_row_struck_out_counts_no_more_and_stays_readable(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise work logged by mistake would hide oil that is due, or vanish without a trace."""
    before = (folder / "history.csv").read_text(encoding="utf-8")
    was, _, _ = load(folder, TODAY)
    assert log(folder, *WRONG) in (0, 1)
    capsys.readouterr()
    assert log(folder, None, [], None, None, undo="last", because="another car", today="2026-06-20") in (0, 1)
    said = capsys.readouterr().out
    assert said.startswith(
        "history.csv row 10 struck out (2026-06-19, wagon, engine_oil_filter, drain and refill, 188400 km)"
    )
    assert "Engine oil and filter" in said
    now, _, _ = load(folder, TODAY)
    assert was and now and now.history == was.history
    [gone] = now.undone
    assert (gone.item, gone.odometer_km, gone.undone) == ("engine_oil_filter", 188400, "2026-06-20: another car")
    text = (folder / "history.csv").read_text(encoding="utf-8").splitlines()
    assert [line.removesuffix(",") for line in text[1:9]] == before.splitlines()[1:9]
    assert why_command.why(folder, "engine_oil_filter", "2026-06-20", False) == 0
    told = capsys.readouterr().out
    assert "Struck out, so not counted\n  history.csv row 10: 2026-06-19" in told
    assert max(map(len, told.splitlines())) <= 78
    assert "If it fails: bearings starve and the engine is done. It harms nobody; it costs 1 of the time" in " ".join(
        told.split()
    )


def test_a_row_is_struck_out_and_put_right_in_one_go(folder: Path) -> None:
    """Otherwise a crash between the two would leave the history without either."""
    assert log(folder, *WRONG) in (0, 1)
    assert log(folder, *WRONG[:3], "2026-06-19", "188300", undo="10", because="misread a digit") in (0, 1)
    told = [(row["odometer_km"], bool(row["undone"])) for row in rows(folder, "history.csv")[-2:]]
    assert told == [("188400", True), ("188300", False)]


def test_what_is_struck_out_may_be_logged_again(folder: Path) -> None:
    """Otherwise an undo could not itself be undone: the same work would be refused as a duplicate."""
    assert log(folder, *WRONG) in (0, 1)
    assert log(folder, *WRONG) == 2
    assert log(folder, None, [], None, None, undo="10", because="a slip") in (0, 1)
    assert log(folder, None, [], None, None, undo="10", because="a slip") == 2
    assert log(folder, *WRONG) in (0, 1)


def test_nothing_is_struck_out_when_what_stands_in_its_place_is_wrong(folder: Path) -> None:
    """Otherwise a typing slip in the correction would take the old row out and put nothing in."""
    assert log(folder, *WRONG) in (0, 1)
    before = files(folder)
    assert log(folder, *WRONG[:3], "2026-06-19", "18830O", undo="10", because="misread a digit") == 2
    assert files(folder) == before


def test_a_row_of_a_spreadsheet_is_struck_out(tmp_path: Path) -> None:
    """Otherwise an owner who keeps a spreadsheet could not correct it from the track."""
    folder = good_folder(tmp_path / "trip")
    book = openpyxl.Workbook()
    for line in csv.reader((folder / "history.csv").read_text(encoding="utf-8").splitlines()):
        book.active.append([float(cell) if cell.isdigit() else cell or None for cell in line])  # type: ignore[union-attr]
    book.save(folder / "history.xlsx")
    (folder / "history.csv").unlink()
    assert log(folder, None, [], None, None, undo="5", because="another car") in (0, 1)
    found, _, _ = load(folder, TODAY)
    assert found and len(found.history) == 7
    assert [row.origin.row for row in found.undone] == [5]


def test_a_logbook_row_is_struck_out_by_the_same_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise undo would mean one thing in a folder and another in the file that replaces it."""
    folder, book = good_folder(tmp_path / "trip"), tmp_path / "rig.logbook"
    logbook.take_in(book, folder, TODAY)
    undo = {"undo": "5", "because": "another car", "today": "2026-06-20", "as_json": True}
    shown = []
    for place in (folder, book):
        assert in_folder(place, True, lambda trip: log(trip, None, [], None, None, **undo), keep=True) in (0, 1)  # type: ignore[arg-type]
        told = json.loads(capsys.readouterr().out)
        shown.append((told["struck_out"], told["items"], told["changes"]["jobs"]))
    assert shown[0] == shown[1] and shown[0][0] == [5]
    with logbook_store.opened(book) as file:
        *_, last = logbook_store.entries(file, "history")
    assert (last.body, last.reason) == ("", "2026-06-20: another car") and last.replaces is not None
    assert len(logbook.history_entries(book)) == 7
    logbook.write_out(book, tmp_path / "out")
    assert rows(tmp_path / "out", "history.csv")[3]["undone"] == "2026-06-20: another car"


def test_the_hour_meter_is_kept_where_the_rates_find_it(folder: Path) -> None:
    """Otherwise the owner would have to know by heart how a note is worded for the engine's hours."""
    told = {"odometer": "188300", "hours": "4210.5", "note": "before the wet"}
    assert log(folder, "wagon", [], None, "2026-06-19", **told) in (0, 1)
    assert rows(folder, "history.csv")[-1]["note"] == "hours 4210.5; before the wet"
    assert log(folder, "wagon", [], None, "2026-06-19", odometer="188400", hours="4210,5") == 2


PAPER_DAYS = ("workshop-2026-06-21", "workshop-2026-06-27")


def test_shed_days_done_on_paper_are_asked_about_first(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise a crossing on day four would be told with eighty due jobs that were done long ago."""
    assert crossed(folder) in (0, 1)
    said = capsys.readouterr().out
    assert said.startswith("Nothing is recorded since Sat 2 May 2026; were these days of work done?")
    assert all(f"--done {slot}" in said for slot in PAPER_DAYS)
    assert max(map(len, said.splitlines())) < 420


def test_a_plan_made_again_asks_for_them_too(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise whoever plans again on the road, all work done on paper, would be told to do it once more, without a word why."""
    out = folder.parent / "out"
    assert plan_command.plan(folder, out, "2026-06-20", False) in (0, 1)
    assert "Nothing is recorded" not in capsys.readouterr().out
    assert plan_command.plan(folder, out, "2026-07-05", False) in (0, 1)
    said = capsys.readouterr().out
    asked = said.index("Nothing is recorded since Sat 2 May 2026; were these days of work done?")
    assert all(f"--done {slot}" in said for slot in PAPER_DAYS) and asked < said.index("Due")
    assert max(map(len, said[: said.index("Due")].splitlines())) <= 80
    assert log(folder, None, (), None, None, out=out, today="2026-07-05", done=PAPER_DAYS) in (0, 1)
    numbers = [n for n, row in enumerate(rows(folder, "history.csv"), 2) if row["note"] == "as planned"]
    assert f"rows added ({numbers[0]} to {numbers[-1]})" in capsys.readouterr().out
    assert plan_command.plan(folder, out, "2026-07-05", False) in (0, 1)
    assert "Nothing is recorded" not in capsys.readouterr().out


def test_whole_slots_are_recorded_in_one_go_with_exceptions(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise forty jobs would have to be typed one by one at the bank."""
    out = folder.parent / "out"
    assert plan_command.plan(folder, out, "2026-06-20", False) in (0, 1)
    plan = json.loads((out / "plan.json").read_text())
    wanted = [
        (slot["date"], job["unit"], job["item"], job["position"] or "", job["act"])
        for slot in plan["slots"] if slot["id"] in PAPER_DAYS for job in slot["jobs"]
    ]  # fmt: skip
    left = next(job for _, _, job, *_ in wanted)
    before = len(rows(folder, "history.csv"))
    assert log(folder, None, (), None, None, out=out, today="2026-07-05", done=PAPER_DAYS, excepted=(left,)) in (0, 1)
    new = [(r["date"], r["unit"], r["item"], r["position"], r["act"]) for r in rows(folder, "history.csv")[before:]]
    assert new == [row for row in wanted if row[2] != left]
    assert len(new) > 20
    capsys.readouterr()
    assert crossed(folder, out=out) in (0, 1)
    assert "Nothing is recorded" not in capsys.readouterr().out


def test_without_a_plan_at_hand_the_day_is_planned_again_as_it_was(folder: Path) -> None:
    """Otherwise a lost work sheet would mean a lost day of work."""
    before = len(rows(folder, "history.csv"))
    assert log(folder, None, (), None, None, today="2026-07-05", done=PAPER_DAYS[:1]) in (0, 1)
    new = rows(folder, "history.csv")[before:]
    assert new and {row["date"] for row in new} == {"2026-06-21"}


def test_a_stop_that_is_behind_is_planned_again_too(folder: Path) -> None:
    """Otherwise the work of a stop could not be recorded once the plan was made again."""
    before = len(rows(folder, "history.csv"))
    assert log(folder, None, (), None, None, today="2026-07-12", done=("stop-2-red-pan",)) in (0, 1)
    new = rows(folder, "history.csv")[before:]
    assert new and {row["date"] for row in new} == {"2026-07-07"}


def test_a_passed_stop_is_asked_about_until_it_is_answered(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:  # fmt: skip
    """Otherwise the first crossing behind a stop would write the stop out of the plan, and its work would be forgotten."""
    out, stop = folder.parent / "out", "stop-2-red-pan"
    assert plan_command.plan(folder, out, "2026-06-20", False) in (0, 1)
    (slot,) = [one for one in json.loads((out / "plan.json").read_text())["slots"] if one["id"] == stop]
    assert slot["jobs"]
    for day, at_km in ((12, 100), (13, 200), (14, 300)):
        capsys.readouterr()
        told = (3, 0.4, 2, "fresh", f"2026-07-{day} 10:00")
        assert cross(folder, *told, at_km=at_km, out=out, today=f"2026-07-{day}") in (0, 1)
        assert f"--done {stop}" in capsys.readouterr().out
        after = json.loads((out / "plan.json").read_text())
        assert stop not in [one["id"] for one in after["slots"]]
        assert [one["id"] for one in after["passed_slots"]].count(stop) == 1
    assert log(folder, None, (), None, None, out=out, today="2026-07-14", done=(stop,)) in (0, 1)
    new = [row for row in rows(folder, "history.csv") if row["date"] == "2026-07-07"]
    # A look that the water and an earlier job both ask for there stands twice on the sheet; it is done and written once.
    work = dict.fromkeys((job["item"], job["position"] or "", job["act"]) for job in slot["jobs"])
    assert [(r["item"], r["position"], r["act"]) for r in new] == list(work)
    capsys.readouterr()
    assert cross(folder, 3, 0.4, 2, "fresh", "2026-07-15 10:00", at_km=400, out=out, today="2026-07-15") in (0, 1)
    assert stop not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"done": ("workshop-2026-06-22",)}, "A41"),
        ({"done": PAPER_DAYS[:1], "excepted": ("flux_engine",)}, "A42"),
        ({"excepted": ("winch",)}, "A06"),
    ],
)
def test_slots_that_cannot_be_recorded_are_refused(
    folder: Path, capsys: pytest.CaptureFixture[str], given: dict[str, Any], code: str
) -> None:
    """Otherwise a slip in a slot's name would record a day that never was."""
    before = files(folder)
    assert log(folder, None, (), None, None, today="2026-07-05", **given) == 2
    assert files(folder) == before
    assert code in capsys.readouterr().err


def test_recording_a_slot_twice_is_refused(folder: Path) -> None:
    """Otherwise a second press of the key would count every job twice."""
    assert log(folder, None, (), None, None, today="2026-07-05", done=PAPER_DAYS[:1]) in (0, 1)
    before = files(folder)
    assert log(folder, None, (), None, None, today="2026-07-05", done=PAPER_DAYS[:1]) == 2
    assert files(folder) == before
