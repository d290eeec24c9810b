"""Days of work done on paper, as rows of the history."""

from datetime import date
from pathlib import Path
from typing import Any

from tests.support import TODAY, good_folder
from tripplan.files.days_on_paper import rows_done
from tripplan.files.folder import load

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
