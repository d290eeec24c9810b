"""What an owner leaves out, with the reason: no plan holds it any more, and every plan says so."""

import csv
from pathlib import Path

import pytest

from tests.logbooks import load_any
from tests.support import TODAY, good_folder
from tripplan.commands.leave_out import leave_out
from tripplan.commands.sources import in_folder
from tripplan.files.logbook.book import take_in
from tripplan.files.plan_folder import quick_plan, read
from tripplan.records.plan import Plan

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
