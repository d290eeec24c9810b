"""Doors to a logbook that only tests need: read as a folder is, rows put straight in, and a phone's lines."""

import json
import zlib
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from tripplan.commands.sources import read_trip
from tripplan.files.data_tables import read_catalogue
from tripplan.files.folder import Inputs, load
from tripplan.files.logbook.store import Fresh, append, changing, in_force, opened
from tripplan.files.logbook.text import body_of, texts_of_body
from tripplan.files.logbook.text_form import HISTORY, LEG
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import HistoryRow
from tripplan.records.problems import BadInput, Problem, in_order


def load_any(path: Path, today: date) -> tuple[Inputs | None, Catalogue, tuple[Problem, ...]]:
    """What `folder.load` gives, of a trip folder or a logbook; a bad logbook is a Problem."""
    try:
        with read_trip(path) as (folder, damage):
            inputs, catalogue, problems = load(folder, today)
            return inputs, catalogue, in_order((*damage, *problems))
    except BadInput as error:
        catalogue, _ = read_catalogue()
        return None, catalogue, error.problems


def add_history(path: Path, rows: Sequence[HistoryRow]) -> tuple[int, ...]:
    """Write history rows behind the others; when it returns they are on the disk."""
    with changing(path) as log:
        return append(log, path, [Fresh(kind=HISTORY, body=body_of(row)) for row in rows])


def driven_legs(path: Path) -> list[tuple[str, str]]:
    """The number and the day of every leg driven on any trip, by day."""
    with opened(path) as log:
        legs = [texts_of_body(entry.body) for entry in in_force(log, LEG)]
    return sorted(((leg["leg"], leg["depart"]) for leg in legs), key=lambda leg: leg[1])


def line_of(value: object) -> str:
    """A value as a line of the text that a phone's records come home in, with its checksum before it."""
    text = json.dumps(value, ensure_ascii=True, separators=(",", ":"))
    return f"{zlib.crc32(text.encode()):08x} {text}"
