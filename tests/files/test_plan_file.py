"""The plan left by an earlier run: what of it is read, and what a newer one carries on."""

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tripplan.files.plan_file import NEEDED, issued_plan, passed_slots, planned_slots

JOB = {"item": "winch", "unit": "wagon", "position": None, "act": "look"}
SLOT = {"id": "stop-1-a", "kind": "stop", "date": "2026-07-04", "place": "A", "jobs": [JOB | {"minutes": 5}]}
TODAY = date(2026, 7, 7)


def left(out: Path, *slots: Any, **more: Any) -> Path:
    """A folder with a plan of those slots in it."""
    document = {name: [] for name in NEEDED} | {"trip": "North", "slots": list(slots), **more}
    (out / "plan.json").write_text(json.dumps(document), encoding="utf-8")
    return out


def carried(out: Path, trip: str = "North", known: set[str] | None = None) -> list[str]:
    """The slots that a new plan of today carries on."""
    return [slot["id"] for slot in passed_slots(out, trip, TODAY, known or set())]


def test_only_what_is_past_and_was_to_be_worked_on_is_carried(tmp_path: Path) -> None:
    """Otherwise days to come, empty days or another trip's days would be asked about."""
    others = (
        {"id": "b", "date": "2026-07-07"}, {"id": "c", "date": "2026-07-08"}, {"id": "d", "jobs": []},
        {"id": "e", "kind": "after"}, {"id": "f", "kind": "workshop"},
    )  # fmt: skip
    out = left(tmp_path, SLOT, *(SLOT | other for other in others))
    assert carried(out) == ["stop-1-a", "b", "f"]
    assert carried(out, known={"b"}) == ["stop-1-a", "f"]
    assert carried(out, trip="South") == []
    assert passed_slots(out, "North", TODAY, ())[0] == {**SLOT, "jobs": [JOB]}


def test_what_was_carried_is_carried_again(tmp_path: Path) -> None:
    """Otherwise the second crossing would forget what the first one kept."""
    assert carried(left(tmp_path, SLOT | {"id": "b"}, passed_slots=[SLOT])) == ["stop-1-a", "b"]


@pytest.mark.parametrize(
    "odd",
    [None, 3, "x", [], {}, SLOT | {"date": "yesterday"}, SLOT | {"id": 4}, SLOT | {"jobs": None}, SLOT | {"jobs": [3]},
     SLOT | {"jobs": [JOB | {"item": None}]}, SLOT | {"place": ["A"]}],
)  # fmt: skip
def test_a_plan_changed_by_hand_ends_nothing(tmp_path: Path, odd: Any) -> None:
    """Otherwise one slip in a file nobody has to edit would keep a crossing from being recorded."""
    assert carried(left(tmp_path, odd, SLOT)) == ["stop-1-a"]
    assert carried(left(tmp_path, SLOT, passed_slots=odd)) == ["stop-1-a"]
    assert planned_slots({"slots": odd}) == []


def test_a_plan_is_read_once_for_all_who_ask(tmp_path: Path) -> None:
    """Otherwise a crossing would read the same megabyte three times over, which takes longer than all its other reading."""
    out = left(tmp_path, SLOT)
    first = issued_plan(out)
    assert first is not None and issued_plan(out) is first
    left(tmp_path, SLOT | {"id": "b"})
    again = issued_plan(out)
    assert again is not None and again["slots"][0]["id"] == "b"
