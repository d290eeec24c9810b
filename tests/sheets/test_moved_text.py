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


def test_of_what_is_done_and_of_the_walk_round_only_the_number_is_told() -> None:
    """Otherwise a day well done would fill the screen before the one job that is new, and push it off the list."""
    checks = [change(ChangeKind.WALK_ROUND, f"check {number}") for number in range(20)]
    done = [change(ChangeKind.DONE, f"work {number}") for number in range(20)]
    others = (
        change(ChangeKind.ITEM, "Drive belts", "Last done 6 June."),
        change(ChangeKind.ITEM, "Tow bar bolts"),
        change(ChangeKind.WALK_ROUND, "Lamps"),
    )
    jobs = (*done, *checks, change(ChangeKind.JOB, "usual"))
    told = moved_text(Moved(against="the plan before", jobs=jobs, others=others))
    assert [line.strip() for line in told.splitlines()[1:]] == [
        "Jobs", "usual: now", "done since then: 20 jobs", "walk-round: 20 checks now",
        "Items and crossings", "Tow bar bolts: was -> now", "recorded since then: 1 item",
    ]  # fmt: skip


def test_where_nothing_is_left_to_tell_nothing_changed() -> None:
    """Otherwise a morning later the list would be a heading with nothing below it."""
    later = Moved(against="the plan before", others=(change(ChangeKind.WALK_ROUND, "Lamps"),))
    assert (
        moved_text(later) == moved_text(Moved(against="the plan before")) == "Nothing changed against the plan before."
    )


def test_a_line_has_how_it_was_how_it_is_and_why() -> None:
    """Otherwise an owner would have to open both plans to see what became of a crossing."""
    others = (change(ChangeKind.CROSSING, "the ford", "made"), change(ChangeKind.TRIP, "length"))
    told = moved_text(Moved(against="the plan before", others=others))
    assert "the ford: was -> now (made)" in told and told.endswith("length: was -> now")


def test_the_rows_tell_the_kind() -> None:
    """Otherwise a reader of the JSON would have to guess it from the words."""
    rows = moved_rows(Moved(against="the plan before", jobs=(change(ChangeKind.DROPPED, "dropped"),)))
    assert rows["jobs"][0] == {"kind": "job dropped", "what": "dropped", "before": "was", "after": "now", "why": ""}
