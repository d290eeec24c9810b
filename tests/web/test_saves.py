"""What was saved can be taken back, also after the page was closed, the server killed or the power gone."""

import os
import re
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from tests.web.conftest import Visitor
from tests.web.test_forms import DAY, first_job, rows, snapshot
from tripplan.commands.plan import plan
from tripplan.files.demos import DEMOS
from tripplan.files.held import folder_held
from tripplan.files.plan_file import issued_plan
from tripplan.records.problems import BadInput
from tripplan.web import open_trip
from tripplan.web.open_trip import Desk
from tripplan.web.saves import journal, saving
from tripplan.web.saves.memory import read_memory

ROOT = Path(__file__).parents[2]
TODAY = DEMOS["after-crossing"]


def again(there: Any) -> Visitor:
    """The same folder served by a page that was started afresh."""
    return Visitor(there.folder, TODAY)


def trip_files(there: Any) -> dict[str, bytes]:
    """The files of the trip, without what the page keeps for itself."""
    return {name: raw for name, raw in snapshot(there.folder).items() if name != "page.json"}


def test_a_save_is_taken_back_after_a_restart(wet: Any) -> None:
    """Otherwise a flat battery would make every slip final."""
    before = trip_files(wet)
    number = wet.post("/trip", wet.form("/trip") | {"legs.6.dust": "bulldust", "do": "save"}).url.params["said"]
    later = again(wet)
    told = later.get(f"/trip?said={number}").text
    assert "What moved" in told and "Take this back" in told
    assert "The trip, taken back." in later.post("/undo", {"number": number, "back": "/trip"}).text
    assert trip_files(later) == before


def test_taking_back_is_itself_taken_back(wet: Any) -> None:
    """Otherwise one wrong press would cost the work it undid."""
    number = wet.post("/trip", wet.form("/trip") | {"legs.6.dust": "bulldust", "do": "save"}).url.params["said"]
    saved = trip_files(wet)
    back = wet.post("/undo", {"number": number, "back": "/saved"}).url.params["said"]
    assert trip_files(wet) != saved
    assert "The trip: saved." in again(wet).post("/undo", {"number": back, "back": "/saved"}).text
    assert trip_files(wet) == saved


def crossed(there: Any) -> Any:
    """A crossing told to the page."""
    version = there.get("/water").text.split('name="version" value="')[1].split('"')[0]
    told = {"leg": "2", "depth": "0.6", "minutes": "3", "water": "muddy", "day": "2026-08-15", "time": "11:30"}
    return there.post("/water", {**told, "at_km": "20", "version": version})


def test_a_record_brings_the_outputs_up_to_date(wet: Any) -> None:
    """Otherwise the sheet and the calendar on the wall would still be those from before the crossing."""
    out = wet.folder / "outputs"
    assert not out.exists() and plan(wet.folder, out, TODAY.isoformat(), False) in (0, 1)
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    number = crossed(wet).url.params["said"]
    assert [one["crossed"] for one in issued_plan(out)["crossings"] if one["depth_m"] == 0.6] == ["2026-08-15T11:30:00"]
    assert (out / "worksheet.txt").read_bytes() != before["worksheet.txt"]
    wet.post("/undo", {"number": number, "back": "/saved"})
    assert all(one["depth_m"] != 0.6 for one in issued_plan(out)["crossings"])


def test_a_record_makes_no_outputs_where_none_are_kept(wet: Any) -> None:
    """Otherwise files would appear in a folder whose owner never asked for any."""
    assert crossed(wet).status_code == 200
    assert not (wet.folder / "outputs").exists()


def test_outputs_of_an_older_folder_do_not_follow(wet: Any) -> None:
    """Otherwise a slow solve would write over what another program has brought up to date meanwhile."""
    out = wet.folder / "outputs"
    assert plan(wet.folder, out, TODAY.isoformat(), False) in (0, 1)
    seen = wet.app.state.desk.see()
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    desk = wet.app.state.desk
    desk._outputs_lag = True
    desk._refresh(replace(seen, version="another"))
    assert desk._outputs_lag
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


def test_a_closed_day_comes_back_with_its_ticks(wet: Any) -> None:
    """Otherwise taking it back would lose the day's findings."""
    key = first_job(wet)
    wet.post(DAY, {"toggle": f"{key}=done", f"finding.{key}": "worn"})
    before = trip_files(wet)
    number = wet.post(f"{DAY}/close", {"date": "2026-08-17", "unit": "wagon"}).url.params["said"]
    assert not read_memory(wet.folder).ticks("stop-2-home-yard")
    later = again(wet)
    back = later.post("/undo", {"number": number, "back": "/jobs"}).url.params["said"]
    assert read_memory(wet.folder).ticks("stop-2-home-yard")[key].finding == "worn"
    assert trip_files(wet) == before
    later.post("/undo", {"number": back, "back": "/jobs"})
    assert not read_memory(wet.folder).ticks("stop-2-home-yard")
    assert rows(wet.folder / "history.csv")[-1]["finding"] == "worn"


