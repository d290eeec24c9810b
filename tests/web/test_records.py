"""The rig and the history in the page: corrected in place, nothing lost, problems where they are."""

import re
import tomllib
from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support import replaced
from tests.web.test_forms import rows, snapshot
from tripplan.web.forms.history_form import Part
from tripplan.web.forms.row_words import row_words
from tripplan.web.forms.table_form import Grid, Row
from tripplan.web.toml_lines import Unchangeable, edited


def fields(there: Any, path: str) -> dict[str, str]:
    """The form of the page as it stands."""
    form: dict[str, str] = there.form(path)
    return {name: value for name, value in form.items() if not name.startswith("new.")}


def test_a_height_is_changed_in_its_line_alone(wet: Any) -> None:
    """Otherwise correcting one measurement would rewrite the owner's file."""
    path = wet.folder / "rig.toml"
    before = path.read_text().splitlines()
    spot = next(n for n, line in enumerate(before) if line.startswith("alternator = "))
    path.write_text("\n".join([*before[:spot], before[spot] + "  # by tape", *before[spot + 1 :]]) + "\n")
    answer = wet.post("/rig", fields(wet, "/rig") | {"unit.1.heights_mm.alternator": "0900", "do": "save"})
    assert answer.status_code == 200 and "The rig: saved." in answer.text
    after = path.read_text().splitlines()
    assert after == [*before[:spot], "alternator = 900  # by tape", *before[spot + 1 :]]


def test_the_words_of_the_sheets_stand_beside_the_acts_of_the_history(wet: Any) -> None:
    """Otherwise whoever reads rotate tyres would not know under which act to write it down."""
    listed = dict(re.findall(r'<option value="([^"]+)">([^<]*)</option>', wet.get("/history").text))
    assert "rotate" in listed["adjust"] and "test" in listed["measure"] and listed["grease"] == ""


def test_a_service_is_told_by_its_name(visit: Any) -> None:
    """Otherwise the book would read "service two year: service", the word of the file and its act."""
    page = visit("outback").get("/history?word=service_two").text
    assert "18 April 2015, wagon: Vehicle two-year service" in unescape(page) and "service two year" not in page


@pytest.mark.parametrize(
    ("part", "cells", "head"),
    [
        ("history", {"date": "2026-05-30", "item": "weel nuts"}, "30 May 2026: weel nuts"),
        ("history", {"unit": "wagon"}, "wagon"),
        ("legs", {"leg": "3", "to": "Red Pan"}, "Leg 3: Red Pan"),
        ("crossings", {"at_km": "60"}, "km 60"),
        ("crossings", {"depth_m": "0.4"}, "A new crossing"),
        ("stops", {"stop": "Gums"}, "Gums"),
    ],
)
def test_what_is_not_yet_typed_leaves_no_commas(part: str, cells: dict[str, str], head: str) -> None:
    """Otherwise a slip would stand under a heading like "30 May 2026, : weel nuts"."""
    assert row_words(part, cells, {})[0] == head


@pytest.mark.parametrize("typed", ["-405", "0"])
def test_a_height_under_the_ground_is_refused(wet: Any, typed: str) -> None:
    """Otherwise a stray minus would have the hubs under water in every crossing, and be kept without a word."""
    before = snapshot(wet.folder)
    answer = wet.post("/rig", fields(wet, "/rig") | {"unit.1.heights_mm.hub_centre": typed, "do": "save"})
    assert answer.status_code == 422 and snapshot(wet.folder) == before
    assert f'value="{typed}"' in answer.text and "above 0; mm above the ground" in answer.text


def test_a_rig_without_a_name_is_told_without_a_comma(wet: Any) -> None:
    """Otherwise its heading would read "As a whole , Australia/Perth"."""
    answer = wet.post("/rig", fields(wet, "/rig") | {"rig.name": "", "do": "save"})
    assert re.search(r"<h2>As a whole</h2> <span>Australia/Perth</span>", answer.text)


def test_every_part_of_the_rig_is_changed(wet: Any) -> None:
    """Otherwise an owner would have to learn the file's own form."""
    changes = {
        "rig.name": 'The "old" one <script>', "unit.1.fuel": "petrol", "unit.1.usual_km_per_week": "240",
        "unit.1.fitted": "winch, snorkel", "unit.1.tyre_diameter_mm": "", "unit.1.heights_mm.shackle": "512",
    }  # fmt: skip
    answer = wet.post("/rig", fields(wet, "/rig") | changes | {"do": "save"})
    assert answer.status_code == 200 and "<script>" not in answer.text.split("</head>")[1]
    data = tomllib.loads((wet.folder / "rig.toml").read_text())
    unit = data["unit"][0]
    assert data["name"] == 'The "old" one <script>' and unit["fuel"] == "petrol" and unit["usual_km_per_week"] == 240
    assert unit["fitted"] == ["winch", "snorkel"] and "tyre_diameter_mm" not in unit
    assert unit["heights_mm"]["shackle"] == 512


