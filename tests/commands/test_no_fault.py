"""Nothing that can be put into a file or typed on the command line ends as our fault, hangs, or steers the terminal."""

import csv
import io
import json
import os
import re
import sqlite3
import sys
import time
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from tests.support import good_folder, replaced
from tests.track_texts import GPX_HEAD
from tripplan.__main__ import main
from tripplan.commands import terminal
from tripplan.files import plan_folder
from tripplan.files.logbook import book, store
from tripplan.files.logbook.chain import ENTRY, chain_mark, own_mark
from tripplan.files.workbooks import unsafe_reason
from tripplan.placing.greedy import place_greedily

DAY = "2026-06-20"
DIGITS = "9" * 400
DEEP = "[" * 100_000
MOST_S = 10.0
Spoil = Callable[[Path], None]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Callable[..., int]:
    """The command line with these words, planning by the plain rule: its status, never our fault, and soon."""
    monkeypatch.setattr(plan_folder.plan_of, "__defaults__", ((), place_greedily))

    def command(*words: str | Path) -> int:
        monkeypatch.setattr(sys, "argv", ["tripplan", *map(str, words)])
        begun = time.monotonic()
        with pytest.raises(SystemExit) as ended:
            main()
        assert time.monotonic() - begun < MOST_S
        assert ended.value.code in (0, 1, 2), words
        return int(ended.value.code)

    return command


def put(name: str, text: str | bytes) -> Spoil:
    """Write a file of the folder."""

    def spoil(folder: Path) -> None:
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(text.encode("utf-8", "surrogatepass") if isinstance(text, str) else text)

    return spoil


def change(name: str, old: str, new: str) -> Spoil:
    """Replace a piece of a file."""
    return lambda folder: [replaced(folder, name, old, new), None][1]


def pipe(name: str) -> Spoil:
    """A pipe that nobody writes to, where a file should be."""

    def spoil(folder: Path) -> None:
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).unlink(missing_ok=True)
        os.mkfifo(folder / name)

    return spoil


def endless(name: str) -> Spoil:
    """A link to a device without end, where a file should be."""

    def spoil(folder: Path) -> None:
        (folder / name).unlink(missing_ok=True)
        (folder / name).symlink_to("/dev/zero")

    return spoil


def workbook(cells: dict[str, str], merged: str = "") -> bytes:
    """A spreadsheet file with these cells, and one merged range written into it by hand."""
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    for place, text in cells.items():
        sheet[place] = text
    sheet.merge_cells("C3:D4")
    plain, out = io.BytesIO(), io.BytesIO()
    book.save(plain)
    with zipfile.ZipFile(plain) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            new.writestr(name, old.read(name).replace(b"C3:D4", (merged or "C3:D4").encode()))
    return out.getvalue()


FAR, MERGED = workbook({"A1": "date", "XFD1048576": "x"}), workbook({"A1": "date"}, "A1:XFD1048576")
LINE = "date,unit,odometer_km,item,position,act,finding,lubricant,note\n"


def far_history(raw: bytes) -> Spoil:
    """That workbook in place of the history."""

    def spoil(folder: Path) -> None:
        (folder / "history.csv").unlink()
        (folder / "history.xlsx").write_bytes(raw)

    return spoil


def override(column: str, value: str) -> Spoil:
    """A row of the items table, copied and changed in one column."""
    import csv

    from tripplan.files.data_tables import DATA

    with (DATA / "items.csv").open(encoding="utf-8", newline="") as file:
        row = next(csv.DictReader(file))
    row |= {"locator": "my own reason", column: value}
    out = io.StringIO()
    lines = csv.DictWriter(out, row)
    lines.writeheader()
    lines.writerow(row)
    return put("overrides/items.csv", out.getvalue())


