"""The logbook: nothing acknowledged is ever lost, and a bad file is a clear message."""

import os
import random
import resource
import signal
import sqlite3
import subprocess
import sys
import tempfile
import textwrap
import time
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.logbooks import add_history, driven_legs, load_any
from tests.support import TODAY, good_folder, replaced
from tripplan.files.folder import load
from tripplan.files.logbook import book as logbook
from tripplan.files.logbook import store as logbook_store
from tripplan.files.logbook.text import guarded, plain_number, texts_of, unguarded
from tripplan.records.facts_in import HistoryRow, Origin, Record
from tripplan.records.problem_codes import LOGBOOK_CODES
from tripplan.records.problems import BadInput, stops

HERE = Origin(file="history.csv")
ROOT = Path(__file__).parents[2]


def a_row(number: int, **changes: Any) -> HistoryRow:
    """One reading with a note of its own."""
    values = {"date": date(2026, 1, 1), "unit": "wagon", "odometer_km": 1000.0 + number, "act": "reading",
              "note": f"n{number}", "origin": HERE}  # fmt: skip
    return HistoryRow.model_validate({**values, **changes})


def bare(rows: Any) -> list[Record]:
    """The records without where they came from."""
    return [row.model_copy(update={"origin": HERE}) for row in rows]


def made(place: Path) -> Path:
    """A logbook with the sample folder in it."""
    path = place / "rig.logbook"
    logbook.take_in(path, good_folder(place / "folder"), TODAY)
    return path


def code_of(path: Path) -> str:
    """The code with which the logbook is refused."""
    inputs, catalogue, problems = load_any(path, TODAY)
    assert inputs is None and catalogue.items and stops(problems)
    return problems[0].code


def started(script: str, *words: str, **options: Any) -> subprocess.Popen[str]:
    """A second process that runs this script beside us."""
    command = [sys.executable, "-c", textwrap.dedent(script), *words]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT, **options)


def test_a_folder_and_its_logbook_give_the_same_plan_inputs(tmp_path: Path) -> None:
    """Otherwise moving to a logbook would change the plan."""
    path = made(tmp_path)
    assert load_any(path, TODAY) == load(tmp_path / "folder", TODAY)


def test_taking_in_twice_adds_nothing(tmp_path: Path) -> None:
    """Otherwise every service would be counted once more with each import."""
    path = made(tmp_path)
    again = logbook.take_in(path, tmp_path / "folder", TODAY)
    assert (again.added, again.documents, again.already_there) == ({}, {}, {"history": 8, "crossing": 1, "leg": 0})


def test_a_row_added_in_the_folder_is_added_once(tmp_path: Path) -> None:
    """Otherwise new work would be missed, or old work doubled."""
    path = made(tmp_path)
    with (tmp_path / "folder" / "history.csv").open("a", encoding="utf-8") as file:
        file.write("2026-06-18,wagon,188300,,,reading,,,\n")
    assert logbook.take_in(path, tmp_path / "folder", TODAY).added == {"history": 1}
    assert len(logbook.history_entries(path)) == 9


def test_a_correction_keeps_the_old_entry(tmp_path: Path) -> None:
    """Otherwise nobody could see what a service entry said before it was changed."""
    path = made(tmp_path)
    entry, row = logbook.history_entries(path)[3]
    logbook.correct(path, entry.number, row.model_copy(update={"odometer_km": 179900.0}), "misread a digit")
    now = logbook.history_entries(path)
    assert (now[3][1].odometer_km, now[3][0].replaces, now[3][0].reason) == (179900.0, entry.number, "misread a digit")
    with logbook_store.opened(path) as log:
        assert entry.number in [old.number for old in logbook_store.entries(log, "history")]


def test_a_struck_entry_is_out_of_the_plan(tmp_path: Path) -> None:
    """Otherwise work written down by mistake would count for ever."""
    path = made(tmp_path)
    entry, _ = logbook.history_entries(path)[0]
    logbook.correct(path, entry.number, None, "another vehicle")
    assert len(logbook.history_entries(path)) == 7