def test_a_trailer_is_put_to_the_rig(wet: Any) -> None:
    """Otherwise a trailer bought later could not be planned for in the page."""
    new = {"new.add": "yes", "new.id": "box", "new.odometer_factor": "1", "new.usual_km_per_week": "10",
           "new.fitted": "electric-brakes", "new.heights_mm.hub_centre": "390"}  # fmt: skip
    count = len(tomllib.loads((wet.folder / "rig.toml").read_text())["unit"])
    assert wet.post("/rig", fields(wet, "/rig") | new | {"do": "save"}).status_code == 200
    units = tomllib.loads((wet.folder / "rig.toml").read_text())["unit"]
    assert len(units) == count + 1 and units[-1]["heights_mm"] == {"hub_centre": 390}
    assert units[-1]["kind"] == "trailer" and 'name="unit.2.fitted"' in wet.get("/rig").text


def test_a_wrong_height_is_shown_at_its_field(wet: Any) -> None:
    """Otherwise a slip would be searched for in twenty fields, or be planned with."""
    before = snapshot(wet.folder)
    answer = wet.post("/rig", fields(wet, "/rig") | {"unit.1.heights_mm.alternator": "76O", "do": "save"})
    assert answer.status_code == 422 and 'value="76O"' in answer.text
    assert 'id="unit.1.heights_mm.alternator-wrong"' in answer.text and snapshot(wet.folder) == before


def test_two_tabs_on_the_rig_see_each_other(wet: Any) -> None:
    """Otherwise the second save would silently undo the first."""
    one, two = fields(wet, "/rig"), fields(wet, "/rig")
    wet.post("/rig", one | {"unit.1.usual_km_per_week": "240", "do": "save"})
    answer = wet.post("/rig", two | {"unit.1.fuel": "petrol", "do": "save"})
    assert answer.status_code == 409 and "Saved elsewhere meanwhile" in answer.text
    assert "unit 1 usual km per week" in answer.text and "selected>petrol" in answer.text
    assert tomllib.loads((wet.folder / "rig.toml").read_text())["unit"][0]["usual_km_per_week"] == 240
    version = answer.text.split('name="version" value="')[1].split('"')[0]
    mine = two | {"unit.1.fuel": "petrol", "unit.1.usual_km_per_week": "240", "version": version, "do": "save"}
    assert wet.post("/rig", mine).status_code == 200


def test_a_rig_written_another_way_is_changed_where_it_stands(wet: Any) -> None:
    """Otherwise a file written by hand in its own way could not be changed in the page."""
    path = wet.folder / "rig.toml"
    before = path.read_text().split("[unit.heights_mm]")[0]
    path.write_text(before + "heights_mm = { hub_centre = 400 } # by tape\n")
    answer = wet.post("/rig", fields(wet, "/rig") | {"unit.1.heights_mm.hub_centre": "410", "do": "save"})
    assert answer.status_code == 200
    assert path.read_text() == before + "heights_mm = { hub_centre = 410 } # by tape\n"


def test_a_rig_that_cannot_be_read_is_left_alone(wet: Any) -> None:
    """Otherwise a new unit would be put behind a file whose letters nobody can read (A25)."""
    path = wet.folder / "rig.toml"
    path.write_bytes(path.read_bytes() + b"# caf\xe9\n")
    before = snapshot(wet.folder)
    answer = wet.post("/rig", fields(wet, "/rig") | {"new.add": "yes", "new.id": "box", "do": "save"})
    assert answer.status_code == 422 and "A25" in answer.text and snapshot(wet.folder) == before


def test_the_water_is_shown_at_a_depth_without_saving(wet: Any) -> None:
    """Otherwise looking at a depth would need a crossing."""
    before = snapshot(wet.folder)
    typed = fields(wet, "/rig") | {"unit.1.fuel": "petrol", "depth": "0.9", "do": "depth"}
    page = wet.post("/rig", typed).text
    assert "water 0.9 m deep" in page and "selected>petrol" in page and snapshot(wet.folder) == before
    assert page.count('class="point under"') > wet.get("/rig?depth=0.2").text.count('class="point under"')


