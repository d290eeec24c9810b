"""`page.json` beside the trip files: the day the page is seen from, and what is ticked but not yet in the history.

Ticks are kept here, at once and whole, until the day is closed; only then do they become
rows of the history, all in one go. So a tick can be taken back, and half a day is no record.
"""

import json
import secrets
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from msgspec import Struct, ValidationError, convert, field, to_builtins
from msgspec.structs import replace

from tripplan.files.way_in import NotRead, json_of, read_file
from tripplan.files.whole_files import write_whole

PAGE_FILE = "page.json"
SCHEMA = 1


class Tick(Struct, frozen=True, kw_only=True):
    """One job as it stands in the shed: done or not, what was found, and a note."""

    done: bool = False
    finding: str = ""
    note: str = ""

    @property
    def is_empty(self) -> bool:
        """True when nothing was entered."""
        return not (self.done or self.finding or self.note)


class Memory(Struct, frozen=True, kw_only=True):
    """All that the page keeps for itself. `seen_from` None means this machine's day."""

    seen_from: date | None = None
    days: Mapping[str, Mapping[str, Tick]] = field(default_factory=dict)

    def ticks(self, slot: str) -> Mapping[str, Tick]:
        """What is ticked in one slot, by job."""
        return self.days.get(slot, {})

    def with_tick(self, slot: str, job: str, tick: Tick) -> "Memory":
        """The memory with one job's tick changed."""
        own = {**self.ticks(slot), job: tick}
        own = {key: kept for key, kept in own.items() if not kept.is_empty}
        return replace(self, days={**self.days, slot: own})

    def without_day(self, slot: str) -> "Memory":
        """The memory with all ticks of a slot gone."""
        return replace(self, days={key: own for key, own in self.days.items() if key != slot})

    def forward_to(self, recorded: date) -> "Memory":
        """A kept day moves on with what is recorded later; it never moves back."""
        return replace(self, seen_from=max(self.seen_from, recorded)) if self.seen_from else self

    def with_back(self, slot: str, ticks: Mapping[str, Tick], seen_from: str) -> "Memory":
        """The memory with what a save took out of it, once that save is undone; no ticks: taken out again."""
        seen = date.fromisoformat(seen_from) if seen_from and self.seen_from else self.seen_from
        if not slot:
            return replace(self, seen_from=seen)
        own = {**ticks, **self.ticks(slot)} if ticks else {}
        return replace(self, seen_from=seen, days={**self.days, slot: own})


def read_memory(folder: Path) -> Memory:
    """What was kept; an absent or damaged file is an empty memory, and is not overwritten by reading."""
    return _kept(folder) or Memory()


def write_memory(folder: Path, memory: Memory) -> None:
    """Keep it, whole or not at all. A damaged file that was there is moved aside first."""
    path = folder / PAGE_FILE
    if path.exists() and _kept(folder) is None:
        path.replace(folder / f"{PAGE_FILE}.damaged-{secrets.token_hex(4)}")
    filled = replace(memory, days={slot: own for slot, own in memory.days.items() if own})
    document = {"schema": SCHEMA, **to_builtins(filled)}
    write_whole(path, (json.dumps(document, indent=1, ensure_ascii=False) + "\n").encode())


def _kept(folder: Path) -> Memory | None:
    try:
        return convert(json_of(read_file(folder / PAGE_FILE)), Memory)
    except (NotRead, ValidationError):
        return None