def test_an_older_copy_of_the_folder_brings_nothing_back(tmp_path: Path) -> None:
    """Otherwise work struck out would count again the next time the folder is taken in."""
    path = made(tmp_path)
    (gone, _), (changed, row), *_ = logbook.history_entries(path)
    logbook.correct(path, gone.number, None, "another vehicle")
    logbook.correct(path, changed.number, row.model_copy(update={"position": "right"}), "other side")
    before = logbook.history_entries(path)
    assert logbook.take_in(path, tmp_path / "folder", TODAY).added == {}
    assert logbook.history_entries(path) == before


def test_what_was_struck_out_is_in_the_text_form_too(tmp_path: Path) -> None:
    """Otherwise an export would lose what the history said before it was put right."""
    path = made(tmp_path)
    (gone, first), (changed, second), *_ = logbook.history_entries(path)
    logbook.correct(path, gone.number, None, "another vehicle")
    logbook.correct(path, changed.number, second.model_copy(update={"position": "right"}), "other side")
    logbook.write_out(path, tmp_path / "out")
    inputs, _, problems = load(tmp_path / "out", TODAY)
    assert inputs and not stops(problems)
    assert [row.undone for row in inputs.undone] == ["another vehicle", "replaced: other side"]
    assert bare(row.model_copy(update={"undone": None}) for row in inputs.undone) == bare((first, second))
    assert bare(inputs.history) == bare(row for _, row in logbook.history_entries(path))


def test_the_same_entry_is_corrected_once(tmp_path: Path) -> None:
    """Otherwise two corrections of one entry would both count as work done."""
    path = made(tmp_path)
    entry, row = logbook.history_entries(path)[0]
    logbook.correct(path, entry.number, row, "first")
    for number in (entry.number, 9999):
        with pytest.raises(BadInput, match="J07"):
            logbook.correct(path, number, row, "second")


def test_a_crossing_made_replaces_the_planned_one(tmp_path: Path) -> None:
    """Otherwise one ford would count twice, planned and done."""
    path = made(tmp_path)
    replaced(tmp_path / "folder", "crossings.csv", "muddy,", "muddy,2026-06-19")
    logbook.take_in(path, tmp_path / "folder", TODAY)
    logbook.write_out(path, tmp_path / "out")
    text = (tmp_path / "out" / "crossings.csv").read_text(encoding="utf-8").splitlines()
    assert len(text) == 2 and "2026-06-19" in text[1]


def test_a_driven_leg_stays_when_the_next_trip_begins(tmp_path: Path) -> None:
    """Otherwise the wear of past trips would be forgotten."""
    path, folder = made(tmp_path), tmp_path / "folder"
    logbook.take_in(path, folder, date(2026, 7, 5))
    replaced(folder, "trip.toml", "North by the old road", "South")
    logbook.take_in(path, folder, TODAY)
    assert [leg for leg, _ in driven_legs(path)] == ["1"]


def test_earlier_trips_are_in_the_text_form(tmp_path: Path) -> None:
    """Otherwise an export would lose the legs and crossings of all trips but the last, and their wear."""
    path, folder = made(tmp_path), tmp_path / "folder"
    made_it = (folder / "crossings.csv").read_text(encoding="utf-8").replace("muddy,", "muddy,2026-07-06")
    (folder / "crossings.csv").write_text(made_it, encoding="utf-8")
    logbook.take_in(path, folder, date(2026, 8, 1))
    replaced(folder, "trip.toml", "North by the old road", "South")
    (folder / "trip.toml").write_text(
        (folder / "trip.toml").read_text().replace("2026-07", "2027-07"), encoding="utf-8"
    )
    (folder / "legs.csv").write_text((folder / "legs.csv").read_text().replace("2026-07", "2027-07"), encoding="utf-8")
    (folder / "stops.csv").unlink()
    (folder / "workshop.csv").unlink()
    (folder / "crossings.csv").unlink()
    logbook.take_in(path, folder, date(2026, 8, 1))
    logbook.write_out(path, tmp_path / "one")
    inputs, _, problems = load(tmp_path / "one", date(2026, 8, 1))
    assert inputs and not stops(problems) and "L20" not in {found.code for found in problems}
    assert [(leg.trip, leg.leg, leg.date.year) for leg in inputs.trip.earlier_legs] == [
        ("North by the old road", number, 2026) for number in (1, 2, 3)
    ]
    assert "North by the old road,2,140" in (tmp_path / "one" / "earlier_crossings.csv").read_text(encoding="utf-8")
    logbook.take_in(tmp_path / "b.logbook", tmp_path / "one", date(2026, 8, 1))
    logbook.write_out(tmp_path / "b.logbook", tmp_path / "two")
    for name in ("earlier_legs.csv", "earlier_crossings.csv", "legs.csv", "history.csv"):
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()
    assert driven_legs(tmp_path / "b.logbook") == driven_legs(path)
    assert logbook.take_in(path, tmp_path / "one", date(2026, 8, 1)).added == {}


