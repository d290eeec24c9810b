"""Whatever comes in, no command ends as our fault, hangs, or takes all the memory."""

import json
import os
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from tests.logbooks import load_any
from tests.properties import fuzz_everything, fuzz_light
from tests.support import good_folder
from tripplan.files.logbook import book
from tripplan.files.logbook.store import Fresh, append, changing
from tripplan.files.plan_folder import read
from tripplan.records.problem_codes import ALL_CODES
from tripplan.records.problems import stops

WHOLE, LIGHT = 60, 2500
MOST_S = float(os.environ.get("TRIPPLAN_FUZZ_S", "0"))


@pytest.fixture
def plans_as_before(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The fuzzer places by the plain rule; the tests after it do not."""
    plan_of = fuzz_everything.plan_folder.plan_of
    monkeypatch.setattr(plan_of, "__defaults__", plan_of.__defaults__)
    yield


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="some of the cases are pipes")
def test_whatever_comes_in_is_answered(plans_as_before: None) -> None:
    """Otherwise a file from somebody else could end the program, at the worst on the track."""
    done, wrong = fuzz_everything.cases(0, 10**9 if MOST_S else WHOLE, MOST_S or 600.0)
    assert not wrong and done.total() >= WHOLE
    assert fuzz_everything.memory_kb() < fuzz_everything.MOST_KB


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the time of a case is bounded by a signal")
def test_whatever_is_read_is_told() -> None:
    """Otherwise one odd cell, tag or byte would end the program. The codes reached show that the cases reach deep."""
    count = fuzz_light.cases(0, 10**9 if MOST_S else LIGHT, MOST_S or 600.0)
    assert not count.wrong and count.done.total() >= LIGHT
    assert {name for name, _, _ in fuzz_light.DRIVES} <= set(count.done)
    assert 2 * len(set(count.codes) & set(ALL_CODES)) > len(ALL_CODES)


def test_cases_are_made_from_their_number_alone(tmp_path: Path) -> None:
    """Otherwise a case that failed somewhere could not be looked at."""
    good = fuzz_light.made(tmp_path / "good")
    for number in range(40):
        first, again = (fuzz_light.case(number, good) for _ in range(2))
        assert (first.drive, first.codes) == (again.drive, again.codes)


def test_what_the_cases_start_from_is_good(tmp_path: Path) -> None:
    """Otherwise every case would end at the same first refusal, and try nothing behind it."""
    folder = good_folder(tmp_path / "trip")
    fuzz_everything.put_more(folder)
    inputs, _, problems = read(folder, fuzz_everything.TODAY)
    assert inputs is not None and not stops(problems)


def test_a_leg_of_a_logbook_without_its_number_is_told(tmp_path: Path) -> None:
    """Otherwise an entry that another program wrote would make the whole logbook unreadable."""
    path = tmp_path / "rig.logbook"
    book.take_in(path, good_folder(tmp_path / "trip"), date(2026, 7, 7))
    with changing(path) as log:
        append(log, path, [Fresh(kind="leg", body=json.dumps({"distance_km": "5"}), trip="North by the old road")])
    _, _, problems = load_any(path, date(2026, 7, 7))
    assert isinstance(problems, tuple)
