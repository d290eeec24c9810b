"""What changed between two plans, told in the order of its kinds and never by the words of it."""

from tripplan.explain.compare import Change, Moved
from tripplan.records.words import ChangeKind
from tripplan.sheets.moved_text import moved_rows, moved_text


def change(kind: ChangeKind, what: str, why: str = "") -> Change:
    """One difference with its kind."""
    return Change(kind=kind, what=what, before="was", after="now", why=why)


def test_jobs_for_water_come_first_and_dropped_ones_last() -> None:
    """Otherwise what the water calls for would stand below an oil change, or be cut off the list."""
    jobs = (
        change(ChangeKind.DROPPED, "dropped"),
        change(ChangeKind.JOB, "usual", "the crossing at the ford is told in its note"),
        change(ChangeKind.WATER_JOB, "water", "milk at the plug"),
    )
    told = moved_text(Moved(against="the plan before", jobs=jobs))
    assert told.index("water: now") < told.index("usual: now") < told.index("dropped: now")


def test_what_the_jobs_tell_is_not_told_twice() -> None:
    """Otherwise each moved job would stand there three times; a place called so must still be told."""
    others = (
        change(ChangeKind.PLACED, "Front wheel bearings, placed"),
        change(ChangeKind.WORK, "work at Town"),
        change(ChangeKind.CROSSING, "work at the ford, placed"),
    )
    told = moved_text(Moved(against="the plan before", others=others))
    assert "work at the ford, placed" in told
    assert "Front wheel bearings" not in told and "Town" not in told


def test_the_rows_tell_the_kind() -> None:
    """Otherwise a reader of the JSON would have to guess it from the words."""
    rows = moved_rows(Moved(against="the plan before", jobs=(change(ChangeKind.DROPPED, "dropped"),)))
    assert rows["jobs"][0] == {"kind": "job dropped", "what": "dropped", "before": "was", "after": "now", "why": ""}
