"""Old spreadsheets: every row ends as a record, a question or a stated skip. All rows are invented."""

import csv
import io
import json
import zipfile
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.support import TODAY, good_folder
from tripplan.commands.import_table import import_file
from tripplan.files.data_tables import DATA, read_catalogue
from tripplan.files.folder import load, read_rig
from tripplan.files.importing.grid import read_sheets
from tripplan.files.importing.mapping import FIELDS, ColumnMap, Replaced, mapping_text, read_mapping
from tripplan.files.importing.report import ImportReport
from tripplan.files.importing.table import import_rows, lay_out_all
from tripplan.files.importing.word_book import column_words, import_words
from tripplan.files.tables import read_records
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import HistoryRow, Rig
from tripplan.records.problems import BadInput
from tripplan.sheets.import_text import report_text

SHIPPED, _ = read_catalogue()
Line = list[Any]


def a_rig(place: Path) -> Rig:
    """The rig of the sample folder."""
    rig, _ = read_rig(good_folder(place / "rig") / "rig.toml")
    assert rig
    return rig


def book(path: Path, *sheets: list[Line], merge: str = "") -> Path:
    """A spreadsheet of these sheets; `merge` is one range of merged cells on the first."""
    workbook = openpyxl.Workbook()
    workbook.remove(workbook.active)
    for number, lines in enumerate(sheets, 1):
        page = workbook.create_sheet(f"page {number}")
        for line in lines:
            page.append(line)
        if merge and number == 1:
            page.merge_cells(merge)
    workbook.save(path)
    return path


def table(path: Path, *lines: str) -> Path:
    """A CSV file of these lines."""
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def imported(path: Path, rig: Rig | None = None, mapping: ColumnMap | None = None, **more: Any) -> ImportReport:
    """The report of one file; its sum is checked every time."""
    answers = mapping or ColumnMap()
    sheets, problems = read_sheets(path, answers.encoding)
    assert problems == ()
    laid = lay_out_all(sheets, answers, TODAY)
    history, catalogue = more.get("history", ()), more.get("catalogue", SHIPPED)
    assert isinstance(catalogue, Catalogue)
    tick = more.get("tick", lambda rows: None)
    report = import_rows(path.name, laid, rig, history, catalogue, answers, TODAY, tick)
    assert report.adds_up, report
    return report


def work(report: ImportReport) -> list[tuple[str | None, str, str | None]]:
    """Item, act and position of every record."""
    return [(row.item, row.act, row.position) for row in report.records]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("front brgs + seals, both sides",
         [("front_wheel_bearings", "repack", "both"), ("hub_seals", "renew", "both")]),
        ("Replaced LH front wheel bearing", [("front_wheel_bearings", "renew", "left")]),
        ("frt whl brgs regreased + new seals L&R",
         [("front_wheel_bearings", "repack", "both"), ("hub_seals", "renew", "both")]),
        ("Oil/filter change, greased unis and slip joints",
         [("engine_oil_filter", "drain and refill", None), ("propshaft_ujoints", "grease", None),
          ("propshaft_slip_joints", "grease", None)]),
        ("diff oil front and rear",
         [("front_diff_oil", "drain and refill", None), ("rear_diff_oil", "drain and refill", None)]),
        ("t/case oil, g/box oil",
         [("transfer_oil", "drain and refill", None), ("gearbox_manual_oil", "drain and refill", None)]),
        ("swivel hubs rebuilt left", [("swivel_knuckle_reseal", "renew", "left")]),
        ("engine oil, oil filter; swivel hubs resealed left",
         [("engine_oil_filter", "drain and refill", None), ("swivel_knuckle_reseal", "renew", "left")]),
        ("Oil+filter", [("engine_oil_filter", "drain and refill", None)]),
        ("oil n filter, changed", [("engine_oil_filter", "drain and refill", None)]),
        ("air filter replaced", [("air_filter_renewal", "renew", None)]),
        ("air filter cleaned", [("air_filter_element", "clean", None)]),
        ("tightened wheel nuts", [("wheel_nuts", "torque", None)]),
        ("annual service", [("service_twelve_month", "service", None)]),
        ("handbrake adjusted", [("park_brake", "adjust", None)]),
    ],
)  # fmt: skip
def test_what_people_write_is_matched(tmp_path: Path, text: str, expected: list[tuple[str, str, str | None]]) -> None:
    """Otherwise years of service would not count. The words are common practice, no source."""
    path = table(tmp_path / "log.csv", "Date,Odo,Work", f'2020-02-13,152000,"{text}"')
    report = imported(path, a_rig(tmp_path))
    assert (work(report), report.questions) == (expected, ())
    assert all(row.note and text in row.note for row in report.records)