def test_a_new_name_for_the_trip_under_way_doubles_no_leg(tmp_path: Path) -> None:
    """Otherwise putting right a slip in the trip's name would count every leg driven so far twice."""
    path, folder = made(tmp_path), tmp_path / "folder"
    logbook.take_in(path, folder, date(2026, 7, 8))
    replaced(folder, "trip.toml", "North by the old road", "North, by the old road")
    logbook.take_in(path, folder, date(2026, 7, 8))
    logbook.write_out(path, tmp_path / "out")
    assert not (tmp_path / "out" / "earlier_legs.csv").exists()


def test_a_document_taken_out_of_the_folder_is_withdrawn(tmp_path: Path) -> None:
    """Otherwise the stops of the last trip would stay in the next."""
    path = made(tmp_path)
    (tmp_path / "folder" / "stops.csv").unlink()
    assert logbook.take_in(path, tmp_path / "folder", TODAY).documents == {"stops.csv": 2}
    inputs, _, _ = load_any(path, TODAY)
    assert inputs and inputs.trip.stops == ()


MADE = """leg,at_km,depth_m,length_m,minutes,water,crossed,note
2,140,0.55,30,2,muddy,2026-07-06 15:20,
2,205,0.40,12,1,fresh,2026-07-06 17:05,
2,250,0.20,12,1,fresh,2026-07-07,
2,260,0.20,12,1,fresh,2026-07-07,
"""
LATER = date(2026, 7, 10)


def with_crossings(place: Path, text: str = MADE) -> tuple[Path, Path]:
    """A logbook and its folder, in which these crossings are made."""
    folder = good_folder(place / "folder")
    (folder / "crossings.csv").write_text(text, encoding="utf-8")
    logbook.take_in(place / "rig.logbook", folder, LATER)
    return place / "rig.logbook", folder


def places_out(path: Path, place: Path) -> list[str]:
    """The km of the crossings that the logbook lays out, in their order."""
    logbook.write_out(path, place)
    _, *rows = (place / "crossings.csv").read_text(encoding="utf-8").splitlines()
    return [row.split(",")[1] for row in rows]


@pytest.mark.parametrize(
    ("old", "new", "km"),
    [
        ("2,205,0.40", "2,215,0.40", ["140", "215", "250", "260"]),
        ("2,205,0.40", "2,215,0.60", ["140", "215", "250", "260"]),
        ("2,260,0.20", "2,265,0.20", ["140", "205", "250", "265"]),
        ("2,260,0.20", "2,265,0.30", ["140", "205", "250", "265"]),
        (
            "2,205,0.40,12,1,fresh,2026-07-06 17:05,",
            "2,205,0.40,12,1,fresh,2026-07-06 18:05,",
            ["140", "205", "250", "260"],
        ),
        ("2,205,0.40,12,1,fresh,2026-07-06 17:05,\n", "", ["140", "205", "250", "260"]),  # one made is never lost so
    ],
)
def test_a_made_crossing_put_right_in_the_folder_counts_once(tmp_path: Path, old: str, new: str, km: list[str]) -> None:
    """Otherwise its water would count twice, with the old place and the new."""
    path, folder = with_crossings(tmp_path)
    replaced(folder, "crossings.csv", old, new)
    taken = logbook.take_in(path, folder, LATER)
    assert taken.added == ({"crossing": 1} if new else {})
    assert places_out(path, tmp_path / "out") == km


