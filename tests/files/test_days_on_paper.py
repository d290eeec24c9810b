"""Days of work done on paper, as rows of the history."""

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.support import TODAY, good_folder
from tripplan.files.days_on_paper import rows_done
from tripplan.files.folder import load
from tripplan.records.problems import BadInput

LOOK = {"item": "front_bearing_play", "unit": "wagon", "position": "left", "act": "measure"}
DAY = "workshop-2026-06-21"


def issued(*jobs: dict[str, Any]) -> dict[str, Any]:
    """A plan of the sample trip with one day of those jobs."""
    slot = {"id": DAY, "kind": "workshop", "date": "2026-06-21", "place": "home", "jobs": list(jobs)}
    return {"trip": "North by the old road", "slots": [slot]}


def test_a_look_that_two_jobs_bring_is_one_row(tmp_path: Path) -> None:
    """Otherwise the day would go into the history with the same facts twice, and `check` would stop the next plan."""
    inputs, catalogue, _ = load(good_folder(tmp_path / "trip"), TODAY)
    assert inputs is not None
    rows = rows_done(inputs, catalogue, issued(LOOK, LOOK, LOOK | {"position": "right"}), [DAY])
    assert [(row["date"], row["item"], row["position"], row["act"]) for row in rows] == [
        (str(date(2026, 6, 21)), "front_bearing_play", side, "measure") for side in ("left", "right")
    ]


def at_home(*jobs: dict[str, Any]) -> dict[str, Any]:
    """A plan of the sample trip, home on 20 July, with those jobs after the return."""
    slot = {"id": "after", "kind": "after", "date": "2026-07-21", "place": "home", "jobs": list(jobs)}
    return {"trip": "North by the old road", "slots": [slot]}


def test_the_work_after_the_return_is_ticked_on_the_day_it_was_done(tmp_path: Path) -> None:
    """Otherwise the largest list of the plan, done at home over some evenings, would have to be typed job by job."""
    inputs, catalogue, _ = load(good_folder(tmp_path / "trip"), TODAY)
    assert inputs is not None
    rows = rows_done(inputs, catalogue, at_home(LOOK), ["after"], on=date(2026, 8, 1))
    assert [(row["date"], row["item"]) for row in rows] == [("2026-08-01", "front_bearing_play")]


@pytest.mark.parametrize("day", [date(2026, 7, 19), None])
def test_before_the_return_nothing_was_done_after_it(tmp_path: Path, day: date | None) -> None:
    """Otherwise work planned for after the trip would stand in the history as done before it."""
    inputs, catalogue, _ = load(good_folder(tmp_path / "trip"), TODAY)
    assert inputs is not None
    with pytest.raises(BadInput, match="A41"):
        rows_done(inputs, catalogue, at_home(LOOK), ["after"], on=day)
