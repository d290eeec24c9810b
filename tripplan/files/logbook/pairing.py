"""Which row of a folder goes with which entry of the logbook: by its leg, its place, or the moment it was made."""

from collections.abc import Callable, Iterable, Mapping

from tripplan.files.logbook.store import Entry
from tripplan.files.logbook.text import texts_of, texts_of_body
from tripplan.records.facts_in import Record

Key = Callable[[Mapping[str, str]], tuple[str, ...] | None]
FIGURES_OF_DAY = len("2026-07-06")


def paired(
    old: Iterable[Entry], rows: Iterable[Record], *keys: Key
) -> tuple[list[tuple[Entry | None, Record]], list[Entry]]:
    """Each row with the entry of the same key, if there is one, and the entries that are left.

    What the first key leaves on both sides is tried by the next. Rows that share a key are
    matched in order, each with one entry at most.
    """
    found: dict[int, Entry] = {}
    left, open_rows = list(old), dict(enumerate(rows))
    every = tuple(open_rows.values())
    for key in keys:
        waiting: dict[tuple[str, ...], list[Entry]] = {}
        for entry in left:
            if (is_called := key(texts_of_body(entry.body))) is not None:
                waiting.setdefault(is_called, []).append(entry)
        for spot, row in open_rows.items():
            if same := waiting.get(key(texts_of(row)) or ()):
                found[spot] = same.pop(0)
        taken = {entry.number for entry in found.values()}
        left = [entry for entry in left if entry.number not in taken]
        open_rows = {spot: row for spot, row in open_rows.items() if spot not in found}
    return [(found.get(spot), row) for spot, row in enumerate(every)], left


def by_leg(texts: Mapping[str, str]) -> tuple[str, ...] | None:
    """A leg by its number."""
    return (texts.get("leg", ""),)


def by_place(texts: Mapping[str, str]) -> tuple[str, ...] | None:
    """A crossing by its leg and km."""
    return texts.get("leg", ""), texts.get("at_km", "")


def by_leg_and_moment(texts: Mapping[str, str]) -> tuple[str, ...] | None:
    """A crossing made, by its leg and the moment: so its place can be put right."""
    return (texts.get("leg", ""), texts["crossed"]) if "crossed" in texts else None


def by_all_but_place(texts: Mapping[str, str]) -> tuple[str, ...] | None:
    """The same; one of which the day alone is known by all but its place, since a day on a leg may hold several."""
    crossed = texts.get("crossed", "")
    if not crossed or len(crossed) > FIGURES_OF_DAY:
        return by_leg_and_moment(texts)
    return tuple(f"{name}={text}" for name, text in sorted(texts.items()) if name != "at_km")
