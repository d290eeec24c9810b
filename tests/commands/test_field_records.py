"""`tripplan log FOLDER --from FILE`: records of a phone taken in once, what speaks against one told, the rest taken."""

import csv
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.logbooks import line_of
from tests.support import good_folder
from tripplan.__main__ import app
from tripplan.commands.field_records import take_records
from tripplan.commands.log_and_cross import cross, log
from tripplan.commands.sources import in_folder
from tripplan.files.field_records.text import FIRST
from tripplan.files.field_records.trip_key import trip_key
from tripplan.files.folder import load
from tripplan.files.logbook.book import take_in

pytestmark = pytest.mark.usefixtures("by_rule")

TODAY = "2026-07-08"
WORK = {
    "kind": "work",
    "at": "2026-07-06T20:00:00+08:00",
    "unit": "wagon",
    "item": "front_wheel_bearings",
    "act": "look",
}
FORD = {"kind": "crossing", "at": "2026-07-06T14:12:00+08:00", "when": "2026-07-06T14:10", "leg": 2, "at_km": 140,
        "depth_m": 0.7, "water": "muddy", "minutes": 4, "hubs_hot": True}  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A good trip folder with one planned crossing, on leg 2 at km 140."""
    return good_folder(tmp_path / "trip")


@pytest.fixture
def sent(folder: Path, tmp_path: Path) -> Callable[..., Path]:
    """The records as a file, as the phone sends them for that folder."""

    def written(*records: dict[str, Any], **head: str) -> Path:
        from datetime import date

        inputs, _, _ = load(folder, date.fromisoformat(TODAY))
        assert inputs is not None
        known = {"rig": inputs.rig.name, "trip": inputs.trip.name, "depart": inputs.trip.depart.isoformat(), **head}
        named = [{"id": f"mtnr985c-{number:04d}", **record} for number, record in enumerate(records)]
        lines = [f"{FIRST}1", line_of({"key": trip_key(*known.values()), **known}), *map(line_of, named)]
        whole = "\n".join(lines)
        path = tmp_path / "sent.txt"
        path.write_text(f"{whole}\nend {len(named)} {zlib.crc32(whole.encode()):08x}\n", encoding="ascii")
        return path

    return written


def rows(folder: Path, name: str = "history.csv") -> list[dict[str, str]]:
    """The rows of a table."""
    with (folder / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_records_are_taken_once_however_often_they_come(
    folder: Path, sent: Callable[..., Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise the same evening would count twice after a second mail."""
    file = sent({**WORK, "finding": "water", "position": "left"}, FORD, {"kind": "note", "at": WORK["at"], "note": "=1+1"},
                {"kind": "reading", "at": WORK["at"], "unit": "wagon", "odometer_km": 190000.5})  # fmt: skip
    assert take_records(folder, file, None, TODAY, False) in (0, 1)
    said = capsys.readouterr().out
    assert "2 rows added" in said and "crossings.csv: row 2 made" in said and "1 note added" in said
    look, reading = rows(folder)[-2:]
    assert (look["date"], look["finding"], look["position"], look["record"]) == (
        "2026-07-06",
        "water",
        "left",
        "mtnr985c-0000",
    )
    assert (reading["act"], reading["odometer_km"]) == ("reading", "190000.5")
    (ford,) = rows(folder, "crossings.csv")
    assert (ford["depth_m"], ford["crossed"], ford["hubs_hot"]) == ("0.7", "2026-07-06 14:10", "yes")
    assert rows(folder, "field_notes.csv")[0]["note"] == "'=1+1"  # a spreadsheet would run it otherwise
    before = {path.name: path.read_bytes() for path in folder.glob("*.csv")}
    assert take_records(folder, file, None, TODAY, False) in (0, 1)
    assert "4 records were in the folder already. Nothing is new." in capsys.readouterr().out
    assert {path.name: path.read_bytes() for path in folder.glob("*.csv")} == before


def test_a_word_of_the_sheet_in_an_older_row_stops_no_record(folder: Path, sent: Callable[..., Path]) -> None:
    """Otherwise a phone's evening would be refused because a row of the table says `test`, as the sheet does."""
    columns = list(rows(folder)[0])
    given = {"date": "2026-01-13", "unit": "wagon", "item": "battery", "act": "test"}
    path = folder / "history.csv"
    row = ",".join(given.get(column, "") for column in columns)
    path.write_text(f"{path.read_text(encoding='utf-8').rstrip()}\n{row}\n", encoding="utf-8")
    assert take_records(folder, sent(WORK), None, TODAY, False) in (0, 1)
    assert [row["act"] for row in rows(folder)[-2:]] == ["test", "look"]


