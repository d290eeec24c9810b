"""A calendar issued again after a crossing: the same entries moved, the withdrawn ones cancelled.

Two independent programs read the files back: a CalDAV server with its client on this machine's
own address, and a calendar for the terminal. Neither shares code with the writer.
"""

import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import UTC, date, datetime
from importlib.util import find_spec
from pathlib import Path

import pytest
from icalendar import Calendar

from tests.support import TODAY, good_folder, replaced
from tripplan.commands import plan as plan_command
from tripplan.commands.log_and_cross import cross
from tripplan.sheets.outputs import REGISTER_FILE

ICS = "calendar.ics"


def entries(out: Path, name: str = ICS) -> dict[str, tuple[int, str, str]]:
    """Sequence, status and summary of each entry, by UID."""
    file = Calendar.from_ical((out / name).read_bytes())
    return {
        str(part["UID"]): (int(part["SEQUENCE"]), str(part["STATUS"]), str(part["SUMMARY"]))
        for part in file.subcomponents if part.name in ("VEVENT", "VTODO")
    }  # fmt: skip


@pytest.fixture
def issued(tmp_path: Path) -> tuple[Path, Path]:
    """A trip folder and the outputs of its first plan."""
    folder, out = good_folder(tmp_path / "trip"), tmp_path / "out"
    assert plan_command.plan(folder, out, str(TODAY), False) in (0, 1)
    return folder, out


def made(folder: Path, out: Path) -> None:
    """The crossing of the sample trip made, deeper than planned and stalled."""
    assert cross(folder, 2, 0.9, 9, "muddy", "2026-07-06 14:10", stalled=True, out=out) in (0, 1)


def test_a_first_issue_starts_at_nought(issued: tuple[Path, Path]) -> None:
    """Otherwise a calendar would hold changes of something it never had."""
    assert {(sequence, status) for sequence, status, _ in entries(issued[1]).values()} == {(0, "CONFIRMED")}


def test_planning_again_bumps_nothing(issued: tuple[Path, Path]) -> None:
    """Otherwise each look at the plan would send a change to every phone."""
    folder, out = issued
    before = (out / ICS).read_bytes()
    assert plan_command.plan(folder, out, str(TODAY), False) in (0, 1)
    assert (out / ICS).read_bytes() == before


def test_a_crossing_moves_the_same_entries(issued: tuple[Path, Path]) -> None:
    """Otherwise the phone would show the old work beside the new. Rule: RFC 5545 3.8.7.4, from memory."""
    folder, out = issued
    before = entries(out)
    made(folder, out)
    after = entries(out)
    assert before.keys() <= after.keys()
    stop = next(uid for uid, (_, _, summary) in before.items() if "Red Pan" in summary)
    assert after[stop][0] == 1 and after[stop][1] == "CONFIRMED"
    for uid, (sequence, status, summary) in before.items():
        if after[uid][1:] == (status, summary):
            assert after[uid][0] in (sequence, sequence + 1)
        else:
            assert after[uid][0] == sequence + 1


def test_what_is_no_longer_planned_is_cancelled(issued: tuple[Path, Path]) -> None:
    """Otherwise a stop taken out of the trip would stay in the calendar for good."""
    folder, out = issued
    before = entries(out)
    replaced(folder, "stops.csv", "Red Pan,2,2026-07-07,2026-07-11,camp,240\n", "")
    assert plan_command.plan(folder, out, str(TODAY), False) in (0, 1)
    after = entries(out)
    stop = next(uid for uid, (_, _, summary) in before.items() if "Red Pan" in summary)
    assert after[stop][:2] == (1, "CANCELLED")


@pytest.mark.parametrize("content", [None, "", "{", "[1, 2]"])
def test_a_lost_register_is_rebuilt_from_the_calendar(issued: tuple[Path, Path], content: str | None) -> None:
    """Otherwise one deleted file would make every entry a stranger with number nought again."""
    folder, out = issued
    made(folder, out)
    before = entries(out)
    (out / REGISTER_FILE).unlink()
    if content is not None:
        (out / REGISTER_FILE).write_text(content)
    assert plan_command.plan(folder, out, "2026-07-06", False) in (0, 1)
    assert entries(out) == before


def missing(*names: str) -> list[str]:
    """Those packages that cannot be imported here."""
    return [name for name in names if find_spec(name) is None]


@pytest.fixture
def server(tmp_path: Path) -> Iterator[str]:
    """A CalDAV server of its own on this machine, with an empty folder and a free port."""
    if absent := missing("radicale", "caldav"):
        pytest.skip(f"not installed: {', '.join(absent)}")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "radicale", "--config", "", "--server-hosts", f"127.0.0.1:{port}",
               "--auth-type", "none", "--storage-filesystem-folder", str(tmp_path / "dav"),
               "--logging-level", "error"]  # fmt: skip
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        wait_for(port, process)
        yield f"http://127.0.0.1:{port}/"
    finally:
        process.terminate()
        process.wait(timeout=10)