@pytest.mark.parametrize(
    "text",
    ["need new front pads", "front wheel bearing", "diff oil", "air filter", "10,000 km service",
     "wheel bearings repacked", "no oil leaks", "ordered timing belt", "front bearings next time", "oil and filter?",
     "blew up in the shed", "front bearings stolen", "repacked engine oil"],
)  # fmt: skip
def test_what_is_not_sure_is_asked(tmp_path: Path, text: str) -> None:
    """Otherwise work never done, or done to another part, would reset an interval."""
    report = imported(table(tmp_path / "log.csv", "Date,Odo,Work", f'2020-02-13,152000,"{text}"'), a_rig(tmp_path))
    assert (report.records, len(report.questions)) == ((), 1)
    assert report.questions[0].asked


def test_a_part_not_understood_is_asked_and_the_rest_recorded(tmp_path: Path) -> None:
    """Otherwise one odd word would cost the whole row, or be lost."""
    path = table(tmp_path / "log.csv", "Date,Odo,Work", '2020-02-13,1,"oil & filter, diff oil"')
    report = imported(path, a_rig(tmp_path))
    assert work(report) == [("engine_oil_filter", "drain and refill", None)]
    assert [(q.is_whole, q.found, q.may_mean) for q in report.questions] == [
        (False, "diff oil", ("front_diff_oil", "rear_diff_oil"))
    ]


def test_the_usual_act_is_taken_only_while_the_owner_lets_it(tmp_path: Path) -> None:
    """Otherwise an item merely named would count as work done against the owner's word."""
    path = table(tmp_path / "log.csv", "Date,Odo,Work", '2020-02-13,152000,"oil & filter"')
    assert "act not written" in (imported(path).records[0].note or "")
    assert imported(path, mapping=ColumnMap(no_act="ask")).rows_asked == 1


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        (["25/03/2021", "03/04/2021"], [date(2021, 3, 25), date(2021, 4, 3)]),
        (["03/25/2021", "04/03/2021"], [date(2021, 3, 25), date(2021, 4, 3)]),
        (["2021-05-06", "6/7/21", "13/7/21"], [date(2021, 5, 6), date(2021, 7, 6), date(2021, 7, 13)]),
        (["44321", "2021-06-07 10:30", "4 July 2021", "Sat 10th Jul 21"],
         [date(2021, 5, 5), date(2021, 6, 7), date(2021, 7, 4), date(2021, 7, 10)]),
        (["13.5.98", "1.6.98"], [date(1998, 5, 13), date(1998, 6, 1)]),
    ],
)  # fmt: skip
def test_dates_are_read_without_swapping(tmp_path: Path, cells: list[str], expected: list[date]) -> None:
    """Otherwise a service of May would be counted in June. 44321 is 2021-05-05 in the 1900 date system."""
    path = table(tmp_path / "log.csv", "Date,Odo km", *(f"{cell},{1000 + n}" for n, cell in enumerate(cells)))
    report = imported(path)
    assert [row.date for row in report.records] == expected


def test_dates_that_could_be_two_days_are_asked(tmp_path: Path) -> None:
    """Otherwise day and month would be swapped by a guess; the same day both ways is sure."""
    report = imported(table(tmp_path / "log.csv", "Date,Odo", "03/04/2021,1", "05/05/2021,2"))
    assert [row.date for row in report.records] == [date(2021, 5, 5)]
    assert report.questions[0].may_mean == ("2021-04-03", "2021-03-04")
    told = imported(tmp_path / "log.csv", mapping=ColumnMap(date_order={"date": "day first"}))
    assert [row.date for row in told.records] == [date(2021, 4, 3), date(2021, 5, 5)]


