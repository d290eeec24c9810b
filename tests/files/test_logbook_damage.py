"""A damaged logbook: no flipped bit changes what is read unsaid, and mending saves what is whole."""

import os
import random
import shutil
from collections import Counter
from pathlib import Path

import pytest

from tests.logbooks import add_history, load_any
from tests.support import TODAY, good_folder
from tripplan.files.logbook import book, store
from tripplan.files.logbook.mend import mend
from tripplan.records.problems import BadInput

FLIPS = int(os.environ.get("TRIPPLAN_FLIPS", "150"))
Files = dict[str, bytes]


def made(place: Path) -> Path:
    """A logbook of the sample folder, with a correction, a struck row and a second version of a document."""
    path = place / "rig.logbook"
    folder = good_folder(place / "folder")
    book.take_in(path, folder, TODAY)
    (first, row), (second, _), *_ = book.history_entries(path)
    book.correct(path, first.number, row.model_copy(update={"note": "other tin"}), "misread")
    book.correct(path, second.number, None, "another vehicle")
    (folder / "workshop.csv").write_text("date,minutes\n2026-06-22,200\n", encoding="utf-8")
    book.take_in(path, folder, TODAY)
    return path


def laid(path: Path, place: Path) -> tuple[Files, int]:
    """The files a logbook gives, and how many damages are told with them."""
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir()
    damage = book.lay_out(path, place)
    return {p.name: p.read_bytes() for p in place.iterdir() if not p.name.startswith(".")}, len(damage)


def flipped(raw: bytes, chance: random.Random) -> bytes:
    """The same bytes but for one bit."""
    spot = chance.randrange(len(raw))
    return raw[:spot] + bytes([raw[spot] ^ 1 << chance.randrange(8)]) + raw[spot + 1 :]


def outcome(path: Path, place: Path, whole: Files) -> str:
    """What became of reading a logbook with one bit flipped."""
    try:
        files, told = laid(path, place)
    except BadInput as error:
        assert error.problems[0].code in ("J01", "J02", "J05"), error.problems
        return "refused"
    if told:
        return "told, all there" if files == whole else "told, rest read"
    return "unchanged" if files == whole else "silently changed"


def test_no_flipped_bit_is_silent(tmp_path: Path) -> None:
    """Otherwise a worn memory card would change an odometer reading, and the plan with it, unseen."""
    path, chance = made(tmp_path), random.Random(20260620)
    whole, _ = laid(path, tmp_path / "whole")
    raw, bad = path.read_bytes(), tmp_path / "bad.logbook"
    count: Counter[str] = Counter()
    for _ in range(FLIPS):
        bad.write_bytes(flipped(raw, chance))
        count[outcome(bad, tmp_path / "out", whole)] += 1
        if os.environ.get("TRIPPLAN_FLIPS"):
            print(dict(count), end="\r")
    assert count["silently changed"] == 0 and sum(count.values()) == FLIPS
    assert count["told, rest read"] + count["told, all there"] > count["refused"]


def test_every_damage_can_be_mended(tmp_path: Path) -> None:
    """Otherwise one bad page would cost all the years around it."""
    path, chance = made(tmp_path), random.Random(7)
    whole, _ = laid(path, tmp_path / "whole")
    with store.opened(path) as log:
        records = {table: [row.values for row in log.rows(table)] for table in store.TABLES}
    raw, bad, mended = path.read_bytes(), tmp_path / "bad.logbook", 0
    for _ in range(FLIPS // 3):
        bad.write_bytes(flipped(raw, chance))
        done = mend(bad)
        files, told = laid(bad, tmp_path / "out")
        assert not told
        with store.opened(bad) as log:
            for table, rows in records.items():
                kept = [row.values for row in log.rows(table) if row.values[1] != "mended"]
                assert all(row in rows for row in kept), "a record that was never written"
                assert len(kept) >= len(rows) - 1, "more was lost than one bit can spoil"
        if done.kept_as:
            mended += 1
            assert done.kept_as.exists() and done.damage
            done.kept_as.unlink()
        else:
            assert files == whole
    assert mended >= 5


def test_a_damaged_logbook_is_read_and_not_written(tmp_path: Path) -> None:
    """Otherwise new work would go on top of a file that nobody can trust."""
    path = made(tmp_path)
    raw = path.read_bytes()
    spot = raw.index(b"other tin")
    path.write_bytes(raw[:spot] + b"O" + raw[spot + 1 :])
    inputs, _, problems = load_any(path, TODAY)
    told = [found for found in problems if found.code == "J10"]
    assert inputs is not None and "entry 10 (history)" in told[0].found and "mend" in told[0].hint
    with pytest.raises(BadInput, match="J01"):
        add_history(path, [])
    done = mend(path)
    assert done.kept_as and done.kept_as.read_bytes()[spot : spot + 1] == b"O"
    assert add_history(path, []) == () and book.damage(path) == ()


def test_a_record_taken_out_is_noticed(tmp_path: Path) -> None:
    """Otherwise a whole service could vanish from the middle of the history, each rest of it being whole."""
    import sqlite3

    for number, words in ((4, "what stands before entry 5"), (11, "what stands after")):
        path = made(tmp_path / str(number))
        log = sqlite3.connect(path)
        log.execute("DROP TRIGGER entry_delete")
        log.execute("DELETE FROM entry WHERE number >= ? AND number <= ?", (number, number if number < 9 else 99))
        log.commit()
        log.close()
        assert any(words in found.found for found in book.damage(path))


def test_a_tree_that_is_gone_is_mended_from_its_leaves(tmp_path: Path) -> None:
    """Otherwise the one page that finds all others would take the history with it."""
    path = tmp_path / "rig.logbook"
    with store.changing(path, create=True) as log:
        store.append(log, path, [store.Fresh(kind="note", body=f"{n} {'x' * 300}") for n in range(200)])
    raw = bytearray(path.read_bytes())
    raw[0:4096] = bytes(4096)
    path.write_bytes(bytes(raw))
    done = mend(path)
    assert done.entries == 200 and done.kept_as
    with store.opened(path) as log:
        assert [entry.body.split()[0] for entry in store.entries(log, "note")] == [str(n) for n in range(200)]


def test_nothing_whole_is_said_and_left(tmp_path: Path) -> None:
    """Otherwise mending would put an empty logbook in place of one that a specialist could still save."""
    path = tmp_path / "rig.logbook"
    path.write_bytes(b"SQLite format 3\0" + bytes(range(256)) * 40)
    before = path.read_bytes()
    with pytest.raises(BadInput, match="J01"):
        mend(path)
    assert path.read_bytes() == before