KEYS = st.sampled_from(["fuel", "usual_km_per_week", "fitted", "tyre_diameter_mm"])
WORDS = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc", "Zl", "Zp")), max_size=12).map(str.strip)
RIG = """name = "A"  # ours

[[unit]]
id = "wagon"  # short
fitted = [
  "winch",  # front
  "turbo",
]

[unit.heights_mm]
shaft = 400 # by tape

[[unit]]
id = "box"
kind = "trailer"
"""


@given(st.dictionaries(st.tuples(st.sampled_from([1, 2]), st.just(""), KEYS), WORDS, max_size=5))
def test_only_what_was_asked_for_changes(changes: dict[tuple[int, str, str], str]) -> None:
    """Otherwise a value would land in another unit's section, or a remark would be lost."""
    made = edited(RIG, changes)
    was, now = tomllib.loads(RIG)["unit"], tomllib.loads(made)["unit"]
    for number, (old, new) in enumerate(zip(was, now, strict=True), 1):
        asked = {key for unit, _, key in changes if unit == number}
        assert {k: v for k, v in old.items() if k not in asked} == {k: v for k, v in new.items() if k not in asked}
        for key in asked:
            assert (key in new) == bool(changes[(number, "", key)])
    assert "# short" in made and "# by tape" in made and "# ours" in made


def test_heights_are_begun_where_there_were_none() -> None:
    """Otherwise the first height measured of a trailer could not be entered."""
    made = edited(RIG, {(2, "heights_mm", "hub_centre"): "390", (1, "heights_mm", "lamp"): "800"})
    units = tomllib.loads(made)["unit"]
    assert units[1]["heights_mm"] == {"hub_centre": 390} and units[0]["heights_mm"] == {"shaft": 400, "lamp": 800}


@pytest.mark.parametrize(
    ("text", "made"),
    [
        ("[[unit]]\nheights_mm = { a = 1 } # by tape\n", "[[unit]]\nheights_mm = { a = 2 } # by tape\n"),
        ("[[unit]]\n\n[[unit]]\n", "[[unit]]\n\n[unit.heights_mm]\na = 2\n[[unit]]\n"),
    ],
)
def test_heights_written_another_way_are_changed_where_they_stand(text: str, made: str) -> None:
    """Otherwise a file that its owner wrote by hand could not be changed in the page."""
    changed = edited(text, {(1, "heights_mm", "a"): "2"})
    assert changed == made
    assert tomllib.loads(changed)["unit"][0] == {"heights_mm": {"a": 2}}


@pytest.mark.parametrize("text", ["x = ", "unit = 3\n", "name = 'no unit'\n"])
def test_what_cannot_be_changed_is_said(text: str) -> None:
    """Otherwise a file would be spoilt, or the page would break."""
    with pytest.raises(Unchangeable):
        edited(text, {(1, "", "fuel"): "petrol", (1, "heights_mm", "a"): "2"})


def test_a_row_is_added_to_the_history(wet: Any) -> None:
    """Otherwise work done before the page was used could not be entered."""
    before = (wet.folder / "history.csv").read_bytes()
    new = {"date": "2026-08-16", "unit": "wagon", "item": "front_wheel_bearings", "position": "right", "act": "repack",
           "finding": "worn", "note": "<script>"}  # fmt: skip
    form = wet.form("/history") | {f"history.new1.{column}": text for column, text in new.items()} | {"do": "save"}
    answer = wet.post("/history", form)
    assert answer.status_code == 200 and "The history: saved." in answer.text and "What moved" in answer.text
    assert "<script>" not in answer.text.split("</head>")[1]
    after = (wet.folder / "history.csv").read_bytes()
    assert after.startswith(before) and len(rows(wet.folder / "history.csv")) == before.count(b"\n")
    wet.post("/undo", {"number": answer.url.params["said"], "back": "/history"})
    assert (wet.folder / "history.csv").read_bytes() == before


def test_a_row_of_the_history_is_corrected_alone(wet: Any) -> None:
    """Otherwise correcting one cell would rewrite rows that nobody looked at."""
    before = (wet.folder / "history.csv").read_text().splitlines()
    answer = wet.post("/history", wet.form("/history") | {"history.47.note": "as found", "do": "save"})
    after = (wet.folder / "history.csv").read_text().splitlines()
    assert answer.status_code == 200
    assert [n for n, (a, b) in enumerate(zip(before, after, strict=True), 1) if a != b] == [47]


def test_a_wrong_cell_of_the_history_is_shown_where_it_is(wet: Any) -> None:
    """Otherwise the slip would be searched for, or its neighbours would be lost with it."""
    before = snapshot(wet.folder)
    new = {"date": "2026-08-16", "unit": "wagon", "odometer_km": "18430O", "act": "reading", "note": "kept"}
    form = wet.form("/history") | {f"history.new1.{column}": text for column, text in new.items()} | {"do": "save"}
    answer = wet.post("/history", form)
    assert answer.status_code == 422 and 'value="18430O"' in answer.text and 'value="kept"' in answer.text
    assert (
        re.findall(r'<small id="([^"]+)-wrong"', answer.text) == ["history.new1.odometer_km"]
        and snapshot(wet.folder) == before
    )


