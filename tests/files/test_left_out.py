"""What an owner leaves out, with the reason: no plan holds it any more, and every plan says so."""

import csv
import json
from pathlib import Path

import pytest

from tests.logbooks import load_any
from tests.support import TODAY, good_folder
from tripplan.commands.leave_out import leave_out
from tripplan.commands.sources import in_folder
from tripplan.files.logbook.book import take_in
from tripplan.files.plan_folder import quick_plan, read
from tripplan.records.plan import FOUND_BAD, Plan
from tripplan.sheets.why_text import why_json, why_text
from tripplan.sheets.worksheet.text import worksheet_text

DAY = str(TODAY)


def plan_of(folder: Path) -> Plan:
    """The quick plan of a folder."""
    inputs, catalogue, problems = read(folder, TODAY)
    assert inputs is not None
    return quick_plan(inputs, catalogue, TODAY, problems)


def left_out(
    folder: Path, item: str, word: str | None, because: str = "", unit: str | None = None, back: bool = False
) -> int:
    """The command."""
    return leave_out(folder, item, word, because, unit, back, DAY, False)


def rows(folder: Path) -> list[dict[str, str]]:
    """What the folder keeps."""
    with (folder / "overrides" / "left_out.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_what_is_left_out_is_nowhere_and_is_said(tmp_path: Path) -> None:
    """Otherwise a winch sold years ago would be asked for before every trip."""
    folder = good_folder(tmp_path / "trip")
    before = plan_of(folder)
    assert any(item.item == "winch" for item in before.items)
    assert left_out(folder, "Winch", "not on my rig", "sold in 2024") == 0
    assert rows(folder) == [{"item": "winch", "unit": "", "as": "not on my rig", "reason": "sold in 2024"}]
    after = plan_of(folder)
    assert {item.item for item in before.items} - {item.item for item in after.items} == {"winch"}
    (said,) = [text for text in after.assumptions if text.startswith("Left out")]
    assert said.endswith(" (wagon), not on my rig: sold in 2024.")


def test_an_item_with_history_may_be_done_elsewhere(tmp_path: Path) -> None:
    """Otherwise its own old rows would be refused, and the folder with them."""
    folder = good_folder(tmp_path / "trip")
    assert left_out(folder, "engine_oil_filter", "done elsewhere", "the garage in town does it") == 0
    inputs, _, problems = read(folder, TODAY)
    assert inputs is not None
    assert [found.code for found in problems if found.file == "history.csv"] == []


def test_what_is_left_out_can_be_taken_in_again(tmp_path: Path) -> None:
    """Otherwise a slip would hide brakes for ever."""
    folder = good_folder(tmp_path / "trip")
    assert left_out(folder, "winch", "never", "no time", unit="wagon") == 0
    assert left_out(folder, "winch", "not on my rig", "sold", unit="wagon") == 0
    assert [row["as"] for row in rows(folder)] == ["not on my rig"]  # the later word stands alone
    assert left_out(folder, "winch", None, unit="wagon", back=True) == 0
    assert rows(folder) == []
    assert any(item.item == "winch" for item in plan_of(folder).items)


@pytest.mark.parametrize(
    ("told", "code"),
    [
        (("winch", "never", ""), "O10"),
        (("winch", "sometimes", "why"), "O05"),
        (("winch", None, "why"), "A06"),
        (("flux", "never", "why"), "A02"),
        (("winch", "never", "why", "sledge"), "A02"),
        (("winch", None, "", None, True), "O12"),
    ],
)
def test_a_slip_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], told: tuple[str, str | None, str], code: str
) -> None:
    """Otherwise an item would go without a reason that can be read later."""
    folder = good_folder(tmp_path / "trip")
    assert left_out(folder, *told) == 2
    assert code in capsys.readouterr().err
    assert not (folder / "overrides" / "left_out.csv").exists()