def wait_for(port: int, process: "subprocess.Popen[bytes]") -> None:
    """Until the server answers; a test failure when it does not start."""
    for _ in range(100):
        if process.poll() is not None:
            pytest.fail("the CalDAV server stopped at once")
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return
        except OSError:
            time.sleep(0.1)
    pytest.fail("the CalDAV server does not answer")


def each_alone(content: bytes) -> Iterator[str]:
    """Each event as a calendar of its own, as a CalDAV collection keeps it, with the zones it needs."""
    whole = Calendar.from_ical(content)
    zones = [part for part in whole.subcomponents if part.name == "VTIMEZONE"]
    for part in whole.subcomponents:
        if part.name == "VEVENT":
            alone = Calendar()
            alone.add("prodid", str(whole["PRODID"]))
            alone.add("version", "2.0")
            for inner in (*zones, part):
                alone.add_component(inner)
            yield alone.to_ical().decode()


def test_a_caldav_server_takes_the_plan_and_its_changes(server: str, issued: tuple[Path, Path]) -> None:
    """Otherwise owners with a calendar server would get doubles. Sequence is not read back: the client adds to it."""
    import caldav

    folder, out = issued
    with caldav.DAVClient(url=server, username="owner", password="") as client:
        collection = client.principal().make_calendar(name="Trip")
        for text in each_alone((out / ICS).read_bytes()):
            collection.add_event(text)
        assert served(collection) == shown(out)
        made(folder, out)
        for text in each_alone((out / ICS).read_bytes()):
            collection.add_event(text)
        assert served(collection) == shown(out)


def served(collection: object) -> dict[str, tuple[str, str, str]]:
    """What the server holds: status, summary and day by UID."""
    found = {}
    for event in collection.events():  # type: ignore[attr-defined]
        for part in Calendar.from_ical(event.data).walk("VEVENT"):
            found[str(part["UID"])] = facts(part)
    return found


def shown(out: Path) -> dict[str, tuple[str, str, str]]:
    """What the file says: status, summary and day by UID."""
    file = Calendar.from_ical((out / ICS).read_bytes())
    return {str(part["UID"]): facts(part) for part in file.walk("VEVENT")}


def facts(part: object) -> tuple[str, str, str]:
    """Status, summary and start of one entry, the start in UTC where it has a time."""
    start = part.decoded("dtstart")  # type: ignore[attr-defined]
    text = start.astimezone(UTC).isoformat() if isinstance(start, datetime) else start.isoformat()
    return str(part["STATUS"]), str(part["SUMMARY"]), text  # type: ignore[index]


def test_a_terminal_calendar_lists_the_plan_once(issued: tuple[Path, Path], tmp_path: Path) -> None:
    """Otherwise a plain reader would miss a workshop day, or show it twice after a re-plan."""
    if missing("khal"):
        pytest.skip("not installed: khal")
    khal = shutil.which("khal") or str(Path(sys.executable).with_name("khal"))
    home = tmp_path / "home"
    home.mkdir()
    (home / "config").write_text(
        f"[calendars]\n[[trip]]\npath = {home / 'calendar'}\ntype = calendar\n"
        f"[sqlite]\npath = {home / 'cache.db'}\n"
        "[locale]\nlocal_timezone = Australia/Darwin\ndefault_timezone = Australia/Darwin\n"
        "timeformat = %H:%M\ndateformat = %Y-%m-%d\nlongdateformat = %Y-%m-%d\n"
        "datetimeformat = %Y-%m-%d %H:%M\nlongdatetimeformat = %Y-%m-%d %H:%M\n"
    )
    (home / "calendar").mkdir()
    lasting = {**os.environ, "HOME": str(home), "XDG_CONFIG_HOME": str(home), "LC_ALL": "C.UTF-8"}

    def run(*words: str) -> str:
        told = subprocess.run([khal, "-c", str(home / "config"), *words], env=lasting, capture_output=True,
                              text=True, timeout=60, check=True)  # fmt: skip
        return told.stdout

    folder, out = issued
    run("import", "--batch", str(out / ICS))
    made(folder, out)
    run("import", "--batch", str(out / ICS))
    first = date(2026, 1, 1)
    listed = run("list", "--format", "{uid}", "--day-format", "", first.isoformat(), "800d").split()
    confirmed = {uid for uid, (status, _, _) in shown(out).items() if status == "CONFIRMED"}
    assert confirmed <= set(listed)
    assert len(set(listed)) == len(shown(out))
