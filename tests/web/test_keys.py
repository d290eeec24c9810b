"""The page's secrets: in a file only its owner may read, and not believed where others could."""

import json
import stat
import sys
from pathlib import Path

import pytest

from tripplan.web.access.keys import KEYS_FILE, MADE_ANEW, Keys, read_keys, write_keys
from tripplan.web.saves.journal import PLACE


def test_the_file_is_its_owners_alone(tmp_path: Path) -> None:
    """Otherwise another user of the machine could pair himself."""
    write_keys(tmp_path, Keys())
    path = tmp_path / PLACE / KEYS_FILE
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    assert [one.name for one in path.parent.iterdir()] == [KEYS_FILE]


def test_keys_are_read_back(tmp_path: Path) -> None:
    """Otherwise a paired phone would be turned away after each start."""
    keys = Keys(calendar="a-calendar")
    write_keys(tmp_path, keys)
    assert read_keys(tmp_path) == (keys, "")


@pytest.mark.skipif(sys.platform == "win32", reason="rights are kept elsewhere there")
@pytest.mark.parametrize("mode", [0o644, 0o640, 0o604, 0o660])
def test_a_file_that_others_could_read_is_made_anew(tmp_path: Path, mode: int) -> None:
    """Otherwise secrets that are none would go on opening the page."""
    old = Keys(calendar="a-calendar")
    write_keys(tmp_path, old)
    (tmp_path / PLACE / KEYS_FILE).chmod(mode)
    new, told = read_keys(tmp_path)
    assert told == MADE_ANEW and new.calendar is None
    assert new.pair != old.pair and new.secret != old.secret


def test_a_link_to_another_file_is_not_followed(tmp_path: Path) -> None:
    """Otherwise somebody could put keys of his own in their place."""
    write_keys(tmp_path / "other", Keys(pair="x" * 24))
    (tmp_path / PLACE).mkdir()
    (tmp_path / PLACE / KEYS_FILE).symlink_to(tmp_path / "other" / PLACE / KEYS_FILE)
    assert read_keys(tmp_path)[0].pair != "x" * 24


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "{}",
        json.dumps({"pair": "", "calendar": None, "secret": ""}),
        '{"pair": 1, "calendar": 2, "secret": "zz"}',
    ],
)
def test_a_damaged_file_gives_new_keys(tmp_path: Path, text: str) -> None:
    """Otherwise an empty token would open the page to everybody."""
    write_keys(tmp_path, Keys())
    path = tmp_path / PLACE / KEYS_FILE
    path.write_text(text)
    path.chmod(0o600)
    keys, _ = read_keys(tmp_path)
    assert len(keys.pair) >= 8 and len(keys.secret) == 64 and keys.calendar is None