def test_a_row_of_an_unknown_item_is_told(tmp_path: Path) -> None:
    """Otherwise a slip of the keys in the file would leave the item in without a word."""
    folder = good_folder(tmp_path / "trip")
    (folder / "overrides").mkdir()
    (folder / "overrides" / "left_out.csv").write_text("item,unit,as,reason\nwinsch,,never,sold\n")
    _, _, problems = read(folder, TODAY)
    assert [(found.code, found.row, found.found) for found in problems] == [("O12", 2, "winsch")]


def test_a_logbook_keeps_it_too(tmp_path: Path) -> None:
    """Otherwise it would come back with the next laying out."""
    folder, book = good_folder(tmp_path / "trip"), tmp_path / "book"
    take_in(book, folder, TODAY)
    run = lambda trip: leave_out(trip, "winch", "never", "sold", None, False, DAY, False)  # noqa: E731
    assert in_folder(book, False, run, keep=True) == 0
    _, catalogue, _ = load_any(book, TODAY)
    assert catalogue.item("winch").left_out == (("", "never: sold"),)


def with_bad_brakes(folder: Path) -> Path:
    """A folder whose rear brakes were found bad on the left, and are left to a workshop."""
    path = good_folder(folder) / "history.csv"
    head = path.read_text(encoding="utf-8").splitlines()[0].split(",")
    told = dict(
        date="2026-05-30", unit="wagon", item="brake_rear_drums", position="left", act="look", finding="contaminated"
    )
    path.write_text(
        path.read_text(encoding="utf-8").rstrip("\n") + "\n" + ",".join(told.get(n, "") for n in head) + "\n"
    )
    assert left_out(folder, "brake_rear_drums", "done elsewhere", "the workshop in town") == 0
    return folder


def test_what_was_found_bad_is_not_silent_because_others_do_it(tmp_path: Path) -> None:
    """Otherwise brakes with oil on them would drop out of every sheet with the word that a workshop does them."""
    plan = plan_of(with_bad_brakes(tmp_path / "trip"))
    (told,) = [warning for warning in plan.warnings if warning.kind == FOUND_BAD and "left out" in warning.text]
    assert told.text == (
        "Found bad and left out of this plan, so not put right by it: Rear brakes (wagon, left and right), found "
        "contaminated on the left on 30 May, done elsewhere: the workshop in town."
    )
    assert [(one.item, one.position) for one in told.about] == [
        ("brake_rear_drums", "left"), ("brake_rear_drums", "right"),
    ]  # fmt: skip
    assert told.text in " ".join(worksheet_text(plan).split())


def test_why_says_that_it_is_left_out_and_what_is_on_record(tmp_path: Path) -> None:
    """Otherwise `why` would say that brakes are not on this rig, for want of a vehicle."""
    inputs, catalogue, problems = read(with_bad_brakes(tmp_path / "trip"), TODAY)
    assert inputs is not None
    plan, item = quick_plan(inputs, catalogue, TODAY, problems), catalogue.item("brake_rear_drums")
    text = why_text(plan, item, inputs, catalogue)
    assert "wagon: left out of every plan, done elsewhere: the workshop in town  [overrides/left_out.csv row 2]" in text
    behind = text.split("Rows behind this")[1]
    assert "brake_rear_drums | left | look | contaminated" in behind and "not on this rig" not in text
    assert "left_out.csv row 2: brake_rear_drums | done elsewhere: the workshop in town" in behind
    told = json.loads(why_json(plan, item, inputs, catalogue))
    assert told["items"] == [] and len(told["left_out"]) == 1 and len(told["rows"]) == 2


def test_a_unit_without_such_an_item_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise a row would say that the wagon's trailer springs are left out, and the camper's be planned as before."""
    folder = good_folder(tmp_path / "trip")
    assert left_out(folder, "trailer_springs", "never", "none", "wagon") == 2
    assert "[A02 " in (told := capsys.readouterr().err) and "a unit that has it: camper" in told
    assert not (folder / "overrides" / "left_out.csv").exists()
    assert left_out(folder, "trailer_springs", "never", "none", "camper") == 0