def test_what_was_written_over_is_not_taken_back(wet: Any) -> None:
    """Otherwise an undo would silently throw away what came after it."""
    number = wet.post("/trip", wet.form("/trip") | {"legs.6.dust": "bulldust", "do": "save"}).url.params["said"]
    with (wet.folder / "legs.csv").open("a") as file:
        file.write("\n")
    page = again(wet).get("/saved").text
    assert "Something was written over it since" in page and "Take this back" not in page
    before = trip_files(wet)
    assert "can no longer be taken back" in wet.post("/undo", {"number": number, "back": "/saved"}).text
    assert trip_files(wet) == before


def test_a_save_cut_short_is_finished_at_the_next_start(wet: Any) -> None:
    """Otherwise half a change would stand in the folder: the legs new, the stops old."""
    legs = (wet.folder / "legs.csv").read_bytes().replace(b"Home yard", b"Home shed")
    stops = (wet.folder / "stops.csv").read_bytes().replace(b"Home yard", b"Home shed")
    wanted = {"legs.csv": legs, "stops.csv": stops}
    before = saving.contents(wet.folder, wanted)
    journal.keep(
        wet.folder, journal.SaveEntry(number=7, label="The trip", at="2026-08-17T10:00", before=before, wanted=wanted)
    )
    (wet.folder / "legs.csv").write_bytes(legs)
    desk = Desk(wet.folder, TODAY)
    assert (wet.folder / "stops.csv").read_bytes() == stops
    desk.take_back(7)
    assert saving.contents(wet.folder, wanted) == before


def test_a_save_cut_short_and_then_written_over_is_left_alone(wet: Any) -> None:
    """Otherwise an old save would come up again over newer work."""
    before = saving.contents(wet.folder, ["legs.csv"])
    entry = journal.SaveEntry(number=7, label="The trip", at="", before=before, wanted={"legs.csv": b"old"})
    journal.keep(wet.folder, entry)
    newer = (before["legs.csv"] or b"") + b"\n"
    (wet.folder / "legs.csv").write_bytes(newer)
    assert Desk(wet.folder, TODAY).saves == {}
    assert (wet.folder / "legs.csv").read_bytes() == newer


def with_photo(there: Any) -> dict[str, bytes]:
    """A row of the history with a photo named in it, and the photo, where a plain file stands in the place of its folder."""
    (there.folder / "photos").write_bytes(b"a plain file")
    history = (there.folder / "history.csv").read_bytes()
    assert history.count(b"no papers") == 1
    return {"history.csv": history.replace(b"no papers", b"photos/a_1.jpg"), "photos/a_1.jpg": b"a picture"}


def test_a_save_that_cannot_make_its_folder_leaves_nothing_of_itself(wet: Any) -> None:
    """Otherwise a note would name a photo that is not there, and the page would never start again."""
    wanted = with_photo(wet)
    before = trip_files(wet)
    with pytest.raises(BadInput) as refused:
        wet.app.state.desk.save(wanted, "A photo")
    assert [(one.code, one.file) for one in refused.value.problems] == [("K03", "photos")]
    assert trip_files(wet) == before and journal.kept(wet.folder) == {}
    assert again(wet).app.state.desk.unfinished == ()


@pytest.mark.parametrize("fault", [OSError("the disk went away"), ValueError("a screw loose")])
def test_a_save_that_fails_for_any_reason_is_put_back(
    wet: Any, monkeypatch: pytest.MonkeyPatch, fault: Exception
) -> None:
    """Otherwise half a change would stand in the folder: the history new, the legs old."""
    before, real = trip_files(wet), saving.put

    def broken(path: Path, content: bytes) -> Path:
        if path.name == "legs.csv" and content.endswith(b"\n\n"):
            raise fault
        return real(path, content)

    monkeypatch.setattr(saving, "put", broken)
    wanted = {name: (wet.folder / name).read_bytes() + b"\n" for name in ("history.csv", "legs.csv")}
    with pytest.raises(type(fault)):
        wet.app.state.desk.save(wanted, "Two files")
    assert trip_files(wet) == before and journal.kept(wet.folder) == {}


def test_a_save_that_cannot_be_finished_is_set_aside_and_told(wet: Any) -> None:
    """Otherwise the page would end with the same fault at every start."""
    wanted = with_photo(wet)
    before = saving.contents(wet.folder, wanted)
    entry = journal.SaveEntry(number=7, label="A photo", at="2026-08-17T10:00+08:00", before=before, wanted=wanted)
    journal.keep(wet.folder, entry)
    (wet.folder / "history.csv").write_bytes(wanted["history.csv"])
    there = again(wet)
    (told,) = there.app.state.desk.unfinished
    assert told == (
        "A save was cut short and cannot be finished: A photo, 2026-08-17, 10:00. The files are as they were before it: "
        "history.csv, photos/a_1.jpg. It is set aside as .page/unfinished-save-00000007.json. The reason: photos: File exists."
    )
    assert saving.contents(wet.folder, wanted) == before
    assert all("cannot be finished: A photo" in there.get(path).text for path in ("/", "/saved"))
    assert (wet.folder / ".page" / "unfinished-save-00000007.json").is_file()
    assert again(wet).app.state.desk.unfinished == () and journal.kept(wet.folder) == {}


