"""Days of work done on paper: asked about, and recorded with one button; a group or a day ticked whole."""

import csv
import re
from collections.abc import Callable
from datetime import date
from pathlib import Path

from tests.support import good_folder
from tests.web.conftest import Visitor


def dates(folder: Path) -> list[str]:
    """The days of the history's rows."""
    with (folder / "history.csv").open(encoding="utf-8", newline="") as file:
        return [row["date"] for row in csv.DictReader(file)]


def ticks(page: str, pressed: str) -> int:
    """How many ticks of the page are in that state."""
    return len(re.findall(f'<button class="tick"[^>]* aria-pressed="{pressed}"', page))


def test_a_past_day_is_recorded_whole_with_one_button(tmp_path: Path) -> None:
    """Otherwise sixty jobs done by the sheet would have to be typed before the page can be used on the way."""
    visitor = Visitor(good_folder(tmp_path / "trip"), date(2026, 7, 5))
    shown = visitor.get("/jobs").text
    assert "Nothing is recorded since Sat 2 May 2026" in shown
    assert "/jobs/workshop-2026-06-21/done" in shown and "/jobs/workshop-2026-06-27/done" in shown
    before = dates(visitor.folder)
    told = visitor.post("/jobs/workshop-2026-06-21/done", {})
    assert told.status_code == 200
    assert set(dates(visitor.folder)[len(before) :]) == {"2026-06-21"}
    left = visitor.get("/jobs").text
    assert "/jobs/workshop-2026-06-21/done" not in left and "/jobs/workshop-2026-06-27/done" in left


def test_a_day_that_is_no_day_of_the_trip_is_refused(tmp_path: Path) -> None:
    """Otherwise an old address would put a day into the history that never was."""
    visitor = Visitor(good_folder(tmp_path / "trip"), date(2026, 7, 5))
    before = dates(visitor.folder)
    assert visitor.post("/jobs/workshop-2026-06-22/done", {}).status_code == 422
    assert dates(visitor.folder) == before


def test_a_group_and_a_day_are_ticked_whole(visit: Callable[..., Visitor]) -> None:
    """Otherwise thirty jobs would take thirty presses with greasy hands."""
    visitor = visit("good")
    path = "/jobs/workshop-2026-06-21"
    groups = re.findall(r'name="tick_all" value="([^"]*)"', visitor.get(path).text)
    *parts, whole = groups
    assert ";;".join(parts) == whole and len(parts) > 1
    visitor.post(path, {"tick_all": parts[0]})
    assert ticks(visitor.get(path).text, "true") == len(parts[0].split(";;"))
    visitor.post(path, {"tick_all": whole})
    shown = visitor.get(path).text
    assert ticks(shown, "true") == len(whole.split(";;")) and ticks(shown, "false") == 0
