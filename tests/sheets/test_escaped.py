"""Templates: words put in are escaped, and what a template compiles to is kept."""

import sys
from pathlib import Path

import pytest
from jinja2 import DictLoader, UndefinedError

from tripplan.sheets import escaped


def kept_in(folder: Path, monkeypatch: pytest.MonkeyPatch, source: str) -> str:
    """What a template makes of the name <b>, with its code kept under a folder."""
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    monkeypatch.setattr(escaped, "__file__", str(folder / "escaped.py"))
    made = escaped.templates("tripplan.sheets", "templates")
    made.loader = DictLoader({"one.j2": source})
    return made.get_template("one.j2").render(name="<b>")


def test_every_word_is_escaped_and_none_may_be_missing() -> None:
    """Otherwise a note in a folder could put its own markup on the sheet."""
    made = escaped.templates("tripplan.sheets", "templates")
    assert made.from_string("{{ name }}").render(name="<b>") == "&lt;b&gt;"
    with pytest.raises(UndefinedError):
        made.from_string("{{ nobody }}").render()


def test_a_template_is_compiled_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise every command would compile the sheet again, a tenth of its time."""
    assert kept_in(tmp_path, monkeypatch, "Hello {{ name }}") == "Hello &lt;b&gt;"
    (code,) = (tmp_path / "__pycache__").iterdir()
    written = code.stat().st_mtime_ns
    assert kept_in(tmp_path, monkeypatch, "Hello {{ name }}") == "Hello &lt;b&gt;"
    assert code.stat().st_mtime_ns == written


def test_a_changed_template_is_compiled_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise the sheet would stay as it was before an upgrade."""
    kept_in(tmp_path, monkeypatch, "Hello {{ name }}")
    assert kept_in(tmp_path, monkeypatch, "Good day {{ name }}") == "Good day &lt;b&gt;"


def test_damaged_code_is_compiled_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a disk that filled up once would stop every plan after it."""
    kept_in(tmp_path, monkeypatch, "Hello {{ name }}")
    (code,) = (tmp_path / "__pycache__").iterdir()
    whole = code.read_bytes()
    for length in range(0, len(whole), 9):
        code.write_bytes(whole[:length])
        assert kept_in(tmp_path, monkeypatch, "Hello {{ name }}") == "Hello &lt;b&gt;"


def test_where_nothing_can_be_kept_templates_are_compiled_each_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise a program installed for all, by somebody else, could not make a sheet."""
    (tmp_path / "__pycache__").write_text("a file where the folder should be")
    assert kept_in(tmp_path, monkeypatch, "Hello {{ name }}") == "Hello &lt;b&gt;"
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    assert escaped.kept_code() is None
