"""One wrong number or day of a leg is told once, at the leg, and what hangs on it when it is put right."""

from pathlib import Path

import pytest

from tripplan.files.demos import DEMOS, copy_demo
from tripplan.files.folder import load

Edits = tuple[tuple[str, str], ...]


def told(place: Path, **edits: Edits) -> list[tuple[str, str, int | None]]:
    """Code, file and row of each problem of the outback demo with these pieces of text replaced, by file."""
    folder = place / "trip"
    copy_demo("outback", folder)
    for name, pieces in edits.items():
        path = folder / f"{name}.csv"
        text = path.read_text(encoding="utf-8")
        for old, new in pieces:
            assert text.count(old) == 1
            text = text.replace(old, new)
        path.write_text(text, encoding="utf-8")
    return [(found.code, found.file, found.row) for found in load(folder, DEMOS["outback"])[2]]


@pytest.mark.parametrize(
    ("code", "row", "edits"),
    [
        ("L11", 5, [("\n4,Thimble", "\n3,Thimble")]),
        ("L11", 5, [("\n4,Thimble", "\n2,Thimble")]),
        ("L11", 6, [("\n4,Thimble", "\n5,Thimble")]),
        ("L12", 6, [("\n4,Thimble", "\n40,Thimble")]),
        ("L12", 6, [("\n4,Thimble", "\n5,Thimble"), ("\n5,Hatband", "\n4,Hatband")]),
        ("L12", 5, [("06-23 08:30", "05-23 08:30")]),  # before the trip, too
        ("L14", 5, [("06-23 08:30", "07-23 08:30")]),  # behind all that follow, and after the return
        ("L12", 6, [("06-23 08:30", "06-26 08:30")]),
        ("L12", 7, [("06-26 07:00", "06-22 07:00")]),
        ("L14", 2, [("06-20 07:00", "05-20 07:00")]),
        ("L14", 10, [("06-30 08:00", "07-30 08:00")]),
    ],
)
def test_one_mistake_in_a_leg_is_one_problem(tmp_path: Path, code: str, row: int, edits: Edits) -> None:
    """Otherwise crossings and stops that are right would be called wrong, with days that mislead."""
    assert told(tmp_path, legs=edits) == [(code, "legs.csv", row)]


@pytest.mark.parametrize(
    "legs",
    [[("\n7,Crookshank", "\n6,Crookshank")], [("06-27 07:30", "07-27 07:30")], [("06-27 07:30", "06-20 07:30")]],
)
def test_what_is_wrong_elsewhere_is_told_beside_it(tmp_path: Path, legs: Edits) -> None:
    """Otherwise the owner would put one right, run again, and be told of the next. Leg 3 has 240 km; its stop is left on the 23rd."""
    crossings, stops = (("3,205,", "3,305,"),), (("Well,3,2026-06-22,2026-06-23", "Well,3,2026-06-22,2026-06-24"),)
    found = told(tmp_path, legs=legs, crossings=crossings, stops=stops)
    assert [one for one in found if one[1] != "legs.csv"] == [("C11", "crossings.csv", 2), ("S13", "stops.csv", 2)]
    assert len(found) == 3


def test_where_every_leg_lies_outside_the_trip_its_own_days_are_wrong(tmp_path: Path) -> None:
    """Otherwise a slip in trip.toml would hide what is wrong with a stop."""
    copy_demo("outback", tmp_path / "trip")
    for name, old, new in (
        ("trip.toml", "2026-06-", "2025-06-"),
        ("stops.csv", "Well,3,2026-06-22", "Well,3,2026-06-21"),
    ):
        path = tmp_path / "trip" / name
        path.write_text(path.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
    found = [one.code for one in load(tmp_path / "trip", DEMOS["outback"])[2]]
    assert found.count("L14") == 9 and "S12" in found
