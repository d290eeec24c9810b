"""The command line as its user meets it: status, problems, no traceback, a logbook for a folder."""

import json
import shutil
import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path

import pytest

from tests.commands.typed import run
from tests.support import TODAY, good_folder, replaced
from tripplan.commands import numbers as numbers_command
from tripplan.files.logbook.book import history_entries, take_in
from tripplan.placing.greedy import place_greedily

DAY = str(TODAY)
DEMO = Path(__file__).parents[2] / "demo" / "after-crossing"


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("A01", ("check", "FOLDER", "--today", "03/07/2026")),
        ("A02", ("why", "FOLDER", "hovercraft_skirt", "--today", DAY)),
        ("A03", ("demo", "inland")),
        ("A04", ("demo", "outback", "--out", "FOLDER")),
        ("A05", ("plan", "FOLDER", "--today", DAY, "--without-stop", "Nowhere")),
        ("A07", ("plan", "FOLDER", "--today", DAY, "--leg", "dust")),
        ("A41", ("log", "FOLDER", "--done", "workshop-2026-01-01", "--today", DAY)),
        ("A06", ("log", "FOLDER", "--except", "winch", "--today", DAY)),
        ("A09", ("logbook", "shred", "FOLDER/log")),
        ("A13", ("route", "add", "FOLDER", "FOLDER/bare.gpx")),
        ("A16", ("log", "FOLDER", "--undo", "999", "--because", "typed twice")),
        ("A16", ("log", "FOLDER", "--undo", "1", "--because", "typed twice")),
        ("A17", ("log", "FOLDER", "--undo", "last")),
        ("A18", ("grease", "FOLDER", "winch", "--weighed", "10=13.2g")),
        ("A18", ("grease", "FOLDER", "--weighed", "10=13.2g", "--with", "chassis grease")),
        ("A18", ("route", "add", "FOLDER", "FOLDER/bare.gpx", "--out", "FOLDER/out")),
        ("A18", ("route", "export", "FOLDER", "FOLDER/bare.gpx", "--out", "FOLDER/out", "--today", DAY)),
        ("A18", ("route", "export", "FOLDER", "--write", "--out", "FOLDER/out", "--today", DAY)),
        ("A06", ("log", "FOLDER", "--unit", "wagon", "--odometer", "188400")),
        ("A15", ("route", "export", "FOLDER", "--out", "FOLDER/out", "--today", DAY)),
        ("F01", ("check", "FOLDER/nowhere", "--today", DAY)),
        ("J05", ("plan", "FOLDER/rig.toml", "--out", "FOLDER/out", "--today", DAY)),
        ("P01", ("check", "FOLDER", "--plan", "FOLDER/rig.toml", "--today", DAY)),
        ("P02", ("check", "FOLDER", "--plan", "FOLDER/other.json", "--today", DAY)),
    ],
)
def test_a_slip_on_the_command_line_is_a_problem(
    code: str, words: tuple[str, ...], tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """Otherwise a tired owner at a camp would face a traceback."""
    folder = good_folder(tmp_path / "trip")
    points = "".join(f'<trkpt lat="-2{n}" lon="134"/>' for n in range(3))
    gpx = f'<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="t"><trk><trkseg>{points}</trkseg></trk></gpx>'
    (folder / "bare.gpx").write_text(gpx, encoding="utf-8")
    (folder / "other.json").write_text('{"schema": 99}', encoding="utf-8")
    status = run(monkeypatch, *(word.replace("FOLDER", str(folder)) for word in words))
    told = capsys.readouterr()
    assert status == 2
    assert f"[{code} " in told.err + told.out
    assert "Traceback" not in told.err


LOOKED = ("--unit", "wagon", "--item", "winch", "--act", "exercise", "--date", "2026-06-18", "--today", DAY)


@pytest.mark.parametrize("asked", [None, "elsewhere"])
def test_the_place_of_the_outputs_is_remembered(
    asked: str | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise the sheet in the glove box would be stale after the first thing recorded."""
    folder = good_folder(tmp_path / "trip")
    out = tmp_path / asked if asked else folder / "outputs"
    told = ("--out", str(out)) if asked else ()
    assert run(monkeypatch, "plan", str(folder), "--today", DAY, *told) in (0, 1)
    before = (out / "plan.json").read_bytes()
    capsys.readouterr()
    assert run(monkeypatch, "log", str(folder), *LOOKED) in (0, 1)
    assert f"Written to {out}" in capsys.readouterr().out
    assert (out / "plan.json").read_bytes() != before
    calendar = (out / "calendar.ics").read_bytes()
    words = ("--leg", "2", "--depth", "0.7", "--minutes", "4", "--water", "muddy", "--at", "2026-07-06 14:10")
    assert run(monkeypatch, "cross", str(folder), *words) in (0, 1)
    assert (out / "calendar.ics").read_bytes() != calendar


@pytest.mark.parametrize("command", ["plan", "log", "cross"])
def test_a_copied_folder_does_not_write_where_the_first_one_does(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise next year's trip, begun as a copy, would write its plan over the sheets of this one."""
    first, out = good_folder(tmp_path / "first"), tmp_path / "out"
    assert run(monkeypatch, "plan", str(first), "--out", str(out), "--today", DAY) in (0, 1)
    second = shutil.copytree(first, tmp_path / "second")
    kept = (out / "plan.json").read_bytes()
    capsys.readouterr()
    words = {
        "plan": ("--today", DAY), "log": LOOKED,
        "cross": ("--leg", "2", "--depth", "0.7", "--water", "muddy", "--at", "2026-07-06 14:10"),
    }  # fmt: skip
    assert run(monkeypatch, command, str(second), *words[command]) in (0, 1)
    assert f"is forgotten: {out} keeps its plan" in capsys.readouterr().err
    assert (out / "plan.json").read_bytes() == kept
    assert not (second / "outputs_place.txt").exists() and (second / "outputs").is_dir() == (command == "plan")
    assert run(monkeypatch, "log", str(first), *LOOKED) in (0, 1)
    assert (out / "plan.json").read_bytes() != kept and "forgotten" not in capsys.readouterr().err


def test_a_place_that_names_no_folder_is_not_written_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a file of an earlier version, copied along, would still lead a copy to the sheets of another trip."""
    folder, out = good_folder(tmp_path / "trip"), tmp_path / "out"
    assert run(monkeypatch, "plan", str(folder), "--out", str(out), "--today", DAY) in (0, 1)
    (folder / "outputs_place.txt").write_text(f"{out}\n", encoding="utf-8")
    kept = (out / "plan.json").read_bytes()
    assert run(monkeypatch, "log", str(folder), *LOOKED) in (0, 1)
    assert (out / "plan.json").read_bytes() == kept


def test_a_place_that_is_gone_is_not_made_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise a stick pulled out would leave a folder of outputs that nobody looks at."""
    folder, out = good_folder(tmp_path / "trip"), tmp_path / "stick"
    assert run(monkeypatch, "plan", str(folder), "--out", str(out), "--today", DAY) in (0, 1)
    shutil.rmtree(out)
    assert run(monkeypatch, "log", str(folder), *LOOKED) in (0, 1)
    assert "The outputs are as they were" in capsys.readouterr().out
    assert not out.exists()


def test_a_logbook_has_no_place_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise the outputs would be written into a folder that is gone a moment later."""
    folder, book = good_folder(tmp_path / "trip"), tmp_path / "book"
    take_in(book, folder, TODAY)
    assert run(monkeypatch, "plan", str(book), "--today", DAY) == 2
    assert "A08" in capsys.readouterr().err


def test_a_plan_that_breaks_a_rule_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise a plan changed by hand into one that no day has the minutes for would pass for checked."""
    plan = json.loads((DEMO / "outputs" / "plan.json").read_text(encoding="utf-8"))
    longest = max(plan["slots"], key=lambda slot: slot["minutes_planned"])
    longest["minutes_available"] = longest["minutes_planned"] / 2
    (tmp_path / "plan.json").write_text(json.dumps(plan), encoding="utf-8")
    status = run(monkeypatch, "check", str(DEMO), "--plan", str(tmp_path / "plan.json"), "--today", plan["today"])
    assert status == 2
    assert "[P03 " in capsys.readouterr().err


def test_a_plan_that_holds_is_not_planned_again_to_tell_what_it_warns_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise a check would take as long as the plan, and could warn of another plan than the one that was checked."""
    plan = json.loads((DEMO / "outputs" / "plan.json").read_text(encoding="utf-8"))
    words = ("check", str(DEMO), "--plan", str(DEMO / "outputs" / "plan.json"), "--json", "--today")
    monkeypatch.setattr("tripplan.files.plan_folder.unproven_plan", lambda *_: pytest.fail("planned again"))
    assert run(monkeypatch, *words, plan["today"]) == 1
    assert json.loads(capsys.readouterr().out)["warnings"] == plan["warnings"] != []


def test_another_days_warnings_are_not_told_from_a_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise the status would be that of a plan made before, not of the one that `plan` makes today."""
    asked: list[bool] = []
    monkeypatch.setattr(
        "tripplan.files.plan_folder.place_unproven", lambda problem: asked.append(True) or place_greedily(problem)
    )
    plan = json.loads((DEMO / "outputs" / "plan.json").read_text(encoding="utf-8"))
    another = date.fromisoformat(plan["today"]) + timedelta(days=1)
    words = ("--plan", str(DEMO / "outputs" / "plan.json"), "--today", another.isoformat())
    assert run(monkeypatch, "check", str(DEMO), *words) == 1 and asked


def test_plan_check_and_json_agree(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise a folder would pass the check and stop the plan."""
    folder = good_folder(tmp_path / "trip")
    replaced(folder, "history.csv", "184300", "18430O")
    assert run(monkeypatch, "check", str(folder), "--today", DAY, "--json") == 2
    checked = json.loads(capsys.readouterr().out)["problems"]
    assert run(monkeypatch, "plan", str(folder), "--out", str(tmp_path / "out"), "--today", DAY, "--json") == 2
    assert json.loads(capsys.readouterr().out)["problems"] == checked
    assert [(p["file"], p["row"], p["column"], p["found"]) for p in checked] == [
        ("history.csv", 6, "odometer_km", "18430O")
    ]
    assert not (tmp_path / "out").exists()


def test_a_fault_of_ours_ends_with_three_and_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise nobody could tell whose fault it was."""

    def broken(*_: object) -> int:
        raise RuntimeError("a screw loose")

    monkeypatch.setattr(numbers_command, "numbers", broken)
    assert run(monkeypatch, "numbers") == 3
    assert capsys.readouterr().err.count("\n") == 1


def test_a_logbook_stands_where_a_folder_does(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise what is logged into the one file would not reach the plan, or be lost."""
    folder, book = good_folder(tmp_path / "trip"), tmp_path / "book"
    assert run(monkeypatch, "logbook", "take-in", str(book), str(folder)) == 0
    words = ("log", "--unit", "wagon", "--item", "engine_oil_filter", "--act", "drain and refill", "--date", DAY)
    assert run(monkeypatch, "--logbook", str(book), *words, "--odometer", "188400") in (0, 1)
    capsys.readouterr()
    assert run(monkeypatch, "logbook", "entries", str(book), "--json") == 0
    entries = json.loads(capsys.readouterr().out)
    number = next(n for n, text in entries.items() if "188400" in text)
    assert run(monkeypatch, "logbook", "undo", str(book), "--number", number, "--because", "typed twice") == 0
    capsys.readouterr()
    assert run(monkeypatch, "logbook", "entries", str(book), "--json") == 0
    left = json.loads(capsys.readouterr().out)
    assert number not in left
    assert len(left) == len(entries) - 1


def test_a_crossing_made_is_listed_and_struck_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise nobody could find its number, and one that is there twice would stay."""
    folder, book = good_folder(tmp_path / "trip"), tmp_path / "book"
    path = folder / "crossings.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("muddy,", "muddy,2026-07-06 15:20"), encoding="utf-8")
    assert run(monkeypatch, "logbook", "take-in", str(book), str(folder)) == 0
    capsys.readouterr()
    assert run(monkeypatch, "logbook", "entries", str(book), "--json") == 0
    entries = json.loads(capsys.readouterr().out)
    (number,) = (n for n, text in entries.items() if text.startswith("crossing | "))
    assert entries[number] == "crossing | North by the old road | leg 2 at 140 km | made 2026-07-06 15:20:00"
    assert run(monkeypatch, "logbook", "undo", str(book), "--number", number, "--because", "typed twice") == 0
    capsys.readouterr()
    assert run(monkeypatch, "logbook", "entries", str(book), "--json") == 0
    assert json.loads(capsys.readouterr().out) == {n: text for n, text in entries.items() if n != number}


def test_photos_that_a_logbook_does_not_hold_are_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise the folder would be thrown away, and a note would name a photo that is nowhere."""
    folder, book = good_folder(tmp_path / "trip"), tmp_path / "book"
    (folder / "photos").mkdir()
    for name in ("b_2.jpg", "a_1.jpg"):
        (folder / "photos" / name).write_bytes(b"a picture")
    assert run(monkeypatch, "logbook", "take-in", str(book), str(folder)) == 0
    said = capsys.readouterr().out
    assert "left behind: photos/a_1.jpg; photos/b_2.jpg" in said and "in the folder alone, so keep it" in said
    assert run(monkeypatch, "logbook", "take-in", str(book), str(folder), "--json") == 0
    assert json.loads(capsys.readouterr().out)["left_behind"] == ["photos/a_1.jpg", "photos/b_2.jpg"]
    assert run(monkeypatch, "logbook", "take-in", str(tmp_path / "other"), str(good_folder(tmp_path / "bare"))) == 0
    said = capsys.readouterr().out
    assert "left behind: none" in said and "keep it" not in said


def test_an_old_table_goes_into_a_logbook(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise an owner with a logbook would have to keep a folder for the import alone."""
    folder, book, old = good_folder(tmp_path / "trip"), tmp_path / "book", tmp_path / "old.csv"
    assert run(monkeypatch, "logbook", "take-in", str(book), str(folder)) == 0
    old.write_text("Date,Odo,Work\n2018-02-13,152000,oil & filter\n2018-03-13,153000,did the thing\n", encoding="utf-8")
    assert run(monkeypatch, "--logbook", str(book), "import", str(old), "--yes", "--today", DAY) == 1
    assert str(tmp_path / "import_questions.csv") in capsys.readouterr().out
    assert {path.name for path in tmp_path.iterdir() if not path.name.startswith(".")} == {
        "trip",
        "book",
        "old.csv",
        "import_mapping.toml",
        "import_questions.csv",
    }
    assert run(monkeypatch, "logbook", "entries", str(book), "--json") == 0
    entries = json.loads(capsys.readouterr().out)
    assert len(entries) == 9 and any("152000 km" in text for text in entries.values())


@pytest.mark.slow
def test_two_logs_at_once_lose_nothing(tmp_path: Path) -> None:
    """Otherwise work written down on two machines' shared file, or from page and shell, would be dropped."""
    book = tmp_path / "book"
    take_in(book, good_folder(tmp_path / "trip"), date(2026, 6, 20))
    words = ("log", str(book), "--unit", "wagon", "--act", "look", "--today", DAY, "--item", "winch", "--date")
    days = ("2026-06-15", "2026-06-16", "2026-06-17")
    at_once = [
        subprocess.Popen([sys.executable, "-m", "tripplan", *words, day], stdout=subprocess.DEVNULL) for day in days
    ]
    assert {one.wait(timeout=120) for one in at_once} <= {0, 1}
    logged = [str(row.date) for _, row in history_entries(book) if row.item == "winch"]
    assert sorted(logged) == sorted(days)
