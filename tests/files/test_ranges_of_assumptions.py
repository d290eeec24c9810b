"""An override of an assumption is held to what somebody can have meant, and all that can be meant gives a plan."""

import csv
import io
from datetime import date
from pathlib import Path

import pytest

from tests.support import TODAY, good_folder
from tripplan.files.data_tables import DATA
from tripplan.files.demos import DEMOS, copy_demo
from tripplan.files.folder import load
from tripplan.files.plan_folder import plan_of, read
from tripplan.records.problems import STOPS, Problem, stops

HEAD = "name,value,unit,low,high,meaning,basis,source,locator"
"""The columns as they were before least and most: rows that owners copied then have no others."""


def told(place: Path, row: str, head: str = HEAD) -> list[Problem]:
    """What is told of a good folder with that row of an override, in the words of its owner."""
    folder = good_folder(place)
    (folder / "overrides").mkdir()
    (folder / "overrides" / "assumptions.csv").write_text(f"{head}\n{row}\n", encoding="utf-8")
    return list(load(folder, TODAY)[2])


@pytest.mark.parametrize(
    ("name", "value", "accepted"),
    [
        ("driving_hours_per_day", "0", "1 to 24 h"),
        ("driving_hours_per_day", "25", "1 to 24 h"),
        ("short_time_share", "1", "0 to 0.8 share"),
        ("easy_depth", "51", "0 to 1.5 m"),
        ("bow_wave_front", "-5", "0 to 1 m"),
        ("water_affected_km", "-500", "0 to 10000 km"),
        ("water_entered_share", "3", "0 to 1 share"),
        ("walk_round_minutes", "-300", "0 to 240 min"),
        ("winding_factor", "0.9", "1 to 5 factor"),
    ],
)
def test_a_number_that_nobody_can_have_meant_is_refused(tmp_path: Path, name: str, value: str, accepted: str) -> None:
    """Otherwise a depth typed in cm would be planned with, or a day without driving end in a fault of ours."""
    (found,) = told(tmp_path, f"{name},{value},cm,,,typed,judgement,none,we think so")
    assert (found.code, found.weight, found.file, found.row, found.column) == (
        "O06", STOPS, "overrides/assumptions.csv", 2, "value",
    )  # fmt: skip
    assert (found.found, found.accepted) == (value, accepted)


@pytest.mark.parametrize(
    ("low", "high", "column"), [("-0.1", "0.25", "low"), ("0", "25", "high"), ("", "25", "high"), ("0", "1", None)]
)
def test_so_are_the_ends_that_are_planned_with(tmp_path: Path, low: str, high: str, column: str | None) -> None:
    """Otherwise a bow wave of 25 m at most would have every look asked for."""
    found = told(tmp_path, f"bow_wave_front,0.1,m,{low},{high},typed,judgement,none,we think so")
    assert [one.column for one in found] == ([column] if column else [])


@pytest.mark.parametrize(
    ("name", "value"), [("driving_hours_per_day", "12"), ("place_factor_camp", "0.9"), ("easy_minutes", "10")]
)
def test_a_number_beyond_low_and_high_may_be_meant(tmp_path: Path, name: str, value: str) -> None:
    """Otherwise an owner who knows better could not say so. The rows state 6 to 10, 1.2 to 3 and 2 to 5."""
    assert told(tmp_path, f"{name},{value},x,6,10,typed,judgement,none,we think so") == []


def test_a_range_of_the_owners_own_widens_nothing(tmp_path: Path) -> None:
    """Otherwise the check would be gone with the row that it is there for."""
    head = HEAD.replace("high,", "high,least,most,")
    (found,) = told(tmp_path, "easy_depth,51,cm,30,51,0,150,typed,judgement,none,we think so", head)
    assert (found.code, found.accepted) == ("O06", "0 to 1.5 m")


def shipped(end: str) -> str:
    """The table with every value at that end of its range, as an override."""
    with (DATA / "assumptions.csv").open(encoding="utf-8", newline="") as file:
        rows = [{**row, "value": row[end], "locator": "as far as it goes"} for row in csv.DictReader(file)]
    out = io.StringIO()
    table = csv.DictWriter(out, list(rows[0]))
    table.writeheader()
    table.writerows(rows)
    return out.getvalue()


@pytest.mark.parametrize("end", ["least", "most"])
@pytest.mark.parametrize("name", ["outback", "after-crossing"])
def test_the_ends_of_every_range_give_a_plan(tmp_path: Path, name: str, end: str) -> None:
    """Otherwise a number that is accepted would end in a fault of ours."""
    copy_demo(name, tmp_path / "trip")
    (tmp_path / "trip" / "overrides").mkdir(exist_ok=True)
    (tmp_path / "trip" / "overrides" / "assumptions.csv").write_text(shipped(end), encoding="utf-8")
    today: date = DEMOS[name]
    inputs, catalogue, problems = read(tmp_path / "trip", today)
    assert inputs is not None and not stops(problems)
    assert all(row.value == getattr(row, end) for row in catalogue.assumptions)
    assert plan_of(inputs, catalogue, today, problems).slots
