"""Two hands at once, and hands cut off: nothing acknowledged is lost, and nothing is told before it is done."""

import json
import os
import stat
import subprocess
import sys
import threading
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.commands.hand_ways import WAYS, fresh
from tests.logbooks import load_any
from tests.support import TODAY, good_folder, replaced
from tripplan.commands import log_and_cross
from tripplan.commands.plan import plan
from tripplan.commands.sources import in_folder
from tripplan.files import held, plan_folder
from tripplan.files.held import FOLDER_LOCK, folder_held, logbook_held
from tripplan.files.logbook import book, store
from tripplan.files.passing import PREFIX, passing_folder
from tripplan.files.whole_files import PLACE, keep_copies, write_whole
from tripplan.placing.greedy import place_greedily
from tripplan.records.plan import Plan
from tripplan.records.problems import BadInput

ROOT = Path(__file__).parents[2]
RACES, KILLS = os.environ.get("TRIPPLAN_RACES", "16"), os.environ.get("TRIPPLAN_KILLS", "62")


def report(what: str, count: str) -> dict[str, object]:
    """What so many races or kills in a process of their own came to."""
    command = [sys.executable, "-m", "tests.commands.hands", what, count]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=7200, check=True)
    found: dict[str, object] = json.loads(done.stdout)
    return found


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the hands are forked")
def test_two_hands_at_once_lose_nothing() -> None:
    """Otherwise of two crossings told at the same ford one would be gone, though both were acknowledged."""
    found = report("races", RACES)
    assert (found["lost"], found["failed"]) == ([], [])


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the hands are forked")
def test_hands_cut_off_lose_nothing_and_leave_nothing() -> None:
    """Otherwise a flat battery would take the last record, or fill the folder with halves of files."""
    found = report("kills", KILLS)
    assert (found["lost"], found["failed"], found["left behind"]) == ([], [], [])
    assert 3 * int(str(found["within the write"])) > 2 * int(KILLS)  # else the kills would miss the writes


