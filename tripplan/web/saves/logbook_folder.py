"""The page over a logbook: laid out as a trip folder beside it, and every save taken back into it.

The folder is named after the logbook, with `.trip` behind. Before the folder is read or
changed it is laid out again if the logbook was changed elsewhere; a row corrected in the
page corrects its entry, so that the old one stays readable in the logbook.
"""

from collections import Counter
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from tripplan.files.folder import HISTORY_FILES, TRIP_FILES, counted_and_undone
from tripplan.files.held import folder_held, logbook_held
from tripplan.files.logbook.book import (
    bare_records,
    correct,
    history_entries,
    refuse_damage,
    state_of,
    take_in,
    write_out,
)
from tripplan.files.logbook.text import body_of
from tripplan.files.logbook.text_form import CROSSINGS_FILE
from tripplan.files.way_in import content
from tripplan.files.whole_files import keep_copies
from tripplan.records.facts_in import HistoryRow
from tripplan.web.saves.journal import SaveEntry

HISTORY = HISTORY_FILES[0]
WHY = "changed in the page"


class Bound:
    """A logbook and the folder it is laid out in."""

    def __init__(self, logbook: Path) -> None:
        self.logbook = logbook
        self.folder = logbook.with_name(f"{logbook.name}.trip")
        self._state = ""
        self.lay_out()

    def is_behind(self) -> bool:
        """True when the logbook was changed elsewhere since the folder was laid out."""
        return state_of(self.logbook) != self._state

    def lay_out(self) -> None:
        """Bring the folder up to what the logbook holds, if that was changed elsewhere."""
        if not self.is_behind():
            return
        with logbook_held(self.logbook):
            refuse_damage(self.logbook)
            state = state_of(self.logbook)
            written = {path.name for path in write_out(self.logbook, self.folder)}
            with folder_held(self.folder):
                gone = [name for name in (*TRIP_FILES, HISTORY) if name not in written]
                keep_copies(self.folder, {}, gone)
                for name in gone:
                    (self.folder / name).unlink(missing_ok=True)
            self._state = state

    def take(self, entry: SaveEntry, today: date) -> None:
        """Take a save that is in the folder into the logbook; when it returns it is on the disk there.

        Work and crossings that the save changed or took out are corrected or struck out.

        The folder is laid out again at once, so that a later start finds it letter by letter.
        """
        if HISTORY in entry.before:
            self._correct(_rows(entry.before[HISTORY]), _rows(content(self.folder / HISTORY)))
        take_in(self.logbook, self.folder, today, entry.before.get(CROSSINGS_FILE))
        self._state = ""
        self.lay_out()

    def _correct(self, old: Sequence[HistoryRow], new: Sequence[HistoryRow]) -> None:
        """Rows that this save took out or changed; rows that another program added meanwhile are left alone.

        Rows struck out count on neither side: they are the logbook's own trace of earlier corrections.
        """
        (before, _), (now, _) = counted_and_undone(old), counted_and_undone(new)
        gone, come = _less(before, now), _less(now, before)
        numbers: dict[str, list[int]] = {}
        for entry, _ in history_entries(self.logbook):
            numbers.setdefault(entry.body, []).append(entry.number)
        for spot, row in enumerate(gone):
            known = numbers.get(body_of(row), [])
            if known:
                correct(self.logbook, known.pop(0), come[spot] if spot < len(come) else None, WHY)


def _rows(raw: bytes | None) -> list[HistoryRow]:
    return bare_records(raw or b"", HISTORY, HistoryRow, "H")


def _less(rows: Sequence[HistoryRow], others: Sequence[HistoryRow]) -> list[HistoryRow]:
    """The rows that the others do not have, each as often as it stands there more."""
    left = Counter(body_of(row) for row in others)
    found = []
    for row in rows:
        body = body_of(row)
        left[body] -= 1
        if left[body] < 0:
            found.append(row)
    return found
