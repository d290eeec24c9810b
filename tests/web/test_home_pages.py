"""Will we get home, on the page: the same figures as the command line, and the kit within the limits typed."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from tripplan.commands.kit import kit
from tripplan.commands.risk import risk

TODAY = "2026-08-17"


def test_figures_are_those_of_the_command_line(wet: Any, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise the page would tell another trip than the terminal."""
    answer = wet.get("/home")
    assert answer.status_code == 200 and "<svg" in answer.text
    risk(wet.folder, None, None, TODAY, True)
    told = json.loads(capsys.readouterr().out)["risk"]
    assert f"{told['standing_hours_expected']['plan']:.0f} h of standing are to be expected" in answer.text
    listed = re.findall(r'<li><a href="/item/([a-z_]+)">', answer.text)
    assert listed == [part["item"] for part in told["items"]] and len(listed) == 10


def test_the_kit_keeps_the_limits_typed(wet: Any, capsys: pytest.CaptureFixture[str]) -> None:
    """Otherwise the list to tick would not fit the box."""
    kit(wet.folder, "5", "12", TODAY, True)
    told = json.loads(capsys.readouterr().out)
    text = wet.get("/home?kg=5&litres=12").text
    assert told["weight_kg"] <= 5 and told["volume_l"] <= 12
    assert text.count('type="checkbox" id="kit') == len(told["lines"]) > 0
    assert 'value="5"' in text and 'value="12"' in text
    for line in told["lines"]:
        assert line["name"][1:] in text.replace("&#39;", "'")


def test_a_limit_that_cannot_be_one_gives_the_usual(wet: Any) -> None:
    """Otherwise a slip of the finger would end in an error page."""
    for typed in ("kg=x", "kg=-3", "kg=1e9", "litres=nan"):
        text = wet.get(f"/home?{typed}").text
        assert 'value="25"' in text and 'value="40"' in text


def test_no_word_of_the_page_says_safe(wet: Any) -> None:
    """Otherwise somebody would drive on because a page said so."""
    text = wet.get("/home").text
    assert "None says that the trip is safe" in text
    assert not re.search(r"\b(is|are|be) safe\b(?<!trip is safe)", text.replace("None says that the trip is safe", ""))


def test_hours_and_limits_typed_wrong_are_refused_with_a_problem(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Otherwise a word for hours would end in a traceback."""
    assert risk(tmp_path, "ten", None, TODAY, False) == 2
    assert kit(tmp_path, "25", "-1", TODAY, False) == 2
    assert capsys.readouterr().err.count("A09") == 2
