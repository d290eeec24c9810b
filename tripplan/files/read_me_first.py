"""READ-ME-FIRST.txt of a new folder: what each file and column takes, out of the records themselves."""

from collections.abc import Iterator

from tripplan.files.refusals import columns_of, words_of
from tripplan.records.facts_in import Crossing, HistoryRow, Leg, Record, Stop, WorkshopDay
from tripplan.records.shelf import ShelfRow

READ_ME = "READ-ME-FIRST.txt"
WIDTH = 96
HEAD = """\
This folder is one trip of one rig, as plain text. Change it with any editor or spreadsheet (save tables as CSV,
UTF-8). Nothing here is read but the files named below; this one is for you alone, and may go.

    rig.toml        what travels: vehicle, trailer, heights. Its remarks tell what else can be said.
    trip.toml       the days, and what your time is worth
    history.csv     what was done, seen and read off, a row each; an empty cell is unknown
    legs.csv        the way, a row a stretch: cut it where the road, the dust or the day changes
    crossings.csv   water on the way; empty below its header = none
    stops.csv       places where work is possible; empty = none
    workshop.csv    days for the shed before you leave; empty = none. busy.ics, a calendar with what you have to do,
                    finds them too.

Files that may be added:

    shelf.csv       parts and materials that are there, or ordered. tripplan order writes what is ordered, with the
                    day it arrives: else each new plan counts the days to come from its own day, and work moves back
    lubricants.csv  your greases and oils by what their labels say; tripplan grease tells what may go where
    earlier_legs.csv  the legs of past trips, with a column trip: their dust and washboard count too
    overrides/      numbers of your own in place of a table's: tripplan/data/README.md tells how

    tripplan check FOLDER      tells everything that is wrong, with file, row and column
    tripplan plan FOLDER       writes the sheet for the shed, the lists and the calendar into outputs/
    tripplan numbers           lists every item by its name
    tripplan log FOLDER ...    writes work done into history.csv, and plans again
"""
SAID: dict[tuple[str, str], str] = {
    ("HistoryRow", "item"): 'what it was done to, e.g. front_wheel_bearings or "front wheel bearings"',
    ("HistoryRow", "position"): "left, right, front, rear or both, where the item has sides",
    ("HistoryRow", "lubricant"): "what went in",
    ("ShelfRow", "what"): 'as shopping.csv names it, e.g. "hub inner seal"',
    ("ShelfRow", "arrives"): "the day on which what is ordered comes, as 2026-07-03; empty = it is there",
    ("Crossing", "stalled"): "yes if the engine stopped in it",
    ("Crossing", "hubs_hot"): "yes if the hubs went in hot",
    ("Leg", "track"): "a track file in tracks/",
    ("Leg", "hubs"): "locked, free, or the share from 0 to 1; only part-time drive with free-wheeling hubs needs it",
}
LATER = {
    "Leg": "mud", "HistoryRow": "old_odometer_km", "Crossing": "", "Stop": "", "WorkshopDay": "", "ShelfRow": "",
}  # fmt: skip
TABLES: tuple[tuple[str, type[Record]], ...] = (
    ("history.csv", HistoryRow), ("legs.csv", Leg), ("crossings.csv", Crossing), ("stops.csv", Stop),
    ("workshop.csv", WorkshopDay), ("shelf.csv", ShelfRow),
)  # fmt: skip


def read_me_first() -> str:
    """The whole text."""
    return "\n".join((HEAD, *(line for name, record in TABLES for line in _columns(name, record))))


def _columns(name: str, record: type[Record]) -> Iterator[str]:
    yield f"{name}   (* must be filled)"
    is_later = False
    for column, field in columns_of(record).items():
        is_later = is_later or column == LATER[record.__name__]
        if column == LATER[record.__name__]:
            yield "  columns that may be added:"
        said = SAID.get((record.__name__, column)) or field.description or ", ".join(words_of(field.annotation))
        yield f"  {'*' if field.is_required() else ' '} {column:<26}{said or 'anything'}"
    yield ""