def test_a_kill_between_the_tables_is_made_good_by_giving_it_again(
    folder: Path, sent: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise the history would be in and the ford lost, or the history twice."""
    from tripplan.commands import field_records

    file, put, calls = sent(WORK, FORD), field_records.put, []

    def dies(path: Path, content: bytes) -> None:
        calls.append(path.name)
        if len(calls) == 2:
            raise KeyboardInterrupt
        put(path, content)

    monkeypatch.setattr(field_records, "put", dies)
    with pytest.raises(KeyboardInterrupt):
        take_records(folder, file, None, TODAY, False)
    monkeypatch.setattr(field_records, "put", put)
    assert calls == ["history.csv", "crossings.csv"]
    assert take_records(folder, file, None, TODAY, False) in (0, 1)
    assert [row["record"] for row in rows(folder)].count("mtnr985c-0000") == 1
    assert rows(folder, "crossings.csv")[0]["crossed"] == "2026-07-06 14:10"


def test_undone_on_the_phone_is_left_out_and_struck_out_later(
    folder: Path, sent: Callable[..., Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise a slip of the thumb would stay work done."""
    undo = {"kind": "undo", "at": "2026-07-07T08:00:00+08:00", "of": "mtnr985c-0000"}
    assert take_records(folder, sent(WORK, undo), None, TODAY, False) in (0, 1)
    assert "Nothing is new" in capsys.readouterr().out
    assert take_records(folder, sent(WORK), None, TODAY, False) in (0, 1)
    assert take_records(folder, sent(WORK, undo), None, TODAY, False) in (0, 1)
    assert rows(folder)[-1]["undone"] == "2026-07-08: undone on the phone"
    assert take_records(folder, sent(FORD), None, TODAY, False) in (0, 1)  # the ford has the look's name: there already
    assert "in the folder already" in capsys.readouterr().out


def test_two_phones_may_look_twice_and_do_the_work_once(
    folder: Path, sent: Callable[..., Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise the evening's look would be refused for the morning's, or one repack count for two."""
    one, other = {**WORK, "id": "phone-one"}, {**WORK, "id": "phone-two", "at": "2026-07-06T21:00:00+08:00"}
    done = [{**record, "act": "repack", "id": f"{record['id']}-b"} for record in (one, other)]
    back = {**FORD, "id": "phone-one-c"}, {**FORD, "id": "phone-two-c", "when": "2026-07-06T18:00"}
    assert take_records(folder, sent(one, done[0], back[0]), None, TODAY, False) in (0, 1)
    capsys.readouterr()
    assert take_records(folder, sent(other, done[1], back[1]), None, TODAY, False) == 1
    said = capsys.readouterr().out
    assert said.count("[Y05 worth a look]") == 1 and "1 row added" in said
    assert [row["record"] for row in rows(folder)[-3:]] == ["phone-one", "phone-one-b", "phone-two"]


AGAINST = {
    "an item that nobody knows": {**WORK, "item": "flux"},
    "a unit that is not there": {**WORK, "unit": "bike"},
    "a day to come": {**WORK, "at": "2026-07-20T20:00:00+08:00"},
    "an odometer that goes back": {"kind": "reading", "at": WORK["at"], "unit": "wagon", "odometer_km": 12},
    "deeper than the roof": {**FORD, "depth_m": 2.9},
    "a leg that is not there": {**FORD, "leg": 9},
    "before its leg departs": {**FORD, "when": "2026-07-02T10:00", "at_km": 60},
}


def test_what_the_folder_refuses_is_told_and_the_others_are_taken(
    folder: Path, sent: Callable[..., Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise one record that cannot be would keep all the others out, since nobody can correct the text by hand."""
    good = {**WORK, "item": "rear_diff_oil", "id": "the-good-one"}
    assert take_records(folder, sent(*AGAINST.values(), good), None, TODAY, False) == 1
    said = capsys.readouterr().out
    assert said.count("[Y06 worth a look]") == len(AGAINST) and "1 row added" in said
    told = " ".join(said.split())
    assert (
        "Not taken in: rows 3, 4, 5, 6, 7, 8 and 9 of sent.txt." in told and "reading wagon 12 km, 2026-07-06" in told
    )
    assert all(f"({code})" in said for code in ("H12", "H10", "H17", "H11", "C15", "C10", "C13"))
    assert [row["record"] for row in rows(folder) if row["record"]] == ["the-good-one"]
    assert not rows(folder, "crossings.csv")[0]["crossed"]


@pytest.mark.parametrize("kind", ["work", "ford"])
def test_what_was_told_by_hand_stays_and_is_named(
    folder: Path, sent: Callable[..., Path], capsys: pytest.CaptureFixture[str], kind: str
) -> None:
    """Otherwise the work typed at night and ticked by day would count twice, or one finding cover the other."""
    if kind == "work":
        assert log(folder, "wagon", ["front_wheel_bearings"], "look", "2026-07-06", today=TODAY, finding="worn") in (
            0,
            1,
        )
    else:
        assert cross(folder, 2, 0.4, 1, "fresh", "2026-07-06 14:10", today=TODAY) in (0, 1)
    capsys.readouterr()
    assert take_records(folder, sent(WORK if kind == "work" else FORD), None, TODAY, False) == 1
    said = capsys.readouterr().out
    assert "[Y05 worth a look]" in said and "Nothing is new" in said
    assert kind == "ford" or "there it says the finding worn" in said


def test_a_ford_undone_after_it_came_home_is_told(
    folder: Path, sent: Callable[..., Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise nobody would know that the folder still counts it."""
    assert take_records(folder, sent(FORD), None, TODAY, False) in (0, 1)
    undo = {"kind": "undo", "at": "2026-07-07T08:00:00+08:00", "of": "mtnr985c-0000"}
    capsys.readouterr()
    assert take_records(folder, sent(FORD, undo), None, TODAY, False) == 1
    assert "[Y07 worth a look]" in capsys.readouterr().out


def test_records_of_another_trip_stop(
    folder: Path, sent: Callable[..., Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise a friend's findings would be counted on this rig."""
    before = (folder / "history.csv").read_bytes()
    assert take_records(folder, sent(WORK, trip="Elsewhere"), None, TODAY, False) == 2
    assert "[Y03 stops the plan]" in capsys.readouterr().err and (folder / "history.csv").read_bytes() == before


@pytest.mark.parametrize(("content", "code"), [(b"\xff\xfe\x00", "F03"), (b"", "F04"), (b"hello", "Y01")])
def test_what_is_no_text_of_records_is_refused(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], content: bytes, code: str
) -> None:
    """Otherwise a photo given by mistake would end in a traceback."""
    file = tmp_path / "sent.txt"
    file.write_bytes(content)
    assert take_records(folder, file, None, TODAY, False) == 2
    assert f"[{code} stops the plan]" in capsys.readouterr().err
    assert take_records(folder, tmp_path / "nothing.txt", None, TODAY, False) == 2
    assert "F01" in capsys.readouterr().err


def test_a_logbook_takes_them_too(folder: Path, sent: Callable[..., Path], tmp_path: Path) -> None:
    """Otherwise whoever keeps a logbook would have to type the evening again."""
    from datetime import date

    book, file = tmp_path / "wagon.logbook", sent(WORK, FORD, {"kind": "round", "at": WORK["at"]})
    take_in(book, folder, date.fromisoformat(TODAY))
    for _ in range(2):
        status = in_folder(book, False, lambda trip: take_records(trip, file, None, TODAY, False), keep=True)
        assert status in (0, 1)
    kept: list[dict[str, str]] = []

    def look(trip: Path) -> int:
        kept.extend((*rows(trip), *rows(trip, "crossings.csv"), *rows(trip, "field_notes.csv")))
        return 0

    in_folder(book, False, look)
    assert sorted(row["record"] for row in kept if row.get("record")) == [f"mtnr985c-{n:04d}" for n in range(3)]


def test_from_stands_alone(folder: Path, sent: Callable[..., Path], capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise work typed beside it would be left out without a word."""
    file = sent(WORK)
    with pytest.raises(SystemExit) as end:
        app(["log", str(folder), "--from", str(file), "--date", TODAY, "--unit", "wagon"])
    assert end.value.code == 2 and "A06" in capsys.readouterr().err