def test_a_column_that_contradicts_itself_settles_nothing(tmp_path: Path) -> None:
    """Otherwise two people's habits in one column would swap the dates of one of them."""
    path = table(tmp_path / "log.csv", "Date,Odo", "25/03/2021,1", "04/25/2021,2", "05/06/2021,3")
    report = imported(path)
    assert [row.date.month for row in report.records] == [3, 4] and report.rows_asked == 1


def test_true_dates_beside_day_first_text_are_asked(tmp_path: Path) -> None:
    """Otherwise a spreadsheet that swapped day and month wherever it could would go unnoticed."""
    true_dates: list[Line] = [[date(2021, month, 3), month * 10] for month in (1, 2, 4)]
    path = book(tmp_path / "log.xlsx", [["Date", "Odo"], *true_dates, ["25/03/2021", 35]])
    report = imported(path)
    assert report.rows_asked == 3 and "swapped" in report.questions[0].asked
    assert imported(path, mapping=ColumnMap(true_dates="trust")).rows_asked == 0


@pytest.mark.parametrize(
    ("cell", "km"),
    [("315k", 315000), ("1,234 km", 1234), ("196 000", 196000), ("196\u00a0000", 196000), ("122000 mi", 196340),
     ("196.5", 196.5), ("1.234.567", 1234567), ("12'345", 12345), ("~315000", 315000), ("184300 kms", 184300)],
)  # fmt: skip
def test_readings_are_read(tmp_path: Path, cell: str, km: float) -> None:
    """Otherwise a reading would be lost for its unit or its separators. 1 mile = 1.609344 km."""
    [row] = imported(table(tmp_path / "log.csv", "Date;Speedo", f"2021-05-06;{cell}")).records
    assert row.odometer_km == pytest.approx(km, abs=0.1)
    assert ("estimate" in (row.note or "")) == (cell in ("315k", "~315000"))


@pytest.mark.parametrize("cell", ["196.000", "18430O", "1,23,4", "450 hours", "9999999", "-5", "lots", "=B1+5"])
def test_readings_that_are_not_sure_are_asked(tmp_path: Path, cell: str) -> None:
    """Otherwise 196.000 km would count as 196, or as 196 000, by a guess."""
    assert imported(table(tmp_path / "log.csv", "Date;Speedo", f"2021-05-06;{cell}")).rows_asked == 1


def test_a_column_in_miles_is_converted(tmp_path: Path) -> None:
    """Otherwise every interval would be stretched by 1.6."""
    report = imported(table(tmp_path / "log.csv", "Date,Odometer (miles)", "2021-05-06,1000"))
    assert report.records[0].odometer_km == pytest.approx(1609.3)


def test_a_blank_reading_is_estimated_and_marked(tmp_path: Path) -> None:
    """Otherwise an estimate would look like a reading, or the work have no km."""
    cells = ("2021-01-01,1000", "2021-01-11,", "2021-01-21,3000", "2021-02-01,")
    path = table(tmp_path / "log.csv", "Date,Odo,Work", *(f"{cell},oil & filter" for cell in cells))
    report = imported(path)
    assert [row.odometer_km for row in report.records] == [1000, 2000, 3000, None]
    assert [("estimate" in (row.note or "")) for row in report.records] == [False, True, False, False]


def test_a_falling_reading_is_asked(tmp_path: Path) -> None:
    """Otherwise a slip of the pen would stop the plan, or a new odometer wipe out the old km."""
    lines = ("2021-01-01,196000", "2021-02-01,19700", "2021-03-01,198000", "2021-04-01,1990000", "2021-05-01,200000")
    report = imported(table(tmp_path / "log.csv", "Date,Odo", *lines))
    assert [row.odometer_km for row in report.records] == [196000, 198000, 200000]
    assert all("odometer replaced" in question.asked for question in report.questions) and report.rows_asked == 2


def test_a_replaced_odometer_is_taken_from_the_owner(tmp_path: Path) -> None:
    """Otherwise everything after the swap would stay a question for ever."""
    path = table(tmp_path / "log.csv", "Date,Odo", "2021-01-01,328000", "2021-08-01,780", "2021-09-01,1500")
    assert imported(path).rows_asked == 1
    swap = Replaced(unit=None, day=date(2021, 7, 24), old_km=328060, new_km=12)
    report = imported(path, mapping=ColumnMap(replaced=(swap,)))
    assert report.rows_asked == 0
    assert [row.old_odometer_km for row in report.records if row.act == "odometer replaced"] == [328060]