def test_a_new_row_is_judged_as_the_command_judges_it(wet: Any) -> None:
    """Otherwise the page would take an odometer that goes back, which `tripplan log` refuses."""
    new = {"date": "2026-08-16", "unit": "wagon", "odometer_km": "12", "act": "reading"}
    form = wet.form("/history") | {f"history.new1.{column}": text for column, text in new.items()} | {"do": "save"}
    answer = wet.post("/history", form)
    assert answer.status_code == 422 and 'id="history.new1.odometer_km-wrong"' in answer.text


def test_two_tabs_on_the_history_see_each_other(wet: Any) -> None:
    """Otherwise a finding entered on the phone would be lost to the one at the desk."""
    one, two = wet.form("/history"), wet.form("/history")
    wet.post("/history", one | {"history.47.note": "first", "do": "save"})
    answer = wet.post("/history", two | {"history.46.note": "second", "do": "save"})
    assert answer.status_code == 409 and "history.csv row 47" in answer.text and 'value="second"' in answer.text
    assert rows(wet.folder / "history.csv")[45]["note"] == "first"


def test_the_history_is_read_in_parts(wet: Any) -> None:
    """Otherwise fifteen years of work would make a page that no phone can show."""
    count = len(rows(wet.folder / "history.csv"))
    first = wet.get("/history").text
    assert f'name="history.{count + 1}.date"' in first and 'name="history.2.date"' not in first
    older = wet.get("/history?before=20").text
    assert 'name="history.2.date"' in older and f'name="history.{count + 1}.date"' not in older
    found = wet.get("/history?word=farm").text
    assert 'name="history.2.date"' in found and f'name="history.{count + 1}.date"' not in found


def test_a_history_in_a_spreadsheet_is_added_to(visit: Callable[..., Any]) -> None:
    """Otherwise an owner with a spreadsheet could only look."""
    there = visit("long-tour")
    path: Path = there.folder / "history.xlsx"
    before = openpyxl.load_workbook(path).worksheets[0].max_row
    new = {"date": "2026-03-01", "unit": "tourer", "act": "reading", "odometer_km": ""}
    form = there.form("/history") | {f"history.new1.{column}": text for column, text in new.items()} | {"do": "save"}
    refused = there.post("/history", form)
    told = '<small id="history.new1.odometer_km-wrong">Empty; accepted: the odometer reading in km.'
    assert refused.status_code == 422 and told in refused.text
    form |= {"history.new1.act": "repack", "history.new1.item": "front_wheel_bearings"}
    assert there.post("/history", form).status_code == 200
    sheet = openpyxl.load_workbook(path).worksheets[0]
    assert sheet.max_row == before + 1 and sheet.cell(before + 1, 1).is_date


def test_a_broken_history_is_put_right_in_the_page(visit: Callable[..., Any]) -> None:
    """Otherwise a slip in the file would have to be mended elsewhere."""
    there = visit("good")
    replaced(there.folder, "history.csv", "reading", "raeding")
    assert there.get("/").status_code == 409
    page = there.get("/history")
    assert page.status_code == 200 and re.search(r'<small id="history\.\d+\.act-wrong">“raeding”', page.text)
    spot = next(n for n, row in enumerate(rows(there.folder / "history.csv"), 2) if row["act"] == "raeding")
    fixed = there.post("/history", there.form("/history") | {f"history.{spot}.act": "reading", "do": "save"})
    assert fixed.status_code == 200 and there.get("/").status_code == 200


def test_the_newest_rows_come_first_however_the_file_is_ordered() -> None:
    """If not, a book brought in behind rows of this year would bury them; a day that cannot be read comes first, to be corrected."""
    days = ("2026-03-21", "2026-04-18 16:00", "2026-03-14", "in May", "2026-03-14")
    several = tuple(Row(key=str(number), cells={"date": day}) for number, day in enumerate(days, 2))
    grid = Grid(part="history", file="history.csv", columns=("date",), rows=several)
    shown, older = Part().of(grid)
    assert [row.key for row in shown.rows] == ["5", "3", "2", "6", "4"] and older is None
    assert [row.key for row in Part(before=3).of(grid)[0].rows] == ["2", "6", "4"]
    assert [row.key for row in Part(word="03-14", before=6).of(grid)[0].rows] == ["4"]