@pytest.mark.parametrize("name", ["../out.csv", "/etc/out.csv", "a/b/c.csv"])
def test_a_kept_save_never_leads_out_of_the_folder(wet: Any, name: str) -> None:
    """Otherwise a folder from a stranger could write files elsewhere."""
    journal.keep(wet.folder, journal.SaveEntry(number=7, label="x", at="", before={name: None}, wanted={name: b"x"}))
    assert journal.kept(wet.folder) == {}


WRITER = r"""
import sys
from datetime import date
from msgspec.structs import replace
from pathlib import Path
from tripplan.files.held import folder_held
from tripplan.web import open_trip
from tripplan.web.open_trip import Desk
desk = Desk(Path(sys.argv[1]), date(2026, 8, 17))
old = Path(sys.argv[2]).read_bytes()
for number in range(1, 400):
    desk.save({"legs.csv": old.replace(b",58,", b",%d," % (20 + number % 60)), "note.csv": b"number\n%d\n" % number}, "n")
    print(number, flush=True)
"""


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal on this system")
def test_a_server_killed_in_the_middle_of_a_save_loses_nothing_acknowledged(wet: Any) -> None:
    """Otherwise the page would say saved and the file would say otherwise (killed five times, at odd moments)."""
    at_first = wet.folder.parent / "legs at first.csv"
    at_first.write_bytes((wet.folder / "legs.csv").read_bytes())
    for delay_s in (0.0, 0.05, 0.11, 0.17, 0.23):
        command = [sys.executable, "-c", WRITER, str(wet.folder), str(at_first)]
        environment = {**os.environ, "PYTHONPATH": str(ROOT)}
        with subprocess.Popen(command, stdout=subprocess.PIPE, env=environment, text=True) as process:
            assert process.stdout is not None
            told = [process.stdout.readline(), process.stdout.readline()]
            time.sleep(delay_s)
            process.kill()
            told += process.stdout.read().splitlines()
        last = int([line for line in told if line.strip()][-1])
        Desk(wet.folder, TODAY).stop()
        number = int((wet.folder / "note.csv").read_text().split()[1])
        assert number in (last, last + 1)
        assert f",{20 + number % 60},".encode() in (wet.folder / "legs.csv").read_bytes()


def test_a_page_that_another_program_keeps_waiting_keeps_what_was_typed(
    wet: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise an hour of typing would be gone because a command ran in the terminal beside it."""
    form = wet.form("/trip") | {"legs.6.dust": "bulldust", "do": "save"}
    before = snapshot(wet.folder)
    monkeypatch.setattr(open_trip, "PATIENCE_S", 0.2)
    free, done = threading.Event(), threading.Event()

    def other() -> None:
        with folder_held(wet.folder):
            free.set()
            done.wait(20)

    hand = threading.Thread(target=other)
    hand.start()
    free.wait(20)
    answer = wet.post("/trip", form)
    done.set()
    hand.join()
    assert answer.status_code == 503 and "K05" in answer.text and snapshot(wet.folder) == before
    kept = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', answer.text))
    assert kept["legs.6.dust"] == "bulldust"
    assert wet.client.post("/trip", data=kept).status_code == 200
    assert "bulldust" in (wet.folder / "legs.csv").read_text()


NOT_SAVES = ("", "{", "[]", "null", '{"number": 1}', "[" * 100_000, "9" * 5000, "\ud800")


def test_damaged_saves_keep_no_page_from_starting(wet: Any) -> None:
    """Otherwise one bad file of the page's own would shut an owner out of the whole trip."""
    number = int(wet.post("/trip", wet.form("/trip") | {"legs.6.dust": "bulldust", "do": "save"}).url.params["said"])
    (path,) = (wet.folder / ".page").glob("save-*.json")
    whole = path.read_text()
    spoilt = [*NOT_SAVES, whole.replace('"number": 1', '"number": "1"'), whole.replace('"number": 1', '"number": 1e999'),
              whole.replace('"before": {', '"before": {"../rig.toml": "AA==", '), whole.replace('"number": 1', '"number": 7'),
              whole.replace("bulldust", "heavy"), whole[: len(whole) // 2],
              whole.replace('"ticks": {}', '"ticks": {"a": 5}'), whole.replace('"changes": {', '"changes": 5, "x": {')]  # fmt: skip
    for text in spoilt:
        if text != whole:
            path.write_bytes(text.encode("utf-8", "surrogatepass"))
            later = again(wet)
            assert later.get("/trip").status_code == 200 and number not in later.app.state.desk.saves, text[:80]
            (aside,) = (wet.folder / ".page").glob("damaged-*")
            aside.unlink()
    for name in (".page/keys.json", "page.json"):
        for text in NOT_SAVES:
            (wet.folder / name).write_bytes(text.encode("utf-8", "surrogatepass"))
            assert again(wet).get("/").status_code == 200
