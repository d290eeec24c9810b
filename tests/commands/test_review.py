"""`review`: the findings of a folder in words and JSON, and the switches that let plans use them."""

import json
from pathlib import Path

import pytest

from tests.support import TODAY, good_folder
from tripplan.commands import check as check_command
from tripplan.commands import plan as plan_command
from tripplan.commands import why as why_command
from tripplan.commands.review import review
from tripplan.commands.sources import in_folder
from tripplan.files.folder import load
from tripplan.files.logbook import book as logbook
from tripplan.files.plan_folder import read, read_switches, with_evidence
from tripplan.web.open_trip import Desk

pytestmark = pytest.mark.usefixtures("by_rule")

LATER = "2026-06-01,wagon,187800,front_wheel_bearings,left,repack,worn,,it rumbled\n"


def folder_with(place: Path, switches: str = "") -> Path:
    """The sample folder with one more finding, and the switches if any."""
    folder = good_folder(place / "folder")
    with (folder / "history.csv").open("a", encoding="utf-8") as file:
        file.write(LATER)
    if switches:
        (folder / "evidence.csv").write_text(f"item,use,reason\n{switches}\n", encoding="utf-8")
    return folder


def test_review_in_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise the owner could not see what the openings say."""
    assert review(folder_with(tmp_path), str(TODAY), False) == 0
    text = capsys.readouterr().out
    assert "found worn by" in text and "not neutral" in text and "Not used in plans" in text
    assert "usual_km_per_week" in text


def test_review_of_a_logbook_as_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise the page and the logbook would show something else than the folder."""
    folder = folder_with(tmp_path, "front_wheel_bearings,yes,own hubs")
    logbook.take_in(tmp_path / "a.logbook", folder, TODAY)
    assert review(folder, str(TODAY), True) == 0
    first = json.loads(capsys.readouterr().out)
    assert in_folder(tmp_path / "a.logbook", True, lambda trip: review(trip, str(TODAY), True)) == 0
    assert json.loads(capsys.readouterr().out) == first
    assert [one["item"] for one in first["items"] if one["used_in_plans"]] == ["front_wheel_bearings"]
    assert {"item", "revised", "openings", "sentences"} <= set(first["items"][0])


@pytest.mark.parametrize(
    ("row", "code"),
    [("front_wheel_bearing,yes,x", "O12"), ("front_wheel_bearings,yes,", "O10"), ("winch,perhaps,", "O05"),
     ("winch,yes,\nwinch,no,", "O11")],
)  # fmt: skip
def test_a_bad_switch_is_told(tmp_path: Path, row: str, code: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise a misspelt item, or brakes without a reason, would be taken as said."""
    assert review(folder_with(tmp_path, row), str(TODAY), False) == 2
    assert code in capsys.readouterr().err


def test_the_plan_s_catalogue_changes_only_when_switched_on(tmp_path: Path) -> None:
    """Otherwise a finding would move an interval in silence."""
    for spot, (switches, changes) in enumerate((("", False), ("front_wheel_bearings,yes,own hubs", True))):
        folder = folder_with(tmp_path / f"{spot}", switches)
        inputs, catalogue, _ = load(folder, TODAY)
        assert inputs and read_switches(folder, catalogue)[1] == ()
        revised, _ = with_evidence(folder, inputs, catalogue, TODAY)
        before, after = (some.item("front_wheel_bearings").km for some in (catalogue, revised))
        assert before and after and (after < before) == changes


def test_a_plan_by_findings_says_so_and_stands_up_to_the_checker(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise an interval that is not the table's would look like one, or be called a broken rule."""
    folder = folder_with(tmp_path, "front_wheel_bearings,yes,own hubs")
    assert plan_command.plan(folder, tmp_path / "out", TODAY.isoformat(), True) in (0, 1)
    [said] = [text for text in json.loads(capsys.readouterr().out)["assumptions"] if "Front wheel bearings" in text]
    assert "the table says 40000" in said and "(history.csv row 10, own hubs)" in said
    assert check_command.check(folder, TODAY.isoformat(), True, tmp_path / "out" / "plan.json") in (0, 1)
    assert json.loads(capsys.readouterr().out)["problems"] == []
    assert why_command.why(folder, "front_wheel_bearings", TODAY.isoformat(), False) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert f"Interval: {said.partition(': ')[2]} [evidence.csv row 2]" in told


def test_the_page_plans_by_the_same_intervals(tmp_path: Path) -> None:
    """Otherwise the page would show another plan than the command line for the same folder."""
    folder = folder_with(tmp_path, "front_wheel_bearings,yes,own hubs")
    inputs, catalogue, _ = read(folder, TODAY)
    desk = Desk(folder, TODAY)
    assert inputs and desk.see().catalogue == catalogue
    (folder / "evidence.csv").unlink()
    assert desk.see().catalogue != catalogue
    desk.stop()


def test_a_doubt_beyond_the_law_names_the_row_to_change(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise the owner would look for a file of the program instead of the row in overrides."""
    folder = folder_with(tmp_path)
    (folder / "overrides").mkdir()
    (folder / "overrides" / "assumptions.csv").write_text(
        "name,value,unit,low,high,meaning,basis,source,locator\n"
        "life_error_factor,30,factor,1.2,40,how far the true life may be,judgement,none,mine\n",
        encoding="utf-8",
    )
    assert review(folder, str(TODAY), False) == 2
    told = " ".join(capsys.readouterr().err.split())
    assert "overrides/assumptions.csv row 2, column value [O06 stops the plan] found 30 accepted 1.01 to 10" in told


def test_review_tells_how_to_switch(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise the switch would be known only to those who read the tables' notes."""
    assert review(folder_with(tmp_path), str(TODAY), False) == 0
    said = capsys.readouterr().out
    assert "evidence.csv beside rig.toml:\n    item,use,reason\n" in said
    assert "the interval is above" in said and "used in plans; rig.toml says 250" in said
