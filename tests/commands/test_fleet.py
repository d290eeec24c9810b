"""Many rigs: each as `plan` would make it, none lost, none in another's way, the same bytes whoever makes them."""

import json
import os
import signal
from collections.abc import Iterator
from datetime import date
from multiprocessing import active_children
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from tests.fleet_rigs import TODAY, fleet_folders
from tests.support import replaced
from tripplan.commands.fleet import one_rig, run, workers
from tripplan.commands.fleet.one_rig import Asked, Done, Job
from tripplan.commands.fleet.run import MOST_IN_A_CHUNK, RIGS, Wanted, chunk_sizes, fleet
from tripplan.commands.plan import plan
from tripplan.files.fleet_folders import folder_bytes, own_names, rig_folders
from tripplan.files.fleet_journal import ENTRY_FILE
from tripplan.files.logbook.book import take_in
from tripplan.sheets.outputs import OUTPUT_FILES

SUMMARY = ("fleet.txt", "fleet.json", "rigs.csv", "shed_days.csv", "shopping.csv", "calendar.ics", "shared_days.csv")
PLAIN = Wanted(is_plain=True, is_summary_only=True)
DAY = TODAY.isoformat()


def files_of(place: Path) -> dict[str, bytes]:
    """Every file below a folder, but the lock."""
    return {
        path.relative_to(place).as_posix(): path.read_bytes()
        for path in sorted(place.rglob("*"))
        if path.is_file() and not path.name.startswith(".")
    }