def test_a_folder_that_the_logbook_does_not_know_replaces_no_crossing_of_the_same_day(tmp_path: Path) -> None:
    """Otherwise a second ford of one day would be written over the first, and be lost. One with its time, or the same but for its place, is known."""
    path, _ = with_crossings(tmp_path)
    head = MADE.partition("\n")[0]
    stranger = good_folder(tmp_path / "stranger")
    rows = (
        "2,215,0.50,12,1,fresh,2026-07-06 17:05,",
        "2,252,0.20,12,1,fresh,2026-07-07,",
        "2,300,0.80,12,1,salt,2026-07-07,",
    )
    (stranger / "crossings.csv").write_text("\n".join((head, *rows, "")), encoding="utf-8")
    logbook.take_in(path, stranger, LATER)
    assert places_out(path, tmp_path / "out") == ["140", "215", "252", "260", "300"]


def test_a_made_crossing_is_struck_out_by_its_number(tmp_path: Path) -> None:
    """Otherwise one that is there twice could not be taken out, and the folder it is laid out in would bring it back."""
    path, folder = with_crossings(tmp_path, "\n".join(MADE.splitlines()[:2]) + "\n")
    ((entry, row),) = logbook.made_crossings(path)
    assert (row.leg, row.at_km, row.crossed) == (2, 140, datetime(2026, 7, 6, 15, 20))
    logbook.strike_out(path, entry.number, "typed twice")
    assert logbook.made_crossings(path) == ()
    with logbook_store.opened(path) as log:
        every = logbook_store.entries(log, "crossing")
    assert [(old.body != "", old.reason) for old in every] == [(True, ""), (False, "typed twice")]
    logbook.write_out(path, folder)
    assert not (folder / "crossings.csv").exists() and list((folder / ".before").rglob("crossings.csv"))
    assert logbook.take_in(path, folder, LATER).added == {} and logbook.made_crossings(path) == ()


def test_a_file_written_since_is_left_where_the_logbook_has_it_no_more(tmp_path: Path) -> None:
    """Otherwise laying a logbook out would take away what somebody has just written."""
    path, folder = with_crossings(tmp_path, "\n".join(MADE.splitlines()[:2]) + "\n")
    logbook.strike_out(path, logbook.made_crossings(path)[0][0].number, "typed twice")
    replaced(folder, "crossings.csv", "2,140", "2,150")
    logbook.write_out(path, folder)
    assert "2,150" in (folder / "crossings.csv").read_text(encoding="utf-8")


@pytest.mark.parametrize("kind", ["leg", None])
def test_only_work_and_crossings_are_struck_out(tmp_path: Path, kind: str | None) -> None:
    """Otherwise a mistyped number would take out a leg driven, or seem to have taken out something."""
    path, _ = with_crossings(tmp_path)
    with logbook_store.opened(path) as log:
        number = logbook_store.entries(log, kind)[0].number if kind else 9999
    with pytest.raises(BadInput, match=f"entry {number}, which is no work of the history and no crossing"):
        logbook.strike_out(path, number, "a slip")


def test_an_issued_calendar_is_kept(tmp_path: Path) -> None:
    """Otherwise a new plan would double the entries in the owner's calendar."""
    path, folder = made(tmp_path), tmp_path / "folder"
    (folder / "calendar_register.json").write_text('{"entries": []}', encoding="utf-8")
    logbook.take_in(path, folder, TODAY)
    logbook.write_out(path, tmp_path / "out")
    assert (tmp_path / "out" / "calendar_register.json").read_text(encoding="utf-8") == '{"entries": []}'


def test_entries_cannot_be_changed_by_any_program(tmp_path: Path) -> None:
    """Otherwise a slip in another program could rewrite the service history."""
    path = made(tmp_path)
    for statement in ("UPDATE entry SET body = 'x'", "DELETE FROM entry", "DELETE FROM document"):
        log = sqlite3.connect(path)
        with pytest.raises(sqlite3.IntegrityError, match="only added to"):
            log.execute(statement)
        log.close()


