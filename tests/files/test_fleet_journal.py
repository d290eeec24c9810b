"""What of a fleet run is done, and what is made again."""

import json
from pathlib import Path
from typing import Any

import pytest

from tripplan.files.fleet_journal import ENTRY_FILE, done_row, keep, kept_row
from tripplan.records.problems import BadInput

ROW: dict[str, Any] = {"name": "one", "is_made": True, "problems": (), "cost": 0.1, "place": "caf\u00e9 \udce9"}


def test_a_kept_row_is_given_back(tmp_path: Path) -> None:
    """Otherwise every run would plan all rigs again, names that are no text among them."""
    keep(tmp_path, "m", ROW, {"tasks.csv": b"a"})
    found = done_row(tmp_path, "m")
    assert found and found["cost"] == 0.1 and found["problems"] == [] and found["place"] == "caf\u00e9 ?"
    assert done_row(tmp_path, "another") is None


def test_a_damaged_row_is_made_again(tmp_path: Path) -> None:
    """Otherwise a flipped letter of a key would end the summary of the whole fleet as our fault."""
    keep(tmp_path, "m", ROW, {})
    entry = json.loads((tmp_path / ENTRY_FILE).read_text(encoding="utf-8"))
    del entry["row"]["is_made"]
    (tmp_path / ENTRY_FILE).write_text(json.dumps(entry), encoding="utf-8")
    assert done_row(tmp_path, "m") is None
    with pytest.raises(BadInput, match="K03"):
        kept_row(tmp_path)