BAD: dict[str, Spoil] = {
    "a need nobody knows": override("needs", "wings=two"),
    "a need without a word": override("needs", "fitted="),
    "months without end": override("months", "99999999999999999999999999999999999999"),
    "a number of 400 figures in the rig": change("rig.toml", "tyre_diameter_mm = 790", f"tyre_diameter_mm = {DIGITS}"),
    "a long hexadecimal number in the rig": change("rig.toml", "= 790", f"= 0x{'f' * 5000}"),
    "a trip of the year 9999": change("trip.toml", "return = 2026-07-20", "return = 9999-12-31"),
    "a trip of the year 1": change("trip.toml", "depart = 2026-07-03", "depart = 0001-01-01"),
    "a row of the year 9999": put("history.csv", f"{LINE}9999-12-31,wagon,188150,,,reading,,,\n"),
    "a stop to the year 9999": change("stops.csv", "2026-07-11", "9999-12-31"),
    "the same stop twice": change("stops.csv", "Red Pan,2", "Red Pan,2,2026-07-07,2026-07-11,camp,60\nRed Pan,2"),
    "a workbook with one far cell": far_history(FAR),
    "a workbook that is one merged cell": far_history(MERGED),
    "a pipe for a table": pipe("legs.csv"),
    "a pipe for the rig": pipe("rig.toml"),
    "a pipe for the calendar": pipe("busy.ics"),
    "a pipe for the gun": pipe("grease_gun.toml"),
    "a pipe for an override": pipe("overrides/items.csv"),
    "a device for a table": endless("history.csv"),
    "a device for the calendar": endless("busy.ics"),
    "TOML nested deeply": put("trip.toml", f"x = {DEEP}"),
    "half a pair in a note": put("history.csv", f"{LINE}2026-06-14,wagon,188150,,,reading,,,\ud800\n"),
    "a calendar of the year 9999": put("busy.ics", "BEGIN:VCALENDAR\nVERSION:2.0\nBEGIN:VEVENT\nUID:1\n"
        "DTSTART:99991231T230000Z\nDURATION:P9999D\nRRULE:FREQ=DAILY\nEND:VEVENT\nEND:VCALENDAR\n"),
}  # fmt: skip


@pytest.mark.parametrize("about", BAD)
def test_a_bad_folder_is_told(about: str, tmp_path: Path, run: Callable[..., int]) -> None:
    """Otherwise a slip in a file, or a file that somebody else made, would end as our fault."""
    folder = good_folder(tmp_path / "trip")
    BAD[about](folder)
    assert run("check", folder, "--today", DAY) in ((0, 1) if "calendar of" in about else (2,))


DAYS = ("9999-12-31", "0001-01-01", "1989-12-31", "2101-01-01")


@pytest.mark.parametrize("day", DAYS)
def test_a_day_beyond_all_trips_is_refused_by_every_command(day: str, tmp_path: Path, run: Callable[..., int]) -> None:
    """Otherwise a slip in a year would run past the end of the calendar in some command or other."""
    folder, at = good_folder(tmp_path / "trip"), ("--today", day)
    old = tmp_path / "old.csv"
    old.write_text("Date,Work\n2024-03-13,oil & filter\n", encoding="utf-8")
    commands = (
        ("plan", folder, "--out", tmp_path / "out"), ("plan", folder, "--depart", day), ("check", folder),
        ("why", folder, "winch"), ("review", folder), ("grease", folder, "front_wheel_bearings"),
        ("log", folder, "--date", DAY, "--unit", "wagon", "--item", "winch", "--act", "look"),
        ("cross", folder, "--leg", "2", "--depth", "0.4", "--water", "fresh", "--at", "2026-07-06", "--at-km", "60"),
        ("grease", folder, "--weighed", "10=13g"), ("import", old, "--into", folder, "--yes"),
        ("route", "export", folder, "--out", tmp_path / "out"),
    )  # fmt: skip
    for words in commands:
        assert run(*words, *at) == 2, words
    assert run("log", folder, "--date", day, "--unit", "wagon", "--item", "winch", "--act", "look") == 2
    assert run("cross", folder, "--leg", "2", "--depth", "0.4", "--water", "fresh", "--at", day, "--at-km", "60") == 2


@pytest.mark.parametrize("text", [
    f"{GPX_HEAD}<trk><trkseg><trkpt lat='-23' lon='133'>&places;</trkpt></trkseg></trk></gpx>",
    f'{{"type": "Point", "coordinates": [{DIGITS}, {DIGITS}]}}', f'{{"a": {DEEP}}}', '{"type": "Point", "coordinates": NaN}',
])  # fmt: skip
def test_a_bad_track_is_told(text: str, tmp_path: Path, run: Callable[..., int]) -> None:
    """Otherwise a track from another program would end as our fault."""
    (tmp_path / "day.gpx").write_text(text, encoding="utf-8")
    assert (
        run("route", "add", good_folder(tmp_path / "trip"), tmp_path / "day.gpx", "--by", "km", "--km-a-day", "200")
        == 2
    )