def _newer(path: Path) -> None:
    log = sqlite3.connect(path)
    log.execute("PRAGMA user_version = 99")
    log.close()


def _damaged(path: Path) -> None:
    raw = bytearray(path.read_bytes())
    raw[4096 : len(raw)] = os.urandom(len(raw) - 4096)
    path.write_bytes(bytes(raw))


def _foreign(path: Path) -> None:
    path.unlink()
    log = sqlite3.connect(path)
    log.execute("CREATE TABLE other (x)")
    log.close()


@pytest.mark.parametrize(
    ("code", "spoil"),
    [
        ("J01", _damaged), ("J01", lambda path: os.truncate(path, 5000)), ("J02", _newer), ("J05", _foreign),
        ("J05", lambda path: path.write_bytes(b"not a logbook at all" * 100)),
        ("J05", lambda path: path.write_bytes(b"")),
    ],
)  # fmt: skip
def test_a_bad_file_is_a_clear_message(tmp_path: Path, code: str, spoil: Callable[[Path], None]) -> None:
    """Otherwise a damaged logbook would end in a traceback, or be planned from in part."""
    path = made(tmp_path)
    spoil(path)
    assert code_of(path) == code
    assert code in LOGBOOK_CODES


def test_a_logbook_that_is_gone_is_a_clear_message(tmp_path: Path) -> None:
    """Otherwise one taken away between two steps of a command would end in a traceback, or be made anew, empty."""
    path = made(tmp_path)
    path.unlink()
    with pytest.raises(BadInput) as refused, logbook_store.opened(path):
        pass
    assert [problem.code for problem in refused.value.problems] == ["J06"] and not path.exists()


def test_another_program_holding_the_file_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a write that was never made would look made."""
    path = made(tmp_path)
    monkeypatch.setattr(logbook_store, "BUSY_SECONDS", 0.1)
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    with pytest.raises(BadInput, match="J04"):
        add_history(path, [a_row(1)])
    holder.close()


def test_a_folder_with_mistakes_is_not_taken_in(tmp_path: Path) -> None:
    """Otherwise a mistyped reading would be in the logbook for good."""
    folder = replaced(good_folder(tmp_path / "folder"), "history.csv", "184300", "18430O")
    with pytest.raises(BadInput, match="H03"):
        logbook.take_in(tmp_path / "a.logbook", folder, TODAY)
    with pytest.raises(BadInput, match="J08"):
        logbook.take_in(tmp_path / "a.logbook", tmp_path / "nowhere", TODAY)


def test_an_older_form_is_copied_and_then_brought_up(tmp_path: Path) -> None:
    """Otherwise a new edition could spoil the only copy of ten years of history."""
    path = tmp_path / "old.logbook"
    log = sqlite3.connect(path, isolation_level=None)
    for statement in logbook_store.MIGRATIONS[0]:
        log.execute(statement)
    log.execute(f"PRAGMA application_id = {logbook_store.APPLICATION_ID}")
    log.execute("PRAGMA user_version = 1")
    body = '{"act": "reading", "date": "2026-01-01", "odometer_km": "5", "unit": "wagon"}'
    log.execute("INSERT INTO entry VALUES (1, 'history', '', ?, '2026-01-02', NULL)", (body,))
    log.close()
    assert [row.odometer_km for _, row in logbook.history_entries(path)] == [5]
    assert not (tmp_path / "old.logbook.form1.bak").exists()  # reading changes nothing
    add_history(path, [a_row(1)])
    assert [row.odometer_km for _, row in logbook.history_entries(path)] == [5, 1001]
    with logbook_store.opened(path) as log:
        assert all(row.own and row.chain and row.is_whole for row in log.rows("entry"))
    copy = sqlite3.connect(tmp_path / "old.logbook.form1.bak")
    assert copy.execute("PRAGMA user_version").fetchone() == (1,)
    assert copy.execute("SELECT body FROM entry").fetchall() == [(body,)]
    copy.close()


WRITER = """
    import sys
    from pathlib import Path
    from tests.files.test_logbook import a_row
    from tests.logbooks import add_history
    from tripplan.files.logbook.store import Fresh, append, changing
    from tripplan.files.logbook.text import body_of
    path, first, most = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    print("ready", flush=True)
    with changing(path, create=True) as log:
        for number in range(first, first + most):
            append(log, path, [Fresh(kind="history", body=body_of(a_row(number)))])
            print(number, flush=True)