def test_history_that_is_there_is_not_contradicted(tmp_path: Path) -> None:
    """Otherwise the import would stop every later plan with an odometer that goes back."""
    folder = good_folder(tmp_path / "f")
    history, _ = read_records(folder / "history.csv", HistoryRow, "H")
    path = table(tmp_path / "log.csv", "Date,Odo", "2025-06-01,150000", "2025-06-02,175000")
    report = imported(path, a_rig(tmp_path), history=history)
    assert [row.odometer_km for row in report.records] == [175000] and report.rows_asked == 1


def test_rows_that_repeat_are_skipped_and_said(tmp_path: Path) -> None:
    """Otherwise a page pasted twice would double the work."""
    lines = ["2021-01-01,1000,oil & filter"] * 2 + ["Date,Odo,Work", ",,Total 300", "2021-01-02,,"]
    report = imported(table(tmp_path / "log.csv", "My log,,", "Date,Odo,Work", *lines))
    assert [skip.why for skip in report.skips] == [
        "above the header", "the header", "the same as row 3", "the header again", "a line of totals",
        "a date, and neither work nor reading",
    ]  # fmt: skip


def test_merged_cells_and_headers_in_two_rows(tmp_path: Path) -> None:
    """Otherwise the jobs of one visit would lose its date, and a column its name."""
    lines: list[Line] = [["Date", "Reading", None], [None, "km", "Work"], [date(2021, 1, 13), 1000, "oil & filter"],
                         [None, 1000, "tightened wheel nuts"]]  # fmt: skip
    report = imported(book(tmp_path / "log.xlsx", lines, merge="A3:A4"))
    assert [(row.date.day, row.item) for row in report.records] == [(13, "engine_oil_filter"), (13, "wheel_nuts")]


def test_a_header_of_two_lines_names_km_and_miles(tmp_path: Path) -> None:
    """Otherwise miles under a shared heading would be kept as a note, and the second line asked about."""
    lines: list[Line] = [
        ["Our wagon", None, None, None], ["When", "Speedo", None, "What was done"], [None, "km", "miles?", None],
        [date(2021, 1, 13), 5000, None, "oil & filter"], [date(2021, 1, 14), None, 3200, "tightened wheel nuts"],
    ]  # fmt: skip
    report = imported(book(tmp_path / "log.xlsx", lines, merge="B2:C2"))
    assert [column.holds for column in report.sheets[0].columns] == ["date", "odometer_km", "odometer_mi", "work"]
    assert [row.odometer_km for row in report.records] == [5000, pytest.approx(3200 * 1.609344, abs=0.06)]
    assert report.questions == ()


def test_lines_that_are_no_entries_are_stated_skips(tmp_path: Path) -> None:
    """Otherwise a sum or a header repeated on each page would be asked about as if it were work."""
    lines = (
        "13/1/2021,5000,oil & filter,65",
        "TOTAL,,,65",
        "When,Speedo,Work,$$",
        "14/1/2021,5100,tightened wheel nuts,",
    )
    report = imported(table(tmp_path / "log.csv", "When,Speedo,Work,$$", *lines))
    assert [(skip.row, skip.why) for skip in report.skips] == [
        (1, "the header"), (3, "a line of totals"), (4, "the header again"),
    ]  # fmt: skip
    assert (report.rows_recorded, report.rows_asked) == (2, 0)


def test_an_odometer_that_seems_replaced_is_asked_once(tmp_path: Path) -> None:
    """Otherwise every row of ten years would be called a slip, and the owner not told what to write."""
    old = [f"{day}/1/2012,{250_000 + day},tightened wheel nuts" for day in (13, 14, 15)]
    new = [f"{day}/1/2014,{98_000 + day},tightened wheel nuts" for day in (13, 14, 15, 16)]
    path = table(tmp_path / "log.csv", "Date,Odo,Work", *old, *new)
    report = imported(path)
    [asked] = {question.asked for question in report.questions}
    assert len(report.questions) == 3 and "was the odometer replaced after 250015 km on 2012-01-15" in asked
    assert "before 98013 km on 2014-01-13" in asked and "[[odometer_replaced]]" in asked
    assert report_text(report).count("odometer replaced") == 1 and "rows 2, 3, 4: was" in report_text(report)
    swap = Replaced(unit=None, day=date(2013, 1, 1), old_km=250_900, new_km=97_000)
    assert imported(path, mapping=ColumnMap(replaced=(swap,))).questions == ()


