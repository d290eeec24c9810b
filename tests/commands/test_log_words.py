"""`log`, `why` and `grease` understand what people type: words, no unit, days in figures, the same thing twice."""

import csv
import io
import json
import sys
from pathlib import Path

import openpyxl
import pytest

from tests.commands.typed import run
from tests.support import TODAY, good_folder, replaced
from tripplan.commands import log_and_cross
from tripplan.files.data_tables import read_catalogue
from tripplan.files.date_order import is_day_first
from tripplan.files.demos import DEMOS, demo_folder
from tripplan.files.folder import load

DAY = str(TODAY)
ACT = ("--act", "look", "--today", DAY)
pytestmark = pytest.mark.usefixtures("by_rule")


def last_row(folder: Path) -> tuple[object, ...]:
    """The row that was added last."""
    inputs, _, _ = load(folder, TODAY)
    assert inputs
    row = inputs.history[-1]
    return str(row.date), row.unit, row.item, row.position, row.act, row.odometer_km


@pytest.mark.parametrize(
    ("typed", "unit", "item", "position"),
    [
        ("engine oil", "wagon", "engine_oil_filter", None), ("front diff oil", "wagon", "front_diff_oil", None),
        ("winch", "wagon", "winch", None), ("trailer bearings:left", "camper", "trailer_bearings", "left"),
        ("service_six_month", "wagon", "service_six_month", None),
    ],
)  # fmt: skip
def test_an_item_is_meant_by_its_words_and_the_unit_by_the_item(
    typed: str, unit: str, item: str, position: str | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise whoever has one vehicle would have to name it each time, and know every item by its id."""
    folder = good_folder(tmp_path / "trip")
    act = ("--act", "service") if item.startswith("service") else ("--act", "look")
    assert run(monkeypatch, "log", str(folder), "--item", typed, *act, "--date", DAY, "--today", DAY) in (0, 1)
    assert last_row(folder)[1:4] == (unit, item, position)


@pytest.mark.parametrize(
    ("typed", "act", "written"),
    [
        ("tyre_rotation", "Rotate", "adjust"), ("batteries", "test", "measure"), ("tyre pressure", "set", "adjust"),
        ("steering knuckles", "rebuilt", "renew"), ("universal joints", "greased", "grease"),
        ("engine oil", "changed", "drain and refill"), ("wiper blades", "changed", "renew"), ("winch", "looked", "look"),
    ],
)  # fmt: skip
def test_an_act_is_meant_by_the_word_a_sheet_or_a_person_has_for_it(
    typed: str,
    act: str,
    written: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Otherwise whoever reads rotate tyres on the sheet, and types it, would be told that there is no such act."""
    folder = good_folder(tmp_path / "trip")
    assert run(monkeypatch, "log", str(folder), "--item", typed, "--act", act, "--date", DAY, "--today", DAY) in (0, 1)
    assert last_row(folder)[4] == written
    assert f", {written}." in capsys.readouterr().out  # and the row is shown as it was taken


@pytest.mark.parametrize(
    ("called", "asked"),
    [("lithium greese GC-LB", True), ("whatever was in the tin", True), ("Lithium grease GC-LB", False), ("", False)],
)
def test_a_grease_by_a_name_that_nobody_knows_is_asked_about(
    called: str, asked: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise nothing could be told of what may go on top of it, and the owner would learn that with the gun in hand."""
    folder = good_folder(tmp_path / "trip")
    named = ("--lubricant", called) if called else ()
    typed = ("--item", "front_wheel_bearings:left", "--act", "repack", *named, "--date", DAY, "--today", DAY)
    assert run(monkeypatch, "log", str(folder), *typed) in (0, 1)
    told = " ".join(capsys.readouterr().out.split())
    assert ("is no name that is known here; was it" in told) == asked
    assert not asked or "lithium grease GC-LB" in told or "whatever" in called


def test_what_was_left_of_a_day_is_named_as_the_sheet_names_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise whoever did a day but for one job would have to find that job's id."""
    folder = good_folder(tmp_path / "trip")
    slot, later = "workshop-2026-06-21", ("--today", "2026-06-22")
    assert run(monkeypatch, "plan", str(folder), "--today", DAY) in (0, 1)
    plan = json.loads((folder / "outputs" / "plan.json").read_text(encoding="utf-8"))
    (jobs,) = (one["jobs"] for one in plan["slots"] if one["id"] == slot)
    left = next(job for job in jobs if job["kind"] == "service")
    assert run(monkeypatch, "log", str(folder), "--done", slot, "--except", left["name"].upper(), *later) in (0, 1)
    history = (folder / "history.csv").read_text(encoding="utf-8")
    assert f"2026-06-21,{left['unit']}" in history and f",{left['item']}," not in history.partition("2026-06-21")[2]
    assert run(monkeypatch, "log", str(folder), "--done", slot, "--except", "the flux capacitor", *later) == 2
    assert "[A42 " in capsys.readouterr().err


def done_slot(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *more: str) -> tuple[int, list[dict[str, str]]]:
    """The status of `log --done` with these words, and the rows that it wrote."""
    folder = good_folder(tmp_path / "trip")
    assert run(monkeypatch, "plan", str(folder), "--today", DAY) in (0, 1)
    before = (folder / "history.csv").read_text(encoding="utf-8")
    status = run(monkeypatch, "log", str(folder), "--done", "workshop-2026-06-21", "--today", "2026-06-22", *more)
    after = (folder / "history.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(after)))
    return status, rows[len(list(csv.DictReader(io.StringIO(before)))) :]


def test_a_day_done_as_planned_takes_the_reading_and_the_day_it_was_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise the odometer that was read, the hours and a note would be gone without a word, and Monday's work be Sunday's."""
    given = ("--odometer", "188400", "--hours", "4210.5", "--note", "cold morning", "--date", "2026-06-22")
    status, rows = done_slot(tmp_path, monkeypatch, *given)
    assert status in (0, 1) and rows
    vehicle = [row for row in rows if row["odometer_km"]]
    assert {row["odometer_km"] for row in vehicle} == {"188400"} and len({row["unit"] for row in vehicle}) == 1
    assert {row["date"] for row in rows} == {"2026-06-22"}
    assert {row["note"] for row in rows} == {"as planned; hours 4210.5; cold morning"}


@pytest.mark.parametrize(
    "more",
    [
        ("--item", "winch", "--act", "look"), ("--finding", "worn"), ("--lubricant", "engine oil"), ("--undo", "last"),
        ("--job", "wagon winch - look as new"), ("--done", "after", "--odometer", "188400"),
        ("--done", "workshop-2026-06-20", "--date", "2026-06-22"), ("--unit", "nothing", "--odometer", "188400"),
        ("--odometer", "2188400"),
    ],
)  # fmt: skip
def test_what_does_not_go_with_a_whole_day_is_refused_and_nothing_written(
    more: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise what was typed beside --done would be dropped, and its owner think that it is on record."""
    status, rows = done_slot(tmp_path, monkeypatch, *more)
    assert (status, rows) == (2, []), capsys.readouterr().out


def test_an_item_is_left_out_by_its_words_and_all_that_is_missing_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise log would know the item and leave-out would not, and each thing missing would take a try of its own."""
    folder = good_folder(tmp_path / "trip")
    assert run(monkeypatch, "leave-out", str(folder), "u joints", "--today", DAY) == 2
    told = capsys.readouterr().err
    assert "no --as" in told and "no --because" in told
    words = ("--as", "done elsewhere", "--because", "the dealer does them")
    assert run(monkeypatch, "leave-out", str(folder), "u joints", *words, "--today", DAY) == 0
    assert "propshaft_ujoints" in (folder / "overrides" / "left_out.csv").read_text(encoding="utf-8")
    assert run(monkeypatch, "leave-out", str(folder), "the flux capacitor", *words, "--today", DAY) == 2


@pytest.mark.parametrize("act", ["frobbed", "notched", "rotate"])
def test_a_word_for_no_act_of_the_item_is_refused(act: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise work would be written down that nobody did."""
    folder = good_folder(tmp_path / "trip")
    before = (folder / "history.csv").read_bytes()
    assert run(monkeypatch, "log", str(folder), "--item", "winch", "--act", act, "--date", DAY, "--today", DAY) == 2
    assert (folder / "history.csv").read_bytes() == before


def test_a_job_and_a_reading_need_no_unit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise the unit would be asked for where only one can be meant."""
    folder = good_folder(tmp_path / "trip")
    assert run(
        monkeypatch, "log", str(folder), "--job", "trailer_bearings left repack as new", "--date", DAY, "--today", DAY
    ) in (0, 1)
    assert last_row(folder)[1:5] == ("camper", "trailer_bearings", "left", "repack")
    assert run(monkeypatch, "log", str(folder), "--odometer", "188400", "--date", DAY, "--today", DAY) in (0, 1)
    assert last_row(folder) == (DAY, "wagon", None, None, "reading", 188400)


@pytest.mark.parametrize(
    ("words", "code", "listed"), [("wheel bearings", "A02", "rear_wheel_bearings"), ("flux", "H12", "such as")]
)
def test_words_that_fit_several_items_or_none_are_asked_back(
    words: str,
    code: str,
    listed: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Otherwise work would be written down for the wrong wheels, or refused with a list of a hundred names."""
    folder = good_folder(tmp_path / "trip")
    assert run(monkeypatch, "log", str(folder), "--item", words, *ACT, "--date", DAY) == 2
    told = capsys.readouterr().err
    assert f"[{code} " in told and listed in told and len(told) < 600


def test_why_shows_each_item_that_the_words_fit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise a person would have to guess an id to be told of their own wheels."""
    folder = good_folder(tmp_path / "trip")
    assert run(monkeypatch, "why", str(folder), "wheel bearings", "--today", DAY) == 0
    told = capsys.readouterr().out
    assert "(front_wheel_bearings), as seen" in told and "(rear_wheel_bearings), as seen" in told
    assert run(monkeypatch, "why", str(folder), "wheel bearings", "--today", DAY, "--json") == 0
    assert len(json.loads(capsys.readouterr().out)) == told.count(", as seen on")
    assert run(monkeypatch, "why", str(folder), "engine oil", "--today", DAY, "--json") == 0
    assert json.loads(capsys.readouterr().out)["items"][0]["item"] == "engine_oil_filter"


def test_every_name_of_the_tables_is_understood(tmp_path: Path) -> None:
    """Otherwise an item could be called by no words but its id."""
    from tripplan.commands.item_words import items_meant

    inputs, catalogue, _ = load(good_folder(tmp_path / "trip"), TODAY)
    assert inputs
    for item in read_catalogue()[0].items:
        assert [one.id for one in items_meant(item.name, catalogue, inputs.rig)] == [item.id]
        spaced = item.id.replace("_", " ")
        if any(item.belongs_to(unit) for unit in inputs.rig.units):
            assert item.id in [one.id for one in items_meant(spaced, catalogue, inputs.rig)], spaced


@pytest.mark.parametrize("typed", ["gas bottle", "LPG bottle", "gas regulator", "LPG hose"])
def test_gas_is_called_as_people_call_it(typed: str) -> None:
    """Otherwise a bottle tested every year would be asked about at each import. Common practice, no source."""
    from tripplan.commands.item_words import items_meant

    inputs, catalogue, _ = load(demo_folder("long-tour"), DEMOS["long-tour"])
    assert inputs
    assert [one.id for one in items_meant(typed, catalogue, inputs.rig)] == ["trailer_gas_lpg"]


@pytest.mark.parametrize("typed", ["18/06/2026", "18.6.2026", "06/18/2026", "18 June 2026"])
def test_a_day_that_can_be_one_day_only_is_read(typed: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a day would be refused that nobody can mistake."""
    folder = good_folder(tmp_path / "trip")
    assert run(monkeypatch, "log", str(folder), "--item", "winch", *ACT, "--date", typed) in (0, 1)
    assert last_row(folder)[0] == "2026-06-18"


def test_a_day_that_can_be_two_is_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise work of the fifth of June would be written down for the sixth of May."""
    folder = good_folder(tmp_path / "trip")
    words = ("log", str(folder), "--item", "winch", *ACT, "--date", "05/06/2026")
    assert run(monkeypatch, *words) == 2
    assert "write 2026-06-05 or 2026-05-06, whichever is meant" in capsys.readouterr().err
    monkeypatch.setattr(log_and_cross, "is_a_person_there", lambda: True)
    monkeypatch.setattr(sys, "stdin", io.StringIO("2\n"))
    assert run(monkeypatch, *words) in (0, 1)
    assert "5 June 2026 (1) or 6 May 2026 (2)?" in capsys.readouterr().out
    assert last_row(folder)[0] == "2026-05-06"


def test_the_folders_own_dates_say_which_comes_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise an owner who writes the day first everywhere would be asked each time."""
    folder = good_folder(tmp_path / "trip")
    assert is_day_first(folder) is None
    (folder / "import_mapping.toml").write_text('[date_order]\n"Date" = "day first"\n', encoding="utf-8")
    assert is_day_first(folder) is True
    assert run(monkeypatch, "log", str(folder), "--item", "winch", *ACT, "--date", "05/06/2026") in (0, 1)
    assert last_row(folder)[0] == "2026-06-05"
    (folder / "import_mapping.toml").write_text('[date_order]\n"Date" = "month first"\n', encoding="utf-8")
    assert is_day_first(folder) is False
    # two things that disagree show nothing
    first = (folder / "history.csv").read_text(encoding="utf-8").splitlines()[1].partition(",")[0]
    replaced(folder, "history.csv", first, "13 February 2018")
    assert is_day_first(folder) is None


@pytest.mark.parametrize(
    ("form", "shown"),
    [("dd/mm/yyyy", True), ("d.m.yy", True), ("m/d/yyyy", False), ("yyyy-mm-dd", None), ("mm-dd-yy", None)],
)
def test_a_spreadsheet_shows_its_order(form: str, shown: bool | None, tmp_path: Path) -> None:
    """Otherwise the format that each country shows in its own way would be taken for the owner's."""
    from datetime import date

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["date", "unit", "act"])
    sheet.append([date(2026, 6, 5), "wagon", "reading"])
    sheet["A2"].number_format = form
    book.save(tmp_path / "history.xlsx")
    assert is_day_first(tmp_path) is shown


def test_the_same_work_twice_is_asked_about(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise a line sent twice would count as two greasings, or a second one be refused without a way to say it."""
    folder = good_folder(tmp_path / "trip")
    words = ("log", str(folder), "--item", "winch", *ACT, "--date", "2026-06-18")
    assert run(monkeypatch, *words) in (0, 1)
    before = (folder / "history.csv").read_bytes()
    capsys.readouterr()
    assert run(monkeypatch, *words) == 2
    told = capsys.readouterr().err
    assert "[A53 " in told and '--note "done again"' in told
    assert (folder / "history.csv").read_bytes() == before
    assert run(monkeypatch, *words, "--note", "done again") in (0, 1)
    monkeypatch.setattr(log_and_cross, "is_a_person_there", lambda: True)
    monkeypatch.setattr(sys, "stdin", io.StringIO("no\n"))
    before = (folder / "history.csv").read_bytes()
    assert run(monkeypatch, *words) == 2
    assert (folder / "history.csv").read_bytes() == before


def test_yes_writes_it_again_with_a_note(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a yes would be asked for and then refused."""
    folder = good_folder(tmp_path / "trip")
    words = ("log", str(folder), "--item", "winch", *ACT, "--date", "2026-06-18")
    assert run(monkeypatch, *words) in (0, 1)
    monkeypatch.setattr(log_and_cross, "is_a_person_there", lambda: True)
    monkeypatch.setattr(sys, "stdin", io.StringIO("yes\n"))
    assert run(monkeypatch, *words) in (0, 1)
    inputs, _, problems = load(folder, TODAY)
    assert inputs and [row.note for row in inputs.history[-2:]] == [None, "done again"]
    assert "H19" not in {p.code for p in problems}


def test_a_word_of_the_sheet_in_an_older_row_stands_in_the_way_of_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise `log` would refuse work of today because a row of last month says `test`, as the sheet does."""
    folder = good_folder(tmp_path / "trip")
    path = folder / "history.csv"
    columns = path.read_text(encoding="utf-8").splitlines()[0].split(",")
    given = {"date": "2026-01-13", "unit": "wagon", "item": "battery", "act": "test"}
    row = ",".join(given.get(column, "") for column in columns)
    path.write_text(f"{path.read_text(encoding='utf-8').rstrip()}\n{row}\n", encoding="utf-8")
    assert run(monkeypatch, "log", str(folder), "--item", "winch", *ACT, "--date", DAY) in (0, 1)
    inputs, _, _ = load(folder, TODAY)
    assert inputs and [row.act for row in inputs.history[-2:]] == ["measure", "look"]
    assert ",battery,,test," in path.read_text(encoding="utf-8")
