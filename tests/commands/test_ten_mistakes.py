"""A folder with ten slips of the kind that people make: each is told once, at its place, with what is accepted."""

import json
from pathlib import Path

import pytest

from tests.commands.typed import run
from tests.files.test_new_folder import made
from tests.support import replaced

DAY = "2026-05-25"
# file, what stood there, what was typed; then the place that is told, what is quoted, and a word of the hint
SLIPS = (
    ("rig.toml", 'drive = "full-time"', 'drive = "fulltime"', None, "unit[1].drive", "fulltime", ""),
    ("rig.toml", "Australia/Darwin", "Australia/Darwn", None, "home_zone", "Australia/Darwn", ""),
    ("trip.toml", "\nreturn = ", "\nretrun = ", None, "retrun", "retrun", "return"),
    ("history.csv", "214300", "2143O0", 3, "odometer_km", "2143O0", "the letter O"),
    ("history.csv", "2026-02-07", "07/02/2026", 2, "date", "07/02/2026", "2026-02-07 or 2026-07-02"),
    ("legs.csv", ",900,70,gravel", ",900,70,dirt", 2, "surface", "dirt", ""),
    ("legs.csv", "2,Ochre Ledge,Quillstone,2026-06-29 07:00,900", "2,Ochre Ledge,Quillstone,2026-06-29 07:00,900 km", 3,
     "distance_km", "900 km", "without 'km'"),
    ("crossings.csv", "note\n", "note\n1,20,0.4m,,,fresh,,\n", 2, "depth_m", "0.4m", "without 'm'"),
    ("stops.csv", "note\n", "note\nCreek,1,2026-06-22,2026-06-23,shop,60,\n", 2, "facility", "shop", ""),
    ("workshop.csv", "2026-06-13,240", "2026-06-13,4 h", 2, "minutes", "4 h", "without 'h'"),
)  # fmt: skip


def test_each_of_ten_mistakes_is_told_once_at_its_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Otherwise a newcomer would mend one, run again, and be told of the next."""
    folder = tmp_path / "mine"
    made(folder)
    for name, old, new, *_ in SLIPS:
        replaced(folder, name, old, new)
    assert run(monkeypatch, "check", str(folder), "--today", DAY, "--json") == 2
    told = json.loads(capsys.readouterr().out)["problems"]
    assert sorted((one["file"], one["row"] or 0, one["column"], one["found"]) for one in told) == sorted(
        (name, row or 0, column, found) for name, _, _, row, column, found, _ in SLIPS
    )
    for name, _, _, _, column, found, hint in SLIPS:
        (own,) = [one for one in told if (one["file"], one["column"], one["found"]) == (name, column, found)]
        assert own["accepted"] and hint in own["hint"]
    assert run(monkeypatch, "check", str(folder), "--today", DAY) == 2
    shown = capsys.readouterr().err
    assert shown.count("stops the plan]") == len(SLIPS) == 10