def test_what_the_rig_does_not_have_is_said_so(tmp_path: Path) -> None:
    """Otherwise the owner would look for a word to put right where it is the rig that has no such part."""
    report = imported(table(tmp_path / "log.csv", "Date,Odo,Work", "2021-01-13,5,timing belt"), a_rig(tmp_path))
    assert "this rig has no timing_belt" in report.questions[0].asked


def test_a_month_without_its_day_is_asked(tmp_path: Path) -> None:
    """Otherwise the first of the month would be made up."""
    report = imported(table(tmp_path / "log.csv", "Date,Odo,Work", "Nov 2012,5,oil & filter", "Nov 12,6,oil & filter"))
    assert [question.asked.split(": ")[1] for question in report.questions] == ["a month without its day"] * 2


def test_questions_that_ask_the_same_are_told_once(tmp_path: Path) -> None:
    """Otherwise forty rows with one unknown word would bury the other questions."""
    lines = [f"2021-01-{day},{day},did the thing" for day in range(10, 30)]
    text = report_text(imported(table(tmp_path / "log.csv", "Date,Odo,Work", *lines, "2021-02-01,40,timing?")))
    assert "rows 2, 3, 4, 5, 6, 7, 8, 9 and 12 more: 'did the thing': what work was that?" in text
    assert text.count("did the thing") == 1


def test_a_blank_date_is_asked_unless_the_owner_said(tmp_path: Path) -> None:
    """Otherwise a row would be put on a day nobody wrote."""
    path = table(tmp_path / "log.csv", "Date,Odo,Work", "2021-01-13,5,oil & filter", ",5,tightened wheel nuts")
    assert imported(path).rows_asked == 1
    assert [row.date.day for row in imported(path, mapping=ColumnMap(blank_date="as above")).records] == [13, 13]


def test_every_sheet_is_read_and_columns_found_by_content(tmp_path: Path) -> None:
    """Otherwise the second page, or a page without header, would be dropped in silence."""
    first: list[Line] = [["Date", "Odo", "Work"], [date(2021, 1, 13), 5000, "oil & filter"]]
    second: list[Line] = [[date(2021, 2, day), 6000 + day, "tightened wheel nuts"] for day in (13, 14, 15)]
    report = imported(book(tmp_path / "log.xlsx", first, second))
    assert len(report.records) == 4
    assert {column.found_by for column in report.sheets[1].columns} == {"by its content"}


def test_trailer_work_in_the_vehicle_s_log(tmp_path: Path) -> None:
    """Otherwise the trailer would get the vehicle's odometer."""
    path = table(tmp_path / "log.csv", "Date,Odo,Work", "2021-01-13,5000,trailer wheel bearings packed both sides")
    found = [(row.unit, row.item, row.odometer_km) for row in imported(path, a_rig(tmp_path)).records]
    assert found == [("camper", "trailer_bearings", None), ("wagon", None, 5000)]


def test_a_formula_without_result_is_asked(tmp_path: Path) -> None:
    """Otherwise a reading that the file does not hold would be taken for blank and estimated."""
    lines: list[Line] = [["Date", "Odo"], [date(2021, 1, 13), 5000], [date(2021, 1, 14), "=B2+100"]]
    report = imported(book(tmp_path / "log.xlsx", lines))
    assert report.rows_asked == 1 and "without its result" in report.questions[0].asked


