"""The page over a logbook: what is saved is in the logbook, and what the logbook gained is in the page."""

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.logbooks import add_history, load_any
from tests.web.conftest import Visitor
from tests.web.test_forms import DAY, first_job
from tripplan.files.demos import DEMOS, copy_demo
from tripplan.files.logbook.book import history_entries, made_crossings, take_in, write_out
from tripplan.files.tables import read_records
from tripplan.records.facts_in import HistoryRow, Origin
from tripplan.web.saves.logbook_folder import Bound

TODAY = DEMOS["after-crossing"]


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A logbook of the smallest demo."""
    copy_demo("after-crossing", tmp_path / "demo")
    take_in(tmp_path / "old wagon.logbook", tmp_path / "demo", TODAY)
    return tmp_path / "old wagon.logbook"


@pytest.fixture
def there(book: Path) -> Visitor:
    """A visitor to the page of that logbook."""
    bound = Bound(book)
    return Visitor(bound.folder, TODAY, bound=bound)


def notes(book: Path) -> list[str | None]:
    """The notes of the history in force."""
    return [row.note for _, row in history_entries(book)]


def test_the_page_of_a_logbook_plans_as_the_logbook_does(there: Any, book: Path) -> None:
    """Otherwise the same records would give two plans."""
    from tripplan.files.plan_folder import plan_of
    from tripplan.sheets.plan_json import plan_json

    inputs, catalogue, problems = load_any(book, TODAY)
    assert inputs is not None
    assert there.get("/plan.json").text == plan_json(plan_of(inputs, catalogue, TODAY, problems))


def test_a_leg_and_a_row_are_saved_into_the_logbook(there: Any, book: Path, tmp_path: Path) -> None:
    """Otherwise what was saved in the page would be in a passing folder only."""
    assert there.post("/trip", there.form("/trip") | {"legs.6.dust": "bulldust", "do": "save"}).status_code == 200
    new = {"date": "2026-08-16", "unit": "wagon", "act": "reading", "odometer_km": "", "note": "from the page"}
    new |= {"act": "look", "item": "front_wheel_bearings", "position": "left"}
    form = there.form("/history") | {f"history.new1.{column}": text for column, text in new.items()} | {"do": "save"}
    assert there.post("/history", form).status_code == 200
    write_out(book, tmp_path / "again")
    assert "bulldust" in (tmp_path / "again" / "legs.csv").read_text()
    assert notes(book)[-1] == "from the page"


def test_a_correction_corrects_the_entry_and_is_taken_back(there: Any, book: Path) -> None:
    """Otherwise the logbook would hold the wrong row beside the right one."""
    before = notes(book)
    answer = there.post("/history", there.form("/history") | {"history.47.note": "as found", "do": "save"})
    assert answer.status_code == 200 and notes(book) == [*before[:-1], "as found"]
    later = Bound(book)
    again = Visitor(later.folder, TODAY, bound=later)
    told = again.post("/undo", {"number": answer.url.params["said"], "back": "/history"})
    assert "taken back" in told.text and notes(book) == before
    rows, _ = read_records(later.folder / "history.csv", HistoryRow, "H")
    assert [row.note for row in rows if row.undone is None] == before
    assert sum(row.undone is not None for row in rows) == 2  # the first wording, and the one taken back


def test_a_day_closed_is_in_the_logbook(there: Any, book: Path) -> None:
    """Otherwise the work of a day would be asked for again."""
    count = len(notes(book))
    there.post(DAY, {"toggle": f"{first_job(there)}=done"})
    assert there.post(f"{DAY}/close", {"date": "2026-08-17", "unit": "wagon"}).status_code == 200
    assert len(notes(book)) == count + 1


def test_what_another_program_wrote_is_seen_and_kept(there: Any, book: Path) -> None:
    """Otherwise a row logged from the command line meanwhile would be struck out by the next save."""
    form = there.form("/history")
    row = HistoryRow(date=date(2026, 8, 15), unit="wagon", act="look", item="front_wheel_bearings", position="right",
                     note="from the terminal", origin=Origin(file="history.csv"))  # fmt: skip
    add_history(book, [row])
    clash = there.post("/history", form | {"history.46.note": "mine", "do": "save"})
    assert clash.status_code == 409 and 'value="mine"' in clash.text
    version = clash.text.split('name="version" value="')[1].split('"')[0]
    assert (
        there.post("/history", form | {"history.46.note": "mine", "version": version, "do": "save"}).status_code == 200
    )
    assert {"mine", "from the terminal"} <= set(notes(book))
    assert "from the terminal" in there.get("/history").text


FIRST = b"2,4,0.4,14,1,fresh,2026-08-15 10:10,no,no,hub height; clear and slow,\n"


def crossed_at(book: Path) -> list[float]:
    """The km of the crossings made on leg 2, as the logbook has them."""
    return [row.at_km for _, row in made_crossings(book)]


def test_a_made_crossing_changed_or_taken_out_in_the_page_is_so_in_the_logbook(there: Any, book: Path) -> None:
    """Otherwise it would be there twice, or come back while the page reports a save; and so after taking a save back."""
    desk = there.app.state.desk
    path = there.folder / "crossings.csv"
    before = path.read_bytes()
    assert FIRST in before and crossed_at(book) == [4, 22]
    moved = FIRST.replace(b"2,4,0.4", b"2,14,0.3").replace(b"10:10", b"10:20")
    number = desk.save({"crossings.csv": before.replace(FIRST, moved)}, "Crossings")
    assert sorted(crossed_at(book)) == [14, 22]
    desk.take_back(number)
    assert sorted(crossed_at(book)) == [4, 22] and path.read_bytes().count(b"2026-08-15") == 2
    desk.save({"crossings.csv": path.read_bytes().replace(FIRST, b"")}, "Crossings")
    assert crossed_at(book) == [22] and b"10:10" not in path.read_bytes()
    later = Bound(book)
    assert b"10:10" not in (later.folder / "crossings.csv").read_bytes()


def test_a_crossing_that_another_program_made_stays(there: Any, book: Path, tmp_path: Path) -> None:
    """Otherwise a save of the page would strike out what was recorded from the command line meanwhile."""
    desk, path = there.app.state.desk, there.folder / "crossings.csv"
    write_out(book, tmp_path / "other")
    with (tmp_path / "other" / "crossings.csv").open("a", encoding="utf-8") as file:
        file.write("2,100,0.20,10,1,fresh,2026-08-15 12:00,,,\n")
    take_in(book, tmp_path / "other", TODAY)
    desk.see()
    desk.save({"crossings.csv": path.read_bytes().replace(FIRST, b"")}, "Crossings")
    assert crossed_at(book) == [22, 100]


def test_a_row_whose_note_looks_like_a_formula_is_corrected_once(there: Any, book: Path) -> None:
    """Otherwise the wrong row would stay beside the right one, since the quote before the note hides that they are one."""
    desk, path = there.app.state.desk, there.folder / "history.csv"
    note = {"history.47.note": "=play of 2 mm", "do": "save"}
    assert there.post("/history", there.form("/history") | note).status_code == 200
    count = len(notes(book))
    assert notes(book)[-1] == "=play of 2 mm" and path.read_bytes().count(b"'=play of 2 mm") == 1
    desk.save({"history.csv": path.read_bytes().replace(b"'=play of 2 mm", b"as found")}, "History")
    assert len(notes(book)) == count and notes(book)[-1] == "as found"
