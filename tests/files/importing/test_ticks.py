"""Grids with a job as the heading of each column, and columns that say done or not. All invented."""

from pathlib import Path

import pytest

from tests.files.importing.reading import asked, read_lines
from tripplan.files.importing.ticks import is_grid, is_status, names_work, said_done


def test_a_tick_is_work_done(tmp_path: Path) -> None:
    """Otherwise a year of work would be bare readings, and `x` a lubricant."""
    report = read_lines(
        tmp_path,
        "Date,Km,Oil & filter,Grease,Greased unis,Wheel nuts torqued",
        "2019-01-12,140000,x,x,x,",
        "2019-07-20,147500,x,,,x",
    )
    found = [(row.item, row.act, row.lubricant) for row in report.records]
    assert found == [
        ("engine_oil_filter", "drain and refill", None), ("propshaft_ujoints", "grease", None),
        ("engine_oil_filter", "drain and refill", None), ("wheel_nuts", "torque", None),
    ]  # fmt: skip
    assert [(q.row, q.is_whole) for q in report.questions] == [(2, False)] and "said of what?" in asked(report)[0]


def test_each_heading_is_read_for_itself(tmp_path: Path) -> None:
    """Otherwise the axle or the verb of one column would run on into the next."""
    report = read_lines(tmp_path, "Date,Rear diff oil,Wheel nuts torqued,Battery replaced", "2019-01-12,x,x,x")
    found = [(row.item, row.act) for row in report.records]
    assert found == [("rear_diff_oil", "drain and refill"), ("wheel_nuts", "torque"), ("battery", "renew")]


def test_letters_are_asked_once_and_told_once(tmp_path: Path) -> None:
    """Otherwise R and C would be taken for the same tick."""
    lines = ("Date,Km,Belts,Radiator hoses", "2019-01-12,140000,R,C", "2019-07-20,147500,C,R")
    report = read_lines(tmp_path, *lines)
    assert report.records == () and '[words] "r" = "renewed"' in asked(report)[0]
    told = read_lines(tmp_path, *lines, words={"r": "replaced", "c": "checked"})
    assert [(row.item, row.act) for row in told.records] == [
        ("belts", "renew"), ("hoses_coolant", "look"), ("belts", "look"), ("hoses_coolant", "renew")
    ]  # fmt: skip


def test_a_cross_beside_hooks_is_asked(tmp_path: Path) -> None:
    """Otherwise a cross that means `not done` would be work."""
    report = read_lines(tmp_path, "Date,Km,Oil and filter,Rear diff oil", "2021-03-14,200100,✓,x")
    assert [row.item for row in report.records] == ["engine_oil_filter"]
    assert "what does 'x' mean there?" in asked(report)[0]


@pytest.mark.parametrize("cell", ["35", "152000", "4.5 l", "2020-01-01", "?"])
def test_other_cells_of_a_grid_are_asked(tmp_path: Path, cell: str) -> None:
    """Otherwise litres or a date would be taken for a tick, or be lost in a note."""
    report = read_lines(tmp_path, "Date,Km,Rear diff oil", f"2021-03-14,200100,{cell}")
    assert report.records == () and report.rows_asked == 1


def test_a_column_that_says_not_done_is_heard(tmp_path: Path) -> None:
    """Otherwise a list of things to do would become a history."""
    lines = ("Date,Job,Done?", "2022-02-11,oil & filter,yes", "2022-02-12,front diff oil,no", "2022-02-13,gearbox oil,pending",
             "2022-02-14,transfer oil,")  # fmt: skip
    report = read_lines(tmp_path, *lines)
    assert [row.item for row in report.records] == ["engine_oil_filter"]
    assert [skip.why for skip in report.skips[1:]] == ["said to be not done"] * 2
    assert asked(report) == ["was it done? The column for that says nothing"]


def test_a_mark_against_the_words_is_asked(tmp_path: Path) -> None:
    """Otherwise a grid that says no would be overruled by the words beside it, in silence."""
    report = read_lines(tmp_path, "Date,Work,Rear diff oil", "2022-01-01,rear diff oil changed,no")
    assert asked(report) == ["the words of the row say that it was done"]


@pytest.mark.parametrize("header", ["Status", "Completed", "Progress", "Remarks"])
def test_work_put_off_is_no_record(tmp_path: Path, header: str) -> None:
    """Otherwise a column that nobody named for it would hide that the work was put off."""
    report = read_lines(
        tmp_path, f"Date,Work,{header}", "2022-01-01,front pads replaced,", "2022-02-01,rear shoes adjusted,Deferred"
    )
    assert "brake_rear_drums" not in [row.item for row in report.records]
    assert len(report.skips) + report.rows_asked == (3 if header in ("Status", "Completed") else 2)


def test_what_a_mark_says() -> None:
    """Otherwise a dash would be a tick. Common practice, no source."""
    assert [said_done(mark) for mark in ("x", "✓", "Yes", "1", "-", "n/a", "0", "R", "✗")] == [
        True, True, True, True, False, False, False, None, None
    ]  # fmt: skip
    assert said_done("x", is_x_open=True) is None


def test_which_columns_are_grids() -> None:
    """Otherwise a column of prices or of words would be taken for ticks."""
    assert (
        is_grid("Oil & filter", "", ["x", "x"]) and is_grid("Grease", "lubricant", ["x"]) and is_grid("Wash", "", ["x"])
    )
    assert not is_grid("Grease", "lubricant", ["x", "lithium complex"]) and not is_grid("Cost", "note", ["1"])
    assert not is_grid("Weather", "", ["dry", "wet"]) and is_grid("Front diff oil", "", ["75w90"])
    assert names_work("Front wheel bearings repacked") and not names_work("Ref no") and not names_work("")
    assert (
        is_status("Done?", ["yes", "no"])
        and not is_status("Done", ["oil & filter"])
        and not is_status("Completed", ["2020-01-01"])
    )
