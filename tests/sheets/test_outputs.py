"""All outputs of a plan in one folder: whole files, carried on from plan to plan."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.sample_plan import sample_plan
from tripplan.files import whole_files
from tripplan.records.problems import BadInput
from tripplan.sheets.outputs import OUTPUT_FILES, REGISTER_FILE, write_outputs

LATER = datetime(2026, 6, 9, 10, 0, tzinfo=UTC)


def contents(folder: Path) -> dict[str, bytes]:
    """Every file of a folder by name."""
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_writes_every_file_and_nothing_else(tmp_path: Path) -> None:
    """Otherwise the owner would look for a list that is not there."""
    written = write_outputs(sample_plan(), tmp_path / "new" / "out")
    assert tuple(path.name for path in written) == OUTPUT_FILES
    assert sorted(contents(tmp_path / "new" / "out")) == sorted(OUTPUT_FILES)


def test_planning_again_without_change_changes_no_byte(tmp_path: Path) -> None:
    """Otherwise nobody could see from the files whether the plan moved."""
    write_outputs(sample_plan(), tmp_path)
    before = contents(tmp_path)
    write_outputs(sample_plan(), tmp_path, LATER)
    assert contents(tmp_path) == before
    (tmp_path / REGISTER_FILE).unlink()
    write_outputs(sample_plan(), tmp_path, LATER)
    assert contents(tmp_path) == before
    (tmp_path / REGISTER_FILE).write_text("{")
    write_outputs(sample_plan(), tmp_path, LATER)
    assert contents(tmp_path) == before


def test_a_register_older_than_the_calendar_does_not_count_back(tmp_path: Path) -> None:
    """Otherwise a restored register would issue changes under a number already used."""
    plan = sample_plan()
    write_outputs(plan, tmp_path)
    old = (tmp_path / REGISTER_FILE).read_bytes()
    write_outputs(replace(plan, orders=()), tmp_path, LATER)
    (tmp_path / REGISTER_FILE).write_bytes(old)
    before = (tmp_path / "calendar.ics").read_bytes()
    write_outputs(replace(plan, orders=()), tmp_path, LATER)
    assert (tmp_path / "calendar.ics").read_bytes() == before


def test_a_damaged_calendar_leaves_every_file_as_it_was(tmp_path: Path) -> None:
    """Otherwise the owner would lose the old outputs to a half-made new set."""
    write_outputs(sample_plan(), tmp_path)
    (tmp_path / "calendar.ics").write_text("torn")
    before = contents(tmp_path)
    with pytest.raises(BadInput, match="K01"):
        write_outputs(replace(sample_plan(), trip="Other"), tmp_path)
    assert contents(tmp_path) == before


def test_a_folder_that_is_a_file_is_said_plainly(tmp_path: Path) -> None:
    """Otherwise a slip in the folder name would end in a traceback."""
    (tmp_path / "taken").write_text("here")
    with pytest.raises(BadInput, match="K03"):
        write_outputs(sample_plan(), tmp_path / "taken")


def test_a_failing_disk_leaves_the_old_file_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a full disk would leave half a plan."""
    target = tmp_path / "plan.json"
    target.write_bytes(b"old")

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(whole_files.os, "fsync", full)
    with pytest.raises(BadInput, match="No space left"):
        write_outputs(sample_plan(), tmp_path)
    assert contents(tmp_path) == {"plan.json": b"old"}
