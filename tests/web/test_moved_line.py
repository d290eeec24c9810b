"""What a save moved, on the trip line: each point where the two plans say it is."""

import re
from typing import Any

import pytest

from tripplan.sheets.pictures.trip_line_route import sheet_for
from tripplan.web.pages.drawing import MOST_ROWS, moved_picture, moved_points

LEGS = [{"trip_km_start": 0, "distance_km": 100}]


def plan(km: float | None, verdict: str = "runs out on the way", placed: tuple[str, ...] = ()) -> dict[str, Any]:
    """A plan of one item as plan.json holds it."""
    runs_out = None if km is None else {"trip_km": km}
    slots = [{"id": "w", "kind": "workshop", "trip_km": 0}, {"id": "s", "kind": "stop", "trip_km": 40.0}]
    item = {"unit": "wagon", "item": "oil", "position": None, "name": "oil", "verdict": verdict,
            "runs_out": runs_out, "placed": list(placed), "rhythm": "service"}  # fmt: skip
    return {"items": [item], "slots": slots, "legs": LEGS}


@pytest.mark.parametrize(
    ("old", "new", "was", "now"),
    [
        (plan(80.0), plan(50.0), 80.0, 50.0),
        (plan(80.0), plan(None, "lasts the trip"), 80.0, "lasts"),
        (plan(None, "due before departure"), plan(10.0), "due", 10.0),
        (plan(80.0, placed=("w",)), plan(80.0, placed=("s",)), 80.0, 80.0),
    ],
)
def test_a_point_is_where_the_plans_say(old: Any, new: Any, was: Any, now: Any) -> None:
    """Otherwise the picture would tell another move than the words."""
    (point,) = moved_points(old, new)
    assert (point["was"], point["now"]) == (was, now)


def test_what_stayed_is_not_drawn() -> None:
    """Otherwise the eye would search the line for what moved."""
    assert moved_points(plan(80.0, placed=("w",)), plan(80.4, placed=("w",))) == []


def test_checks_of_the_walk_round_are_not_drawn() -> None:
    """Otherwise a dozen lamps and levels would take the lines of the one bearing that moved."""
    new = plan(50.0)
    new["items"][0]["rhythm"] = "walk-round"
    assert moved_points(plan(80.0), new) == []


HARSH = {"dust": "bulldust", "corrugation": "severe"}


def test_a_save_shows_what_moved_on_the_line(wet: Any) -> None:
    """Otherwise a change would be told in words alone."""
    harsher = {f"legs.{number}.{name}": grade for number in (3, 4, 5, 6) for name, grade in HARSH.items()}
    page = wet.post("/trip", wet.form("/trip") | harsher | {"do": "save"}).text
    assert page.count("What moved on the trip line") == 2
    made = wet.app.state.desk.see().quick
    entry = max(wet.app.state.desk.saves.values(), key=lambda one: one.number)
    points = entry.changes["points"]
    assert 1 <= len(points) <= MOST_ROWS
    picture = moved_picture(made, points)
    sheet = sheet_for(made, narrow=False)
    drawn = {round(float(x), 1) for x in re.findall(r'<circle cx="([\d.]+)"', picture)}
    assert {round(sheet.at(p["now"]), 1) for p in points if not isinstance(p["now"], str)} <= drawn
