"""What a terminal shows beside answers: an example in every help, the version, colour where it is wanted, a line while waiting."""

import io
import re
import shlex
import sys
import time
from pathlib import Path

import pytest
import typer

import tripplan
from tests.commands.typed import run
from tests.support import good_folder
from tripplan.__main__ import app, with_logbook
from tripplan.commands import terminal
from tripplan.commands.status import problem_parts, tell
from tripplan.commands.terminal import STRONG, say, working
from tripplan.records.problems import STOPS, Problem

COMMANDS = sorted(c.name or c.callback.__name__ for c in app.registered_commands if c.callback)
FOUND = Problem(code="H03", weight=STOPS, file="history.csv", row=14, column="odometer_km", found="18430O",
                accepted="a number", hint="the letter O\x1b[31m")  # fmt: skip


class Terminal(io.StringIO):
    """A text stream that says it is a terminal."""

    def isatty(self) -> bool:
        """It is one."""
        return True


def at_terminal(monkeypatch: pytest.MonkeyPatch) -> Terminal:
    """Both outputs are one terminal that shows colour."""
    shown = Terminal()
    monkeypatch.setattr(sys, "stdout", shown)
    monkeypatch.setattr(sys, "stderr", shown)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv("NO_COLOR", raising=False)
    return shown


@pytest.mark.parametrize("name", COMMANDS)
def test_every_help_has_an_example_that_can_be_typed(
    name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise whoever asks for help would have to put a line together from options."""
    assert run(monkeypatch, name, "--help") == 0
    told = " ".join(capsys.readouterr().out.split())
    examples = re.findall(rf"tripplan ({name} [^;]*)", told.partition("Example: ")[2])
    assert examples
    group = typer.main.get_command(app)
    for each in examples:
        command, *words = shlex.split(each)
        own = group.commands[command]  # type: ignore[attr-defined]
        assert any(own.make_context(command, words).params.values()), each


def test_the_version_is_told(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise nobody could say which one went wrong."""
    assert run(monkeypatch, "--version") == 0
    assert capsys.readouterr().out == f"tripplan {tripplan.__version__}\n"
    assert with_logbook(["--version"]) == ["--version"]


@pytest.mark.parametrize(
    ("typed", "offered"),
    [("tripplan demo ", {"outback", "long-tour", "after-crossing"}), ("tripplan new mine --drive r", {"rear"}),
     ("tripplan wh", {"why"}), ("tripplan new mine --like o", {"outback"})],
)  # fmt: skip
def test_the_shell_offers_the_words(
    typed: str, offered: set[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise the key that completes would only beep."""
    monkeypatch.setenv("_TRIPPLAN_COMPLETE", "complete_bash")
    monkeypatch.setenv("COMP_WORDS", typed)
    monkeypatch.setenv("COMP_CWORD", str(len(typed.split(" ")) - 1))
    assert run(monkeypatch) == 0
    assert set(capsys.readouterr().out.split()) == offered


@pytest.mark.parametrize("option", ["--show-completion", "--install-completion"])
def test_the_shell_can_complete(
    option: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise fifteen commands and their options would have to be known by heart."""
    assert run(monkeypatch, "--help") == 0
    assert option in capsys.readouterr().out


def test_a_problem_has_colour_at_a_terminal_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise marks of colour would stand in files and pipes, or be shown to somebody who asked for none."""
    shown = at_terminal(monkeypatch)
    tell([FOUND], as_json=False)
    seen = shown.getvalue()
    assert seen.startswith(f"{STRONG}history.csv row 14, column odometer_km")
    assert "the letter O\\x1b[31m" in seen  # what a cell holds cannot colour anything
    plain = re.sub(r"\x1b\[\d+m", "", seen)
    assert plain == FOUND.as_text().replace("\x1b", "\\x1b") + "\n"
    for name, value in (("NO_COLOR", "1"), ("TERM", "dumb")):
        shown = at_terminal(monkeypatch)
        monkeypatch.setenv(name, value)
        tell([FOUND], as_json=False)
        assert shown.getvalue() == plain


def test_a_pipe_gets_no_colour(capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise what is read by a program would begin with marks."""
    say(problem_parts(FOUND))
    assert "\x1b" not in capsys.readouterr().out


def test_waiting_is_told_after_a_second_and_leaves_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a long plan would look like a program that hangs."""
    shown, until = at_terminal(monkeypatch), time.monotonic() + 20
    monkeypatch.setattr(terminal, "SHOWN_AFTER_S", 0.01)
    with working():
        while "working" not in shown.getvalue() and time.monotonic() < until:
            time.sleep(0.01)
        monkeypatch.setattr(terminal, "SHOWN_AFTER_S", 20)
        say("done")
    told = shown.getvalue()
    assert told.startswith("\rworking, 1 s")
    # the line is blank again where the answer begins
    assert re.search(r"\r +\rdone\n(?:\rworking, \d+ s\r +\r)?$", told)


def test_a_short_wait_and_a_pipe_are_told_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise every answer would flicker, and a file of errors would fill with seconds."""
    shown = at_terminal(monkeypatch)
    monkeypatch.setattr(terminal, "SHOWN_AFTER_S", 20)
    with working():
        pass
    assert shown.getvalue() == ""
    monkeypatch.setattr(terminal, "SHOWN_AFTER_S", 0.01)
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    with working():
        time.sleep(0.05)
    assert sys.stderr.getvalue() == ""  # type: ignore[attr-defined]


def test_the_help_of_the_logbook_names_all_it_can_do(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise whoever has a damaged logbook would not learn that it can be mended."""
    from tripplan.commands.logbook import ACCEPTED

    assert run(monkeypatch, "logbook", "--help") == 0
    shown = capsys.readouterr().out
    assert all(word in shown for word in ("take-in", "write-out", "entries", "undo", "mend FILE"))
    assert "mend" in ACCEPTED


def test_the_command_for_a_weighed_gun_works_as_it_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise an owner who types what the tables' own text says would be refused."""
    readme = (Path(tripplan.__file__).parent / "data" / "README.md").read_text(encoding="utf-8")
    (told,) = re.findall(r"`tripplan (grease [^`]*--weighed[^`]*)`", readme)
    folder = good_folder(tmp_path / "trip")
    assert run(monkeypatch, *(word.replace("FOLDER", str(folder)) for word in shlex.split(told))) == 0
    assert (folder / "grease_gun.toml").is_file()