@pytest.fixture(scope="module")
def rigs(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Three good rigs, and between them one whose table has a slip."""
    place = tmp_path_factory.mktemp("yard")
    folders = fleet_folders(place, 4)
    replaced(folders[1], "legs.csv", ",60,", ",fast,")
    return folders


@pytest.fixture(scope="module")
def alone(rigs: list[Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What one process makes of them, one after the other."""
    out = tmp_path_factory.mktemp("alone")
    assert fleet(rigs, out, DAY, False, Wanted(is_plain=True, bays=1, people=1)) == 1
    return out


def test_each_rig_is_planned_as_alone(rigs: list[Path], tmp_path: Path, by_rule: None) -> None:
    """A rig in a fleet would be given another plan than its owner makes of the same folder."""
    out = tmp_path / "out"
    fleet(rigs[:1], out, DAY, False, Wanted(is_plain=True))
    plan(rigs[0], tmp_path / "own", DAY, False)
    own = {name: (tmp_path / "own" / name).read_bytes() for name in OUTPUT_FILES}
    assert own == {name: (out / RIGS / rigs[0].name / name).read_bytes() for name in OUTPUT_FILES}


def test_a_bad_rig_stops_nobody_and_is_named(rigs: list[Path], alone: Path) -> None:
    """One slip in one table would leave a yard without plans, or nobody would know whose it was."""
    told = json.loads((alone / "fleet.json").read_text(encoding="utf-8"))
    assert [rig["is_made"] for rig in told["rigs"]] == [True, False, True, True]
    bad = told["rigs"][1]
    assert bad["folder"] == str(rigs[1]) and [found["code"] for found in bad["problems"]] == ["L03"]
    text = (alone / "fleet.txt").read_text(encoding="utf-8")
    assert "rig-00001: no plan." in text and "(L03): fast" in text


def test_the_summary_adds_up(alone: Path) -> None:
    """Minutes or parts of a rig would be missing from what the shed orders and gives time for."""
    told = json.loads((alone / "fleet.json").read_text(encoding="utf-8"))
    plans = [json.loads(path.read_text(encoding="utf-8")) for path in sorted(alone.glob("rigs/*/plan.json"))]
    assert len(plans) == 3
    days: dict[str, float] = {}
    for one in plans:
        for slot in one["slots"]:
            if slot["kind"] == "workshop" and slot["jobs"]:
                days[slot["date"]] = days.get(slot["date"], 0) + slot["minutes_planned"]
    assert {row["date"]: row["people_minutes"] for row in told["shed_days"]} == {
        day: round(m) for day, m in days.items()
    }
    needs: dict[str, float] = {}
    for need in (need for one in plans for need in (*one["shopping"], *one["carry"])):
        needs[need["name"]] = needs.get(need["name"], 0) + need["quantity"]
    bought: dict[str, float] = {}
    for row in told["shopping"]:
        bought[row["what"]] = bought.get(row["what"], 0) + float(row["quantity"])
    assert len(needs) > 10 and bought == pytest.approx(needs)


def test_one_calendar_holds_every_rigs_entries(alone: Path) -> None:
    """An entry would be lost, or two rigs' entries take each other's place in a calendar."""
    whole = Calendar.from_ical((alone / "calendar.ics").read_bytes())
    own = [Calendar.from_ical(path.read_bytes()) for path in alone.glob("rigs/*/calendar.ics")]
    events = list(whole.walk("VEVENT"))
    assert len(events) == sum(len(one.walk("VEVENT")) for one in own) > 6
    assert len({str(event["UID"]) for event in events}) == len(events)
    assert {str(event["SUMMARY"]).split(":")[0] for event in events} == {"Quoll 1", "Numbat 1", "Potoroo 1"}


def test_the_shared_days_fit_the_shed(alone: Path) -> None:
    """Two rigs would be promised the same bay for more minutes than a day has."""
    told = json.loads((alone / "fleet.json").read_text(encoding="utf-8"))
    used: dict[str, int] = {}
    for row in told["shared_days"]:
        if row["date"]:
            used[row["date"]] = used.get(row["date"], 0) + row["minutes"]
            assert row["bay"] == 1 and row["parts_there"] <= row["date"] <= row["latest"]
    assert used and max(used.values()) <= 480


@pytest.mark.slow
def test_four_workers_one_killed_give_the_same_bytes(
    rigs: list[Path], alone: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plan would hang on how many processes made it, or a dead one take its rigs with it."""
    really = workers.in_processes
    killed: list[int] = []

    def with_a_death(chunks: Any, asked: Asked, count: int) -> Iterator[list[Done]]:
        for done in really(chunks, asked, count):
            if not killed:
                killed.append(active_children()[0].pid or 0)
                os.kill(killed[0], signal.SIGKILL)
            yield done

    monkeypatch.setattr(run, "in_processes", with_a_death)
    out = tmp_path / "four"
    assert fleet(rigs, out, DAY, False, Wanted(is_plain=True, workers=4, bays=1, people=1)) == 1
    assert killed and files_of(out) == files_of(alone)


def test_a_run_cut_off_goes_on(rigs: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An hour of planning would be lost to a power cut, or what was cut off taken for done."""
    out, planned = tmp_path / "out", []
    really = one_rig._planned

    def counted(job: Job, asked: Asked) -> Done:
        planned.append(job.name)
        if len(planned) == 3:
            raise KeyboardInterrupt
        return really(job, asked)

    monkeypatch.setattr(one_rig, "_planned", counted)
    with pytest.raises(KeyboardInterrupt):
        fleet(rigs, out, DAY, False, PLAIN)
    assert not (out / "fleet.json").exists()
    fleet(rigs, out, DAY, False, PLAIN)
    assert planned[3:] == ["rig-00002", "rig-00003"]
    first = files_of(out)
    (out / RIGS / "rig-00003" / "tasks.csv").write_text("spoilt")
    replaced(rigs[0], "trip.toml", "shakedown_km = ", "shakedown_km = 1")
    fleet(rigs, out, DAY, False, PLAIN)
    assert planned[5:] == ["rig-00000", "rig-00003"]
    again = files_of(out)
    assert {name for name in first if first[name] != again[name]} <= {
        name for name in first if "00000" in name or "/" not in name
    }
    replaced(rigs[0], "trip.toml", "shakedown_km = 1", "shakedown_km = ")


def test_another_day_or_program_is_another_run(
    rigs: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Yesterday's plans, or those of an older program, would be handed out as today's."""
    out = tmp_path / "out"
    fleet(rigs[:1], out, DAY, False, PLAIN)
    marks = [json.loads((out / RIGS / "rig-00000" / ENTRY_FILE).read_text())["mark"]]
    fleet(rigs[:1], out, "2026-06-02", False, PLAIN)
    marks.append(json.loads((out / RIGS / "rig-00000" / ENTRY_FILE).read_text())["mark"])
    monkeypatch.setattr("tripplan.files.fleet_journal.program_versions", lambda: {"tripplan": "another"})
    fleet(rigs[:1], out, "2026-06-02", False, PLAIN)
    marks.append(json.loads((out / RIGS / "rig-00000" / ENTRY_FILE).read_text())["mark"])
    assert len(set(marks)) == 3


def test_a_fault_of_ours_ends_in_its_own_row(rigs: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault met by one rig (Y11) would end the run of all."""
    really = one_rig._planned

    def faulty(job: Job, asked: Asked) -> Done:
        if job.number == 0:
            raise ZeroDivisionError("division by zero")
        return really(job, asked)

    monkeypatch.setattr(one_rig, "_planned", faulty)
    assert fleet([rigs[0], rigs[2]], tmp_path / "out", DAY, False, PLAIN) == 1
    told = json.loads((tmp_path / "out" / "fleet.json").read_text())["rigs"]
    assert [rig["is_made"] for rig in told] == [False, True]
    assert told[0]["problems"][0]["code"] == "Y11" and "ZeroDivisionError" in told[0]["problems"][0]["found"]


def test_a_logbook_stands_where_a_folder_does(rigs: list[Path], tmp_path: Path) -> None:
    """Somebody who keeps a logbook could not be part of the yard."""
    book = tmp_path / "quoll.logbook"
    take_in(book, rigs[0], TODAY)
    assert fleet([book], tmp_path / "out", DAY, False, PLAIN) in (0, 1)
    tasks = (tmp_path / "out" / RIGS / "quoll" / "tasks.csv").read_bytes()
    fleet(rigs[:1], tmp_path / "other", DAY, False, PLAIN)
    assert tasks == (tmp_path / "other" / RIGS / "rig-00000" / "tasks.csv").read_bytes()


def test_a_folder_that_is_not_there_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A slip of a name would end in a traceback, or go unseen (F01)."""
    assert fleet([tmp_path / "gone"], tmp_path / "out", DAY, False, PLAIN) == 2
    assert "gone: no plan." in capsys.readouterr().out
    assert json.loads((tmp_path / "out" / "fleet.json").read_text())["rigs"][0]["problems"][0]["code"] == "F01"


def test_numbers_out_of_range_are_told_all_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nought workers would wait for ever (Y15)."""
    assert fleet([tmp_path], tmp_path / "out", DAY, False, Wanted(workers=0, bays=0)) == 2
    assert capsys.readouterr().err.count("[Y15") == 2


def test_no_folder_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A yard without a rig would be told as planned (Y16)."""
    assert fleet([], tmp_path / "out", DAY, False, PLAIN) == 2
    assert "Y16" in capsys.readouterr().err


def test_a_folder_of_folders_stands_for_those_in_it(rigs: list[Path]) -> None:
    """A yard of ten thousand could not be named on a command line."""
    assert rig_folders([rigs[0].parent, rigs[2]]) == [*rigs, rigs[2]]


def test_a_folder_without_its_rig_is_told(rigs: list[Path], tmp_path: Path) -> None:
    """A rig whose `rig.toml` has another name would be left out of the yard without a word."""
    yard = tmp_path / "yard"
    fleet_folders(yard, 1)
    (lost,) = fleet_folders(yard, 1, first=1)
    (lost / "rig.toml").rename(lost / "rig.tml")
    (yard / "notes").mkdir()
    fleet([yard], tmp_path / "out", DAY, False, PLAIN)
    told = (tmp_path / "out" / "fleet.txt").read_text(encoding="utf-8")
    assert "2 rigs" in told and f"{lost.name}: no plan." in told and "rig.toml (F01)" in told


def test_two_folders_of_one_name_get_two_names(tmp_path: Path) -> None:
    """One rig's outputs would be written over another's."""
    assert own_names([tmp_path / "a" / "wagon", tmp_path / "b" / "wagon", tmp_path / "c" / "Wagon"]) == [
        "wagon",
        "wagon-2",
        "Wagon-3",
    ]


def test_the_mark_sees_every_file(tmp_path: Path) -> None:
    """A changed override would be passed over, and an old plan kept."""
    (folder,) = fleet_folders(tmp_path, 1)
    marks = [folder_bytes(folder).mark]
    for name, text in (("overrides/items.csv", "x"), ("tracks/a.gpx", "y"), ("shelf.csv", "z"), ("rig.toml", "w")):
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text)
        marks.append(folder_bytes(folder).mark)
    assert len(set(marks)) == 5
    (folder / "outputs").mkdir()
    (folder / "outputs" / "plan.json").write_text("{}")
    assert folder_bytes(folder).mark == marks[-1]


@pytest.mark.parametrize("count", [0, 1, 5, 24, 220, 10_000])
@pytest.mark.parametrize("at_once", [1, 2, 16, 256])
def test_chunks_take_every_rig_once_and_end_small(count: int, at_once: int) -> None:
    """A rig would be left out, or all wait at the end for one worker with a large chunk."""
    sizes = list(chunk_sizes(count, at_once))
    assert sum(sizes) == count and sizes == sorted(sizes, reverse=True)
    assert all(1 <= size <= MOST_IN_A_CHUNK for size in sizes) and set(sizes[-at_once:]) <= {1}


def test_planning_again_keeps_the_calendar_going(rigs: list[Path], tmp_path: Path) -> None:
    """A rig's calendar would start anew with each run, and its owner find every entry twice."""
    out = tmp_path / "out"
    fleet(rigs[:1], out, DAY, False, PLAIN)
    before = Calendar.from_ical((out / RIGS / "rig-00000" / "calendar.ics").read_bytes())
    fleet(rigs[:1], out, date(2026, 6, 3).isoformat(), False, PLAIN)
    after = Calendar.from_ical((out / RIGS / "rig-00000" / "calendar.ics").read_bytes())
    assert {str(e["UID"]) for e in before.walk("VEVENT")} <= {str(e["UID"]) for e in after.walk("VEVENT")}