def test_a_pipe_for_a_track_is_told(tmp_path: Path, run: Callable[..., int]) -> None:
    """Otherwise the command would wait for ever for a writer."""
    os.mkfifo(tmp_path / "day.gpx")
    assert run("route", "add", good_folder(tmp_path / "trip"), tmp_path / "day.gpx") == 2


@pytest.mark.parametrize("name", ["undefined", "idna", "punycode", "base64", "rot13", "no-such", ""])
def test_a_mapping_with_an_odd_character_set_is_told(name: str, tmp_path: Path, run: Callable[..., int]) -> None:
    """Otherwise a word in the mapping file would end as our fault."""
    (tmp_path / "old.csv").write_text("Date,Work\n2024-03-13,caf\u00e9\n", encoding="utf-8")
    (tmp_path / "map.toml").write_text(f'encoding = "{name}"\n', encoding="utf-8")
    words = ("import", tmp_path / "old.csv", "--into", tmp_path / "trip", "--mapping", tmp_path / "map.toml")
    assert run(*words) in ((2,) if name not in ("idna", "punycode") else (0, 1, 2))


@pytest.mark.parametrize(
    "text", [f'{{"schema": {DIGITS}}}', DEEP, '{"schema": NaN}', f'{{"schema": 1, "totals": {DIGITS}}}', "\0"]
)
def test_a_bad_plan_is_told(text: str, tmp_path: Path, run: Callable[..., int]) -> None:
    """Otherwise a plan.json that was damaged or made by hand would end as our fault."""
    folder = good_folder(tmp_path / "trip")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_text(text, encoding="utf-8")
    assert run("check", folder, "--plan", tmp_path / "out" / "plan.json", "--today", DAY) == 2
    assert (
        run("plan", folder, "--out", tmp_path / "out", "--today", DAY) < 2
    )  # it is no plan to compare with, and is replaced


@pytest.mark.parametrize(
    "body", ["no JSON", DEEP, "[]", '{"unit": 1}', DIGITS, '{"act": "reading", "date": "x", "unit": "wagon"}']
)
def test_a_logbook_with_a_body_that_is_no_record_is_told(body: str, tmp_path: Path, run: Callable[..., int]) -> None:
    """Otherwise one odd entry would keep the whole logbook from being read."""
    path = tmp_path / "rig.logbook"
    book.take_in(path, good_folder(tmp_path / "trip"), book.date.fromisoformat(DAY))
    log = sqlite3.connect(path)
    before = log.execute("SELECT chain FROM entry ORDER BY number DESC LIMIT 1").fetchone()[0]
    number = log.execute("SELECT MAX(number) FROM entry").fetchone()[0] + 1
    values = (number, "history", "", body, "2026-06-20", None, "")
    own = own_mark(values)
    log.execute(f"INSERT INTO {ENTRY} VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", (*values, own, chain_mark(before, own)))
    log.commit()
    log.close()
    status = run("check", path, "--today", DAY)
    assert status == (2 if '"date"' in body else 1)
    assert run("logbook", "entries", path) in (1, 2)
    assert run("plan", path, "--out", tmp_path / "out", "--today", DAY) < 3


def test_a_pipe_for_a_logbook_is_told(tmp_path: Path, run: Callable[..., int]) -> None:
    """Otherwise the command would wait for ever."""
    os.mkfifo(tmp_path / "rig.logbook")
    for what in ("entries", "mend"):
        assert run("logbook", what, tmp_path / "rig.logbook") == 2
    assert run("check", tmp_path / "rig.logbook", "--today", DAY) == 2


def test_a_workbook_is_judged_by_its_cells() -> None:
    """Otherwise 5 kB of spreadsheet would ask for gigabytes, or an honest long one be refused."""
    assert "so far out" in unsafe_reason(FAR) and "merged" in unsafe_reason(MERGED)
    assert len(FAR) < 10_000 and unsafe_reason(workbook({f"L{row}": "x" for row in range(1, 20_001)})) == ""


STEERING = "\x1b[31mred\x1b]0;title\x07\x9b2J\u202egnp.exe\u2028"


