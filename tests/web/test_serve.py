"""Starting the page: what it refuses to start with, and that it listens to this machine alone."""

import socket
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import uvicorn

from tripplan.files.logbook.book import take_in
from tripplan.web import serve as page
from tripplan.web.access.keys import Keys, write_keys


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """What the server was started with, without starting it."""
    calls: list[dict[str, Any]] = []
    monkeypatch.setattr(uvicorn, "run", lambda app, **more: calls.append({"app": app, **more}))
    return calls


def free_port() -> int:
    """A port that nothing listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def test_it_listens_to_this_machine_alone(started: list[dict[str, Any]], tmp_path: Path) -> None:
    """Otherwise a camp's whole network could read the trip without being asked."""
    assert page.serve(tmp_path / "trip", free_port()) == 0
    assert started[0]["host"] == "127.0.0.1" and started[0]["app"].state.access.pair is None


def test_the_network_is_asked_for_and_gets_a_token(
    started: list[dict[str, Any]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise --lan would open the folder to everybody."""
    assert page.serve(tmp_path / "trip", free_port(), lan=True) == 0
    access = started[0]["app"].state.access
    assert started[0]["host"] == "0.0.0.0" and len(access.pair) >= 8
    assert access.code in capsys.readouterr().out


def test_a_paired_phone_and_a_calendar_go_on_after_a_restart(visit: Any, started: list[dict[str, Any]]) -> None:
    """Otherwise both would have to be set up again at every start."""
    folder = visit("after-crossing").folder
    write_keys(folder, Keys(calendar="a-calendar-token"))
    page.serve(folder, free_port(), lan=True)
    page.serve(folder, free_port(), lan=True)
    one, two = (call["app"].state.access for call in started)
    assert one.calendar == two.calendar == "a-calendar-token"
    assert one.pair == two.pair and one.form_token("a") == two.form_token("a")


def test_no_calendar_address_until_it_is_switched_on(visit: Any, started: list[dict[str, Any]]) -> None:
    """Otherwise the plan would be open to the network without being asked."""
    page.serve(visit("after-crossing").folder, free_port(), lan=True)
    assert started[0]["app"].state.access.calendar is None


@pytest.mark.parametrize("port", [0, 80, 65536])
def test_a_port_that_cannot_be_is_refused(tmp_path: Path, port: int, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise the page would start where nobody finds it (A22)."""
    assert page.serve(tmp_path, port) == 2
    assert "A22" in capsys.readouterr().err


def test_a_taken_port_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise two pages would fight for one address (A22)."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        assert page.serve(tmp_path, taken.getsockname()[1]) == 2
    assert "taken" in capsys.readouterr().err


def test_a_file_is_not_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise a slip of the name would be served as an empty trip (A23)."""
    (tmp_path / "trip").write_text("")
    assert page.serve(tmp_path / "trip", free_port()) == 2
    assert "A23" in capsys.readouterr().err


def test_a_missing_package_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise an installation without the extra would end in an error of ours (A24)."""
    import sys

    monkeypatch.setitem(sys.modules, "uvicorn", None)
    assert page.serve(tmp_path, free_port()) == 2
    assert "A24" in capsys.readouterr().err


def test_a_logbook_is_served(started: list[dict[str, Any]], visit: Any, tmp_path: Path) -> None:
    """Otherwise an owner who keeps a logbook would have to lay it out by hand first."""
    book = tmp_path / "wagon.logbook"
    take_in(book, visit("after-crossing").folder, date(2026, 8, 17))
    assert page.serve(book, free_port()) == 0
    desk = started[0]["app"].state.desk
    assert desk.folder == tmp_path / "wagon.logbook.trip" and (desk.folder / "legs.csv").is_file()
