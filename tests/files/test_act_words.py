"""The history as a table takes the words for an act that `log` takes, and keeps the act itself."""

from pathlib import Path

import pytest

from tests.files.importing.reading import read_lines
from tests.support import TODAY, good_folder
from tripplan.commands.import_table import import_file
from tripplan.files.act_words import act_meant
from tripplan.files.data_tables import read_catalogue
from tripplan.files.folder import load
from tripplan.records.problems import stops


def with_rows(folder: Path, *rows: str) -> Path:
    """The sample folder with these rows at the end of its history."""
    path = good_folder(folder) / "history.csv"
    head, *_ = path.read_text(encoding="utf-8").splitlines()
    columns = head.split(",")
    more = []
    for row in rows:
        given = dict(zip(("date", "unit", "item", "act"), row.split(","), strict=True))
        more.append(",".join(given.get(column, "") for column in columns))
    path.write_text(path.read_text(encoding="utf-8").rstrip("\n") + "\n" + "\n".join(more) + "\n", encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    ("item", "word", "act"),
    [
        ("battery", "Test", "measure"), ("Batteries", "tested", "measure"), ("brake_booster", "test", "look"),
        ("tyre_rotation", "Rotate", "adjust"), ("tyre_pressure", "set", "adjust"), ("propshaft_ujoints", "greased", "grease"),
        ("engine_oil_filter", "changed", "drain and refill"), ("wipers_washer", "changed", "renew"),
        ("winch", "look", "look"),
    ],
)  # fmt: skip
def test_a_row_may_say_what_the_sheet_says(item: str, word: str, act: str, tmp_path: Path) -> None:
    """Otherwise who writes `test batteries` into the table, as the sheet has it, would be refused, and who logs it not."""
    inputs, _, problems = load(with_rows(tmp_path / "trip", f"{TODAY},wagon,{item},{word}"), TODAY)
    assert inputs is not None and not stops(problems), problems
    assert (inputs.history[-1].item, inputs.history[-1].act) == (item, act)


@pytest.mark.parametrize(("item", "word"), [("battery", "polish"), ("", "test"), ("no such thing", "test")])
def test_a_word_that_means_no_act_is_refused(item: str, word: str, tmp_path: Path) -> None:
    """Otherwise a slip of the pen would be taken for some act, or work without its item be counted."""
    _, _, problems = load(with_rows(tmp_path / "trip", f"{TODAY},wagon,{item},{word}"), TODAY)
    assert "H15" in {problem.code for problem in problems}


def test_a_row_in_other_words_is_known_again(tmp_path: Path) -> None:
    """Otherwise an import would write the same work a second time beside it."""
    folder = with_rows(tmp_path / "trip", "2026-01-13,wagon,battery,test")
    table = tmp_path / "log.csv"
    table.write_text("Date,Item,Act\n2026-01-13,battery,Test\n", encoding="utf-8")
    before = (folder / "history.csv").read_bytes()
    assert import_file(table, folder, None, True, False, TODAY) == 0
    assert (folder / "history.csv").read_bytes() == before


def test_an_answer_may_say_what_the_sheet_says(tmp_path: Path) -> None:
    """Otherwise the answer to a question would be asked again because it uses the word of the sheet."""
    rows = (
        "13/1/2021,5000,tyre_rotation,Rotate",
        "13/1/2021,5000,engine_oil_filter,changed",
        "14/1/2021,5100,battery,polish",
    )
    report = read_lines(tmp_path, "Date,Km,Item,Act", *rows)
    assert [(row.item, row.act) for row in report.records] == [
        ("tyre_rotation", "adjust"), ("engine_oil_filter", "drain and refill"),
    ]  # fmt: skip
    assert report.rows_asked == 1


def test_every_word_of_the_sheets_is_taken() -> None:
    """Otherwise an item added later could have a word on the sheet that its history refuses."""
    catalogue, _ = read_catalogue()
    for item in catalogue.items:
        assert not item.verb or act_meant(item.verb, item.id, (), catalogue) == item.act
