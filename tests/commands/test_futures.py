"""`tripplan futures` from the outside: what it tells, twice the same, and what it refuses."""

import json
import re
from pathlib import Path

import pytest

from tests.fleet_rigs import TODAY, rig_folder
from tests.support import replaced
from tripplan.commands.futures import futures
from tripplan.placing.greedy import place_greedily

DAY = TODAY.isoformat()


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """The work is placed by the plain rule: for what is told of futures, not of how good a plan is."""
    monkeypatch.setattr("tripplan.placing.optimise.place_optimally", place_greedily)


def told(folder: Path, capsys: pytest.CaptureFixture[str], *numbers: int) -> str:
    """What is printed, as JSON."""
    assert futures(folder, *(numbers or (80, 1, 1)), DAY, True) in (0, 1)
    return capsys.readouterr().out


def test_equal_seeds_tell_the_same_and_numbers_add_up(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], quick: None
) -> None:
    """An owner who asks twice would be told two things, or of more futures than were drawn."""
    folder = rig_folder(tmp_path, 3)
    first = told(folder, capsys)
    assert first == told(folder, capsys), "the same seed gave another answer"
    document = json.loads(first)
    assert document["draws"] == 80 and sum(document["departures"].values()) == 80
    for job in document["jobs"]:
        assert job["due"] + job["runs_out"] + job["lasts"] == 80
        assert sum(job["runs_out_on_leg"].values()) == job["runs_out"]
        assert job["pays_in"] is None or 0 <= job["pays_in"] <= 80
    assert len(document["searched"]) == 1 and document["searched"][0]["futures"] <= document["changed"]["futures"]


def test_what_is_due_anyway_hangs_on_no_luck(tmp_path: Path, capsys: pytest.CaptureFixture[str], quick: None) -> None:
    """Work long overdue would be told as a matter of luck."""
    folder = rig_folder(tmp_path, 3)
    document = json.loads(told(folder, capsys, 60, 2, 0))
    due = [job for job in document["jobs"] if job["due"] == 60 and job["is_done_before"] and job["act"] != "look"]
    assert due and all(job["pays_in"] is not None for job in due)
    assert futures(folder, 60, 2, 0, DAY, False) in (0, 1)
    text = capsys.readouterr().out
    for heading in ("Decisions that do not hang on luck", "Decisions that hang on luck", "Worth doing before going on"):
        assert heading in text
    assert "judgement" in text


def test_what_is_most_in_doubt_is_told_first_and_nothing_twice(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], quick: None
) -> None:
    """The jobs that luck decides would stand behind those it hardly touches, the same sentence told for each, by our names."""
    folder = rig_folder(tmp_path, 3)
    document = json.loads(told(folder, capsys))
    assert futures(folder, 80, 1, 1, DAY, False) in (0, 1)
    text = " ".join(capsys.readouterr().out.split())
    part = text[text.index("Decisions that hang on luck") : text.index("Worth doing before going on")]
    shares = [int(share) for share in re.findall(r"the cheaper in (\d+) of 80", part)]
    doubt = [abs(80 - 2 * share) for share in shares]
    assert len(shares) > 2 and doubt == sorted(doubt)
    luck = [job for job in document["jobs"] if job["pays_in"] is not None and 1 < job["pays_in"] < 79]
    assert {job["pays_in"] for job in luck} == set(shares)
    sentences = re.findall(r"Before going on is the cheaper in \d+ of 80, \w+ the plan \w+ it", part)
    assert len(sentences) == len(set(sentences)) == len(shares)
    assert not re.search(r"\b[a-z0-9]+_[a-z0-9_]+ \(", text)


def test_an_owners_own_range_is_used(tmp_path: Path, capsys: pytest.CaptureFixture[str], quick: None) -> None:
    """A range stated in overrides would change nothing."""
    folder = rig_folder(tmp_path, 3)
    (folder / "overrides").mkdir()
    head = "name,value,unit,low,high,meaning,basis,source,locator\n"
    rows = "luck_depart_later_days,0,d,0,1,days later,judgement,none,we leave on the day\n"
    rows += "luck_depart_earlier_days,0,d,0,1,days earlier,judgement,none,we leave on the day\n"
    (folder / "overrides" / "assumptions.csv").write_text(head + rows)
    assert json.loads(told(folder, capsys, 30, 1, 0))["departures"] == {"earlier": 0, "as_planned": 30, "later": 0}


def test_numbers_out_of_range_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No draws at all would end in a division by nought (Y15)."""
    assert futures(rig_folder(tmp_path, 3), 0, -1, 1000, DAY, False) == 2
    assert capsys.readouterr().err.count("[Y15") == 3


def test_a_bad_folder_is_told_as_by_check(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A slip in a table would end in a traceback."""
    folder = replaced(rig_folder(tmp_path, 3), "legs.csv", ",60,", ",fast,")
    assert futures(folder, 10, 1, 0, DAY, False) == 2
    assert "L03" in capsys.readouterr().err