@pytest.mark.parametrize("kind", WAYS)
def test_a_store_that_another_holds_is_refused_and_left_alone(
    tmp_path: Path, kind: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise whoever came second would write over what the first is just writing."""
    place = fresh(tmp_path / "at", kind)
    before = {path: path.read_bytes() for path in place.parent.rglob("*.csv")}
    free, done = threading.Event(), threading.Event()

    def other() -> None:
        with logbook_held(place) if kind == "logbook" else folder_held(place):
            free.set()
            done.wait(20)

    hand = threading.Thread(target=other)
    hand.start()
    free.wait(20)
    waits = (held.folder_held, held.logbook_held)
    for each in waits:
        monkeypatch.setattr(each.__wrapped__, "__defaults__", (0.1, True))  # type: ignore[attr-defined]
    told = ("wagon", ("winch",), "look", "2026-06-18")
    status = in_folder(place, True, lambda trip: log_and_cross.log(trip, *told, as_json=True), keep=True)
    done.set()
    hand.join()
    assert status == 2 and json.loads(capsys.readouterr().out)["problems"][0]["code"] == "K05"
    assert {path: path.read_bytes() for path in place.parent.rglob("*.csv")} == before


def test_nothing_is_told_as_done_when_the_logbook_refuses(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise an owner would put the tin away, and the job would not be in the logbook."""
    place = fresh(tmp_path / "at", "logbook")

    def full(*_: object) -> None:
        assert capsys.readouterr().out == ""  # at the commit nothing has been said yet
        raise store.refusal("J03", place, "the disk is full")

    monkeypatch.setattr(book, "take_in", full)
    told = ("wagon", ("winch",), "look", "2026-06-18")
    assert in_folder(place, False, lambda trip: log_and_cross.log(trip, *told, today="2026-06-20"), keep=True) == 2
    said = capsys.readouterr()
    assert "added" not in said.out and "J03" in said.err


def test_an_older_copy_of_a_folder_puts_nothing_back(tmp_path: Path) -> None:
    """Otherwise taking in a folder from before the ford would make a crossing that was made a planned one again."""
    place = fresh(tmp_path / "at", "logbook")
    book.write_out(place, tmp_path / "copy")
    told = (2, 0.4, 2, "fresh", "2026-07-06 14:00")
    assert in_folder(place, True, lambda trip: log_and_cross.cross(trip, *told, at_km=140, as_json=True), keep=True) < 2
    replaced(tmp_path / "copy", "workshop.csv", "300", "310")
    done = book.take_in(place, tmp_path / "copy", date(2026, 7, 7))
    assert done.documents == {"workshop.csv": 2} and "crossing" not in done.added
    inputs, _, _ = load_any(place, date(2026, 7, 7))
    assert inputs and [str(row.crossed) for row in inputs.trip.crossings] == ["2026-07-06 14:00:00"]
    assert [day.minutes for day in inputs.trip.workshop_days] == [360, 310]


def test_what_both_sides_changed_is_refused_and_kept(tmp_path: Path) -> None:
    """Otherwise of two changes to one file the older would silently win."""
    place, own, other = fresh(tmp_path / "at", "logbook"), tmp_path / "own", tmp_path / "other"
    for folder in (own, other):
        book.write_out(place, folder)
    replaced(own, "workshop.csv", "300", "310")
    replaced(other, "workshop.csv", "300", "290")
    book.take_in(place, own, TODAY)
    with pytest.raises(BadInput, match="J09") as refused:
        book.take_in(place, other, TODAY)
    assert "workshop.csv" in refused.value.problems[0].found and "another folder" in refused.value.problems[0].hint
    assert "290" in (other / "workshop.csv").read_text(encoding="utf-8")
    inputs, _, _ = load_any(place, TODAY)
    assert inputs and [day.minutes for day in inputs.trip.workshop_days] == [360, 310]


def test_what_a_write_out_replaces_is_kept(tmp_path: Path) -> None:
    """Otherwise a line typed into the folder and not taken in would be gone with the next write-out."""
    place, out = fresh(tmp_path / "at", "logbook"), tmp_path / "out"
    book.write_out(place, out)
    assert not (out / ".before").exists()
    replaced(out, "trip.toml", "shakedown_km = 80", "shakedown_km = 95")
    book.write_out(place, out)
    (copy,) = (out / ".before").rglob("trip.toml")
    assert "= 95" in copy.read_text(encoding="utf-8") and "= 80" in (out / "trip.toml").read_text(encoding="utf-8")


def test_links_and_rights_are_kept(tmp_path: Path) -> None:
    """Otherwise a history kept in a synchronised folder would be cut off from it by the first record."""
    folder = good_folder(tmp_path / "trip")
    real = tmp_path / "synchronised.csv"
    (folder / "history.csv").replace(real)
    real.chmod(0o660)
    (folder / "history.csv").symlink_to(real)
    told = ("wagon", ("winch",), "look", "2026-06-18")
    assert log_and_cross.log(folder, *told, note="by link", today="2026-06-20", as_json=True) < 2
    assert (folder / "history.csv").is_symlink() and "by link" in real.read_text(encoding="utf-8")
    assert stat.S_IMODE(real.stat().st_mode) == 0o660


def test_half_files_are_swept_at_the_next_start(tmp_path: Path) -> None:
    """Otherwise every flat battery would leave a nameless file behind for good."""
    (tmp_path / ".history.csv.0123456789ab.part~").write_bytes(b"date,")
    (tmp_path / ".own.part~").write_bytes(b"mine")
    for inner in held.INNER:
        (tmp_path / inner).mkdir()
        (tmp_path / inner / ".a.csv.0123456789ab.part~").write_bytes(b"date,")
    with folder_held(tmp_path):
        write_whole(tmp_path / "a.csv", b"a")
    assert {path.name for path in tmp_path.iterdir()} == {"a.csv", FOLDER_LOCK, ".own.part~", *held.INNER}
    assert not [path for inner in held.INNER for path in (tmp_path / inner).iterdir()]


def test_half_copies_are_swept_with_the_next_copies(tmp_path: Path) -> None:
    """Otherwise the copies kept before each write-out would gather halves of files."""
    inner = tmp_path / PLACE / "2026-01-01T00-00-00" / "overrides"
    inner.mkdir(parents=True)
    for place in (inner, inner.parent):
        (place / ".a.csv.0123456789ab.part~").write_bytes(b"date,")
    assert keep_copies(tmp_path, {"a.csv": b"new"}) is None
    assert [path for path in (tmp_path / PLACE).rglob("*") if path.is_file()] == []


def test_passing_folders_of_killed_programs_are_swept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise the temporary disk would fill with copies of the trip."""
    from tripplan.files import passing

    monkeypatch.setattr(passing, "_swept", [])
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    for name in ("left", "young", "in-use"):
        (tmp_path / f"{PREFIX}{name}").mkdir()
    for name in ("left", "in-use"):
        os.utime(tmp_path / f"{PREFIX}{name}", (0, 0))
    with passing.FileLock(tmp_path / f"{PREFIX}in-use{passing.HELD}"), passing_folder() as own:
        there = {path.name for path in tmp_path.iterdir() if path.is_dir()}
        assert there == {own.name, f"{PREFIX}young", f"{PREFIX}in-use"}
    assert not own.exists()


def test_outputs_never_follow_an_older_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a plan that took its time would put outputs of yesterday's records over those of today's."""
    folder, real, looks = good_folder(tmp_path / "trip"), plan_folder.plan_of, []

    def slow(*given: Any) -> Plan:
        made = real(*given, place=place_greedily)
        if not looks:
            replaced(folder, "trip.toml", "North by the old road", "North by the new road")  # as another hand does
        looks.append(made.trip)
        return made

    monkeypatch.setattr(plan_folder, "plan_of", slow)
    assert plan(folder, tmp_path / "out", "2026-06-20", True) < 2
    assert looks == ["North by the old road", "North by the new road"]
    assert json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))["trip"] == looks[-1]


def test_a_folder_that_never_stands_still_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise outputs would be written that belong to no state the folder ever had."""
    folder, real = good_folder(tmp_path / "trip"), plan_folder.plan_of

    def slow(*given: Any) -> Plan:
        with (folder / "history.csv").open("a", encoding="utf-8") as file:
            file.write("\n")
        return real(*given, place=place_greedily)

    monkeypatch.setattr(plan_folder, "plan_of", slow)
    assert plan(folder, tmp_path / "out", "2026-06-20", True) == 2
    assert not (tmp_path / "out" / "plan.json").exists()


def test_outputs_of_a_logbook_wait_for_the_hand_that_writes(tmp_path: Path) -> None:
    """Otherwise a plan of a logbook begun before the ford would leave its outputs over those made after it."""
    place, order = fresh(tmp_path / "at", "logbook"), []
    free, done = threading.Event(), threading.Event()

    def other() -> None:
        with logbook_held(place):
            free.set()
            done.wait(20)
            order.append("written")

    hand = threading.Thread(target=other)
    hand.start()
    free.wait(20)
    threading.Timer(0.3, done.set).start()
    assert in_folder(place, True, lambda _: order.append("planned") or 0, alone=True) == 0
    hand.join()
    assert order == ["written", "planned"]
