"""`tripplan new` as a newcomer meets it: asked in turn, or told by options; the folder plans at once."""

import io
import json
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.commands.typed import run
from tripplan.commands import new as new_command
from tripplan.commands import terminal
from tripplan.files.new_questions import QUESTIONS

DAY = "2026-05-25"
OPTIONS = (
    "--rig-name", "Grey wagon", "--home-zone", "Darwin", "--drive", "full-time", "--front-axle", "open-knuckle",
    "--fuel", "diesel", "--gearbox", "manual", "--usual-km-per-week", "210", "--odometer-km", "214300",
    "--trip-name", "To the ledge", "--trip-depart", "20/06/2026", "--trip-return", "30/06/2026",
    "--way-from", "Quillstone", "--way-to", "Ochre Ledge", "--way-distance-km", "900", "--shed-days", "2026-06-13",
)  # fmt: skip
Typed = Callable[..., None]


@pytest.fixture
def types(monkeypatch: pytest.MonkeyPatch) -> Typed:
    """Somebody at a terminal who types these lines."""

    def at_terminal(*lines: str) -> None:
        typed = io.StringIO("".join(f"{line}\n" for line in lines))
        monkeypatch.setattr(sys, "stdin", typed)
        monkeypatch.setattr(new_command, "is_a_person_there", lambda: True)
        monkeypatch.setattr(new_command, "machine_zone", lambda: "Australia/Darwin")

    return at_terminal