def test_nothing_printed_steers_the_terminal(
    tmp_path: Path, run: Callable[..., int], capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise a note from somebody else's table could clear the screen, or show another word than it holds."""
    folder = good_folder(tmp_path / "trip")
    replaced(folder, "history.csv", "before the wet", f"before {STEERING}")
    replaced(folder, "legs.csv", "Two Wells", f"Two {STEERING} Wells")
    words = (("check",), ("why", "winch"), ("plan", "--out", tmp_path / "out"), ("review",))
    for name, *more in words:
        for form in ((), ("--json",)):
            run(name, folder, *more, "--today", DAY, *form)
            said = capsys.readouterr()
            assert not terminal.UNSEEN.search(said.out + said.err), name
            if form:
                json.loads(said.out)
    assert run("check", folder / f"no {STEERING}", "--today", DAY) == 2
    said = capsys.readouterr()
    assert not terminal.UNSEEN.search(said.out + said.err) and "\\x1b[31m" in said.err


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "cp437", "utf-8"])
def test_a_name_beyond_the_terminal_is_printed_all_the_same(
    encoding: str, tmp_path: Path, run: Callable[..., int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise a place name would end as our fault on a Windows terminal, or when the output goes to a file."""
    folder = good_folder(tmp_path / "trip")
    place = "Ti\u1ebfng \u0416\u2603\U0001f400"
    for name in ("legs.csv", "stops.csv"):
        replaced(folder, name, "Red Pan", place)
    for form in ((), ("--json",)):
        raw = io.BytesIO()
        monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding=encoding, errors="strict"))
        assert run("plan", folder, "--out", tmp_path / "out", "--today", DAY, *form) < 2
        text = raw.getvalue().decode(encoding)
        if form:
            assert json.loads(text)["legs"][1]["to"] == place
        else:
            assert (place if encoding == "utf-8" else "Tieng ???") in text


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_an_answer_that_cannot_be_printed_is_said(tmp_path: Path) -> None:
    """Otherwise a full disk behind the output would end as our fault, with the record kept."""
    import subprocess

    folder = good_folder(tmp_path / "trip")
    words = (
        "log",
        folder,
        "--date",
        "2026-06-18",
        "--unit",
        "wagon",
        "--item",
        "winch",
        "--act",
        "look",
        "--today",
        DAY,
    )
    with Path("/dev/full").open("w") as full:
        done = subprocess.run([sys.executable, "-m", "tripplan", *map(str, words)], stdout=full, stderr=subprocess.PIPE,
                              text=True, cwd=Path(__file__).parents[2])  # fmt: skip
    assert (
        done.returncode == 2
        and "could not be printed" in done.stderr
        and "winch" in (folder / "history.csv").read_text()
    )
    assert store.VERSION == 3


def test_no_library_speaks_to_the_terminal(
    tmp_path: Path, run: Callable[..., int], recwarn: pytest.WarningsRecorder
) -> None:
    """Otherwise a workbook that another program saved without styles would print a warning of a library, with its path."""
    folder = good_folder(tmp_path / "trip")
    sheets = openpyxl.Workbook()
    for row in csv.reader((folder / "history.csv").read_text(encoding="utf-8").splitlines()):
        sheets.worksheets[0].append(row)
    sheets.save(tmp_path / "whole.xlsx")
    with zipfile.ZipFile(tmp_path / "whole.xlsx") as whole, zipfile.ZipFile(folder / "history.xlsx", "w") as bare:
        for name in whole.namelist():
            raw = whole.read(name)
            bare.writestr(
                name,
                re.sub(rb"<cellXfs.*?</cellXfs>|<cellStyles.*?</cellStyles>", b"", raw)
                if name == "xl/styles.xml"
                else raw,
            )
    (folder / "history.csv").unlink()
    assert run("check", folder, "--today", DAY) < 2
    assert [str(found.message) for found in recwarn if "openpyxl" in str(found.filename)] == []


def test_a_figure_beyond_a_model_is_told(
    tmp_path: Path, run: Callable[..., int], capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise prices that are accepted one by one would end in a model that was not made for them, as our fault."""
    folder = good_folder(tmp_path / "trip")
    replaced(folder, "trip.toml", "rate_per_hour = 60", "rate_per_hour = 9e6")
    (folder / "overrides").mkdir()
    head = "name,value,unit,meaning,basis,source,locator"
    row = "repair_after_failure_hours,200,h,how long a repair takes,judgement,none,our own workshop"
    (folder / "overrides" / "assumptions.csv").write_text(f"{head}\n{row}\n", encoding="utf-8")
    assert run("plan", folder, "--out", tmp_path / "out", "--today", DAY) == 2
    assert "[A26 stops the plan]" in capsys.readouterr().err
    replaced(folder, "trip.toml", "rate_per_hour = 9e6", "rate_per_hour = 9e7")
    assert run("check", folder, "--today", DAY) == 2 and "T06" in capsys.readouterr().err
