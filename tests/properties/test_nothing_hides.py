"""No mistake hides another: of any two, in two files of a folder, both are told in one run, and nothing that is in neither.

`TRIPPLAN_PAIRS=all` tries every pair of the mistakes of `tests/files/test_bad_input.py`; without it each is tried with one other.
"""

import os
import shutil
from collections.abc import Iterator
from functools import cache
from itertools import combinations
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.files.test_bad_input import CASES, Spoil, problems_of
from tests.support import good_folder

Told = frozenset[tuple[str, str]]
EVERY = os.environ.get("TRIPPLAN_PAIRS") == "all"
STEP = 61
# What hangs on rows or keys that a mistake in that file may have changed or taken away; everything else is told beside it.
HANGS_ON = {
    "legs.csv": ("C11", "C13", "C18", "L17", "S12", "S13"),
    "rig.toml": ("B14", "H10", "H13"),
    "trip.toml": ("B14", "C18", "L14", "T01", "T11", "W10", "X09"),
    "workshop.csv": ("B14", "T01", "T11"),
    "busy.ics": ("T01", "T11"),
    "crossings.csv": ("R16",),  # without a crossing nobody asks for heights
    "history": ("F01", "F06", "H18"),
    "overrides": ("H12", "H13", "H14", "O12", "R14", "R16", "R17"),
}
# A leg that cannot be numbered, or is not there, may be the one that is meant.
NO_NUMBERS = {"C10", "S10"}


class Mistake(NamedTuple):
    """One mistake: what it is, how it is made, the files it touches, and all that is told of it alone."""

    code: str
    about: str
    spoil: Spoil
    files: frozenset[str]
    told: Told


@cache
def mistakes(base: Path) -> tuple[Mistake, ...]:
    """Every mistake, made once by itself."""
    found = []
    for number, (code, about, spoil) in enumerate(CASES):
        folder = good_folder(base / str(number))
        before = contents(folder)
        spoil(folder)
        after = contents(folder)
        files = frozenset(name for name in before.keys() | after.keys() if before.get(name) != after.get(name))
        found.append(Mistake(code, about, spoil, files, told_in(folder)))
        shutil.rmtree(folder)
    return tuple(found)


def contents(folder: Path) -> dict[str, bytes]:
    """Every file by its path."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def told_in(folder: Path) -> Told:
    """Code and file of every problem."""
    return frozenset((problem.code, problem.file) for problem in problems_of(folder))


def pairs(base: Path) -> Iterator[tuple[Mistake, Mistake]]:
    """Mistakes in different files: all, or each with the first that stands far enough behind it in the list."""
    every = mistakes(base)
    if EVERY:
        yield from ((one, other) for one, other in combinations(every, 2) if not one.files & other.files)
        return
    for spot, one in enumerate(every):
        behind = (every[(spot + STEP + far) % len(every)] for far in range(len(every)))
        yield one, next(other for other in behind if not one.files & other.files)


def hanging(files: frozenset[str]) -> set[str]:
    """The codes that hang on what these files say."""
    return {
        code for start, codes in HANGS_ON.items() if any(name.startswith(start) for name in files) for code in codes
    }


def is_open(this: Mistake, other: Mistake) -> bool:
    """True where the other one leaves open whether this is a mistake at all."""
    is_unnumbered = "legs.csv" in other.files and other.code in ("F01", "F04", "F12", "L01", "L03", "L10")
    return (this.code in NO_NUMBERS and is_unnumbered) or this.code in hanging(other.files)


def test_two_mistakes_in_two_files_are_both_told(tmp_path: Path) -> None:
    """Otherwise the owner would put one right, run again, and be told of the next."""
    hidden, false = [], []
    for one, other in pairs(tmp_path / "each"):
        folder = good_folder(tmp_path / "both")
        try:
            one.spoil(folder)
            other.spoil(folder)
        except (OSError, AssertionError):  # the second needs a file or a line that the first took away
            continue
        finally:
            told = told_in(folder)
            shutil.rmtree(folder)
        codes = {code for code, _ in told}
        for this, that in ((one, other), (other, one)):
            if this.code not in codes and not is_open(this, that):
                hidden.append(f"{this.code} {this.about} behind {that.code} {that.about}")
        more = {code for code, _ in told - one.told - other.told} - hanging(one.files | other.files)
        false += [f"{sorted(more)} of {one.about} and {other.about}"] if more else []
    assert (hidden, false) == ([], [])


SLIPS = [
    ("rig.toml", "odometer_factor", "odometer_facter"),
    ("rig.toml", '"part-time"', '"parttime"'),
    ("rig.toml", "1.02", "9"),
    ("trip.toml", "rate_per_hour = 60", 'rate_per_hour = "60"'),
    ("trip.toml", "shakedown_km", "shakedown"),
    ("legs.csv", ",410,", ",-410,"),
    ("workshop.csv", "360", "all day"),
]


@pytest.mark.parametrize(("name", "old", "new"), SLIPS)
def test_a_unit_misspelt_in_the_history_is_told_beside_a_slip_elsewhere(
    tmp_path: Path, name: str, old: str, new: str
) -> None:
    """Otherwise it would be told only once the slip in the other file is put right."""
    folder = good_folder(tmp_path)
    for file, was, now in ((name, old, new), ("history.csv", "2026-06-14,wagon", "2026-06-14,wagen")):
        text = (folder / file).read_text(encoding="utf-8")
        assert was in text
        (folder / file).write_text(text.replace(was, now, 1), encoding="utf-8")
    told = [(problem.code, problem.found) for problem in problems_of(folder)]
    assert ("H10", "wagen") in told and len(told) == 2