def test_answers_as_options_make_a_folder_that_plans(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise the first thing planned would be a refusal."""
    folder = tmp_path / "mine"
    assert run(monkeypatch, "new", str(folder), *OPTIONS, "--today", DAY, "--height", "hub_centre=405") == 0
    told = capsys.readouterr().out
    assert [line[:5] for line in told.splitlines() if line.startswith("  ")] == ["  1. ", "  2. ", "  3. "]
    assert f"tripplan plan {folder} " in told
    assert run(monkeypatch, "plan", str(folder), "--today", DAY) in (0, 1)
    assert (folder / "outputs" / "worksheet.html").is_file()
    assert "hub_centre = 405" in (folder / "rig.toml").read_text(encoding="utf-8")


def test_answers_that_cannot_be_together_are_told_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise the owner would learn a week later, from a plan refused, that the return stands before the departure."""
    folder = tmp_path / "mine"
    options = [*OPTIONS, "--trip-return", "2026-06-10", "--odometer-km", "214.300", "--height", "hub_centre=39.5"]
    assert run(monkeypatch, "new", str(folder), *options, "--today", DAY) == 1
    out, err = capsys.readouterr()
    assert "Written to" in out and "First put right" in out and (folder / "rig.toml").is_file()
    assert all(f"[{code} " in out + err for code in ("T10", "R20", "H23"))
    assert "if 214300 is meant" in out + err and "L10" not in out + err


def test_a_word_with_other_marks_between_its_letters_is_that_word(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise a newcomer who writes part time would be told that part-time is wanted."""
    options = [*OPTIONS, "--drive", "Part time", "--hubs", "freewheeling", "--front-axle", "closed knuckle",
               "--fitted", "Leaf springs; winch, tow bar"]  # fmt: skip
    assert run(monkeypatch, "new", str(tmp_path / "mine"), *options, "--today", DAY) == 0
    text = (tmp_path / "mine" / "rig.toml").read_text(encoding="utf-8")
    assert all(
        f'"{word}"' in text
        for word in ("part-time", "free-wheeling", "closed-knuckle", "leaf-springs", "winch", "tow-bar")
    )


def test_every_question_is_an_option(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise an answer could be given at a terminal only, or not at all."""
    assert run(monkeypatch, "new", "--help") == 0
    told = capsys.readouterr().out
    assert not [one.option for one in QUESTIONS if f" {one.option} " not in told]


def test_what_is_missing_is_told_at_once_and_nothing_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise a script would be told of one missing answer a run."""
    assert (
        run(
            monkeypatch,
            "new",
            str(tmp_path / "mine"),
            *OPTIONS[4:],
            "--fuel",
            "",
            "--trip-depart",
            "5/6/2026",
            "--json",
        )
        == 2
    )
    told = {(one["code"], one["found"]) for one in json.loads(capsys.readouterr().out)["problems"]}
    assert told == {
        ("A51", "no --rig-name"),
        ("A51", "no --home-zone"),
        ("A51", "no --fuel"),
        ("A52", "--trip-depart 5/6/2026"),
    }
    assert not (tmp_path / "mine").exists()


def test_a_newcomer_is_asked_in_turn(
    types: Typed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise somebody who has never seen the files could not begin."""
    types(
        "Grey wagon", "", "", "part", "free", "closed", "diesel", "man", "winch", "21O", "210", "214300", "", "",
        "To the ledge", "", "4/6/2026", "1", "5/6/2026", "Quillstone", "Ochre Ledge", "400", "", "sand", "", "",
        "", "0.3", "", "1/6/2026, 2 June 2026", "",
    )  # fmt: skip
    assert run(monkeypatch, "new", str(tmp_path / "mine"), "--today", DAY) == 0
    told = capsys.readouterr().out
    assert "0 to 10000 km; the third mark is the letter O" in told  # 21O
    assert told.count("an answer is needed here") == 1
    # asked which comes first, and then known
    assert told.count("meant as 4 June 2026 (1) or 6 April 2026 (2)?") == told.count("(1) or") == 1
    rig = (tmp_path / "mine" / "rig.toml").read_text(encoding="utf-8")
    assert 'home_zone = "Australia/Darwin"' in rig and 'hubs = "free-wheeling"' in rig
    legs = (tmp_path / "mine" / "legs.csv").read_text(encoding="utf-8").splitlines()
    assert legs[1].startswith(
        "1,Quillstone,Ochre Ledge,2026-06-04 07:00,400,70,sand,light,light,30,normal,no,0.3,0,no,"
    )
    shed = (tmp_path / "mine" / "workshop.csv").read_text(encoding="utf-8")
    assert shed == "date,minutes,note\n2026-06-01,240,\n2026-06-02,240,\n"


def test_only_what_options_leave_open_is_asked(
    types: Typed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise a person who told all but one thing would have to type all of it again."""
    types(*[""] * 20)
    assert run(monkeypatch, "new", str(tmp_path / "mine"), *OPTIONS, "--today", DAY) == 0
    told = capsys.readouterr().out
    assert "How is it driven" not in told and "Front hubs" not in told and "Is there a trailer" in told


def test_a_talk_broken_off_writes_nothing(
    types: Typed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise half a folder would be left, which then could not be made again."""
    types("Grey wagon", "")
    assert run(monkeypatch, "new", str(tmp_path / "mine")) == 2
    assert "Nothing was written." in capsys.readouterr().err
    assert not (tmp_path / "mine").exists()


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("A03", ("--like", "inland")), ("A09", ("--like", "outback", "--drive", "rear")),
        ("A09", (*OPTIONS, "--height", "hub=high")), ("A09", (*OPTIONS, "--height", "front axle breather=900")), ("A01", (*OPTIONS, "--today", "soon")),
    ],
)  # fmt: skip
def test_a_slip_is_a_problem(
    code: str,
    words: tuple[str, ...],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Otherwise a newcomer would meet a traceback, or a folder that is not what was asked for."""
    assert run(monkeypatch, "new", str(tmp_path / "mine"), *words) == 2
    assert f"[{code} " in capsys.readouterr().err
    assert not (tmp_path / "mine").exists()


def test_a_folder_that_is_there_is_refused_before_anything_is_asked(
    types: Typed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise twenty answers would be typed for nothing, or a folder of years written over."""
    types("Grey wagon")
    (tmp_path / "rig.toml").write_text("mine", encoding="utf-8")
    assert run(monkeypatch, "new", str(tmp_path)) == 2
    told = capsys.readouterr()
    assert "[A04 " in told.err and "What do you call" not in told.out
    assert (tmp_path / "rig.toml").read_text(encoding="utf-8") == "mine"


def test_a_folder_that_is_not_there_is_told_as_that(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise a newcomer who has no folder yet would be asked for --out."""
    assert run(monkeypatch, "plan", str(tmp_path / "mine")) == 2
    told = capsys.readouterr().err
    assert "[F01 " in told and "tripplan new FOLDER makes one" in told
    assert not (tmp_path / "mine").exists()


def test_a_demos_shape_is_marked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise an invented history would plan a real trip, and nobody would say so."""
    assert run(monkeypatch, "new", str(tmp_path / "mine"), "--like", "outback", "--today", "2027-01-09") == 0
    capsys.readouterr()
    assert run(monkeypatch, "check", str(tmp_path / "mine"), "--today", "2027-01-09", "--json") == 1
    assert {one["code"] for one in json.loads(capsys.readouterr().out)["problems"]} == {"F18"}


def test_somebody_is_there_only_at_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a script would hang, waiting for answers that nobody gives."""
    monkeypatch.setattr(sys, "stdin", io.StringIO("x\n"))
    assert terminal.is_a_person_there() is False
