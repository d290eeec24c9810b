"""What `tripplan numbers` prints."""

import csv
import json
from collections import Counter

import pytest

from tripplan.commands import numbers as numbers_command
from tripplan.files.data_tables import DATA, read_catalogue
from tripplan.sheets.numbers_text import BASES, STANDING, TABLES, numbers_rows, numbers_text

CATALOGUE, _ = read_catalogue()


def test_every_table_is_summed_up() -> None:
    """A table left out would hide how much of it is judgement."""
    rows = numbers_rows(CATALOGUE, "")
    assert rows is not None
    assert [row["table"] for row in rows] == list(TABLES)
    assert all(sum(int(str(row[basis])) for basis in BASES) == row["rows"] for row in rows)


def test_the_last_line_counts_all_rows_by_basis() -> None:
    """Otherwise the README would send an owner to a count that is not there. Counted from the files themselves."""
    counted: Counter[str] = Counter()
    for name in TABLES:
        with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            counted.update(row["basis"] for row in csv.DictReader(file))
    by_basis = ", ".join(
        f"{basis} {counted[basis]}" for basis in ("published", "derived", "common practice", "judgement")
    )
    last = numbers_text(CATALOGUE, "").splitlines()[-1]
    assert last == f"All tables together, {counted.total()} rows by basis: {by_basis}."


def test_standing_tells_every_item_and_adds_up() -> None:
    """An owner could not see which multipliers are only judged."""
    rows = numbers_rows(CATALOGUE, STANDING)
    assert rows is not None
    assert {row["item"] for row in rows} == {item.id for item in CATALOGUE.items}
    assert all(sum(int(str(row[basis])) for basis in BASES) == row["multipliers"] for row in rows)


def test_an_item_shows_its_own_row_and_its_multipliers() -> None:
    """A number on the sheet could not be traced to its row."""
    rows = numbers_rows(CATALOGUE, "front_wheel_bearings")
    assert rows is not None
    assert rows[0]["id"] == "front_wheel_bearings"
    assert any(row.get("condition") == "corrugation" for row in rows)


def test_an_unknown_word_is_a_problem(capsys: pytest.CaptureFixture[str]) -> None:
    """A slip of the keys would print nothing."""
    assert numbers_command.numbers("front_wheel_bearing", False) == 2
    assert "A02" in capsys.readouterr().err


def test_json_is_json(capsys: pytest.CaptureFixture[str]) -> None:
    """Another program could not read it."""
    assert numbers_command.numbers("acts", True) == 0
    assert json.loads(capsys.readouterr().out)[0]["act"]


def test_an_item_is_found_by_its_name_and_a_slip_names_a_few(capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise an owner would have to know every id, or read a hundred of them for one slip."""
    assert numbers_command.numbers("Wheel nuts", False) == 0
    assert "id=wheel_nuts" in capsys.readouterr().out
    assert numbers_command.numbers("problemz", False) == 2
    told = capsys.readouterr().err
    assert "problems" in told and told.count(",") < 10