"""
# A quick writer for the kill test: the same store, without the start-up time of the records.
QUICK_WRITER = """
    import os, sys
    from pathlib import Path
    from tripplan.files.logbook.store import Fresh, append, changing
    path, first = Path(sys.argv[1]), int(sys.argv[2])
    for round in range(int(sys.argv[3])):
        child = os.fork()
        if child == 0:
            with changing(path, create=True) as log:
                for number in range(first + round * 10000, first + round * 10000 + 9999):
                    append(log, path, [Fresh(kind="number", body=str(number))])
                    os.write(1, f"{number}\\n".encode())
        asked = sys.stdin.readline()
        os.kill(child, 9)
        os.waitpid(child, 0)
        if not asked:
            break
        os.write(1, b"killed\\n")
"""


def test_nothing_acknowledged_is_lost_by_kill_9(tmp_path: Path) -> None:
    """Otherwise pulling the plug on the track would lose the last service written down."""
    path, rounds, chance = tmp_path / "a.logbook", 400, random.Random(1)
    told: set[int] = set()
    with started(QUICK_WRITER, str(path), "0", str(rounds), stdin=subprocess.PIPE) as child:
        assert child.stdin and child.stdout
        while len(told) < 300:
            time.sleep(chance.uniform(0.02, 0.2))
            child.stdin.write("now\n")
            child.stdin.flush()
            for line in child.stdout:
                if line == "killed\n":
                    break
                told.add(int(line))
    with logbook_store.opened(path) as log:
        kept = {int(entry.body) for entry in logbook_store.in_force(log, "number")}
    assert len(told) >= 300 and told <= kept


def test_two_writers_lose_nothing(tmp_path: Path) -> None:
    """Otherwise the page and the command line together would drop entries."""
    path = tmp_path / "a.logbook"
    first, second = (started(WRITER, str(path), start, "150") for start in ("0", "1000"))
    assert len(first.communicate()[0].split()) == len(second.communicate()[0].split()) == 151
    found = sorted(row.odometer_km or 0 for _, row in logbook.history_entries(path))
    assert found == [1000.0 + number for number in (*range(150), *range(1000, 1150))]


FULL = """
    import resource, sys
    from pathlib import Path
    from tests.files.test_logbook import a_row
    from tests.logbooks import add_history
    from tripplan.files.logbook import book as logbook
    from tripplan.records.problems import BadInput
    path = Path(sys.argv[1])
    resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))
    for number in range(5000):
        try:
            add_history(path, [a_row(number, note="x" * 2000)])
        except BadInput as error:
            print(number, error.problems[0].code)
            break
"""


@pytest.mark.skipif(not hasattr(resource, "RLIMIT_FSIZE"), reason="no limit of file size to stand for a full disk")
def test_a_full_disk_is_told_and_the_file_stays_whole(tmp_path: Path) -> None:
    """Otherwise a full disk would spoil the history, or say that an entry was kept."""
    path = made(tmp_path)
    with started(FULL, str(path)) as child:
        number, code = child.communicate(timeout=60)[0].split()
    assert code == "J03"
    assert len(logbook.history_entries(path)) == 8 + int(number)


def test_a_full_small_disk(tmp_path: Path) -> None:
    """Otherwise a real full disk could behave unlike the limit that stands for it."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=400k", "tmpfs", str(disk)], capture_output=True)
    if mounted.returncode:
        pytest.skip("mounting a small disk is not permitted here")
    try:
        kept, path = 0, disk / "a.logbook"
        with logbook_store.changing(path, create=True):
            pass
        with pytest.raises(BadInput, match="J03"):
            for number in range(1000):
                kept += len(add_history(path, [a_row(number, note="x" * 2000)]))
        copy = tmp_path / "copy.logbook"
        for part in disk.iterdir():
            (tmp_path / part.name.replace("a.logbook", copy.name)).write_bytes(part.read_bytes())
        assert kept and len(logbook.history_entries(copy)) == kept
    finally:
        subprocess.run(["umount", str(disk)], check=True)