@pytest.mark.parametrize("entity", [b'<!DOCTYPE a [<!ENTITY b "cccc">]>', b"<!ENTITY x SYSTEM 'file:///etc/passwd'>"])
def test_xml_bombs_are_refused(tmp_path: Path, entity: bytes) -> None:
    """Otherwise a spreadsheet from a stranger could fill the memory or read a file."""
    good = book(tmp_path / "good.xlsx", [["Date", "Odo"], [date(2021, 1, 13), 5000]])
    with zipfile.ZipFile(good) as old, zipfile.ZipFile(tmp_path / "bad.xlsx", "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name).replace(b"<worksheet", entity + b"<worksheet"))
    _, problems = read_sheets(tmp_path / "bad.xlsx")
    assert [problem.code for problem in problems] == ["F10"]


def test_nothing_written_runs_as_a_formula(tmp_path: Path) -> None:
    """Otherwise opening the history in a spreadsheet could run what a stranger wrote."""
    path = table(tmp_path / "log.csv", "Date,Odo,Work,=Cost,Notes", "2021-01-13,5,oil & filter,=1+1,@x",
                 "2021-01-14,6,=cmd|x,-2+3,+5", "2021-01-15,7,,,=now()")  # fmt: skip
    import_file(path, tmp_path / "out", None, True, False, TODAY)
    for name in ("history.csv", "import_questions.csv"):
        with (tmp_path / "out" / name).open(encoding="utf-8", newline="") as lines:
            cells = [cell for line in csv.reader(lines) for cell in line]
        assert [cell for cell in cells if cell.lstrip().startswith(("=", "+", "-", "@"))] == []


def test_the_command_writes_a_history_that_can_be_planned(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise an import would leave a folder that no plan can be made from."""
    folder = good_folder(tmp_path / "f")
    lines = ('13/2/2018,152k,"front brgs + seals, both sides"', "1/3/2018,153000,hm")
    path = table(tmp_path / "log.csv", "Date,Odo,Work", *lines)
    assert import_file(path, folder, None, True, True, TODAY) == 1
    assert json.loads(capsys.readouterr().out)["rows_asked"] == 1
    inputs, _, problems = load(folder, TODAY)
    assert inputs and len(inputs.history) == 10 and problems == ()


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    """Otherwise the import would end in a traceback, and nobody would know whether it had been kept."""
    path = table(tmp_path / "log.csv", "Date,Odo,Work", "2018-02-13,152000,hm")
    folder = good_folder(tmp_path / "f")
    (folder / "import").write_text("", encoding="utf-8")
    with pytest.raises(BadInput, match="I04"):
        import_file(path, folder / "import" / "notes", None, True, False, TODAY)


def test_the_questions_can_be_filled_in_and_imported(tmp_path: Path) -> None:
    """Otherwise the owner would have to type the row again."""
    folder = good_folder(tmp_path / "f")
    path = table(tmp_path / "log.csv", "Date,Odo,Work", "2018-02-13,152000,did the thing")
    import_file(path, folder, None, True, False, TODAY)
    answers = folder / "import_questions.csv"
    lines = list(csv.DictReader(io.StringIO(answers.read_text(encoding="utf-8"))))
    filled = {**lines[0], "item": "engine_oil_filter", "act": "drain and refill"}
    table(answers, ",".join(filled), ",".join(f'"{cell}"' for cell in filled.values()))
    assert import_file(answers, folder, None, False, False, TODAY) == 0  # its columns are ours and need no word
    assert "did the thing" in (folder / "history.csv").read_text(encoding="utf-8")


def test_importing_again_adds_nothing(tmp_path: Path) -> None:
    """Otherwise every second import would double the work."""
    folder = good_folder(tmp_path / "f")
    lines = ("2018-02-13,152000,oil & filter", "2018-02-14,,tightened wheel nuts")
    path = table(tmp_path / "log.csv", "Date,Odo,Work", *lines)
    import_file(path, folder, None, True, False, TODAY)
    before = (folder / "history.csv").read_bytes()
    import_file(path, folder, folder / "import_mapping.toml", False, False, TODAY)
    assert (folder / "history.csv").read_bytes() == before


def test_columns_are_confirmed_before_anything_is_written(tmp_path: Path) -> None:
    """Otherwise a column taken for the wrong thing would be in the history at once."""
    path = table(tmp_path / "log.csv", "Date,Odo,Work", "2018-02-13,152000,oil & filter")
    with pytest.raises(BadInput, match="I02"):
        import_file(path, tmp_path / "out", None, False, False, TODAY)
    assert [file.name for file in (tmp_path / "out").glob("[!.]*")] == ["import_mapping.toml"]
    assert import_file(path, tmp_path / "out", None, False, False, TODAY, lambda shown: "odometer_km" in shown) == 0


@pytest.mark.parametrize(
    ("code", "text"),
    [("I01", "columns = 3"), ("I01", "first_year = 3"), ("I01", "[units]\na = 3"), ("I01", "words = 'a'"), ("I01", '[columns]\na = "colour"'), ("I01", "no_act = 'never'"), ("I01", "= ="),
     ("I01", "[[odometer_replaced]]\ndate = 3"), ("I03", '[columns]\ndate = "note"')],
)  # fmt: skip
def test_a_mapping_that_cannot_be_used_is_told(tmp_path: Path, code: str, text: str) -> None:
    """Otherwise a slip in the mapping file would read the wrong column."""
    path = table(tmp_path / "log.csv", "Date,Odo", "2018-02-13,152000")
    with pytest.raises(BadInput, match=code):
        import_file(path, tmp_path / "out", table(tmp_path / "m.toml", text), False, False, TODAY)


def test_a_mapping_is_read_as_it_was_written(tmp_path: Path) -> None:
    """Otherwise the next import would ask again, or read otherwise."""
    swap = Replaced(unit="wagon", day=date(2021, 7, 24), old_km=328060.5, new_km=12)
    columns, order = {'a "b"\\': "date"}, {'a "b"\\': "day first"}
    told = ColumnMap(
        columns=columns, date_order=order, no_act="ask", unit="w", replaced=(swap,), units={"old \"girl\"": "wagon"},
        words={"r": "replaced"}, first_year=1950,
    )  # fmt: skip
    path = tmp_path / "m.toml"
    path.write_text(mapping_text(told, told.columns, told.date_order), encoding="utf-8")
    assert read_mapping(path) == told


def test_the_word_tables_are_sorted_and_name_what_there_is() -> None:
    """Otherwise a word could point at an item that no longer exists. Common practice, no source."""
    for name, key in (("item_words", ("kind", "words", "means", "with")), ("column_words", ("words",))):
        with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
            rows = list(csv.DictReader(lines))
        keys = [tuple(row[column] for column in key) for row in rows]
        assert keys == sorted(set(keys))
        assert {(row["basis"], row["source"]) for row in rows} == {("common practice", "none")}
    known = {item.id for item in SHIPPED.items} | {sheet.id for sheet in SHIPPED.services}
    acts = {rule.act for rule in SHIPPED.acts}
    for word in import_words():
        assert word.kind != "item" or word.means in known, word
        assert word.kind != "act" or word.means in acts, word
    assert set(column_words().values()) <= set(FIELDS)


@pytest.mark.slow
def test_a_large_table_is_read_in_time(tmp_path: Path) -> None:
    """Otherwise a fleet's log would take minutes. A tenth of 100 000 rows, in processor time."""
    days = [date.fromordinal(700_000 + n // 2) for n in range(10_000)]
    lines = (f'{day},{n * 10},"oil & filter, front brgs both {n % 500}"' for n, day in enumerate(days))
    path = table(tmp_path / "log.csv", "Date,Odo,Work", *lines)
    report = imported(path)
    assert report.rows_recorded + report.rows_asked == 10_000


def test_a_long_import_tells_how_far_it_is(tmp_path: Path) -> None:
    """Otherwise the bar would stand still, and the owner think that the program hangs."""
    lines = (f"2021-01-13,{n},oil & filter {n}" for n in range(2500))
    told: list[int] = []
    imported(table(tmp_path / "log.csv", "Date,Odo,Work", *lines), tick=told.append)
    assert told == [1000, 1000]


def test_the_mapping_that_an_import_writes_leaves_open_what_was_asked(tmp_path: Path) -> None:
    """Otherwise to import again with that file would settle by itself that a mileage is in kilometres."""
    folder = good_folder(tmp_path / "f")
    path = table(tmp_path / "log.csv", "Date,Mileage,Work", "2018-02-13,152000,oil & filter")
    assert import_file(path, folder, None, True, False, TODAY) == 1
    mapping = folder / "import_mapping.toml"
    assert '"mileage" = "odometer"' in mapping.read_text(encoding="utf-8")
    assert import_file(path, folder, mapping, False, False, TODAY) == 1
    told = table(tmp_path / "told.toml", "[columns]", '"mileage" = "odometer_mi"')
    assert import_file(path, tmp_path / "g", told, False, False, TODAY) == 0
    assert "244620.3" in (tmp_path / "g" / "history.csv").read_text(encoding="utf-8")  # 152000 x 1.609344
