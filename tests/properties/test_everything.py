"""Whatever comes in, no command ends as our fault, hangs, or takes all the memory."""

import os

import pytest

from tests.properties import fuzz_everything

CASES, MOST_S = 150, float(os.environ.get("TRIPPLAN_FUZZ_S", "45"))
FOUND = (33, 54)  # cases that once ended as our fault


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="some of the cases are pipes")
def test_whatever_comes_in_is_answered(monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise a file from somebody else could end the program, at the worst on the track."""
    monkeypatch.setattr(
        fuzz_everything.plan_folder.plan_of, "__defaults__", fuzz_everything.plan_folder.plan_of.__defaults__
    )
    is_long = "TRIPPLAN_FUZZ_S" in os.environ
    done, wrong = fuzz_everything.cases(0, 10**9 if is_long else CASES, MOST_S)
    assert not wrong and done.total() > 20
    for number in FOUND:
        fuzz_everything.case(number)
    assert fuzz_everything.memory_kb() < fuzz_everything.MOST_KB