MARKS = st.characters(exclude_categories=["Cs"], exclude_characters="\0")
TEXT = st.text(MARKS, min_size=1, max_size=12).map(str.strip)
NUMBERS = st.decimals(0, 4_999_999, places=3).map(float) | st.floats(1e-20, 1e-5)


@st.composite
def history_rows(draw: st.DrawFn) -> HistoryRow:
    """A row with anything in it that a cell can hold."""
    values: dict[str, Any] = {
        "date": TODAY - timedelta(days=draw(st.integers(0, 9000))), "unit": draw(TEXT.filter(bool)),
        "act": draw(TEXT.filter(lambda text: bool(text.strip().lower()))), "origin": HERE,
    }  # fmt: skip
    optional = {"odometer_km": NUMBERS, "item": TEXT, "position": TEXT, "lubricant": TEXT, "note": TEXT,
                "finding": st.sampled_from(("as new", "water", "worn")), "old_odometer_km": NUMBERS}  # fmt: skip
    for name, strategy in optional.items():
        if draw(st.booleans()) and (value := draw(strategy)) != "":
            values[name] = value
    return HistoryRow.model_validate(values)


CORRECTIONS = st.lists(st.tuples(st.integers(0, 5), st.none() | history_rows(), st.just("") | TEXT), max_size=4)


@settings(max_examples=40, deadline=None)
@given(rows=st.lists(history_rows(), min_size=1, max_size=6), corrections=CORRECTIONS)
def test_folder_to_logbook_to_folder_gives_equal_records(
    rows: list[HistoryRow], corrections: list[tuple[int, HistoryRow | None, str]]
) -> None:
    """Otherwise a word or a figure would change each time the logbook is written out, or a correction be lost."""
    rows = [HistoryRow.model_validate({**texts_of(row), "origin": HERE}) for row in rows]
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "a.logbook"
        with logbook_store.changing(path, create=True):
            pass
        add_history(path, rows)
        for spot, row, why in corrections:
            there = logbook.history_entries(path)
            if spot < len(there):
                logbook.correct(path, there[spot][0].number, row, why)
        logbook.write_out(path, Path(place) / "one")
        taken = logbook.take_in(Path(place) / "b.logbook", Path(place) / "one", TODAY)
        one, two = ([row for _, row in logbook.history_entries(Path(place) / f"{n}.logbook")] for n in "ab")
        assert bare(one) == bare(two)
        assert corrections or bare(one) == bare(rows)
        again = logbook.take_in(Path(place) / "b.logbook", Path(place) / "one", TODAY)
        assert (again.added, again.struck_out) == ({}, 0) and taken.struck_out <= len(corrections)
        logbook.write_out(Path(place) / "b.logbook", Path(place) / "two")
        one, two = (Path(place) / name / "history.csv" for name in ("one", "two"))
        assert one.read_bytes() == two.read_bytes()


@given(text=TEXT)
def test_guarding_can_be_undone_and_leaves_no_formula(text: str) -> None:
    """Otherwise a note could run as a formula, or gain a quote with every export."""
    assert unguarded(guarded(text)) == text
    is_number = guarded(text) == text and text[:1] in "+-" and text[1:].replace(".", "").isdigit()
    assert is_number or not guarded(text).startswith(("=", "+", "-", "@"))


@given(value=st.just(0.0) | st.floats(1e-20, 5e6))
def test_numbers_are_read_again_as_they_were(value: float) -> None:
    """Otherwise an odometer reading would drift with every export."""
    text = plain_number(value)
    assert len(text) <= 39 and float(text) == value
    assert "e" not in text.lower()


def test_signals_do_not_matter_here() -> None:
    """Otherwise the limit of file size would end the program instead of giving a message."""
    assert signal.getsignal(signal.SIGXFSZ) == signal.SIG_IGN
